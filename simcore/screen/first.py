"""The first screen after a run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from simcore.results.model import ResultSet
from simcore.screen import many, trust, verdicts
from simcore.screen.words import Line, Word, paragraph, wrap

WIDEST: Final = 100
NARROWEST: Final = 40
WARNINGS: Final = 3
"""Warnings that are shown; the others are counted."""
CAUTION: Final = (
    "A torque-limiting part is no safeguard for people. ISO 12100, ISO 13849-1, IEC 60204-1 and ISO 14118 (named "
    "from memory) are the standards to consult; local codes and licensed practice have the last word."
)


def screen(result: ResultSet, columns: int = WIDEST, files: Sequence[str] = ()) -> list[Line]:
    """Lines of at most ``columns`` (40 to 100) for a result; ``files`` says where it was put."""
    wide = min(WIDEST, max(NARROWEST, columns))
    result = many.shortened(result)
    out = [[Word(t, "head")] for t in wrap(result.title, wide)]
    passed = any(a.passed for a in result.answers)
    style = "good" if passed else "bad" if result.answers else ""
    out += [[Word(t, style)] for t in wrap(result.sentence, wide)]
    out += [[], *verdicts.rows(result, wide), *verdicts.below(result, wide), []]
    for r in result.remarks:
        out += paragraph(r.label, r.text, wide)
    out += _warnings(result, wide)
    for label, text in (
        ("By hand", trust.hand_check(result)),
        ("Not given", trust.defaults(result)),
        ("Numerics", trust.numerics(result)),
        ("Inertias", trust.inertias(result)),
    ):
        out += paragraph(label, text, wide) if text else []
    for n, text in enumerate(files):
        out += paragraph("Files" if n == 0 else "", text, wide)
    return [*out, *paragraph("Caution", CAUTION, wide, "mind")]


def _warnings(result: ResultSet, wide: int) -> list[Line]:
    out: list[Line] = []
    for n, text in enumerate(result.warnings[:WARNINGS]):
        out += paragraph(f"Warning {n + 1}", text, wide, "mind")
    more = len(result.warnings) - WARNINGS
    if more > 0:
        word = "warning" if more == 1 else "warnings"
        out += paragraph(
            "", f"{more} more {word}: run --json has all, simcore check those known without a run.", wide, "mind"
        )
    return out
