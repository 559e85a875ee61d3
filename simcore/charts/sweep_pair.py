"""Draws a pair chart: a cloud of cases by colour and mark."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_pair_data import PairData

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def draw_pair(ax: Axes, data: PairData, style: Style | None = None) -> Axes:
    """Draw the clouds on ``ax`` and give it back."""
    style = style or read_style()
    for axis, log in ((ax.xaxis, data.x_log), (ax.yaxis, data.y_log)):
        if log:
            (ax.set_xscale if axis is ax.xaxis else ax.set_yscale)("log")
    ax.grid()
    for c in data.clouds:
        look = style.look(c.who.place)
        ax.plot(
            c.x, c.y, color=look.color, marker=look.marker or "o", markersize=2.6, markeredgewidth=0.0, alpha=0.6,
            linestyle="none", zorder=3,
        )  # fmt: skip
    for axis, log in ((ax.xaxis, data.x_log), (ax.yaxis, data.y_log)):
        if log:
            low, high = axis.get_view_interval()
            few = [m * 10.0**e for e in range(-9, 12) for m in (1, 2, 5)]
            ticks = [t for t in few if low <= t <= high]
            ticks = ticks if len(ticks) <= 8 else [t for t in ticks if f"{t:e}".startswith("1")]
            axis.set_ticks(ticks, [f"{t:g}" for t in ticks])
            axis.set_ticks([], minor=True)
    ax.set_xlabel(data.x_label)
    ax.set_ylabel(data.y_label)
    return ax


def pair_page(data: PairData, style: Style, size: str = "page") -> Figure:
    who = [c.who for c in data.clouds]
    step = 2.6 * style.small * LEADING / MM
    paper = Paper(data.frame, style, sized(size, 80.0 + step * len(who) if size == "column" else 0.0))
    r = paper.room
    left, bottom = r.left + VALUES + 4.0, r.bottom + TICKS
    if paper.narrow:
        key, room = step * len(who) + 4.0, (r.right - r.left) * MM
        ax = paper.axes(left, bottom + key, r.right - 1, r.top - 1)
        beside = paper.axes(r.left, r.bottom, r.right, r.bottom + key - 4.0)
    else:
        room = sb.key_room(who, style, 50.0 * MM)
        ax = paper.axes(left, bottom, r.right - room / MM - 4.0, r.top - 1)
        beside = paper.axes(r.right - room / MM, r.bottom, r.right, r.top - 5.0)
        paper.figure.text(
            (r.right - room / MM) / paper.width, (r.top - 1.0) / paper.height, data.key, size=style.small, va="top",
            color=style.color("quiet.color"),
        )  # fmt: skip
    draw_pair(ax, data, style)
    sb.draw_key(beside, who, [False] * len(who), room, style, lines=False)
    return paper.figure
