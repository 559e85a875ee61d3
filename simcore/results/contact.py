"""What zero on the clock of a run is: its first event, and when the jam comes if that is another one."""

from __future__ import annotations

from collections.abc import Iterable
from math import nan
from typing import Final

from simcore.results.model import ResultSet, Run

JAMS: Final = frozenset({"hard stop", "soft stop", "partial jam", "wedge", "foreign body", "crushed product"})
"""Kinds of events in which something stands in the way of the load."""


def first_event(run: Run) -> str:
    """In words: 'contact', 'the start', 'the emergency stop'..."""
    return "contact" if run.event in JAMS else f"the {run.event}"


def jam_after(run: Run) -> tuple[str, float]:
    """Kind of the jam that follows a first event of another kind, and its instant [s]; '' and NaN without one."""
    jams = {c.name: c.part for c in run.connections if c.role == "event" and c.part in JAMS}
    if run.event in JAMS:
        return "", nan
    return next(((jams[e.who], e.time) for e in run.events if e.time >= 0.0 and e.who in jams), ("", nan))


def jam_in(result: ResultSet, situation: str) -> tuple[str, float]:
    """The same of a situation, from the first of its runs that comes so far."""
    found: Iterable[tuple[str, float]] = (jam_after(r) for (_, s), r in result.runs.items() if s == situation)
    return next((f for f in found if f[0]), ("", nan))
