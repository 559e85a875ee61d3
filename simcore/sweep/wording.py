"""Odds, settings and windows of a sweep in words."""

from __future__ import annotations

from math import ceil, floor, isfinite, log10
from typing import Final

import numpy as np

from simcore import units
from simcore.sweep import cases
from simcore.sweep.odds import THIN, Odds, Window
from simcore.sweep.result import SweepResult

FEWEST: Final = 3
"""Fewer hits than these are told as a bound."""
RAREST: Final = 1e-6
"""Averaged odds below this are not told: nobody knows the law of a scatter so far out."""


def effort(value: float, unit: str) -> str:
    """A torque with its unit, three significant digits."""
    return f"{number(value, unit)} {unit}" if isfinite(value) else "n/a"


def number(value: float, unit: str) -> str:
    return units.plain(units.to_unit(value, "effort", unit)) if isfinite(value) else "-"


def span(low: float, high: float, unit: str) -> str:
    """'168 to 183 N*m', rounded inwards to three digits so that both ends lie inside."""
    a, b = (units.plain(_inward(units.to_unit(x, "effort", unit), s)) for x, s in ((low, 1), (high, -1)))
    if float(a) > float(b):
        a = b = units.plain(units.to_unit(0.5 * (low + high), "effort", unit), 5)
    return f"{a} {unit}" if a == b else f"{a} to {b} {unit}"


def _inward(x: float, side: int) -> float:
    """``x`` to three digits, rounded up (side 1) or down (-1); a hair beyond a round number is that number."""
    if x == 0.0:
        return x
    step = 10.0 ** (floor(log10(abs(x))) - 2)
    scaled = x / step
    return step * (ceil(scaled - 1e-6) if side > 0 else floor(scaled + 1e-6))


def whole(n: float) -> str:
    """A count with two significant digits and commas.

    >>> whole(14870.0), whole(3.2), whole(995.0)
    ('15,000', '3.2', '1,000')
    """
    if n < 9.95:
        return f"{n:.2g}"
    digits = 1 - floor(log10(n))
    return f"{round(n, digits):,.0f}"


def one_in(share: float) -> str:
    """'1 in 15,000'; a share above a quarter as per cent."""
    if not isfinite(share):
        return "not known"
    if share <= 0.0:
        return "none"
    return percent(share) if share > 0.25 else f"1 in {whole(1.0 / share)}"


def percent(share: float) -> str:
    """A share in per cent, two significant digits; '100 %' and '0 %' only when exact."""
    if not isfinite(share):
        return "-"
    x = 100.0 * share
    text = units.plain(x, 2) if x < 99.0 else units.plain(x, 3) if x < 99.95 else "100"
    return f"{'over 99.9' if text == '100' and share < 1.0 else text} %"


def target(share: float, of: str) -> str:
    """'1 of 1,000 crashes'."""
    return f"1 of {whole(1.0 / share)} {of}" if 0.0 < share <= 0.25 else f"{percent(share)} of the {of}"


def only_bound(x: Odds) -> bool:
    """Whether the sample supports no more than a bound: fewer than three seen, or an average over too few."""
    if x.model == "counted":
        return x.share * x.cases < FEWEST - 1e-6
    return x.rests < THIN or x.share < RAREST


def told(x: Odds) -> float:
    """The share, or its 95 % bound where the sample supports no more."""
    return x.high if x.cases > 0.0 and only_bound(x) else x.share


def odds(x: Odds, of: str) -> str:
    """The odds with what they stand on; never less than the sample can support.

    Counted and fewer than three seen: the 95 % bound, so that no share below 3/n is told.  Averaged: the
    estimate and its band; where it rests on a handful of cases, the bound alone.
    """
    if x.cases <= 0.0:
        return f"not known ({x.model})" if not isfinite(x.share) else x.model
    count = f"{round(x.cases):,} {of}"
    if x.model == "counted":
        if only_bound(x):
            seen = "none" if x.share <= 0.0 else f"fewer than {FEWEST}"
            return f"{seen} in {count} (95 % sure: below {percent(x.high)})"
        return f"{percent(x.share)} of {count} (90 % band {percent(x.low)} to {percent(x.high)})"
    if x.high < RAREST:
        return f"rarer than {one_in(RAREST)} (setting's scatter averaged over {count})"
    if x.rests < THIN:
        return f"at most {one_in(x.high)} (setting's scatter averaged over {count}, few of which matter)"
    if x.share < RAREST:
        return f"at most {one_in(x.high)} (setting's scatter averaged over {count})"
    return f"{one_in(x.share)} (at most {one_in(x.high)}; setting's scatter averaged over {count})"


