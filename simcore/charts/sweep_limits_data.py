"""Numbers of the chart of limits in a sweep: how often the crash's peak passes what each limit bears."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import SPACE, Frame, clipped
from simcore.charts.sweep_exceedance_data import Curve
from simcore.sweep.decide import Choice, Decision, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.sheet import AT
from simcore.sweep.statistics import clopper_pearson, exceedance, quantile
from simcore.units import typeset

MOST_LIMITS: Final = 6
"""Panels that can be read; the limits nearest to what they bear are drawn."""


class Panel(NamedTuple):
    """One limit: curves over the peak in % of its allowable; ``worst`` is the largest 95 % point of any candidate."""

    name: str
    words: str
    curves: tuple[Curve, ...]
    worst: float


class SweepLimitsData(NamedTuple):
    frame: Frame
    panels: tuple[Panel, ...]
    target: float
    banded: int
    """Which curve's band is drawn."""


def limits_data(result: SweepResult, decision: Decision) -> SweepLimitsData:
    choices = sb.shown(decision)
    found = [_panel(result, name, text, choices) for name, text in _limits(result).items()]
    seen = [p for p in found if any(c.cases for c in p.curves)]
    keep = {p.name for p in sorted(seen, key=lambda p: -p.worst)[:MOST_LIMITS]}
    note = "each candidate at its own setting, all crashes"
    if len(seen) > MOST_LIMITS:
        note += f", {MOST_LIMITS} of {len(seen)} limits"
    best = next((i for i, c in enumerate(choices) if c.name == decision.choices[0].name), 0)
    panels = tuple(p for p in seen if p.name in keep)
    return SweepLimitsData(
        sb.sweep_frame(result, _title(panels, best, decision.choices[0].name), note), panels, result.damage_target, best
    )


def _limits(result: SweepResult) -> dict[str, str]:
    """Allowables in words by limit; a sweep that kept no peak but the protected part's has that alone."""
    kept = {n: t for n, t in result.limits.items() if AT + n in result.measures}
    return kept or {result.protect: sb.effort(result, result.allowable)}


def _panel(result: SweepResult, name: str, text: str, choices: list[Choice]) -> Panel:
    curves = tuple(_curve(result, c, name) for c in choices)
    known = [c.peak for c in curves if c.cases]
    worst = max((quantile(peak, 0.95).value for peak in known), default=0.0)
    return Panel(name, f"bears {typeset(text).replace(' ', SPACE)}", curves, worst)


def _curve(result: SweepResult, c: Choice, name: str) -> Curve:
    if AT + name in result.measures:
        use = 100.0 * at_place(result, c.candidate, c.place, AT + name)
    else:
        use = 100.0 * at_place(result, c.candidate, c.place, "peak") / result.allowable
    v, share = exceedance(use)
    band = clopper_pearson(np.round(share * len(v)), len(v))
    note = f"set {sb.effort(result, c.ran_at)}"
    return Curve(sb.Named(c.name, c.candidate, note), v, share, band.low, band.high, len(v))


def over(curve: Curve) -> int:
    """Cases in which the limit was passed."""
    return int((curve.peak > 100.0).sum())


def _title(panels: tuple[Panel, ...], best: int, name: str) -> str:
    if not panels:
        return "No limit was seen in a crash"
    tight = max(panels, key=lambda p: _point(p.curves[best]))
    at = _point(tight.curves[best])
    text = f"{clipped(name)}: nearest to its limit is {tight.name}, 95 of 100 crashes below {sb.percent(0.01 * at)}"
    return text if len(panels) > 1 else text.replace("nearest to its limit is ", "at ")


def _point(curve: Curve) -> float:
    return quantile(curve.peak, 0.95).value if curve.cases else 0.0
