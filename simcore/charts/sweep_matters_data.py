"""Numbers of the chart of what matters: shares of variance, and the peak between the ends of each input."""

from __future__ import annotations

from math import isfinite, nan
from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame, clipped
from simcore.sweep import cases
from simcore.sweep.decide import Choice, Decision, asks_of, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.sensitivity import explained_band, sobol_indices
from simcore.sweep.statistics import Estimate, Floats, rank_correlation, tail_means
from simcore.units import typeset

MOST_INPUTS = 9


class Bar(NamedTuple):
    """An input: what it explains alone, with others (NaN unless paired), rank correlation, means at its ends."""

    name: str
    first: Estimate
    total: Estimate
    rank: Estimate
    low: float
    high: float


class Effects(NamedTuple):
    """What the inputs do to one quantity, the strongest first; ``cases`` were used, ``failed`` left out."""

    title: str
    unit: str
    bars: tuple[Bar, ...]
    middle: float
    cases: int
    failed: int
    paired: bool


class MattersData(NamedTuple):
    frame: Frame
    who: sb.Named
    panels: tuple[Effects, ...]


def matters_data(result: SweepResult, decision: Decision) -> MattersData:
    best = decision.choices[0]
    factor = sb.in_unit(result, 1.0)
    use = 100.0 * at_place(result, best.candidate, best.place, "use", every=True)
    asks = factor * asks_of(result, best.candidate)
    unit = typeset(result.unit)
    panels = [_effects(result, "crash peak over allowable", "%", use)]
    if not np.isfinite(use).any():
        peak = factor * at_place(result, best.candidate, best.place, "peak", every=True)
        panels = [_effects(result, f"crash peak at {result.protect}", unit, peak)]
    if np.isfinite(asks).any():
        panels.append(_effects(result, "setting that service asks for", unit, asks))
    who = sb.Named(best.name, best.candidate, f"set {sb.effort(result, best.ran_at)}")
    paired = panels[0].paired
    how = "Sobol' indices" if paired else "what each explains alone"
    note = f"{clipped(best.name)}, {sb.effort(result, best.ran_at)}; {how}, 90 % bands"
    return MattersData(sb.sweep_frame(result, _title(decision, best), note), who, tuple(panels))


def _effects(result: SweepResult, title: str, unit: str, y: Floats) -> Effects:
    rows = cases.paired_rows(result)
    names = list(result.samples)
    firsts, totals = _indices(result, y)
    own = y if rows is None else y[cases.independent(result)]
    bars = []
    for i, name in enumerate(names):
        x = result.samples[name][cases.independent(result)]
        low, high = tail_means(x, own)
        bars.append(Bar(name, firsts[i], totals[i], rank_correlation(x, own), low, high))
    bars.sort(key=lambda b: -_size(b))
    known = own[np.isfinite(own)]
    middle = float(known.mean()) if len(known) else nan
    return Effects(title, unit, tuple(bars[:MOST_INPUTS]), middle, len(known), len(own) - len(known), rows is not None)


def _indices(result: SweepResult, y: Floats) -> tuple[list[Estimate], list[Estimate]]:
    rows = cases.paired_rows(result)
    nothing = Estimate(nan, nan, nan)
    if rows is None:
        firsts = [Estimate(*explained_band(x, y)) for x in result.samples.values()]
        return firsts, [nothing] * len(firsts)
    s = sobol_indices(y, rows)
    both = []
    for value, band in ((s.first, s.first_band), (s.total, s.total_band)):
        both.append([Estimate(*map(float, e)) for e in zip(value, band.low, band.high, strict=True)])
    return both[0], both[1]


def _size(b: Bar) -> float:
    for e in (b.total, b.first):
        if isfinite(e.value):
            return e.value
    return b.rank.value**2 if isfinite(b.rank.value) else -1.0


def _title(decision: Decision, best: Choice) -> str:
    if not decision.measure:
        return decision.stands_out or f"No input stands out for {clipped(best.name)}"
    return f"Worth measuring: {' and '.join(decision.measure)}"
