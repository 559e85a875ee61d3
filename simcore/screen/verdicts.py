"""The table of candidates and what stands directly below it."""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite, isnan
from typing import Final

from simcore import units
from simcore.results.model import BARE, BARE_LINE, Answer, ResultSet
from simcore.screen import many
from simcore.screen.alike import by_word, merged, spoken
from simcore.screen.crashes import bare_peak, best_first, letters, told_of
from simcore.screen.numbers import NONE, effort, effort_unit, milliseconds, share, signed
from simcore.screen.reading import caption, tightest
from simcore.screen.table import Column, table
from simcore.screen.words import Line, Word, paragraph

ALL: Final = 3
"""Candidates from which on all of them are told by their number."""


def rows(result: ResultSet, wide: int, whole: bool = False) -> list[Line]:
    """Candidates, best first, and the bare line; under it what it takes to run again, if that has no column."""
    columns = _columns(result)
    words = {a.name: again(a) for a in best_first(result)}
    if whole or len(result.answers) <= many.MANY:
        return _shortest(columns, spoken(words), wide)
    lines = many.one_line(columns, wide)
    if lines is None:
        return [*table(columns, wide), []]
    left_out = len(lines) < len(columns)
    return [*table(lines, wide), *([[], *many.told("To run again", words, wide)] if left_out else [[]])]


def _shortest(columns: list[Column], words: str, wide: int) -> list[Line]:
    """The table in the fewest lines: names in one line each or wrapped, the last column beside it or in words."""
    told = paragraph("To run again", f"{words}.", wide) if words else []
    ways = []
    for first in (columns[0], columns[0]._replace(most=many.LONGEST)):
        ways += [[*table([first, *columns[1:]], wide), []], [*table([first, *columns[1:-1]], wide), [], *told]]
    return min(ways, key=len)


def _columns(result: ResultSet) -> list[Column]:
    answers = best_first(result)
    unit = effort_unit(result)
    bare = bare_peak(result)
    columns = [
        Column(("", "protection"), [*(Word(a.name) for a in answers), Word(BARE_LINE, "quiet")], False),
        Column(("", "passes"), [*(verdict(a) for a in answers), Word(NONE, "quiet")], False),
        Column(("triggers", "at ms"), _words((_instant(a.trigger) for a in answers), NONE)),
        Column(("lets go", "at ms"), _words((_instant(a.lets_go) for a in answers), NONE)),
        Column(("disconnects", "at ms"), _words((disconnect(a) for a in answers), NONE)),
        Column(("peak", unit), _words((effort(a.peak, unit) for a in answers), effort(bare, unit))),
        Column(("of what", "it bears"), _shares(result, answers, bare)),
        Column(("service", "margin"), _margins(answers)),
        Column(("", "to run again"), _words((again(a) for a in answers), NONE), False),
    ]
    if letter := letters(result):
        at = told_of(result)
        cells = [Word(letter.get(at.get(n, ""), NONE), "quiet") for n in (*(a.name for a in answers), BARE)]
        columns.insert(2, Column(("", "in"), cells, False))
    return columns


def _instant(seconds: float) -> str:
    """Milliseconds after the event; a word where it slips by intent before it."""
    return "before" if seconds == 0.0 else milliseconds(seconds)


def _words(texts: Iterable[str], last: str) -> list[Word]:
    return [*(Word(t) for t in texts), Word(last, "quiet")]


def _shares(result: ResultSet, answers: list[Answer], bare: float) -> list[Word]:
    shares = [a.peak / result.allowable for a in answers] + [bare / result.allowable]
    return [Word(share(s), "bad" if s > 1.0 else "") for s in shares]


def _margins(answers: list[Answer]) -> list[Word]:
    out = []
    for a in answers:
        m = tightest(a)
        if m is None:
            out.append(Word(NONE))
        elif isnan(m.percent):
            out.append(Word("as asked", "") if m.met else Word("fails", "bad"))
        else:
            out.append(Word(signed(m.percent), "" if m.met and m.percent >= 0.0 else "bad"))
    return [*out, Word(NONE, "quiet")]


def disconnect(a: Answer) -> str:
    """When it disconnects, or that it does not."""
    if isfinite(a.reengage):
        return f"{milliseconds(a.disconnect)}, back at {milliseconds(a.reengage)}"
    if isfinite(a.disconnect):
        return milliseconds(a.disconnect)
    words = {"slips, does not disconnect": "no, slips", "does not let go": "never", "not known": NONE}
    return words.get(a.disconnects, "no")


def again(a: Answer) -> str:
    """What it takes to run again, and how long."""
    seconds = a.again_seconds
    return f"{a.again}, {units.plain(seconds)} s" if isfinite(seconds) and seconds > 0.0 else a.again


def verdict(a: Answer) -> Word:
    return Word("yes", "good") if a.passed else Word("no", "bad")


def below(result: ResultSet, wide: int, whole: bool = False) -> list[Line]:
    """What the figures stand for, the worst shares over the band, and each 'no' with its reasons."""
    out = paragraph("Reading", caption(result, whole), wide, "quiet")
    answers = best_first(result)
    if len(answers) > many.MANY:
        return [*out, *many.reasons(answers, wide, result.situations, whole)]
    letter = letters(result)
    against = {a.name: "; ".join(merged(a.reasons, result.situations, letter)) for a in answers if not a.passed}
    for why, names in by_word(against).items():
        who = ", ".join(names) if len(names) < len(answers) or len(names) < ALL else f"all {len(names)}"
        out += paragraph("No", f"{who}: {why}.", wide, "bad")
    return out
