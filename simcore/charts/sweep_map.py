"""Draws maps of the peak over two factors in greys, the allowable as a contour."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, cut, points_from_corner, size_of, width
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_map_data import Map, MapData
from simcore.sweep.statistics import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FAILED, NO_DATA = "xxxx", "...."
"""Hatches of cells without a value."""
GAP = "#6A6A6A"
SIGN = 18.0
"""Points of a sign in the key."""


def draw_map(ax: Axes, panel: Map, data: MapData, style: Style | None = None) -> Axes:
    """Draw one candidate's map on ``ax`` and give it back; hatched: over the allowable, failed, or no data."""
    from matplotlib.colors import LinearSegmentedColormap

    style = style or read_style()
    x, y = _edges(panel.x, data.x_log), _edges(panel.y, data.y_log)
    if data.x_log:
        ax.set_xscale("log")
    if data.y_log:
        ax.set_yscale("log")
    ax.set_xlim(x[0], x[-1])
    ax.set_ylim(y[0], y[-1])
    grey = LinearSegmentedColormap.from_list("grey", [style.color("heat.low"), style.color("heat.high")])
    top = data.high if data.high > data.low else data.low + 1.0
    ax.pcolormesh(x, y, np.ma.masked_invalid(panel.peak), cmap=grey, vmin=data.low, vmax=top, rasterized=False)
    _ticks(ax, panel, data)
    _gaps(ax, panel, x, y)
    _contour(ax, panel, data, style)
    if isfinite(panel.chosen):
        ax.axvline(panel.chosen, color="#111111", linewidth=0.8, linestyle=(0, (1, 2)), zorder=4)
    return ax


def _contour(ax: Axes, panel: Map, data: MapData, style: Style) -> None:
    p = panel.peak
    if not isfinite(data.allowable) or not np.isfinite(p).any():
        return
    x, y = _edges(panel.x, data.x_log), _edges(panel.y, data.y_log)
    with np.errstate(invalid="ignore"):
        _hatch(ax, p > data.allowable, x, y, "////", style.look(sb.DAMAGE).color)
    if min(p.shape) > 1 and np.nanmin(p) < data.allowable < np.nanmax(p):
        # carried on to the edges of the map, where the outer cells end
        wide = np.ma.masked_invalid(np.pad(p, 1, mode="edge"))
        across, up = np.r_[x[0], panel.x, x[-1]], np.r_[y[0], panel.y, y[-1]]
        for color, thick in (("white", 3.2), (style.look(sb.DAMAGE).color, 1.8)):
            ax.contour(across, up, wide, levels=[data.allowable], colors=[color], linewidths=thick, linestyles="-")


def _gaps(ax: Axes, panel: Map, x: Floats, y: Floats) -> None:
    """Cells without a value: those where cases failed, and those with too few cases."""
    empty = ~np.isfinite(panel.peak)
    for flags, sign in ((empty & panel.failed, FAILED), (empty & ~panel.failed, NO_DATA)):
        _hatch(ax, flags, x, y, sign, GAP)


def _hatch(ax: Axes, flags: NDArray[np.bool_], x: Floats, y: Floats, sign: str, color: str) -> None:
    for i, j in zip(*np.nonzero(flags), strict=True):
        ax.fill(
            [x[j], x[j + 1], x[j + 1], x[j]], [y[i], y[i], y[i + 1], y[i + 1]], facecolor="none",
            edgecolor=color, linewidth=0.0, hatch=sign,
        )  # fmt: skip


def _edges(middles: Floats, log: bool) -> Floats:
    m = np.log(middles) if log else middles
    if len(m) == 1:
        return np.array([0.9, 1.1]) * middles[0] if middles[0] else np.array([-0.5, 0.5])
    half = 0.5 * np.diff(m)
    out = np.r_[m[0] - half[0], m[:-1] + half, m[-1] + half[-1]]
    return np.asarray(np.exp(out) if log else out)


def _ticks(ax: Axes, panel: Map, data: MapData) -> None:
    """Ticks at the values of a grid if there is room for all of them and three digits tell them; else round numbers."""
    from matplotlib.ticker import MaxNLocator

    wide, high = size_of(ax)
    for axis, log, middles, on_grid, most in (
        (ax.xaxis, data.x_log, panel.x, data.x_values, wide / 26.0),
        (ax.yaxis, data.y_log, panel.y, data.y_values, high / 12.0),
    ):
        if on_grid and len(middles) <= most and all(float(f"{t:.3g}") == float(f"{t:.6g}") for t in middles):
            axis.set_ticks(middles, [f"{t:.3g}" for t in middles])
        elif log:
            ticks = _round(_edges(middles, log))
            axis.set_ticks(ticks, [f"{t:g}" for t in ticks])
        elif axis is ax.xaxis:
            sb.inner_ticks(ax)
        else:
            axis.set_major_locator(MaxNLocator(int(np.clip(high / 14.0, 2, 6)), steps=[1, 2, 5, 10]))
        if log:
            axis.set_ticks([], minor=True)


