"""Numbers of the map: 95 % point of the crash's peak over two factors, per candidate."""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts import sweep_quantities as sq
from simcore.charts.base import Frame, clipped
from simcore.sweep import cases
from simcore.sweep.decide import Choice, Decision
from simcore.sweep.law import setting_scatters
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats, quantile
from simcore.units import typeset

CLASSES = 9
FEWEST = 8
"""Cases a cell needs to be drawn."""


class Map(NamedTuple):
    """Peaks in the shown unit (y, x), NaN where too few cases; ``x``, ``y`` are the middles of the cells."""

    head: sb.Heading
    x: Floats
    y: Floats
    peak: Floats
    chosen: float = float("nan")


class MapData(NamedTuple):
    frame: Frame
    maps: tuple[Map, ...]
    x_label: str
    y_label: str
    x_log: bool
    y_log: bool
    value_label: str
    allowable: float
    allowable_text: str
    low: float
    high: float


def map_data(result: SweepResult, decision: Decision, x: str = "", y: str = "") -> MapData:
    """``x`` and ``y`` are factors; default: the setting (or first grid) and the input that moves the peak most.

    Grid factors give a column a value, scatter factors classes with equally many cases.  Further grid factors:
    the worst of their values.
    """
    x, y = _axes(result, decision, x, y)
    maps = tuple(_map(result, c, x, y) for c in sb.shown(decision))
    seen = np.concatenate([m.peak.ravel() for m in maps])
    seen = seen[np.isfinite(seen)]
    low, high = (float(seen.min()), float(seen.max())) if len(seen) else (0.0, 1.0)
    allowable = sb.in_unit(result, result.allowable)
    note = "95 % point of the crash's peak in each cell"
    return MapData(
        sb.sweep_frame(result, _title(result, decision, maps, x, y), note), maps, sq.label(result, x),
        sq.label(result, y), _log(maps[0].x), _log(maps[0].y), f"peak at {result.protect} ({typeset(result.unit)})",
        allowable, f"allowable {sb.effort(result, result.allowable)}", low, high,
    )  # fmt: skip


def _axes(result: SweepResult, decision: Decision, x: str, y: str) -> tuple[str, str]:
    factors = [n for n in result.grids if sq.grid_axis(result, n) is not None]
    ranked = sorted(decision.inputs, key=lambda i: -(i.of_use if isfinite(i.of_use) else -1.0))
    factors += [i.name for i in ranked if i.name not in factors]
    for name in (x, y):
        if name and name not in (*factors, "setting"):
            sq.known(result, name)
            raise ValueError(f"{name!r} is no factor of this sweep: the map takes {', '.join(factors)}")
    rest = [n for n in factors if n not in (x, y)]
    x = x or (rest.pop(0) if rest else "")
    if sq.grid_axis(result, x) == cases.setting_axis(result, decision.choices[0].candidate).axis:
        same = setting_scatters(result, decision.choices[0].name)  # they only shift the setting on the other axis
        rest.sort(key=lambda n: n in same)
    y = y or (rest.pop(0) if rest else "")
    if not x or not y:
        raise ValueError("a map needs two factors; this sweep has fewer")
    return x, y


def _map(result: SweepResult, c: Choice, x: str, y: str) -> Map:
    """Peaks of the crashes with one coordinate each way, gathered cell by cell."""
    peak = _crash_peaks(result, c.candidate)
    fixed = [n for n in (x, y) if sq.grid_axis(result, n) is None]
    axis = cases.setting_axis(result, c.candidate).axis
    if fixed and axis >= 0 and axis not in [sq.grid_axis(result, n) for n in (x, y)]:
        place = int(cases.setting_axis(result, c.candidate).order[c.place])
        peak = np.take(peak, [place], axis=axis)
    members, middles = zip(*(_members(result, c.candidate, n, peak.shape) for n in (x, y)), strict=True)
    values = np.full((len(middles[1]), len(middles[0])), np.nan)
    for i in range(len(middles[1])):
        for j in range(len(middles[0])):
            cell = np.where((members[0] == j) & (members[1] == i), peak, np.nan)
            values[i, j] = _worst_of(cell)
    head = sb.Heading(sb.Named(c.name, c.candidate, ""), _words(result, c, x, y))
    order = [np.argsort(m) for m in middles]
    chosen = sb.in_unit(result, c.setting) if axis >= 0 and sq.grid_axis(result, x) == axis else float("nan")
    return Map(head, middles[0][order[0]], middles[1][order[1]], values[np.ix_(order[1], order[0])], chosen)


def _crash_peaks(result: SweepResult, candidate: int) -> Floats:
    columns = cases.places(result, cases.CRASH)
    peak = result.measures["peak"][candidate][..., columns].astype(float)
    bad = (result.status[candidate][..., columns] > cases.GONE_WRONG).any(axis=-1)
    if not len(columns):
        return np.full(bad.shape, np.nan)
    return np.where(bad, np.nan, np.fmax.reduce(peak, axis=-1)) * sb.in_unit(result, 1.0)


def _worst_of(cell: Floats) -> float:
    """Largest 95 % point over the other grids' cells that have cases enough."""
    rows = cell.reshape(-1, cell.shape[-1])
    rows = rows[np.isfinite(rows).sum(axis=1) >= FEWEST]
    return max((quantile(r, 0.95).value for r in rows), default=float("nan"))


def _members(result: SweepResult, candidate: int, name: str, shape: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Cell number of every case along one factor, and the middles of the cells."""
    axis = sq.grid_axis(result, name)
    if axis is not None:
        along = [1] * len(shape)
        along[axis] = shape[axis]
        values = result.grids[list(result.grids)[axis]].astype(float)
        if axis == cases.setting_axis(result, candidate).axis:
            nominal = np.moveaxis(result.setting[candidate], axis, 0).reshape(shape[axis], -1)[:, 0]
            values = nominal * sb.in_unit(result, 1.0)
        return np.broadcast_to(np.arange(shape[axis], dtype=float).reshape(along), shape), values
    sample = result.samples[name]
    ranks = np.argsort(np.argsort(sample, kind="stable"), kind="stable")
    count = min(CLASSES, max(2, len(sample) // (2 * FEWEST)))
    member = np.minimum(ranks * count // len(sample), count - 1).astype(float)
    return np.broadcast_to(member, shape), np.array([np.median(sample[member == i]) for i in range(count)])


def _words(result: SweepResult, c: Choice, x: str, y: str) -> str:
    moving = cases.setting_axis(result, c.candidate).axis
    if moving >= 0 and moving in [sq.grid_axis(result, n) for n in (x, y)]:
        return f"chosen {sb.effort(result, c.setting)}"
    return f"set {sb.effort(result, c.ran_at)}"


def _log(values: Floats) -> bool:
    return bool(values.min() > 0.0 and values.max() / values.min() > 4.0)


def _title(result: SweepResult, decision: Decision, maps: tuple[Map, ...], x: str, y: str) -> str:
    best = decision.choices[0]
    mine = next((m for m in maps if m.head.who.name == best.name), maps[0])
    share = np.isfinite(mine.peak)
    if not isfinite(result.allowable) or not share.any():
        return f"{clipped(best.name)}: peak over {x} and {y}"
    over = float((mine.peak[share] > sb.in_unit(result, result.allowable)).mean())
    what = "nowhere on this map" if over == 0.0 else f"in {sb.percent(over)} of this map"
    return f"{clipped(best.name)}: the peak passes {sb.effort(result, result.allowable)} {what}"
