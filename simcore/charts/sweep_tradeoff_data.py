"""Numbers of the trade-off: peak over allowable against disconnect time and against nuisance trips."""

from __future__ import annotations

from math import isfinite, isinf, nan
from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame, everyone, listing, milliseconds, percent
from simcore.sweep import cases
from simcore.sweep.decide import Choice, Decision, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats, pareto, quantile
from simcore.sweep.wording import RAREST, short_odds, told


class Points(NamedTuple):
    """One candidate at all its settings, arrays over them.

    ``use`` [%] is the 95 % point of peak over allowable, ``time`` [ms] the median disconnect (inf: never in
    most cases), ``nuisance`` the share of ordinary events that trip, its bound where the sample supports no more.
    ``chosen``: place of its own setting.  ``fast``, ``quiet``: on the front of use and time, of use and nuisance.
    """

    who: sb.Named
    use: Floats
    time: Floats
    nuisance: Floats
    chosen: int
    fast: NDFlags
    quiet: NDFlags


NDFlags = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


class TradeoffData(NamedTuple):
    frame: Frame
    candidates: tuple[Points, ...]
    nuisance_target: float
    floor: float


def tradeoff_data(result: SweepResult, decision: Decision) -> TradeoffData:
    choices = sb.shown(decision)
    floor = max(RAREST, 0.01 * result.nuisance_target)
    raw = [_numbers(result, c, floor) for c in choices]
    sizes = np.cumsum([0, *(len(r[0]) for r in raw)])
    use, time, nuisance = (np.concatenate([r[i] for r in raw]) for i in range(3))
    fast, quiet = pareto(np.stack([use, time], axis=1)), pareto(np.stack([use, nuisance], axis=1))
    made = []
    for i, c in enumerate(choices):
        part = slice(sizes[i], sizes[i + 1])
        who = sb.Named(c.name, c.candidate, _note(result, c))
        made.append(Points(who, *raw[i], c.place, fast[part], quiet[part]))
    note = "each mark a setting, large the chosen one; trips: the bound where too few were seen"
    return TradeoffData(sb.sweep_frame(result, _title(made), note), tuple(made), result.nuisance_target, floor)


def _numbers(result: SweepResult, c: Choice, floor: float) -> tuple[Floats, Floats, Floats]:
    settings = cases.setting_axis(result, c.candidate).settings
    use, time, odds = [], [], []
    for place, s in enumerate(settings):
        use.append(100.0 * quantile(at_place(result, c.candidate, place, "use"), 0.95).value)
        time.append(1e3 * quantile(at_place(result, c.candidate, place, "disconnect"), 0.5).value)
        share = told(c.nuisance.at(float(s)))
        odds.append(max(share, floor) if isfinite(share) else nan)
    return np.array(use), np.array(time), np.array(odds)


def _note(result: SweepResult, c: Choice) -> str:
    time = "never off" if isinf(c.disconnect.value) else f"off at {milliseconds(c.disconnect.value)}"
    return f"{sb.effort(result, c.ran_at)}: peak {sb.percent(c.use_95)}, {time}\ntrips {short_odds(c.nuisance_odds)}"


def _title(made: list[Points]) -> str:
    """Who is unbeaten as chosen, of those that stay below what the limits bear; what passes it is not praised."""
    sound = [p for p in made if not p.use[p.chosen] > 100.0]
    if made and not sound:
        least = percent(min(float(p.use[p.chosen]) for p in made) / 100.0)
        who = [p.who.name for p in made if percent(float(p.use[p.chosen]) / 100.0) == least]
        return f"As chosen none stays below its limit: at best {least} of it ({everyone(who, len(made))})"
    both = [p.who.name for p in sound if p.fast[p.chosen] and p.quiet[p.chosen]]
    fast = [p.who.name for p in sound if p.fast[p.chosen]]
    quiet = [p.who.name for p in sound if p.quiet[p.chosen]]
    below = "" if len(sound) == len(made) else "below its limit "
    if both:
        return f"As chosen, nothing {below}beats {listing(both)} in peak, time and nuisance"
    if fast or quiet:
        parts = [f"{listing(n)} in peak and {what}" for n, what in ((quiet, "nuisance"), (fast, "time")) if n]
        return f"As chosen, nothing {below}beats {'; or '.join(parts)}"
    ever = [p.who.name for p in made if ((p.fast | p.quiet) & ~(p.use > 100.0)).any()]
    rest = f"; {listing(ever)} would be at other settings" if ever else ""
    return f"None {below}is unbeaten as chosen{rest}"
