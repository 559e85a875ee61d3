"""Draws maps of the peak over two factors in greys, the allowable as a contour."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_map_data import Map, MapData
from simcore.sweep.statistics import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def draw_map(ax: Axes, panel: Map, data: MapData, style: Style | None = None) -> Axes:
    """Draw one candidate's map on ``ax`` and give it back; hatched: over the allowable."""
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
    for axis, log, edges in ((ax.xaxis, data.x_log, x), (ax.yaxis, data.y_log, y)):
        if log:
            ticks = _ticks(edges)
            axis.set_ticks(ticks, [f"{t:g}" for t in ticks])
            axis.set_ticks([], minor=True)
    if not data.x_log:
        sb.inner_ticks(ax)
    _contour(ax, panel, data, style)
    if isfinite(panel.chosen):
        ax.axvline(panel.chosen, color="#111111", linewidth=0.8, linestyle=(0, (1, 2)), zorder=4)
    return ax


def _contour(ax: Axes, panel: Map, data: MapData, style: Style) -> None:
    p = panel.peak
    if not isfinite(data.allowable) or min(p.shape) < 2 or not np.isfinite(p).all():
        return
    over = np.where(p > data.allowable, 1.0, 0.0)
    if over.any():
        x, y = _edges(panel.x, data.x_log), _edges(panel.y, data.y_log)
        for i, j in zip(*np.nonzero(over), strict=True):
            ax.fill(
                [x[j], x[j + 1], x[j + 1], x[j]], [y[i], y[i], y[i + 1], y[i + 1]], facecolor="none",
                edgecolor=style.look(sb.DAMAGE).color, linewidth=0.0, hatch="////",
            )  # fmt: skip
    if p.min() < data.allowable < p.max():
        for color, thick in (("white", 3.2), (style.look(sb.DAMAGE).color, 1.8)):
            ax.contour(panel.x, panel.y, p, levels=[data.allowable], colors=[color], linewidths=thick, linestyles="-")


def _edges(middles: Floats, log: bool) -> Floats:
    m = np.log(middles) if log else middles
    if len(m) == 1:
        return np.array([0.9, 1.1]) * middles[0] if middles[0] else np.array([-0.5, 0.5])
    half = 0.5 * np.diff(m)
    out = np.r_[m[0] - half[0], m[:-1] + half, m[-1] + half[-1]]
    return np.asarray(np.exp(out) if log else out)


def _ticks(edges: Floats) -> list[float]:
    low, high = float(edges[0]), float(edges[-1])
    few = [m * 10.0**e for e in range(-9, 12) for m in (1, 2, 5)]
    few = [t for t in few if low <= t <= high]
    return few if len(few) <= 6 else [t for t in few if f"{t:e}".startswith("1")]


def map_page(data: MapData, style: Style, size: str = "page") -> Figure:
    count = len(data.maps)
    paper = Paper(data.frame, style, sized(size, 42.0 + 40.0 * -(-count // 2) if size == "column" else 0.0))
    line = style.small * LEADING / MM
    foot = line + (10.0 if paper.narrow else 6.5)
    axes = sb.panels(paper, count, sb.HEAD_LINES * line + 0.4, foot)
    for ax, panel in zip(axes, data.maps, strict=True):
        draw_map(ax, panel, data, style)
        sb.heading(ax, panel.head, style)
    sb.label_axes(paper, data.x_label, data.y_label, foot, style)
    _scale(paper, data, style)
    return paper.figure


def _scale(paper: Paper, data: MapData, style: Style) -> None:
    """The greys with their numbers, and the contour's sign, at the foot."""
    from matplotlib.colors import LinearSegmentedColormap
    from matplotlib.lines import Line2D

    from simcore.charts.base import number
    from simcore.charts.metrics import cut, points_from_corner, width

    r = paper.room
    line = style.small * LEADING / MM
    low = r.bottom + (line if paper.narrow else 0.0) + 1.0
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
    if not isfinite(data.allowable):
        return
    if paper.narrow:
        sign = paper.axes(r.left, r.bottom, r.left + 10.0, r.bottom + line)
    else:
        x1 = x0 + 34.0 + (width(number(data.high), style.small) + 18.0) / MM
        sign = paper.axes(x1, low, x1 + 10.0, low + 2.6)
    sign.set_axis_off()
    y = 0.5 * (line if paper.narrow else 2.6) * MM
    sign.add_line(
        Line2D([0, 18], [y, y], color=style.look(sb.DAMAGE).color, linewidth=1.8, transform=points_from_corner(sign))
    )
    text = f"{data.allowable_text} (hatched: over it)"
    sign.annotate(text, (22.0, y), xycoords="axes points", va="center", size=style.small, annotation_clip=False)
