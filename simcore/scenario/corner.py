"""Corners: named sets of other values (cold, worn, low voltage) under which a situation may take place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from simcore import units
from simcore.contract import Part
from simcore.scenario.alter import ALLOWABLE, NO_ALLOWABLE, altered, takes
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Item, Quantity, Scenario, Situation
from simcore.scenario.models import WORDY, InputFault, read_value, refusals
from simcore.scenario.paths import PathFault, form, names_of, parse, readable, settable, spot_of
from simcore.scenario.words import nearest

ALL: Final = "candidates[*]."
"""Begins the path of an input of whichever candidate is under trial, if it has that input."""


def read_corner(
    name: str, table: Mapping[str, Any], raw: Mapping[str, Any], registry: Mapping[str, Part], found: list[Finding]
) -> dict[str, float]:
    """The values of one corner in SI by readable path; what is wrong goes to ``found``."""
    places = settable(raw, registry)
    names = names_of(raw)
    out: dict[str, float] = {}
    for path, value in table.items():
        here = ("corners", name, path)
        if isinstance(value, dict):
            found.append(Finding(here, "must be a path in quotes", hint="'line[\"motor\"].limit' = ..."))
            continue
        candidates = raw.get("candidates")
        trial = next(iter(candidates), "") if isinstance(candidates, dict) else ""
        try:
            spots = _of_all(path, candidates, registry) if path.startswith(ALL) else [spot_of(raw, parse(path))]
        except PathFault as fault:
            found.append(Finding(here, fault.rule, hint=fault.hint))
            continue
        spot, param = spots[0], places.get(spots[0])
        if param is None or spot[0] in ("corners", "sweep", "solver", "display") or len(spot) < 3:
            near = nearest(path.replace(ALL, form(("candidates", trial)) + "."), [readable(s, names) for s in places])
            found.append(Finding(here, "is not a path of an input of this scenario", hint=near))
        elif param.kind in WORDY or param.many:
            found.append(Finding(here, "is not a number; a corner gives other numbers", units.shown(value)))
        elif param.name == ALLOWABLE and not _is_written(raw, spot):
            rule = NO_ALLOWABLE.format(readable(spot[:-1], names))
            found.append(Finding(here, rule, units.shown(value), "write one there first"))
        else:
            read, wrong = None, False
            for s in spots:
                try:
                    read = read_value(places[s], value)
                except InputFault as fault:
                    who = f", of '{s[1]}'" if path.startswith(ALL) else ""
                    found.append(Finding(here, fault.rule + who, fault.got, fault.hint))
                    wrong = True
            if isinstance(read, Quantity) and not wrong:
                out[path if path.startswith(ALL) else readable(spot, names)] = read.si
    return out


def _is_written(raw: Mapping[str, Any], spot: Spot) -> bool:
    """Whether the file has a value at a place whose table is there."""
    table: Any = raw
    for step in spot[:-1]:
        table = table[step]
    return spot[-1] in table


def _of_all(path: str, candidates: object, registry: Mapping[str, Part]) -> list[tuple[str | int, ...]]:
    """Spots of the input in every candidate that has it, at least one."""
    name = path.removeprefix(ALL)
    found: list[tuple[str | int, ...]] = []
    for who, table in candidates.items() if isinstance(candidates, dict) else ():
        part = table.get("part", who) if isinstance(table, dict) else who
        if isinstance(part, str) and part in registry and any(p.name == name for p in registry[part].kind.params):
            found.append(("candidates", who, name))
    if not found:
        raise PathFault("no candidate has this input")
    return found


def impossible(scenario: Scenario, registry: Mapping[str, Part]) -> Iterator[Finding]:
    """What a part refuses in the values it has in a corner, told at that corner; only of a scenario without faults."""
    for name, values in scenario.corners.items():
        made = _in_corner(scenario, values)
        before = {item.path: item for item in _items(scenario)}
        for item in _items(made):
            if item is not before[item.path]:
                for f in refusals(registry[item.part], item.values, ("corners", name), item.given):
                    yield f._replace(spot=("corners", name), rule=f"{item.path} is impossible with this: {f.rule}")


def _items(scenario: Scenario) -> Iterator[Item]:
    """All parts of a scenario that a corner may alter."""
    yield from (s.item for s in scenario.stations if s.item is not None)
    yield from (c.item for c in scenario.candidates.values())
    yield from (s.item for s in scenario.stops.values())
    for situation in scenario.situations.values():
        yield situation.item
        yield from (step.item for step in situation.then)


def cornered(scenario: Scenario, situation: Situation) -> Scenario:
    """The scenario as it is in the situation's corner; itself if it has none."""
    return scenario if situation.corner is None else _in_corner(scenario, scenario.corners[situation.corner])


def corner_values(scenario: Scenario, situation: Situation) -> dict[str, float]:
    """What the situation's corner replaces, by path [SI]; nothing if it has none."""
    return {} if situation.corner is None else _each_path(scenario, scenario.corners[situation.corner])


def _in_corner(scenario: Scenario, corner: Mapping[str, float]) -> Scenario:
    return replace(altered(scenario, _each_path(scenario, corner)), sweep=scenario.sweep)


def _each_path(scenario: Scenario, corner: Mapping[str, float]) -> dict[str, float]:
    """The corner's values with the path of every candidate that has the input; one said of a candidate goes before."""
    values: dict[str, float] = {}
    for path, v in sorted(corner.items(), key=lambda c: not c[0].startswith(ALL)):
        if path.startswith(ALL):
            name = path.removeprefix(ALL)
            values |= {f"{c.item.path}.{name}": v for c in scenario.candidates.values() if takes(c.item, name)}
        else:
            values[path] = v
    return values
