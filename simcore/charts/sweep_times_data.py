"""Numbers of the chart of disconnect times: the whole distribution of each candidate."""

from __future__ import annotations

from math import isfinite, isinf
from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame, clipped, milliseconds
from simcore.sweep.decide import Choice, Decision, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Estimate, Floats, quantile

BINS = 48


class Row(NamedTuple):
    """Times [ms] that were reached, sorted, their density over ``edges`` (bins + 1) up to 1, and in words."""

    who: sb.Named
    times: Floats
    edges: Floats
    density: Floats
    median: Estimate
    span: tuple[float, float]
    """5 and 95 % point of all cases, inf: never."""
    cells: tuple[str, str, str, str]


class TimesData(NamedTuple):
    frame: Frame
    rows: tuple[Row, ...]
    log: bool
    low: float
    high: float


HEADS = ("median (90 % band)", "95 % point", "never", "cases")


def times_data(result: SweepResult, decision: Decision) -> TimesData:
    choices = sb.shown(decision)
    all_times = [1e3 * at_place(result, c.candidate, c.place, "disconnect") for c in choices]
    found = np.concatenate(all_times) if all_times else np.zeros(0)
    found = found[np.isfinite(found) & (found > 0.0)]
    low, high = (float(found.min()), float(found.max())) if len(found) else (0.0, 1.0)
    log = low > 0.0 and high / low > 20.0
    edges = np.geomspace(low, high, BINS + 1) if log else _straight(low, high)
    rows = tuple(_row(result, c, t, edges) for c, t in zip(choices, all_times, strict=True))
    note = "crashes, each candidate at its own setting"
    return TimesData(sb.sweep_frame(result, _title(decision), note), rows, log, float(edges[0]), float(edges[-1]))


def _straight(low: float, high: float) -> Floats:
    """Edges with two empty classes at either end, so that every hill starts from the ground."""
    wide = max(high - low, 0.05 * high) / (BINS - 4)
    return np.linspace(max(low - 2.0 * wide, 0.0), high + 2.0 * wide, BINS + 1)


def _row(result: SweepResult, c: Choice, times: Floats, edges: Floats) -> Row:
    reached = np.sort(times[np.isfinite(times)])
    count = np.histogram(reached, edges)[0].astype(float)
    smooth = np.convolve(count, [0.25, 0.5, 0.25], "same")
    known, lost = times[~np.isnan(times)], int(np.isnan(times).sum())
    never = int(np.isinf(known).sum())
    median = quantile(times, 0.5)
    band = f" ({_plain(median.low)} to {_plain(median.high)})" if isfinite(median.value) else ""
    cells = (
        f"{_text(median.value)}{band}",
        _text(quantile(times, 0.95).value),
        f"{never:,}" if never else "\u2013",
        f"{len(known):,}" + (f", {lost} failed" if lost else ""),
    )
    who = sb.Named(c.name, c.candidate, f"set {sb.effort(result, c.ran_at)}")
    top = smooth.max() if len(reached) else 1.0
    span = (quantile(times, 0.05).value, quantile(times, 0.95).value)
    return Row(who, reached, edges, smooth / max(top, 1.0), median, span, cells)


def _text(ms: float) -> str:
    return "never" if isinf(ms) else milliseconds(1e-3 * ms) if isfinite(ms) else "\u2013"


def _plain(ms: float) -> str:
    return "never" if isinf(ms) else milliseconds(1e-3 * ms).split("\u00a0")[0] if isfinite(ms) else "?"


def _title(decision: Decision) -> str:
    best = decision.choices[0]
    ranked = [c for c in decision.choices if isfinite(c.disconnect.value)]
    if not ranked:
        return "No candidate disconnects in most of its crashes"
    fast = min(ranked, key=lambda c: c.disconnect.value)
    text = f"Soonest off: {clipped(fast.name)}, half of the crashes within {milliseconds(fast.disconnect.value)}"
    if fast.name != best.name:
        mine = best.disconnect.value
        text += f"; {clipped(best.name)}: {milliseconds(mine) if isfinite(mine) else 'never in most'}"
    return text
