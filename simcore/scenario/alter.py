"""A scenario with some of its numbers replaced, by readable path."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from simcore.scenario.model import Candidate, Item, Limit, Quantity, Scenario, Situation, Station

TIMING = ("horizon", "lead")
ALLOWABLE = "allowable"
NO_ALLOWABLE = "{} has no allowable that another value could take the place of"


def altered(scenario: Scenario, values: Mapping[str, float]) -> Scenario:
    """The same scenario with the numbers named by path (``line["drum"].radius``) set to ``values`` [SI].

    An input left out in the file may be set too.  KeyError for a path that names no number of the scenario.
    """
    by_owner: dict[str, dict[str, float]] = {}
    for path, v in values.items():
        owner, _, name = path.rpartition(".")
        by_owner.setdefault(owner, {})[name] = v
    stations = tuple(_station(s, by_owner.pop(s.path, {})) for s in scenario.stations)
    candidates = {n: _candidate(c, by_owner.pop(c.item.path, {})) for n, c in scenario.candidates.items()}
    situations = {n: _situation(s, by_owner.pop(s.path, {})) for n, s in scenario.situations.items()}
    stops = {n: replace(s, item=_with(s.item, by_owner.pop(s.item.path, {}))) for n, s in scenario.stops.items()}
    situations = {n: _steps(s, by_owner) for n, s in situations.items()}
    if by_owner:
        raise KeyError(next(iter(by_owner)))
    return replace(scenario, stations=stations, candidates=candidates, stops=stops, situations=situations)


def kept(scenario: Scenario, only: Mapping[str, Sequence[str]]) -> Scenario:
    """The scenario with the ``candidates`` and ``situations`` named in ``only`` alone; all where it names none.

    KeyError for a name the scenario does not have.
    """
    names = {key: tuple(only[key]) for key in ("candidates", "situations") if only.get(key)}
    if not names:
        return scenario
    candidates = {n: scenario.candidates[n] for n in names.get("candidates", scenario.candidates)}
    situations = {n: scenario.situations[n] for n in names.get("situations", scenario.situations)}
    return replace(scenario, candidates=candidates, situations=situations, only=names)


def value_at(scenario: Scenario, path: str) -> float:
    """The number at a path [SI], NaN if it has none; KeyError if nothing in the scenario has this path."""
    owner, _, name = path.rpartition(".")
    for s in scenario.stations:
        if s.path == owner:
            return _of_station(s, name)
    for c in scenario.candidates.values():
        if c.item.path == owner:
            return c.item.si(name)
    for situation in scenario.situations.values():
        if situation.path == owner:
            return _of_situation(situation, name)
        for step in situation.then:
            if step.item.path == owner:
                return step.item.si(name)
    for stop in scenario.stops.values():
        if stop.item.path == owner:
            return stop.item.si(name)
    raise KeyError(path)


def takes(item: Item, name: str) -> bool:
    """Whether a part has an input of this name."""
    from simcore.parts import REGISTRY

    return any(p.name == name for p in REGISTRY[item.part].kind.params)


def _of_situation(s: Situation, name: str) -> float:
    if name == ALLOWABLE:
        return float("nan") if s.limit is None else s.limit.allowable.si
    return float(getattr(s, name)) if name in TIMING else s.item.si(name)


def _of_station(s: Station, name: str) -> float:
    if name == ALLOWABLE:
        return float("nan") if s.limit is None else s.limit.allowable.si
    if s.item is None:
        hub: Quantity | None = getattr(s, name)
        return float("nan") if hub is None else hub.si
    return s.item.si(name)


def _station(s: Station, values: dict[str, float]) -> Station:
    if ALLOWABLE in values:
        s = replace(s, limit=_limit(s, values.pop(ALLOWABLE)))
    if not values:
        return s
    if s.item is None:
        hubs: dict[str, Any] = {name: _quantity("inertia", v) for name, v in values.items()}
        return replace(s, **hubs)
    return replace(s, item=_with(s.item, values))


def _limit(s: Station | Situation, allowable: float) -> Limit:
    if s.limit is None:
        raise KeyError(f"{s.path}.{ALLOWABLE}")
    return replace(s.limit, allowable=_quantity(s.limit.allowable.kind, allowable))


def _candidate(c: Candidate, values: dict[str, float]) -> Candidate:
    return replace(c, item=_with(c.item, values)) if values else c


def _situation(s: Situation, values: dict[str, float]) -> Situation:
    if ALLOWABLE in values:
        s = replace(s, limit=_limit(s, values.pop(ALLOWABLE)))
    timing: dict[str, Any] = {name: values.pop(name) for name in TIMING if name in values}
    s = replace(s, item=_with(s.item, values)) if values else s
    return replace(s, **timing) if timing else s


def _steps(s: Situation, by_owner: dict[str, dict[str, float]]) -> Situation:
    then = tuple(replace(t, item=_with(t.item, by_owner.pop(t.item.path, {}))) for t in s.then)
    return replace(s, then=then) if then else s


def _with(item: Item, values: Mapping[str, float]) -> Item:
    from simcore.parts import REGISTRY

    if not values:
        return item
    kind = REGISTRY[item.part].kind
    new = {n: _quantity(_kind(item, n, kind.param(n).kind), v) for n, v in values.items()}
    return replace(item, values={**item.values, **new}, given=item.given | new.keys())


def _kind(item: Item, name: str, declared: str) -> str:
    """A torque or a force as written; else as declared."""
    v = item.values.get(name)
    return v.kind if isinstance(v, Quantity) else declared


def _quantity(kind: str, v: float) -> Quantity:
    return Quantity(v, kind, f"{v:.12g} (SI)")
