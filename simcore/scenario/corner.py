"""Corners: named sets of other values (cold, worn, low voltage) under which a situation may take place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from simcore import units
from simcore.contract import Part
from simcore.scenario.alter import altered, takes
from simcore.scenario.findings import Finding
from simcore.scenario.model import Quantity, Scenario, Situation
from simcore.scenario.models import WORDY, InputFault, read_value
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
            spot = _first(path, candidates, registry) if path.startswith(ALL) else spot_of(raw, parse(path))
        except PathFault as fault:
            found.append(Finding(here, fault.rule, hint=fault.hint))
            continue
        param = places.get(spot)
        if param is None or spot[0] in ("corners", "sweep", "solver", "display") or len(spot) < 3:
            near = nearest(path.replace(ALL, form(("candidates", trial)) + "."), [readable(s, names) for s in places])
            found.append(Finding(here, "is not a path of an input of this scenario", hint=near))
        elif param.kind in WORDY or param.many:
            found.append(Finding(here, "is not a number; a corner gives other numbers", units.shown(value)))
        else:
            try:
                read = read_value(param, value)
            except InputFault as fault:
                found.append(Finding(here, fault.rule, fault.got, fault.hint))
                continue
            if isinstance(read, Quantity):
                out[path if path.startswith(ALL) else readable(spot, names)] = read.si
    return out


def _first(path: str, candidates: object, registry: Mapping[str, Part]) -> tuple[str | int, ...]:
    """Spot of the input in the first candidate that has it."""
    name = path.removeprefix(ALL)
    for who, table in candidates.items() if isinstance(candidates, dict) else ():
        part = table.get("part", who) if isinstance(table, dict) else who
        if isinstance(part, str) and part in registry and any(p.name == name for p in registry[part].kind.params):
            return ("candidates", who, name)
    raise PathFault("no candidate has this input")


def cornered(scenario: Scenario, situation: Situation) -> Scenario:
    """The scenario as it is in the situation's corner; itself if it has none."""
    if situation.corner is None:
        return scenario
    values: dict[str, float] = {}
    for path, v in scenario.corners[situation.corner].items():
        if path.startswith(ALL):
            name = path.removeprefix(ALL)
            values |= {f"{c.item.path}.{name}": v for c in scenario.candidates.values() if takes(c.item, name)}
        else:
            values[path] = v
    made = altered(scenario, values)
    return replace(made, sweep=scenario.sweep)
