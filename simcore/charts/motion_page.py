"""Composes the motion chart: a pair of axes a candidate on one sheet of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from simcore.charts import motion
from simcore.charts.key import Entry, draw_key
from simcore.charts.metrics import LEADING, cut, points_from_corner, size_of, width
from simcore.charts.motion_data import MotionData, Panel, motion_data
from simcore.charts.paper import MM, VALUES, Paper, sized
from simcore.charts.style import Style
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def motion_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """A pair of axes a candidate: speeds above, twist below."""
    data = motion_data(result)
    count = max(len(data.panels), 1)
    across = min(count, 2 if size == "column" else 4)
    down = -(-count // across)
    paper = Paper(data.frame, style, sized(size, down * 38.0 + 30.0 if size == "column" else 110.0))
    r = paper.room
    key = _motion_key(paper, data, style)
    left, bottom, top = r.left + VALUES + 1.5, r.bottom + key + 4.0, r.top
    wide, high = (r.right - left) / across, (top - bottom) / down
    for n, panel in enumerate(data.panels):
        i, j = divmod(n, across)
        low_row = n + across >= count
        x0, x1 = left + j * wide, left + (j + 1) * wide - 2.5
        y0, y1 = top - (i + 1) * high + 4.5, top - i * high - 1.5
        _motion_pair(paper, (x0, y0, x1, y1), panel, data, style, first=j == 0, last=low_row)
    return paper.figure


def _motion_pair(
    paper: Paper,
    box: tuple[float, float, float, float],
    panel: Panel,
    data: MotionData,
    style: Style,
    *,
    first: bool,
    last: bool,
) -> None:
    x0, y0, x1, y1 = box
    name = style.small * LEADING / MM
    split = y0 + 0.4 * (y1 - name - y0)
    upper = paper.axes(x0, split + 0.8, x1, y1 - name)
    lower = paper.axes(x0, y0, x1, split - 0.8)
    motion.draw_speeds(upper, panel, data, style)
    motion.draw_twist(lower, panel, data, style)
    motion.mode_words(lower, panel, data, style)
    row_title = cut(panel.name, (x1 - x0) * MM - 10, style.small, True)
    _panel_name(upper, row_title, panel.place, style)
    for ax, text in ((upper, "speed (rpm)"), (lower, f"twist ({data.twist_unit})")):
        ax.tick_params(labelleft=first)
        if first:
            high = size_of(ax)[1]
            ax.set_ylabel(text if width(text, style.small) < high else text.split("(")[1][:-1], size=style.small)
    if last:
        lower.set_xlabel("time from contact (ms)" if x1 - x0 > 32 else "time (ms)", size=style.small)


def _panel_name(ax: Any, text: str, place: int, style: Style) -> None:
    from matplotlib.lines import Line2D

    _, high = size_of(ax)
    look = style.look(place)
    ax.add_line(
        Line2D(
            [3],
            [high + 5],
            marker=look.marker,
            color=look.color,
            markersize=5.5,
            linestyle="none",
            transform=points_from_corner(ax),
            clip_on=False,
        )
    )
    ax.annotate(
        text,
        (9, high + 2),
        xycoords="axes points",
        size=style.small,
        weight="bold",
        va="bottom",
        annotation_clip=False,
    )


def _motion_key(paper: Paper, data: MotionData, style: Style) -> float:
    """Says which line is which and what the shades mean; the height it takes [mm]."""
    entries: list[Entry] = [
        ("motor side", {"color": style.color("allowable.color"), "linewidth": 1.5}),
        ("load side", {"color": style.color("quiet.color"), "linewidth": 1.0, "linestyle": (0, (2.5, 1))}),
    ]
    return draw_key(paper, [*entries, *((c, c) for c in data.classes if c != "engaged")], style)
