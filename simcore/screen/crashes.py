"""Which situation each row of the table tells of: the crash with the candidate's largest peak, as set."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan, nan
from string import ascii_uppercase

from simcore.results.model import BARE, Answer, ResultSet, Run
from simcore.screen.numbers import effort, effort_unit


def best_first(result: ResultSet) -> list[Answer]:
    """Candidates in the order of the table."""
    return sorted(result.answers, key=lambda a: a.rank)


def told_of(result: ResultSet) -> dict[str, str]:
    """Situation by name of the candidate, best first, and by BARE; the bare line's only if it has a peak."""
    out = {a.name: a.crash for a in best_first(result)}
    bare = bare_run(result)
    return out if bare is None else out | {BARE: bare.situation}


def letters(result: ResultSet) -> dict[str, str]:
    """A letter for each situation that rows tell of, the best candidate's first; empty if all tell of one."""
    situations = list(dict.fromkeys(told_of(result).values()))
    return {} if len(situations) < 2 else {s: _letter(n) for n, s in enumerate(situations)}


def _letter(n: int) -> str:
    return ascii_uppercase[n] if n < len(ascii_uppercase) else str(n + 1)


def bare_run(result: ResultSet) -> Run | None:
    """The bare line's run with the largest peak where the protection ought to let go, else in any.

    Of peaks alike to the digits shown the one in the best candidate's crash, else the largest.
    """
    bare = [r for (c, _), r in result.runs.items() if c == BARE]
    crashes = [r for r in bare if r.expect == "let go"] or bare
    known = [r for r in crashes if not isnan(_peak(r))]
    if not known:
        return None
    worst = max(known, key=_peak)
    unit = effort_unit(result)
    first: Sequence[str] = [a.crash for a in best_first(result)[:1]]
    alike = [r for r in known if effort(_peak(r), unit) == effort(_peak(worst), unit)]
    return next((r for r in alike if r.situation in first), worst)


def bare_peak(result: ResultSet) -> float:
    """Peak of :func:`bare_run`; NaN without one."""
    bare = bare_run(result)
    return nan if bare is None else _peak(bare)


def _peak(run: Run) -> float:
    return run.measures.get("peak", nan)
