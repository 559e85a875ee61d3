"""The order of warnings and remarks: what can hurt first, then what concerns the recommended candidate."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Final

from simcore.line.caution import Caution
from simcore.line.cautions import grouped
from simcore.measures.shown import Shown
from simcore.results.model import Answer, Remark

REMARKS: Final = {
    "odd hubs", "heat of another size", "no room for overshoot", "start above setting", "stop at once",
    "bearing load not judged",
}  # fmt: skip
"""Sizes that look odd, bounds and estimates of what the run itself has measured, and what is told for the record."""
BY_WEIGHT: Final = (
    "Runs back", "Lets go too", "Heats on", "Backstop", "Stop", "Drops in", "Holds again", "Reverses", "Left behind",
)  # fmt: skip
"""Labels of remarks: a load that falls, what gives way besides, what burns; then how the drive stops, what running
again takes, and what stays for the next time."""
OPEN: Final = {"slot not said", "place not said"}
"""What leaves open which line, or which crash, was meant: told with the grave ones, whomever it concerns."""
GRAVE, USUAL, REMARK = range(3)
LINE, OTHER, FAILING = range(3)
"""Whom a warning concerns: the line or the recommended candidate, another that passes, one that fails."""


def by_weight(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    """Remarks by what they decide; those with the same label stay in their order."""
    return tuple(sorted(remarks, key=lambda r: BY_WEIGHT.index(r.label)))


def in_order(seen: Shown, known: Sequence[Caution], answers: Sequence[Answer]) -> list[str]:
    """Sentences of all warnings: by tier, then by whom they concern, then as a run shows them.

    Where one holds for several candidates the best of them is the one it speaks of.  What concerns failing candidates
    alone comes last; where no candidate passes all count alike.
    """
    return [text for _, texts in _ordered(seen, known, answers) for text in texts]


def gravest_first(known: Iterable[Caution], candidates: Collection[str]) -> list[tuple[Caution, str]]:
    """Warnings that need no run, what can hurt first: each once, with the sentence that names whom else it concerns."""
    groups: dict[str, list[Caution]] = {}
    for c in known:
        groups.setdefault(c.name, []).append(c)
    out: list[tuple[Caution, str]] = []
    for group in sorted(groups.values(), key=lambda cs: min(map(_tier, cs))):
        told = [group[0], *(c for c in group[1:] if not c.candidate)]
        out += zip(told, grouped(group, candidates), strict=True)
    return out


def grave_ones(seen: Shown, known: Sequence[Caution], answers: Sequence[Answer]) -> int:
    """How many of the sentences :func:`in_order` begins with can hurt someone, or concern what burns or breaks."""
    return sum(len(texts) for grave, texts in _ordered(seen, known, answers) if grave)


def _ordered(seen: Shown, known: Sequence[Caution], answers: Sequence[Answer]) -> Iterator[tuple[bool, list[str]]]:
    """Sentences of each kind of warning, in order, and whether they are grave for what may be fitted."""
    ranks = {a.name: a.rank for a in answers}
    groups: dict[tuple[int, int, str], list[Caution]] = {}
    for source, found in enumerate((seen.weighty, known, seen.light)):
        for c in found:
            groups.setdefault((_tier(c), source, c.name), []).append(c)
    concerns = _concerns(answers)

    def key(group: tuple[int, int, str]) -> tuple[bool, int, int, int]:
        whom = min(concerns.get(c.candidate, LINE) for c in groups[group])
        return whom == FAILING and group[2] not in OPEN, group[0], whom, group[1]

    for group in sorted(groups, key=key):
        failing, tier, *_ = key(group)
        yield (
            not failing and tier == GRAVE,
            grouped(sorted(groups[group], key=lambda c: ranks.get(c.candidate, 0)), ranks),
        )


def _tier(c: Caution) -> int:
    if c.grave or c.name in OPEN:
        return GRAVE
    return REMARK if c.name in REMARKS else USUAL


def _concerns(answers: Sequence[Answer]) -> dict[str, int]:
    """Candidates that are not the recommended one, by name."""
    passing = [a for a in answers if a.passed]
    if not passing:
        return {}
    best = min(passing, key=lambda a: a.rank)
    return {a.name: OTHER if a.passed else FAILING for a in answers if a.name != best.name}
