"""Composes the motion chart: a pair of axes a candidate on one sheet of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simcore.charts import motion
from simcore.charts.keys import Entry, draw_key, shade
from simcore.charts.metrics import LEADING, end_inside, in_fitting_time, size_of, width
from simcore.charts.motion_data import MotionData, Panel, motion_data
from simcore.charts.panels import PITCH, draw_title, grid, wrapped
from simcore.charts.paper import MM, VALUES, Paper, sized
from simcore.charts.style import Style, style_for
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def motion_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """A pair of axes a candidate: speeds above, twist below."""
    data = motion_data(result)
    style = style_for(data.frame, style)
    count = max(len(data.panels), 1)
    across, down = grid(count, size)
    high = down * 42.0 + 34.0 if size == "column" else 110.0
    if data.frame.verdicts:
        high = down * PITCH[size] + 34.0
    paper = Paper(data.frame, style, sized(size, high))
    r = paper.room
    key = draw_key(paper, _entries(data, style), style, r.bottom)
    left, bottom, top = r.left + VALUES + 1.5, r.bottom + key + 4.0, r.top
    wide, high = (r.right - left) / across, (top - bottom) / down
    own = VALUES - 2.0 if data.apart else 0.0
    names = wrapped([p.name for p in data.panels], style, wide - 2.5 - own, 2)
    lines = [max(map(len, names[i * across : (i + 1) * across]), default=1) for i in range(down)]
    for n, panel in enumerate(data.panels):
        i, j = divmod(n, across)
        low_row = n + across >= count
        x0, x1 = left + j * wide + (own if j else 0.0), left + (j + 1) * wide - 2.5
        y0, y1 = top - (i + 1) * high + 4.5, top - i * high - 1.5
        y1 -= lines[i] * style.small * LEADING / MM
        _motion_pair(paper, (x0, y0, x1, y1), panel, data, style, first=j == 0, last=low_row, title=names[n])
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
    title: list[str],
) -> None:
    x0, y0, x1, y1 = box
    split = y0 + 0.4 * (y1 - y0)
    upper = paper.axes(x0, split + 0.8, x1, y1)
    lower = paper.axes(x0, y0, x1, split - 0.8)
    motion.draw_speeds(upper, panel, data, style)
    motion.draw_twist(lower, panel, data, style)
    unit = in_fitting_time(lower, data.stop)
    end_inside(lower)
    motion.mode_words(lower, panel, data, style)
    draw_title(upper, title, panel.place, style)
    for ax, text in ((upper, "speed (rpm)"), (lower, f"twist ({data.twist_unit})")):
        ax.tick_params(labelleft=first or data.apart)
        if data.apart:
            ax.tick_params(axis="y", labelsize=style.small)
        if first:
            high = size_of(ax)[1]
            ax.set_ylabel(text if width(text, style.small) < high else text.split("(")[1][:-1], size=style.small)
    if last:
        lower.set_xlabel(f"time from {data.zero} ({unit})" if x1 - x0 > 32 else f"time ({unit})", size=style.small)


def _entries(data: MotionData, style: Style) -> list[Entry]:
    """Which line is which, and what the shades mean."""
    quiet = style.color("quiet.color")
    out = [
        Entry("motor side", {"color": style.color("allowable.color"), "linewidth": 1.5}),
        Entry("load side", {"color": quiet, "linewidth": 1.0, "linestyle": (0, (2.5, 1))}),
    ]
    out += [shade(c, style) for c in data.classes if c != "engaged"]
    return out