def short_odds(x: Odds) -> str:
    """The odds for a cell of a table."""
    if x.cases <= 0.0:
        return "-"
    if x.model == "counted":
        return f"< {percent(x.high)}" if x.share * x.cases < FEWEST - 1e-6 else percent(x.share)
    if x.high < RAREST:
        return f"< {one_in(RAREST)}"
    return f"< {one_in(x.high)}" if x.rests < THIN or x.share < RAREST else one_in(x.share)


def window(result: SweepResult, kept: Window, found: Window, tolerance: float, candidate: int) -> str:
    """'set 168 to 183 N*m; below 160: trips more than once in ...; above 190: ...', or that there is none.

    ``kept``: settings that keep both targets, ``found``: those of them that leave room for the ``tolerance``.
    """
    unit = result.unit
    alone = kept.open_below and kept.open_above and kept.low == kept.high
    if not kept.likely:
        return "no setting keeps both targets"
    if not found.likely:
        room = f"its tolerance of {percent(tolerance)} to either side"
        if alone:
            tried = f"the only setting tried, {effort(kept.low, unit)}, keeps them if met exactly"
            return f"no setting keeps both targets over {room}; {tried}"
        held = f"{span(kept.low, kept.high, unit)} would if met exactly"
        if ends := edges_words(result, kept):
            return f"the grid ends at {ends}, too soon to show room for {room}; {held}"
        return f"no setting keeps both targets over {room}; {held}"
    if alone:
        return f"the only setting tried keeps both targets{'' if found.sure else ' (likely; not 95 % sure)'}"
    low, high = (found.sure_low, found.sure_high) if found.sure else (found.low, found.high)
    sure = "" if found.sure else " (likely; not 95 % sure)"
    room = f", which leaves room for {percent(tolerance)} of tolerance" if tolerance > 0.0 else ""
    below, above = f"below {number(kept.low, unit)}", f"above {number(kept.high, unit)}"
    head = f"set {span(low, high, unit)}{sure}{room}"
    return f"{head}; {_below(result, kept, below)}; {_above(result, kept, candidate, above)}"


def _below(result: SweepResult, kept: Window, where: str) -> str:
    if not cases.holding(result):
        return f"{where}: no ordinary event in this sweep says how low"
    if kept.open_below:
        return f"{where}: the grid ends, extend it"
    share = result.nuisance_target
    often = f"more than once in {whole(1.0 / share)} {service(result)}" if 0.0 < share <= 0.25 else "too often"
    return f"{where}: trips {often}"


def _above(result: SweepResult, kept: Window, candidate: int, where: str) -> str:
    if not cases.places(result, cases.CRASH).size:
        return f"{where}: no crash in this sweep says how high"
    if kept.open_above:
        return f"{where}: the grid ends, extend it"
    return f"{where}: {harm(result, candidate)} in more than {target(result.damage_target, 'crashes')}"


def edges_words(result: SweepResult, kept: Window) -> str:
    """'238 and 480 N*m': the ends of a window that are only where the grid ends; '' if neither is."""
    open_low = kept.open_below and bool(cases.holding(result))
    open_high = kept.open_above and bool(cases.places(result, cases.CRASH).size)
    ends = [number(x, result.unit) for x, here in ((kept.low, open_low), (kept.high, open_high)) if here]
    return f"{' and '.join(dict.fromkeys(ends))} {result.unit}" if ends and kept.likely else ""


def harm(result: SweepResult, candidate: int) -> str:
    """What damage is: the protected part's allowable passed, or any limit's, or the candidate's own heat limit."""
    found = cases.harms(result, candidate)
    over = found.limits | found.mates
    if found.heat.any() and not over.any():
        return "it passes its heat limit"
    part = "a part sees more than it bears"
    if isfinite(result.allowable) and _only_protected(result, candidate):
        part = f"'{result.protect}' sees more than {effort(result.allowable, result.unit)}"
    return f"{part}, or it passes its heat limit," if (found.heat & ~over).any() else part


def _only_protected(result: SweepResult, candidate: int) -> bool:
    """Whether every limit passed is that of the protected part."""
    use, peak = cases.worst(result, candidate, "use"), cases.worst(result, candidate, "peak")
    known = np.isfinite(use) & np.isfinite(peak)
    return bool(np.array_equal(use[known] > 1.0, peak[known] > result.allowable))


def service(result: SweepResult) -> str:
    """What the odds of nuisance count: the ordinary event by name, or draws in which several of them are run."""
    names = cases.holding(result)
    return f"'{names[0]}' cases" if len(names) == 1 else f"draws of {len(names)} ordinary events"


def crashes(result: SweepResult) -> str:
    """What the odds of damage count: crashes, or draws in which several of them are run."""
    several = sum(e in cases.CRASH for e in result.expects)
    return f"draws of {several} crashes" if several > 1 else "crashes"
