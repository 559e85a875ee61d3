"""The first screen after a run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.results.model import ResultSet
from simcore.screen import many, trust, verdicts
from simcore.screen.words import Line, Word, paragraph, wrap

WIDEST: Final = 100
NARROWEST: Final = 40
LINES: Final = 44
"""Lines of a full screen, 100 columns wide."""
FIXED: Final = 2
"""Of them for the files and for what is left out."""
MOST: Final = 3
ALWAYS: Final = {"remarks": 1, "warnings": 2}
"""Warnings and remarks that are shown if there is room, and whatever the room."""
CAUTION: Final = (
    "A torque-limiting part is no safeguard for people. ISO 12100, ISO 13849-1, IEC 60204-1 and ISO 14118 (named "
    "from memory) are the standards to consult; local codes and licensed practice have the last word."
)


class Shown(NamedTuple):
    """How many remarks and warnings are told, the weightiest first."""

    remarks: int
    warnings: int


def screen(
    result: ResultSet, columns: int = WIDEST, files: Sequence[str] = (), where: str = "RESULT", whole: bool = False
) -> list[Line]:
    """Lines of at most ``columns`` (40 to 100) for a result; ``files`` says what was written, ``where`` its folder.

    ``whole`` tells every remark, warning, reason and hand bound; else what decides, and how many more there are.
    """
    wide = min(WIDEST, max(NARROWEST, columns))
    result = result if whole else many.shortened(result)
    every = Shown(len(result.remarks), len(result.warnings))
    told = every if whole else _fitting(result)
    out = [*_before(result, wide, whole), *_remarks(result, told, wide)]
    if more := _more(result, told, every, where, whole):
        out += paragraph("More", more, wide, "mind" if told != every else "")
    out += _evidence(result, wide, whole)
    for n, text in enumerate(files):
        out += paragraph("Files" if n == 0 else "", text, wide)
    return [*out, *paragraph("Caution", CAUTION, wide, "mind")]


def _before(result: ResultSet, wide: int, whole: bool) -> list[Line]:
    """Verdict, table, and what the table stands for."""
    out = [[Word(t, "head")] for t in wrap(result.title, wide)]
    passed = any(a.passed for a in result.answers)
    style = "good" if passed else "bad" if result.answers else ""
    out += [[Word(t, style)] for t in wrap(result.sentence, wide)]
    return [*out, [], *verdicts.rows(result, wide, whole), *verdicts.below(result, wide, whole), []]


def _remarks(result: ResultSet, told: Shown, wide: int) -> list[Line]:
    out: list[Line] = []
    before = ""
    for r in result.remarks[: told.remarks]:
        out += paragraph("" if r.label == before else r.label, r.text, wide)
        before = r.label
    for n, text in enumerate(result.warnings[: told.warnings]):
        out += paragraph(f"Warning {n + 1}", text, wide, "mind")
    return out


def _evidence(result: ResultSet, wide: int, whole: bool) -> list[Line]:
    out: list[Line] = []
    for label, text in (
        ("By hand", trust.hand_check(result, whole)),
        ("Not given", trust.defaults(result)),
        ("Numerics", trust.numerics(result)),
        ("Inertias", trust.inertias(result)),
    ):
        out += paragraph(label, text, wide) if text else []
    return out


def _fitting(result: ResultSet) -> Shown:
    """What is always told, grave warnings, and the next ones as long as they fit into what the rest leaves of a screen.

    By the lines that a wide terminal takes, so that a narrow one tells no less.
    """
    rest = [*_before(result, WIDEST, False), *_evidence(result, WIDEST, False), *paragraph("", CAUTION, WIDEST)]
    room = LINES - len(rest) - FIXED
    told = Shown(0, 0)
    always = {**ALWAYS, "warnings": max(ALWAYS["warnings"], int(result.findings.get("grave warnings", 0.0)))}
    for n in range(MOST):
        for texts, kind in ((result.warnings, "warnings"), ([r.text for r in result.remarks], "remarks")):
            takes = len(paragraph("", texts[n], WIDEST)) if n < len(texts) else 0
            if takes and getattr(told, kind) == n and (n < always[kind] or takes <= room):
                told, room = told._replace(**{kind: n + 1}), room - takes
    return told


def _more(result: ResultSet, told: Shown, every: Shown, where: str, whole: bool) -> str:
    """What the screen leaves out, and the command that tells it; empty if nothing."""
    place = f'"{where}"' if " " in where else where
    counts = (
        ("warning", every.warnings - told.warnings),
        ("remark", every.remarks - told.remarks),
        ("hand bound", 0 if whole else trust.hand_bounds_left(result)),
    )
    left = [f"{n} {word}{'s' * (n > 1)}" for word, n in counts if n > 0]
    if left:
        return f"{', '.join(left)} more: simcore show {place} --all"
    return f"the defaults: simcore show {place} --defaults" if result.defaults else ""
