"""Numbers of the map: 95 % point of the crash's peak over two factors, per candidate."""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

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
    """Peaks in the shown unit (y, x), NaN where too few cases; ``failed``: too few because cases failed there.
    ``x``, ``y`` are the middles of the cells."""

    head: sb.Heading
    x: Floats
    y: Floats
    peak: Floats
    failed: NDArray[np.bool_]
    chosen: float = float("nan")


class MapData(NamedTuple):
    frame: Frame
    maps: tuple[Map, ...]
    x_label: str
    y_label: str
    x_log: bool
    y_log: bool
    x_values: bool
    y_values: bool
    """Whether the cells stand for values of a grid, each worth a tick, and not for classes of a scatter."""
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
    labels = [_label(result, decision, n, x, y) for n in (x, y)]
    on_grid = [sq.grid_axis(result, n) is not None for n in (x, y)]
    note = "95 % point of the crash's peak at each point"
    return MapData(
        sb.sweep_frame(result, _title(result, decision, maps, x, y), note), maps, labels[0], labels[1],
        _log(maps[0].x), _log(maps[0].y), on_grid[0], on_grid[1], f"peak at {result.protect} ({typeset(result.unit)})",
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
    members, middles = zip(*(_members(result, c.candidate, n, peak.shape, len(fixed)) for n in (x, y)), strict=True)
    middles = tuple(_as_set(result, c, n, x, y) * m for n, m in zip((x, y), middles, strict=True))
    values = np.full((len(middles[1]), len(middles[0])), np.nan)
    failed = np.zeros(values.shape, dtype=bool)
    for i in range(len(middles[1])):
        for j in range(len(middles[0])):
            here = (members[0] == j) & (members[1] == i)
            values[i, j] = _worst_of(np.where(here, peak, np.nan))
            failed[i, j] = here.sum() >= FEWEST and not np.isfinite(values[i, j])
    head = sb.Heading(sb.Named(c.name, c.candidate, ""), _words(result, c, x, y))
    order = [np.argsort(m) for m in middles]
    chosen = sb.in_unit(result, c.setting) if axis >= 0 and sq.grid_axis(result, x) == axis else float("nan")
    sorted_cells = np.ix_(order[1], order[0])
    return Map(head, middles[0][order[0]], middles[1][order[1]], values[sorted_cells], failed[sorted_cells], chosen)


def _turns_setting(result: SweepResult, candidate: str, name: str) -> bool:
    """Whether a factor multiplies the candidate's setting."""
    return name in setting_scatters(result, candidate) and result.sample_kinds.get(name) == "ratio"


def _as_set(result: SweepResult, c: Choice, name: str, x: str, y: str) -> float:
    """What makes multiples on the x axis settings in the shown unit: the nominal one; 1 for all else.

    Only where the map stands at one nominal setting, and only on x: panels share their y axis.
    """
    if name != x or not _turns_setting(result, c.name, name) or _moves(result, c, x, y):
        return 1.0
    return sb.in_unit(result, c.ran_at)


def _moves(result: SweepResult, c: Choice, x: str, y: str) -> bool:
    """Whether the nominal setting changes over the map."""
    moving = cases.setting_axis(result, c.candidate).axis
    return moving >= 0 and moving in [sq.grid_axis(result, n) for n in (x, y)]


def _label(result: SweepResult, decision: Decision, name: str, x: str, y: str) -> str:
    if not all(_turns_setting(result, c.name, name) for c in sb.shown(decision)):
        return sq.label(result, name)
    if name == x and not any(_moves(result, c, x, y) for c in sb.shown(decision)):
        return f"setting after {name} ({typeset(result.unit)})"
    return f"{name} (times the nominal setting)"


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


def _members(
    result: SweepResult, candidate: int, name: str, shape: tuple[int, ...], scattered: int
) -> tuple[Floats, Floats]:
    """Cell number of every case along one factor, and the middles of the cells; ``scattered`` axes share the draws."""
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
    count = min(CLASSES, max(2, int((len(sample) / (2 * FEWEST)) ** (1.0 / scattered))))
    member = np.minimum(ranks * count // len(sample), count - 1).astype(float)
    return np.broadcast_to(member, shape), np.array([np.median(sample[member == i]) for i in range(count)])


def _words(result: SweepResult, c: Choice, x: str, y: str) -> str:
    if _moves(result, c, x, y):
        return f"chosen {sb.effort(result, c.setting)}"
    return f"set {sb.effort(result, c.ran_at)}"


def _log(values: Floats) -> bool:
    return bool(values.min() > 0.0 and values.max() / values.min() > 4.0)


def _title(result: SweepResult, decision: Decision, maps: tuple[Map, ...], x: str, y: str) -> str:
    best = decision.choices[0]
    mine = next((m for m in maps if m.head.who.name == best.name), maps[0])
    share = np.isfinite(mine.peak)
    if not share.any():
        return f"Too few cases for a map of {x} and {y}"
    if not isfinite(result.allowable):
        return f"{clipped(best.name)}: peak over {x} and {y}"
    over = int((mine.peak[share] > sb.in_unit(result, result.allowable)).sum())
    what = "nowhere on this map" if over == 0 else f"at {over} of the {int(share.sum())} points of this map"
    return f"{clipped(best.name)}: the peak passes {sb.effort(result, result.allowable)} {what}"
