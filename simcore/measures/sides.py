"""Inertia before and behind each protection, at its own shaft."""

from __future__ import annotations

from collections.abc import Iterable

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
    return out
