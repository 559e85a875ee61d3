"""Numbers of the chart of setting windows: odds of damage and nuisance against the setting, per candidate."""

from __future__ import annotations

from math import floor, isfinite, log10
from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame, clipped
from simcore.sweep.decide import Choice, Decision
from simcore.sweep.odds import Curve
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats
from simcore.sweep.wording import RAREST, span
from simcore.units import typeset


class Line(NamedTuple):
    """Odds against the setting in the shown unit; ``none_seen``: settings where only the bound is known."""

    settings: Floats
    share: Floats
    low: Floats
    high: Floats
    counted: bool
    none_seen: Floats


class Panel(NamedTuple):
    head: sb.Heading
    damage: Line
    nuisance: Line
    likely: tuple[float, float]
    sure: tuple[float, float]
    chosen: float


class WindowData(NamedTuple):
    frame: Frame
    panels: tuple[Panel, ...]
    damage_target: float
    nuisance_target: float
    floor: float
    axis: str


def window_data(result: SweepResult, decision: Decision) -> WindowData:
    made = tuple(_panel(result, c) for c in sb.shown(decision))
    averaged = any(not c.nuisance.counted for c in decision.choices)
    note = "bands 90 %, " + ("damage counted, nuisance averaged over scatter" if averaged else "all odds counted")
    return WindowData(
        sb.sweep_frame(result, _title(result, decision), note),
        made,
        result.damage_target,
        result.nuisance_target,
        _floor(result, made),
        f"nominal setting ({typeset(result.unit)})",
    )


def _panel(result: SweepResult, c: Choice) -> Panel:
    w = c.window
    words = "no window"
    if w.likely:
        a, b = (w.sure_low, w.sure_high) if w.sure else (w.low, w.high)
        words = f"{'window' if w.sure else 'likely'} {typeset(span(a, b, result.unit))}"
    likely, sure = ((sb.in_unit(result, a), sb.in_unit(result, b)) for a, b in
                    ((w.low, w.high), (w.sure_low, w.sure_high)))  # fmt: skip
    head = sb.Heading(sb.Named(c.name, c.candidate, ""), words)
    return Panel(head, _line(result, c.damage), _line(result, c.nuisance), likely, sure, sb.in_unit(result, c.setting))


def _line(result: SweepResult, c: Curve) -> Line:
    settings = np.array([sb.in_unit(result, float(s)) for s in c.settings])
    none = settings[(c.share <= 0.0) & (c.cases > 0)] if c.counted else settings[:0]
    return Line(settings, c.share, c.low, c.high, c.counted, none)


def _floor(result: SweepResult, made: tuple[Panel, ...]) -> float:
    """A decade or two below the smaller target, not below what is told at all."""
    least = min([t for t in (result.damage_target, result.nuisance_target) if t > 0.0], default=1e-3)
    seen = [x.high[np.isfinite(x.share) & (x.high > 0.0)] for p in made for x in (p.damage, p.nuisance) if x.counted]
    bound = min([float(h.min()) for h in seen if len(h)], default=1.0)
    return max(RAREST, 10.0 ** floor(log10(min(0.1 * least, 0.3 * bound))))


def _title(result: SweepResult, decision: Decision) -> str:
    best = decision.choices[0]
    if not best.window.likely:
        return f"No setting keeps both targets; nearest: {clipped(best.name)} at {sb.effort(result, best.setting)}"
    w = best.window
    a, b = (w.sure_low, w.sure_high) if w.sure else (w.low, w.high)
    firm = sum(c.window.sure for c in decision.choices)
    rest = sum(c.window.likely for c in decision.choices) - firm
    many = f"; {firm} of {len(decision.choices)} sure" + (f", {rest} likely" if rest else "")
    many = many if len(decision.choices) > 1 else ""
    sure = "" if w.sure else " (likely)"
    own = f", {sb.effort(result, best.setting)} chosen" if isfinite(best.setting) else ""
    return f"{clipped(best.name)}: set {typeset(span(a, b, result.unit))}{sure}{own}{many}"
