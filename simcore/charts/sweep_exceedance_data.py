"""Numbers of the exceedance chart: how often the crash's peak at the protected part passes a torque."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame, clipped
from simcore.sweep.decide import Choice, Decision, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats, clopper_pearson, exceedance
from simcore.units import typeset


class Curve(NamedTuple):
    """Peaks in the shown unit, rising, and the share of cases at or above each, with its 90 % band."""

    who: sb.Named
    peak: Floats
    share: Floats
    low: Floats
    high: Floats
    cases: int


MARKED: Final = (0.5, 0.05)
"""Shares that have a mark on a curve: the median and the 95 % point."""
ROUNDING: Final = 1e-9


def marked(curve: Curve) -> list[int]:
    """Places of the marks on the curve, as far down as it comes."""
    at = np.searchsorted(-curve.share, -np.array(MARKED) - ROUNDING)
    return [int(i) for i in at if i < curve.cases]


def marks_told(curves: Sequence[Curve]) -> str:
    """What the marks on the curves are."""
    most = max((len(marked(c)) for c in curves), default=0)
    return f"marks: {', '.join(('median', '95 % point')[:most])}; " if most else ""


class ExceedanceData(NamedTuple):
    frame: Frame
    curves: tuple[Curve, ...]
    allowable: float
    allowable_text: str
    target: float
    axis: str
    banded: int
    """Which curve's band is drawn."""


def exceedance_data(result: SweepResult, decision: Decision) -> ExceedanceData:
    choices = sb.shown(decision)
    curves = tuple(_curve(result, c) for c in choices)
    note = "each candidate at its own setting, all crashes"
    return ExceedanceData(
        sb.sweep_frame(result, _title(result, decision), note),
        curves,
        sb.in_unit(result, result.allowable),
        f"allowable {sb.effort(result, result.allowable)}",
        result.damage_target,
        f"peak at {result.protect} ({typeset(result.unit)})",
        next((i for i, c in enumerate(choices) if c.name == decision.choices[0].name), 0),
    )


def _curve(result: SweepResult, c: Choice) -> Curve:
    peak = at_place(result, c.candidate, c.place, "peak")
    v, share = exceedance(peak)
    n = len(v)
    band = clopper_pearson(np.round(share * n), n)
    over = int((v > result.allowable).sum()) if isfinite(result.allowable) else 0
    lost = int(np.isnan(peak).sum())
    failed = f", {lost} failed" if lost else ""
    note = f"set {sb.effort(result, c.ran_at)}\n{over} of {n:,} over{failed}"
    return Curve(
        sb.Named(c.name, c.candidate, note), np.array([sb.in_unit(result, x) for x in v]), share, band.low, band.high, n
    )


def _title(result: SweepResult, decision: Decision) -> str:
    best = decision.choices[0]
    peak = best.peak_95
    text = f"{clipped(best.name)}: 95 of 100 crashes stay below {sb.effort(result, peak.value)}"
    if isfinite(result.allowable):
        text += f" at {result.protect}, which bears {sb.effort(result, result.allowable)}"
    return text
