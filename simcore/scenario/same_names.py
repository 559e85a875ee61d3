"""Names that two things of a scenario share: in a run every station, candidate, stop and event is found by its name."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from simcore import units
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Scenario
from simcore.scenario.models import name_fault
from simcore.scenario.paths import names_of, readable
from simcore.scenario.words import THEN


class Named(NamedTuple):
    """A thing with a name, and what to write to give it another one."""

    name: str
    sort: str
    spot: Spot
    way_out: str


def same_names(scenario: Scenario, raw: Mapping[str, Any]) -> Iterator[Finding]:
    """Names that are taken already, told where they come the second time.

    So are those that differ in capitals and blanks only: file systems and eyes do not keep them apart.
    """
    first: dict[str, Named] = {}
    for thing in _named(scenario, raw):
        other = first.setdefault(folded(thing.name), thing)
        if other is not thing and {other.sort, thing.sort} != {"event"}:
            yield _clash(other, thing, raw)


def folded(name: str) -> str:
    """A name without what does not tell names apart.

    >>> folded("Head  Shaft") == folded("head shaft")
    True
    """
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def _named(scenario: Scenario, raw: Mapping[str, Any]) -> Iterator[Named]:
    rows = raw.get("line")
    own = [isinstance(r, dict) and "name" in r for r in rows] if isinstance(rows, list) else []
    for n, s in enumerate(scenario.stations):
        way_out = "" if n < len(own) and own[n] else "give the station a name of its own: name = ..."
        yield Named(s.name, "station", ("line", n), way_out)
    for c in scenario.candidates.values():
        part = f', with part = "{c.item.part}"' if c.name == c.item.part else ""
        yield Named(c.name, "candidate", ("candidates", c.name), _renamed(c.name, "candidate", part))
    for stop in scenario.stops.values():
        name = stop.item.name
        yield Named(name, "stop", ("stops", name), _renamed(name, "stop"))
    for x in scenario.situations.values():
        yield Named(x.name, "situation", ("situations", x.name), _renamed(x.name, "situation"))
    for x in scenario.situations.values():
        for n, name in enumerate(x.step_names):
            yield Named(name, "event", ("situations", x.name, THEN, n), "")


def _renamed(name: str, sort: str, more: str = "") -> str:
    new = f"{name} ({sort})"
    return f'name the {sort} otherwise, for instance "{new}"{more}' if name_fault(new) is None else ""


def _clash(one: Named, two: Named, raw: Mapping[str, Any]) -> Finding:
    same = "have the same name" if one.name == two.name else "have names that differ in capitals and blanks only"
    if one.sort == two.sort == "station":
        rule, other = f"stations {int(one.spot[1]) + 1} and {int(two.spot[1]) + 1} {same}", one.spot
        return Finding(two.spot, rule, units.shown(two.name), "give each a name of its own: name = ...", other)
    rule = f"this {two.sort} and the {one.sort} {readable(one.spot, names_of(raw))} {same}"
    hint = (one.way_out if one.sort == "station" else "") or two.way_out or one.way_out
    return Finding(two.spot, rule, units.shown(two.name), hint or "give each a name of its own", one.spot)
