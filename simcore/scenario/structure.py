"""Faults of the line as a whole that need no mechanics: names, chains, slots, what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from simcore import units
from simcore.contract import Part
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Item, Quantity, Scenario, Station
from simcore.scenario.same_names import same_names
from simcore.scenario.stop_rules import stopping, watching, with_speed_loop, without_speed_loop
from simcore.scenario.words import nearest

Registry = Mapping[str, Part]
Family = str | None


def structure(scenario: Scenario, raw: Mapping[str, Any], registry: Registry) -> list[Finding]:
    """All structural findings of a scenario (which may be incomplete); ``raw`` tells what was written."""
    families = [_family(s, registry) for s in scenario.stations]
    return [
        *_missing(scenario, raw, families),
        *same_names(scenario, raw),
        *_places(scenario, families),
        *_first(scenario, families),
        *_chains(scenario, families),
        *_protect(scenario, raw),
        *_candidates(scenario, registry),
        *_stops(scenario, registry),
        *_situations(scenario, registry),
    ]


def _family(station: Station, registry: Registry) -> Family:
    if station.item is None:
        return "slot"
    part = registry.get(station.item.part)
    return part.kind.family if part else None


def _missing(scenario: Scenario, raw: Mapping[str, Any], families: list[Family]) -> Iterator[Finding]:
    if not scenario.stations and raw.get("line", []) == []:
        yield Finding(("line",), "is missing: the drive line", hint="write one [[line]] for each station")
    elif scenario.stations and "drive" not in families and None not in families:
        yield Finding(("line",), "there is no drive", hint="the first [[line]] must be a motor")
    if raw.get("situations", {}) == {}:
        hint = 'write [situations."..."] with event = "hard stop", for instance'
        yield Finding(("situations",), "there is no situation to try", hint=hint)
    if scenario.candidates and "slot" not in families:
        hint = 'add a [[line]] with part = "slot" where they are to sit'
        yield Finding(("candidates",), "there are candidates but no slot in the line", hint=hint)


def _places(scenario: Scenario, families: list[Family]) -> Iterator[Finding]:
    wrong = {
        "event": ("an event, it belongs under situations", "event"),
        "command": ("a stop chain, it belongs under stops", "part"),
    }
    for n, family in enumerate(families):
        item = scenario.stations[n].item
        if family in wrong and item is not None:
            words, key = wrong[family]
            yield Finding(("line", n, "part"), f"{item.part} is {words}", hint=f'{key} = "{item.part}"')


def _first(scenario: Scenario, families: list[Family]) -> Iterator[Finding]:
    if not families or families[0] in ("drive", None) or "drive" not in families:
        return
    item = scenario.stations[0].item
    got = units.shown(item.part if item else "slot")
    hint = "write the stations in the order of the sketch, from the motor"
    yield Finding(("line", 0, "part"), "the line must begin with a drive", got, hint)


def _chains(scenario: Scenario, families: list[Family]) -> Iterator[Finding]:
    stations = scenario.stations
    index = {s.name: n for n, s in reversed(list(enumerate(stations)))}
    group = list(range(len(stations)))
    sound = True
    for n, s in enumerate(stations):
        begins = families[n] == "drive"
        if s.after is not None:
            findings = list(_after(n, s, index, begins))
            yield from findings
            sound = sound and not findings
            if s.after in index:
                _merge(group, n, index[s.after])
        elif n > 0 and not begins:
            _merge(group, n, n - 1)
    for n, s in enumerate(stations):
        if s.joins is not None:
            findings = list(_joins(n, stations, families, index, group))
            yield from findings
            sound = sound and s.joins in index
            if s.joins in index:
                _merge(group, n, index[s.joins])
    if sound:
        yield from _unreached(stations, group)


def _after(n: int, s: Station, index: Mapping[str, int], begins: bool) -> Iterator[Finding]:
    spot = ("line", n, "after")
    above = [name for name, k in index.items() if k < n]
    if s.after not in index:
        yield Finding(spot, "no station has this name", units.shown(s.after), nearest(s.after, above))
    elif index[s.after or ""] >= n:
        yield Finding(spot, "must name a station written above", units.shown(s.after), nearest(s.after, above))
    elif begins:
        hint = "end the chain of this drive with joins"
        yield Finding(spot, "a drive begins a chain and follows no station", units.shown(s.after), hint)


def _joins(
    n: int, stations: tuple[Station, ...], families: list[Family], index: Mapping[str, int], group: list[int]
) -> Iterator[Finding]:
    spot, target = ("line", n, "joins"), stations[n].joins or ""
    others = [name for name, k in index.items() if _root(group, k) != _root(group, n)]
    if target not in index:
        yield Finding(spot, "no station has this name", units.shown(target), nearest(target, others))
    elif _root(group, index[target]) == _root(group, n):
        rule = "joins its own chain, a closed loop; a line branches but does not close"
        yield Finding(spot, rule, units.shown(target), nearest(target, others) if others else "")
    last = n + 1 == len(stations) or families[n + 1] == "drive" or stations[n + 1].after is not None
    if not last:
        yield Finding(spot, f"must stand on the last station of its chain, but {stations[n + 1].name} follows")


def _unreached(stations: tuple[Station, ...], group: list[int]) -> Iterator[Finding]:
    seen = {_root(group, 0)} if stations else set()
    for n, s in enumerate(stations):
        if _root(group, n) not in seen:
            seen.add(_root(group, n))
            rule = f"unreachable branch: the chain that begins with {s.name} never meets the rest"
            yield Finding(("line", n), rule, hint='end it with joins = "..." in its last station')


def _root(group: list[int], n: int) -> int:
    while group[n] != n:
        n = group[n]
    return n


def _merge(group: list[int], a: int, b: int) -> None:
    group[_root(group, a)] = _root(group, b)


def _protect(scenario: Scenario, raw: Mapping[str, Any]) -> Iterator[Finding]:
    if not scenario.protect or not scenario.stations:
        return
    names = [s.name for s in scenario.stations]
    limited = [s.name for s in scenario.stations if s.limit]
    if scenario.protect not in names:
        hint = nearest(scenario.protect, limited or names)
        yield Finding(("protect",), "no station has this name", units.shown(scenario.protect), hint)
        return
    if scenario.station(scenario.protect).is_slot:
        rule = "is a slot, and the line without any protection has no connection there"
        yield Finding(
            ("protect",), rule, units.shown(scenario.protect), _beside(scenario, names.index(scenario.protect))
        )
        return
    rows = [r for r in raw["line"] if isinstance(r, dict)]
    row = rows[names.index(scenario.protect)]
    if "allowable" not in row:
        hint = f'write allowable = "... N*m" in {scenario.station(scenario.protect).path}'
        yield Finding(("protect",), "this station has no allowable", units.shown(scenario.protect), hint)


def _beside(scenario: Scenario, n: int) -> str:
    """The connections with an allowable that stand nearest before and behind station ``n``."""
    bears = [k for k, s in enumerate(scenario.stations) if s.limit and not s.is_slot]
    near = [*[k for k in bears if k < n][-1:], *[k for k in bears if k > n][:1]]
    if not near:
        return 'give a connection before or behind it allowable = "... N*m" and name that'
    return f"name the connection before or behind it: {' or '.join(scenario.stations[k].name for k in near)}"


def _candidates(scenario: Scenario, registry: Registry) -> Iterator[Finding]:
    slots = [s.name for s in scenario.stations if s.is_slot]
    names = [s.name for s in scenario.stations]
    protections = [k for k, p in registry.items() if p.kind.family == "protection"]
    for c in scenario.candidates.values():
        family = registry[c.item.part].kind.family
        if family != "protection":
            rule = f"a candidate must be a protection, {c.item.part} is {family_words(family)}"
            yield Finding(("candidates", c.name), rule, hint=f"protections: {', '.join(protections[:8])}")
        if c.slot is not None and c.slot not in slots:
            rule = "this station is not a slot" if c.slot in names else "there is no slot of this name"
            yield Finding(("candidates", c.name, "slot"), rule, units.shown(c.slot), nearest(c.slot, slots))


def family_words(family: str) -> str:
    """A family of parts in words: ``an event``, ``a part of the transmission``."""
    return {
        "transmission": "a part of the transmission",
        "overrunning clutch": "an overrunning clutch",
        "body": "a moving body",
        "event": "an event",
    }.get(family, f"a {family}")


def _stops(scenario: Scenario, registry: Registry) -> Iterator[Finding]:
    names = [s.name for s in scenario.stations if not s.is_slot]
    for s in scenario.stops.values():
        for word, value in (("of", s.of), ("to", s.to)):
            if value is not None and value not in names:
                rule = "no station with a part has this name"
                yield Finding(("stops", s.item.name, word), rule, units.shown(value), nearest(value, names))
        if s.fitted_to is not None and s.fitted_to not in scenario.candidates:
            hint = nearest(s.fitted_to, scenario.candidates)
            yield Finding(("stops", s.item.name, "fitted_to"), "no candidate has this name", s.fitted_to, hint)
        yield from watching(scenario, s, registry)
        yield from stopping(scenario, s.item, registry, ("stops", s.item.name), s.fitted_to)


def _situations(scenario: Scenario, registry: Registry) -> Iterator[Finding]:
    for s in scenario.situations.values():
        yield from _timing(scenario, s.item, s.at, s.horizon, ("situations", s.name))
        yield from _speeds(scenario, s.item, registry, ("situations", s.name))
        yield from stopping(scenario, s.item, registry, ("situations", s.name))
        yield from _start_ramp(scenario, s.item, registry, ("situations", s.name))
        if s.corner is not None and s.corner not in scenario.corners:
            hint = nearest(s.corner, scenario.corners)
            yield Finding(("situations", s.name, "corner"), "no corner has this name", units.shown(s.corner), hint)
        for n, step in enumerate(s.then):
            yield from _timing(scenario, step.item, step.at, s.horizon, ("situations", s.name, "then", n))
            yield from _speeds(scenario, step.item, registry, ("situations", s.name, "then", n))
            yield from stopping(scenario, step.item, registry, ("situations", s.name, "then", n))
            for word in sorted(step.item.given & {"after", "distance"}):
                rule = "counts from the beginning of the situation, not from an earlier event"
                got = units.shown(getattr(step.item.values[word], "text", step.item.values[word]))
                yield Finding(("situations", s.name, "then", n, word), rule, got, "give the instant: when")


def _speeds(scenario: Scenario, item: Item, registry: Registry, spot: Spot) -> Iterator[Finding]:
    """An event that asks for another speed, and drives that cannot keep one."""
    if not registry[item.part].kind.keeps_speed:
        return
    for s, kind in without_speed_loop(scenario, registry):
        rule = f"'{s.name}', a {kind}, has no speed loop and cannot be asked for another speed"
        yield Finding((*spot, "event"), rule, units.shown(item.part), f"make it a {with_speed_loop(registry)}")


def _start_ramp(scenario: Scenario, item: Item, registry: Registry, spot: Spot) -> Iterator[Finding]:
    """A start with a torque ramp of its own, and drives that cannot make one."""
    if item.part != "start" or "ramp" not in item.given:
        return
    got = units.shown(getattr(item.values["ramp"], "text", ""))
    for s in scenario.stations:
        part = registry.get(s.item.part) if s.item is not None else None
        if part is not None and part.kind.family == "drive" and "ramp" not in {p.name for p in part.kind.params}:
            rule = f"'{s.name}', a {part.kind.name}, has no torque ramp"
            yield Finding((*spot, "ramp"), rule, got, "leave it out")
        elif s.item is not None and s.item.values.get("starting") == "star-delta" and item.si("ramp") > 0.0:
            rule = f"'{s.name}' starts in star: a torque ramp and star-delta are two ways to start"
            yield Finding((*spot, "ramp"), rule, got, "leave it out, or let the motor start direct")


def _timing(scenario: Scenario, item: Item, at: str | None, horizon: float, spot: Spot) -> Iterator[Finding]:
    """A station that is not there, an instant past the horizon."""
    names = [s.name for s in scenario.stations]
    if at is not None and at not in names:
        yield Finding((*spot, "at"), "no station has this name", units.shown(at), nearest(at, names))
    for word in sorted(item.given):
        value = item.values[word]
        if isinstance(value, Quantity) and value.kind == "time" and value.si >= horizon:
            rule = f"lies beyond the horizon of {units.show(horizon, 'time')}"
            yield Finding((*spot, word), rule, units.shown(value.text), "set a longer horizon")
    every, times = item.si("every"), item.si("times")
    if 0.0 < every < horizon <= (times - 1.0) * every:
        fit = int(-(-horizon // every))
        rule = f"the last begins beyond the horizon of {units.show(horizon, 'time')}"
        got = f"{times:.0f} at every {units.show(every, 'time')}"
        yield Finding((*spot, "times"), rule, got, f"set a longer horizon, or times = {fit}")