def _round(edges: Floats) -> list[float]:
    low, high = float(edges[0]), float(edges[-1])
    few = [m * 10.0**e for e in range(-9, 12) for m in (1, 2, 5)]
    few = [t for t in few if low <= t <= high]
    return few if len(few) <= 6 else [t for t in few if f"{t:e}".startswith("1")]


def map_page(data: MapData, style: Style, size: str = "page") -> Figure:
    count = len(data.maps)
    paper = Paper(data.frame, style, sized(size, 42.0 + 40.0 * -(-count // 2) if size == "column" else 0.0))
    line = style.small * LEADING / MM
    foot = line + (10.0 if paper.narrow else 6.5)
    own = any(not np.array_equal(m.y, data.maps[0].y) for m in data.maps)
    axes = sb.panels(paper, count, sb.HEAD_LINES * line + 0.4, foot, own=own)
    for ax, panel in zip(axes, data.maps, strict=True):
        draw_map(ax, panel, data, style)
        sb.heading(ax, panel.head, style)
    sb.label_axes(paper, data.x_label, data.y_label, foot, style)
    _scale(paper, data, style)
    return paper.figure


def _scale(paper: Paper, data: MapData, style: Style) -> None:
    """The greys with their numbers, and the contour's sign, at the foot."""
    from matplotlib.colors import LinearSegmentedColormap

    from simcore.charts.base import number

    r = paper.room
    line = style.small * LEADING / MM
    low = r.bottom + (line if paper.narrow else 0.0) + 1.0
    if not _known(data):
        _signs(paper, data, style, (r.left, low + 1.3 - 0.5 * line))
        return
    words = cut(data.value_label, 0.55 * (r.right - r.left) * MM, style.small)
    x0 = r.left + (width(words, style.small) + width(number(data.low), style.small) + 8.0) / MM
    ax = paper.axes(x0, low, x0 + (20.0 if paper.narrow else 34.0), low + 2.6)
    grey = LinearSegmentedColormap.from_list("grey", [style.color("heat.low"), style.color("heat.high")])
    ax.imshow(np.linspace(0, 1, 64)[None, :], aspect="auto", cmap=grey, extent=(0.0, 1.0, 0.0, 1.0))
    ax.set_xticks([])
    ax.set_yticks([])
    for side in ("top", "right"):
        ax.spines[side].set_visible(True)
    k: dict[str, Any] = {"size": style.small, "va": "center", "annotation_clip": False, "xycoords": "axes fraction"}
    k["textcoords"] = "offset points"
    ax.annotate(number(data.low), (0.0, 0.5), xytext=(-3, 0), ha="right", **k)
    left = -7.0 - width(number(data.low), style.small)
    ax.annotate(words, (0.0, 0.5), xytext=(left, 0), ha="right", **k)
    ax.annotate(number(data.high), (1.0, 0.5), xytext=(3, 0), ha="left", **k)
    end = x0 + (20.0 if paper.narrow else 34.0) + (width(number(data.high), style.small) + 9.0) / MM
    _signs(paper, data, style, (r.left, r.bottom) if paper.narrow else (end, low + 1.3 - 0.5 * line))


def _signs(paper: Paper, data: MapData, style: Style, at: tuple[float, float]) -> None:
    """What line and hatches mean, in one line from ``at`` [mm]."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    line = style.small * LEADING / MM
    ax = paper.axes(at[0], at[1], paper.room.right, at[1] + line)
    ax.set_axis_off()
    x, y = 0.0, 0.5 * line * MM
    k: dict[str, Any] = {"transform": points_from_corner(ax), "clip_on": False}
    box: dict[str, Any] = {"facecolor": "none", "linewidth": 0.5, **k}
    for what, text in _told(data):
        if what == "over":
            ax.add_line(Line2D([x, x + SIGN], [y, y], color=style.look(sb.DAMAGE).color, linewidth=1.8, **k))
        else:
            ax.add_patch(Rectangle((x, y - 3.5), SIGN, 7.0, edgecolor=GAP, hatch=what, **box))
        ax.annotate(
            text, (x + SIGN + 3.0, y), xycoords="axes points", va="center", size=style.small, annotation_clip=False
        )
        x += SIGN + 3.0 + width(text, style.small) + 8.0


def _known(data: MapData) -> bool:
    """Whether any cell of any map has a value."""
    return any(np.isfinite(m.peak).any() for m in data.maps)


def _told(data: MapData) -> list[tuple[str, str]]:
    """Signs that are on the map, with their words."""
    empty = any((~np.isfinite(m.peak) & m.failed).any() for m in data.maps)
    blank = any((~np.isfinite(m.peak) & ~m.failed).any() for m in data.maps)
    line = isfinite(data.allowable) and _known(data)
    said = [("over", f"{data.allowable_text} (hatched: over it)")] if line else []
    return [*said, *([(FAILED, "failed")] if empty else []), *([(NO_DATA, "no data")] if blank else [])]
