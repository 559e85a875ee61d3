"""Inertia before and behind each protection, at its own shaft."""

from __future__ import annotations

from collections.abc import Iterable

from simcore.inertia_words import VARIES
from simcore.line.places import swings, swings_on
from simcore.line.reflect import seen_from
from simcore.measures.cases import Case

BEFORE, BEHIND = "inertia before", "inertia behind"


def sides(cases: Iterable[Case]) -> dict[str, float]:
    """Inertia [kg*m^2] before and behind every candidate, by the words above and its name."""
    out: dict[str, float] = {}
    for c in cases:
        i = c.assembly.candidate
        if c.candidate is None or i is None or f"{BEFORE} '{c.candidate.name}'" in out:
            continue
        s = seen_from(c.assembly, i)
        out[f"{BEFORE} '{c.candidate.name}'"] = s.up
        out[f"{BEHIND} '{c.candidate.name}'"] = s.down
        e = c.assembly.graph.elements[i]
        for side, start in ((BEFORE, e.a), (BEHIND, e.b)):
            more = swings_on(c.assembly, i, start)
            if more > 0.0:
                out[f"{VARIES}, {side} '{c.candidate.name}'"] = more
    return out


def varying(case: Case) -> dict[str, float]:
    """What varies over a turn, at the protected connection's shaft, by the words above and who brings it."""
    found = {} if case.protected < 0 else swings(case.assembly, case.protected)
    return {f"{VARIES} '{name}'": more for name, more in found.items()}
