"""Numbers of the chart of setting windows: odds of damage and nuisance against the setting, per candidate."""

from __future__ import annotations

from math import floor, isfinite, log10, nan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.charts import sweep_base as sb
from simcore.charts.base import SPACE, Frame, clipped
from simcore.sweep.decide import Choice, Decision
from simcore.sweep.odds import Curve
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats
from simcore.sweep.wording import RAREST, edges_words, only_bound, percent, span
from simcore.units import typeset

MARKS = 9
"""Signs along an averaged bound."""


class Line(NamedTuple):
    """Odds against the setting in the shown unit; ``bound``: settings where the sample supports no more than the
    upper bound, ``marked``: those of them that carry a sign."""

    settings: Floats
    share: Floats
    low: Floats
    high: Floats
    counted: bool
    bound: NDArray[np.bool_]
    marked: Floats


class Panel(NamedTuple):
    """One candidate; ``likely``, ``sure``: settings between the targets, ``room``: those of them that leave room for
    the tolerance (NaN: none, or it is in the odds), ``ends``: which edges are only where the grid ends; ``said``: the
    window in words, sentence by sentence, ``brief``: the same for small panels."""

    head: sb.Heading
    damage: Line
    nuisance: Line
    likely: tuple[float, float]
    sure: tuple[float, float]
    room: tuple[float, float]
    ends: tuple[bool, bool]
    chosen: float
    said: tuple[str, ...]
    brief: tuple[str, ...]


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
    k, w = c.kept, c.window

    def pair(low: float, high: float) -> tuple[float, float]:
        return sb.in_unit(result, low), sb.in_unit(result, high)

    room = (w.sure_low, w.sure_high) if w.sure else (w.low, w.high)
    brief = _brief(result, c)
    return Panel(
        sb.Heading(sb.Named(c.name, c.candidate, ""), brief[0]),
        _line(result, c.damage),
        _line(result, c.nuisance),
        pair(k.low, k.high),
        pair(k.sure_low, k.sure_high),
        pair(*room) if c.tolerance > 0.0 else (nan, nan),
        (k.open_below, k.open_above),
        sb.in_unit(result, c.setting),
        tuple(typeset_in(result, t) for t in (f"{c.words}.", *c.opens)),
        brief,
    )


def _brief(result: SweepResult, c: Choice) -> tuple[str, ...]:
    w = c.window
    ends = edges_words(result, c.kept)
    more = (typeset_in(result, f"grid ends at {ends}"),) if ends else ()
    if not w.likely:
        narrow = "grid too coarse for" if c.coarse else "no room on this grid for" if c.cut_off else "too narrow for"
        return (f"{narrow} \u00b1{percent(c.tolerance)}" if c.kept.likely else "no window", *more)
    a, b = (w.sure_low, w.sure_high) if w.sure else (w.low, w.high)
    return (typeset_in(result, f"{'set' if w.sure else 'likely'} {span(a, b, result.unit)}"), *more)


def typeset_in(result: SweepResult, text: str) -> str:
    """``text`` with the unit of torque as it is printed in charts."""
    return text.replace(f" {result.unit}", f"{SPACE}{typeset(result.unit)}")


def _line(result: SweepResult, c: Curve) -> Line:
    settings = np.array([sb.in_unit(result, float(s)) for s in c.settings])
    bound = np.array([o.cases > 0 and only_bound(o) for o in map(c.at, map(float, c.settings))], dtype=bool)
    at = settings[bound]
    step = max(1, len(at) // MARKS) if not c.counted else 1
    return Line(settings, c.share, c.low, c.high, c.counted, bound, at[step // 2 :: step])


def _floor(result: SweepResult, made: tuple[Panel, ...]) -> float:
    """A decade or two below the smaller target, not below what is told at all."""
    least = min([t for t in (result.damage_target, result.nuisance_target) if t > 0.0], default=1e-3)
    seen = [x.high[np.isfinite(x.share) & (x.high > 0.0)] for p in made for x in (p.damage, p.nuisance) if x.counted]
    bound = min([float(h.min()) for h in seen if len(h)], default=1.0)
    return max(RAREST, 10.0 ** floor(log10(min(0.1 * least, 0.3 * bound))))


def _title(result: SweepResult, decision: Decision) -> str:
    best = decision.choices[0]
    nearest = f"nearest: {clipped(best.name)} at {sb.effort(result, best.setting)}"
    if not best.window.likely and best.kept.likely:
        shows = "The grid is too coarse to show a" if best.coarse else "No"
        if best.cut_off and not best.coarse:
            shows = "The grid ends before it shows a"
        return f"{shows} window as wide as the tolerance; {nearest}"
    if not best.window.likely:
        where = " on this grid" if best.coarse else ""
        return f"No setting{where} keeps both targets; {nearest}"
    w = best.window
    a, b = (w.sure_low, w.sure_high) if w.sure else (w.low, w.high)
    firm = sum(c.window.sure for c in decision.choices)
    rest = sum(c.window.likely for c in decision.choices) - firm
    many = f"; {firm} of {len(decision.choices)} sure" + (f", {rest} likely" if rest else "")
    many = many if len(decision.choices) > 1 else ""
    sure = "" if w.sure else " (likely)"
    own = f", {sb.effort(result, best.setting)} chosen" if isfinite(best.setting) else ""
    return f"{clipped(best.name)}: set {typeset(span(a, b, result.unit))}{sure}{own}{many}"
