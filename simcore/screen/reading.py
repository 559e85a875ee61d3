"""What the figures of the table stand for: crash, place, tightest service situation, worst limit, order."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite, isnan

from simcore.results.contact import jam_in
from simcore.results.model import Answer, Margin, ResultSet
from simcore.screen import many
from simcore.screen.alike import by_word, grouped, listed, numbered
from simcore.screen.crashes import best_first, letters, told_of
from simcore.screen.numbers import effort, effort_unit, milliseconds, share


def tightest(answer: Answer) -> Margin | None:
    """The service situation with the least margin; one that fails at any setting comes first."""
    service = [m for m in answer.margins if m.expect != "let go"]

    def size(m: Margin) -> float:
        if isnan(m.percent):
            return inf if m.met else -inf
        return m.percent

    return min(service, key=size, default=None)


def caption(result: ResultSet, whole: bool = False) -> str:
    """The paragraph under the table; ``whole`` with each of many candidates."""
    answers = best_first(result)
    crowd = len(answers) > many.MANY and not whole
    text = f"{_of_what(result)}{_bears(result)}.{_zeros(result)}"
    tight = {a.name: f"'{m.situation}'" for a in answers if (m := tightest(a)) is not None}
    if tight:
        text += f" Tightest in service: {many.grouped(tight) if crowd else grouped(tight)}."
    judged = [a for a in answers if isfinite(a.use)]
    if judged:
        place = {a.worst_limit for a in judged}
        there = f" (each at '{place.pop()}')" if len(place) == 1 < len(judged) and place != {result.protect} else ""
        worst = {a.name: share(a.use) if there else _worst(a, result.protect) for a in judged}
        same = set(worst.values()) if len(worst) > 1 else set()
        told = _ends(judged, worst) if crowd else f"{same.pop()} for all" if len(same) == 1 else numbered(worst)
        text += f" Over the band of the setting, of all limits up to{there}: {told}."
    return text if crowd else text + _order(answers)


def _of_what(result: ResultSet) -> str:
    """Which situations times and peaks belong to, by the letters of the rows where there are several."""
    letter, at = letters(result), dict.fromkeys(told_of(result).values())
    if letter:
        named = ", ".join(f"{sign} '{s}'" for s, sign in letter.items())
        text = f"Times after and peaks in {named} (the worst of each row)"
    else:
        text = "".join(f"Times after and peaks in '{s}'" for s in at) if result.answers else ""
        text = text or "".join(f"Peaks in '{s}'" for s in at) or "Peaks"
    return f"{text} at '{result.protect}'"


def _zeros(result: ResultSet) -> str:
    """Where the jam is not a situation's first event: what times count from, and when it comes."""
    letter, out = letters(result), ""
    for s in dict.fromkeys(a.crash for a in best_first(result)):
        jam, at = jam_in(result, s)
        if jam:
            first = next(r.event for (_, x), r in result.runs.items() if x == s)
            where = f" in {letter[s]}" if letter else ""
            out += f" Times{where} count from the {first}; the {jam} comes at {milliseconds(at)} ms."
    return out


def _bears(result: ResultSet) -> str:
    unit = effort_unit(result)
    return f", which bears {effort(result.allowable, unit)} {unit}" if isfinite(result.allowable) else ""


def _ends(answers: Sequence[Answer], worst: dict[str, str]) -> str:
    """Of many the least and the largest, with all who have it."""
    judged = sorted(answers, key=lambda a: a.use)
    groups = by_word({a.name: worst[a.name] for a in judged})
    ends = dict.fromkeys((worst[judged[0].name], worst[judged[-1].name]))
    return " to ".join(f"{word} ({many.some(groups[word], list(worst))})" for word in ends)


def _order(answers: Sequence[Answer]) -> str:
    """Why the best of several that pass is the best."""
    passing = {a.name: f"{a.least_margin:.3g} %" for a in answers if a.passed and isfinite(a.least_margin)}
    if len(passing) < 2:
        return ""
    seconds = {a.name: a.rank_seconds for a in answers}
    ties = [n for n in by_word(passing).values() if len({seconds[x] for x in n}) > 1]
    by_time = f"; {', '.join(map(listed, ties))} by the time to run again" if ties else ""
    return f" Ranked by the smaller of service margin and room to the limits: {numbered(passing)}{by_time}."


def _worst(a: Answer, protect: str) -> str:
    where = "" if a.worst_limit == protect else f" at '{a.worst_limit}'"
    return share(a.use) + where
