"""The order of warnings: what concerns the recommended candidate first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from simcore.line.caution import Caution
from simcore.line.cautions import grouped
from simcore.measures.shown import Shown
from simcore.results.model import Answer

WEIGHTS: Final = {"slips without a stop": 0, "no room for overshoot": 2, "start above setting": 2}
"""By name: what burns stands with what a run shows first; bounds that the run itself has measured come last."""
LINE, OTHER, FAILING = range(3)
"""Whom a warning concerns: the line or the recommended candidate, another that passes, one that fails."""


def in_order(seen: Shown, known: Sequence[Caution], answers: Sequence[Answer]) -> list[str]:
    """Sentences of all warnings, by whom they concern, then by weight.

    Where one holds for several candidates the best of them is the one it speaks of.  Where no candidate passes all
    count alike.
    """
    ranks = {a.name: a.rank for a in answers}
    groups: dict[tuple[int, str], list[Caution]] = {}
    for usual, found in enumerate((seen.weighty, known, seen.light)):
        for c in found:
            groups.setdefault((WEIGHTS.get(c.name, usual), c.name), []).append(c)
    concerns = _concerns(answers)

    def key(group: tuple[int, str]) -> tuple[int, int]:
        return min(concerns.get(c.candidate, LINE) for c in groups[group]), group[0]

    out = []
    for group in sorted(groups, key=key):
        out += grouped(sorted(groups[group], key=lambda c: ranks.get(c.candidate, 0)))
    return out


def _concerns(answers: Sequence[Answer]) -> dict[str, int]:
    """Candidates that are not the recommended one, by name."""
    passing = [a for a in answers if a.passed]
    if not passing:
        return {}
    best = min(passing, key=lambda a: a.rank)
    return {a.name: OTHER if a.passed else FAILING for a in answers if a.name != best.name}
