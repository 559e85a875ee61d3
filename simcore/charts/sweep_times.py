"""Draws the distributions of disconnect time: a hill of cases a row, its points below, numbers beside."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, cut, size_of, width
from simcore.charts.paper import MM, TICKS, Paper, sized
from simcore.charts.rows import name_room, names_above, row_names, set_rows
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_times_data import HEADS, Row, TimesData

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_DOTS: Final = 400
FEW_DOTS: Final = 100
"""Dots up to this number are drawn larger ..."""
DOTS: Final = (3.2, 1.6)
"""... of these sizes in points."""


def draw_times(ax: Axes, data: TimesData, style: Style | None = None, *, high: float = 0.5) -> Axes:
    """Draw the rows on ``ax`` and give it back; hills take the share ``high`` of their row."""
    style = style or read_style()
    set_rows(ax, len(data.rows))
    if data.log:
        ax.set_xscale("log")
    ax.set_xlim(data.low, data.high)
    ax.grid(axis="x")
    if data.log:
        _plain_ticks(ax, data)
    for i, row in enumerate(data.rows):
        _row(ax, i, row, high, style)
    return ax


def _plain_ticks(ax: Axes, data: TimesData) -> None:
    ticks = [m * 10.0**e for e in range(-4, 7) for m in (1, 2, 5)]
    ticks = [t for t in ticks if data.low <= t <= data.high]
    ax.set_xticks(ticks, [f"{t:g}" for t in ticks])
    ax.xaxis.set_ticks([], minor=True)


def _row(ax: Axes, i: int, row: Row, high: float, style: Style) -> None:
    look = style.look(row.who.place)
    base = i + 0.22
    if not len(row.times):
        k: dict[str, Any] = {"xycoords": ("axes fraction", "data"), "ha": "center", "va": "center"}
        ax.annotate("never disconnects", (0.5, i), size=style.small, color=style.color("quiet.color"), **k)
        return
    ax.stairs(base - high * row.density, row.edges, baseline=base, fill=True, color=look.color, alpha=0.35, zorder=2)
    ax.stairs(base - high * row.density, row.edges, baseline=base, color=look.color, linewidth=0.8, zorder=3)
    pick = np.unique(np.linspace(0, len(row.times) - 1, MOST_DOTS).astype(int))
    deep = base + 0.06 + 0.10 * ((np.arange(len(pick)) * 0.618034) % 1.0)
    size = DOTS[len(pick) > FEW_DOTS]
    dots: dict[str, Any] = {"color": look.color, "marker": ".", "markersize": size, "markeredgewidth": 0, "alpha": 0.7}
    ax.plot(row.times[pick], deep, linestyle="none", zorder=2, **dots)
    a, b = row.span[0], min(row.span[1], ax.get_xlim()[1])
    if isfinite(a):
        ax.plot([a, b], [base, base], color="#111111", linewidth=2.0, marker="", linestyle="-", zorder=4)
    if isfinite(row.median.value):
        k = {"marker": look.marker, "color": look.color, "markersize": 6, "markeredgecolor": "white"}
        ax.plot([row.median.value], [base], linestyle="none", markeredgewidth=0.6, zorder=5, **k)


def column_rooms(data: TimesData, style: Style) -> list[float]:
    """Points of each column of numbers."""
    texts = [[HEADS[j], *(r.cells[j] for r in data.rows)] for j in range(len(HEADS))]
    return [max(width(t, style.small) for t in column) + 8.0 for column in texts]


def draw_numbers(ax: Axes, data: TimesData, style: Style) -> Axes:
    """Numbers right of the axis, heads above them."""
    wide, high = size_of(ax)
    x = wide + 6.0
    step = high / max(len(data.rows), 1)
    for j, room in enumerate(column_rooms(data, style)):
        x += room
        k: dict[str, Any] = {"xycoords": "axes points", "ha": "right", "size": style.small, "annotation_clip": False}
        ax.annotate(HEADS[j], (x, high + 2.0), va="bottom", color=style.color("quiet.color"), **k)
        for i, row in enumerate(data.rows):
            ax.annotate(row.cells[j], (x, high - (i + 0.5) * step), va="center", **k)
    return ax


def times_page(data: TimesData, style: Style, size: str = "page") -> Figure:
    rows = [(r.who.name, r.who.place) for r in data.rows]
    count = max(len(rows), 1)
    paper = Paper(data.frame, style, sized(size, 36.0 + 17.0 * count if size == "column" else 0.0))
    r = paper.room
    line = style.small * LEADING / MM
    bottom = r.bottom + line + 1.0 + TICKS
    if paper.narrow:
        ax = paper.axes(r.left + 2.0, bottom, r.right - 2.0, r.top)
        draw_times(ax, data, style, high=0.38)
        names_above(ax, rows, style, [cut(x.cells[0], 110.0, style.small) for x in data.rows])
    else:
        notes = [x.who.note for x in data.rows]
        names = name_room([*(n for n, _ in rows), *notes], style, 40 * MM)
        right = r.right - (sum(column_rooms(data, style)) + 8.0) / MM
        ax = paper.axes(r.left + names / MM, bottom, right, r.top - line - 1.0)
        draw_times(ax, data, style)
        row_names(ax, rows, style, names, notes)
        draw_numbers(ax, data, style)
    ax.set_xlabel("time to disconnect, from the first event (ms" + (", logarithmic)" if data.log else ")"))
    sb.foot_line(paper, "hill: how many; dots: cases; bar: 5 to 95 %; mark: median", style)
    return paper.figure
