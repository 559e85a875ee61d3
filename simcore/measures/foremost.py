"""The order of warnings: what can hurt first, then what concerns the recommended candidate, remarks last."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from simcore.line.caution import Caution
from simcore.line.cautions import grouped
from simcore.measures.shown import Shown
from simcore.results.model import Answer

REMARKS: Final = {"odd hubs", "no room for overshoot", "start above setting", "stop at once", "bearing load not judged"}
"""Sizes that look odd, bounds and estimates of what the run itself has measured, and what is told for the record."""
GRAVE, USUAL, REMARK = range(3)
LINE, OTHER, FAILING = range(3)
"""Whom a warning concerns: the line or the recommended candidate, another that passes, one that fails."""


def in_order(seen: Shown, known: Sequence[Caution], answers: Sequence[Answer]) -> list[str]:
    """Sentences of all warnings: by tier, then by whom they concern, then as a run shows them.

    Where one holds for several candidates the best of them is the one it speaks of.  What concerns failing candidates
    alone comes last; where no candidate passes all count alike.
    """
    ranks = {a.name: a.rank for a in answers}
    groups: dict[tuple[int, int, str], list[Caution]] = {}
    for source, found in enumerate((seen.weighty, known, seen.light)):
        for c in found:
            groups.setdefault((_tier(c), source, c.name), []).append(c)
    concerns = _concerns(answers)

    def key(group: tuple[int, int, str]) -> tuple[bool, int, int, int]:
        whom = min(concerns.get(c.candidate, LINE) for c in groups[group])
        return whom == FAILING, group[0], whom, group[1]

    out = []
    for group in sorted(groups, key=key):
        out += grouped(sorted(groups[group], key=lambda c: ranks.get(c.candidate, 0)))
    return out


def _tier(c: Caution) -> int:
    if c.grave:
        return GRAVE
    return REMARK if c.name in REMARKS else USUAL


def _concerns(answers: Sequence[Answer]) -> dict[str, int]:
    """Candidates that are not the recommended one, by name."""
    passing = [a for a in answers if a.passed]
    if not passing:
        return {}
    best = min(passing, key=lambda a: a.rank)
    return {a.name: OTHER if a.passed else FAILING for a in answers if a.name != best.name}
