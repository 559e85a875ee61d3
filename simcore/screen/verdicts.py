"""The table of candidates and what stands directly below it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf, isfinite, isnan, nan
from typing import Final

from simcore import units
from simcore.results.model import BARE, Answer, Margin, ResultSet
from simcore.screen import many
from simcore.screen.numbers import NONE, effort, effort_unit, milliseconds, share, signed
from simcore.screen.table import Column, table
from simcore.screen.words import Line, Word, paragraph

BARE_LINE: Final = "bare line"


def rows(result: ResultSet, wide: int) -> list[Line]:
    """Candidates, best first, and the bare line."""
    columns = _columns(result)
    lines = many.one_line(columns, wide) if len(result.answers) > many.MANY else None
    if lines is None:
        return table(columns, wide)
    out = table(lines, wide)
    if len(lines) < len(columns):
        words = {a.name: again(a) for a in sorted(result.answers, key=lambda a: a.rank)}
        out += [[], *many.told("To run again", words, wide)]
    return out


def _columns(result: ResultSet) -> list[Column]:
    answers = sorted(result.answers, key=lambda a: a.rank)
    unit = effort_unit(result)
    bare = bare_peak(result)
    return [
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


def tightest(answer: Answer) -> Margin | None:
    """The service situation with the least margin; one that fails at any setting comes first."""
    service = [m for m in answer.margins if m.expect != "let go"]

    def size(m: Margin) -> float:
        if isnan(m.percent):
            return inf if m.met else -inf
        return m.percent

    return min(service, key=size, default=None)


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


def bare_peak(result: ResultSet) -> float:
    """Largest peak of the bare line in a situation where the protection ought to let go, else in any."""
    bare = [r for (c, _), r in result.runs.items() if c == BARE]
    crashes = [r for r in bare if r.expect == "let go"] or bare
    peaks = [r.measures.get("peak", nan) for r in crashes]
    return max((p for p in peaks if not isnan(p)), default=nan)


def below(result: ResultSet, wide: int) -> list[Line]:
    """What the figures stand for, the worst shares over the band, and each 'no' with its reasons."""
    out: list[Line] = [[], *paragraph("Reading", _caption(result), wide, "quiet")]
    answers = sorted(result.answers, key=lambda a: a.rank)
    if len(answers) > many.MANY:
        return [*out, *many.reasons(answers, wide)]
    for a in answers:
        if not a.passed:
            out += paragraph("No", f"{a.name}: {'; '.join(a.reasons)}.", wide, "bad")
    return out


def _caption(result: ResultSet) -> str:
    unit = effort_unit(result)
    answers = sorted(result.answers, key=lambda a: a.rank)
    crashes = list(dict.fromkeys(a.crash for a in answers))
    bears = ""
    if isfinite(result.allowable):
        bears = f", which bears {effort(result.allowable, unit)} {unit}"
    named = ", ".join(f"'{c}'" for c in crashes)
    text = f"Times after and peaks in {named}" if crashes else "Peaks"
    text += f" at '{result.protect}'{bears}."
    tight = {a.name: f"'{m.situation}'" for a in answers if (m := tightest(a)) is not None}
    if tight:
        told = many.grouped(tight) if len(answers) > many.MANY else grouped(tight)
        text += f" Tightest in service: {told}."
    judged = [a for a in answers if isfinite(a.use)]
    if len(judged) > many.MANY:
        judged.sort(key=lambda a: a.use)
        text += " Over the band of the setting, of all limits up to:"
        low, high = (f"{_worst(a, result.protect)} ({a.name})" for a in (judged[0], judged[-1]))
        return f"{text} {low} to {high}."
    worst = [f"{a.name} {_worst(a, result.protect)}" for a in judged]
    if worst:
        text += f" Over the band of the setting, of all limits up to: {', '.join(worst)}."
    return text + _order(answers)


def _order(answers: Sequence[Answer]) -> str:
    """Why the best of several that pass is the best."""
    passing = [a for a in answers if a.passed and isfinite(a.least_margin)]
    if len(passing) < 2:
        return ""
    told = ", ".join(f"{a.name} {a.least_margin:.3g} %" for a in passing)
    return f" Ranked by the smaller of service margin and room to the limits: {told}."


def _worst(a: Answer, protect: str) -> str:
    where = "" if a.worst_limit == protect else f" at '{a.worst_limit}'"
    return share(a.use) + where


def grouped(words: dict[str, str]) -> str:
    """Candidates with the same word together: ``'start' (disc, pins), 'jam' (detent)``."""
    groups: dict[str, list[str]] = {}
    for name, word in words.items():
        groups.setdefault(word, []).append(name)
    if len(groups) == 1:
        return f"{next(iter(groups))} for all" if len(words) > 1 else next(iter(groups))
    return ", ".join(f"{word} ({', '.join(names)})" for word, names in groups.items())
