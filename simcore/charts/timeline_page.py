"""Composes the timeline: the first stop and the whole on one time axis each, candidates below each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from simcore.charts import base, timeline
from simcore.charts.keys import Entry, draw_key, lines_of, step_of
from simcore.charts.metrics import LEADING, width
from simcore.charts.paper import MM, TICKS, Paper, grown, sized
from simcore.charts.rows import SWATCH, lane_names, name_room
from simcore.charts.style import Style, style_for
from simcore.charts.timeline_data import MEANINGS, TimelineData, has_timeline, timeline_data
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

NUMBERS: Final = 42.0
"""Millimetres for the delays and their heat."""
MOST_IN_COLUMN: Final = 11
"""Lanes that a column of 250 mm keeps readable."""
USUAL_ROWS: Final = 3
"""Rows of bars that the usual heights leave room for: motor, stop chain, protection."""
SMALLEST: Final = 44.0
"""Millimetres for title, axis and key ..."""
LANE: Final = 15.0
"""... and for each lane with its usual rows, where a sheet of the plain height has no room for them."""
NOTHING: Final = "No situation here has several events or a stop chain"


def timeline_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Lanes of candidates under each other; in a column their names and delays above each lane."""
    data = timeline_data(result, MOST_IN_COLUMN if size == "column" else base.MOST)
    style = style_for(data.frame, style)
    if not has_timeline(result):
        return Paper(data.frame._replace(title=NOTHING), style, sized(size)).figure
    count = len(data.lanes)
    narrow = size == "column"
    line = style.small * LEADING / MM
    more = timeline.ROW * max(0, max((len(x.rows) for x in data.lanes), default=0) - USUAL_ROWS)
    height = 46.0 + (31.0 + more) * count if narrow else max(grown(count, 12.0), SMALLEST + (LANE + more) * count)
    paper = Paper(data.frame, style, sized(size, height))
    r = paper.room
    for speeds in (True, False):
        entries = _entries(data, style, speeds)
        key = len(lines_of(entries, style, paper.left, paper.right)) * step_of(style)
        bottom, top = r.bottom + key + TICKS + 0.5, r.top
        above = line * (3.0 if (top - bottom) / max(count, 1) > 21.0 else 1.0) if narrow else 0.0
        data = timeline.fitted(data, top - bottom, style, above)
        where = timeline.plan(data, top - bottom, style, above)
        if where.speeds:
            break
    draw_key(paper, entries, style, r.bottom)
    rows = {row.who for lane in data.lanes for row in lane.rows}
    labels = max(width(x, style.small) for x in ("protection", "stop chain", "1000 rpm", *rows)) / MM + 2.5
    names = 0.0 if narrow else name_room([x.name for x in data.lanes], style, 34 * MM) / MM
    left, right = r.left + names + labels, r.right - (1.0 if narrow else NUMBERS)
    first = None
    for x0, x1, view in _parts(left, right, data):
        ax = paper.axes(x0, bottom, x1, top)
        timeline.draw_timeline(ax, data, where, view, style)
        first = first or ax
        last = ax
    if first is not None:
        timeline.row_labels(first, data, where, style)
        if narrow:
            timeline.lane_words(last, data, where, style, (r.right - r.left - 1.0) * MM)
        else:
            timeline.draw_stops(last, data, where, style, NUMBERS * MM - 2)
            at = [where.top(n) - 0.5 * (where.lane - timeline.GAP) for n in range(count)]
            lane_names(first, data.lanes, at, style, (names + labels) * MM, names * MM - SWATCH)
    return paper.figure


def _parts(left: float, right: float, data: TimelineData) -> list[tuple[float, float, tuple[float, float]]]:
    """Edges [mm] of the axes and what each shows."""
    if len(data.views) == 1:
        return [(left, right, data.views[0])]
    half = left + 0.58 * (right - left)
    return [(left, half - 1.5, data.views[0]), (half + 1.5, right, data.views[1])]


def _entries(data: TimelineData, style: Style, speeds: bool) -> list[Entry]:
    """What the fills mean, and which line is which."""
    out = [Entry(MEANINGS[m], timeline.state_look(m, style), True) for m in data.meanings]
    if not speeds:
        return out
    line = {"color": style.color("quiet.color"), "linewidth": 0.9, "linestyle": (0, (2.5, 1))}
    slip = {"facecolor": style.color("class.slipping"), "edgecolor": "none"}
    full = {"color": style.color("allowable.color"), "linewidth": 1.2}
    return [*out, Entry("speed, motor side", full), Entry("load side", line), Entry("slip", slip, True)]
