"""What is impossible in stop chains and emergency stops: what they watch, how they stop, what they let go."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from simcore import units
from simcore.contract import Kind, Part
from simcore.parts._stopping import ACTIONS_OF_A_CHAIN, OFF_AT_ONCE, REVERSE_THEN_OFF
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Item, Quantity, Scenario, Station, Stop

Registry = Mapping[str, Part]
AT_ONCE, REVERSES = (ACTIONS_OF_A_CHAIN[i] for i in (OFF_AT_ONCE, REVERSE_THEN_OFF))
"""Actions of a stop that ask for no ramp down."""
RELEASES = {"vents": ("vent", "air"), "cuts_coils": ("coil", "a coil")}
"""Inputs of a stop that let something go: the wire, and what holds it."""
SPEED_LOSS, TORQUE = "speed loss", "torque"
SLIPS = ("slip angle", "slip speed")


def stopping(
    scenario: Scenario, item: Item, registry: Registry, spot: Spot, fitted_to: str | None = None
) -> Iterator[Finding]:
    """Of any stop, or of an event that is none: nothing."""
    yield from _ramps(scenario, item, registry, spot)
    yield from _releases(scenario, item, registry, spot, fitted_to)


def watching(scenario: Scenario, stop: Stop, registry: Registry) -> Iterator[Finding]:
    """What a chain senses, and stations that do not have it: it would never notice anything, or trip at once."""
    senses = str(stop.item.values.get("senses", ""))
    kind = _kind(scenario, stop.of, registry)
    if kind is None:
        return
    spot: Spot = ("stops", stop.item.name)
    if senses == SPEED_LOSS:
        if kind.hubs == 1 and stop.to in (None, stop.of):
            rule = f"is missing: '{stop.of}' has one speed, and a loss of speed is between two places"
            yield Finding((*spot, "to"), rule, hint="name a second station of the line")
        return
    lacks = ""
    if kind.hubs == 1 and senses in SLIPS:
        lacks = f"a {kind.name}, is joined at one place and cannot slip"
    elif senses == TORQUE and not _has_torque(kind, registry):
        lacks = f"a {kind.name}, has no torque that could be sensed"
    elif kind.family == "body":
        lacks = f"a {kind.name}, has a speed and nothing else that could be sensed"
    if lacks:
        near = _nearest_connection(scenario, str(stop.of), registry)
        hint = f"the nearest that has it: {near}" if near else f'a body can be sensed by senses = "{SPEED_LOSS}"'
        yield Finding(
            (*spot, "of"), f"'{stop.of}', {lacks}: a chain on {senses} would not notice it", units.shown(stop.of), hint
        )


def _has_torque(kind: Kind, registry: Registry) -> bool:
    """Dry friction against the ground is no part's own torque: the solver sums it by place."""
    return registry[kind.name].has("torque") and not registry[kind.name].has("friction")


def _kind(scenario: Scenario, name: str | None, registry: Registry) -> Kind | None:
    s = next((s for s in scenario.stations if s.name == name), None)
    part = registry.get(s.item.part) if s is not None and s.item is not None else None
    return None if part is None else part.kind


def _nearest_connection(scenario: Scenario, name: str, registry: Registry) -> str:
    """The connection fewest stations away in the file, that before rather than that behind; empty without one."""
    names = [s.name for s in scenario.stations]
    at = names.index(name)

    def far(s: Station) -> tuple[int, bool]:
        n = names.index(s.name)
        return abs(n - at), n > at

    joins = [s for s in scenario.stations if (k := _kind(scenario, s.name, registry)) is not None and k.hubs == 2]
    return min(joins, key=far).name if joins else ""


def _ramps(scenario: Scenario, item: Item, registry: Registry, spot: Spot) -> Iterator[Finding]:
    """A stop by a controlled ramp, and drives that know none: they would drive on at full speed."""
    action = item.values.get("action")
    if "slow" not in registry[item.part].kind.writes or action in (None, AT_ONCE):
        return
    if action == REVERSES:
        yield from _reversed_slowly(scenario, item, registry, spot)
        return
    for s, kind in without_speed_loop(scenario, registry):
        rule = f"'{s.name}', a {kind}, has no speed loop and cannot ramp down: it would drive on at full speed"
        hint = f'take action = "{AT_ONCE}" or make it a {with_speed_loop(registry)}'
        yield Finding((*spot, "action"), rule, units.shown(action), hint)


def _releases(
    scenario: Scenario, item: Item, registry: Registry, spot: Spot, fitted_to: str | None = None
) -> Iterator[Finding]:
    """A stop that lets air out or cuts coils where nothing is held by them."""
    reached = [s.item for s in scenario.stations] + [
        c.item for c in scenario.candidates.values() if fitted_to in (None, c.name)
    ]
    reads = {w for i in reached if i is not None and i.part in registry for w in registry[i.part].kind.reads}
    for word, (wire, by) in RELEASES.items():
        if item.values.get(word) is True and wire not in reads:
            kinds = ", ".join(k for k, p in registry.items() if wire in p.kind.reads)
            yield Finding((*spot, word), f"nothing that this stop reaches is held by {by}", hint=f"{by}: {kinds}")


def _reversed_slowly(scenario: Scenario, item: Item, registry: Registry, spot: Spot) -> Iterator[Finding]:
    """A stop that reverses at a share of the speed, and drives that know full speed only: they would stay off."""
    share = item.values.get("reverse_speed")
    if not isinstance(share, Quantity) or share.si >= 1.0:
        return
    for s, kind in without_speed_loop(scenario, registry):
        rule = f"'{s.name}', a {kind}, has no speed loop and is reversed at full speed only"
        hint = f"leave it out or make it a {with_speed_loop(registry)}"
        yield Finding((*spot, "reverse_speed"), rule, units.shown(share.text), hint)


def without_speed_loop(scenario: Scenario, registry: Registry) -> Iterator[tuple[Station, str]]:
    """Drives of the line that cannot follow a set speed, and what they are."""
    for s in scenario.stations:
        part = registry.get(s.item.part) if s.item is not None else None
        if part is not None and part.kind.family == "drive" and not part.kind.keeps_speed:
            yield s, part.kind.name


def with_speed_loop(registry: Registry) -> str:
    return " or a ".join(k for k, p in registry.items() if p.kind.family == "drive" and p.kind.keeps_speed)
