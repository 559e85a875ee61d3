"""Composes the placement chart: peak beside heat, candidates in rows grouped by kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simcore.charts import base, placement
from simcore.charts.keys import Entry, draw_key
from simcore.charts.paper import MM, TICKS, Paper, grown, sized
from simcore.charts.placement_data import PlacementData, has_placement, placement_data
from simcore.charts.rows import name_room, row_names
from simcore.charts.style import Style, style_for
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def placement_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Rows of candidates; names left of the bars, in a column above them."""
    data = placement_data(result)
    style = style_for(data.frame, style)
    count = max(len(data.stands), 1)
    shown = has_placement(result)
    high = (42.0 + 11.0 * count if size == "column" else grown(count, 10.0)) if shown else 0.0
    frame = data.frame if shown else data.frame._replace(title="All candidates stand in one place")
    paper = Paper(frame, style, sized(size, high))
    if not shown:
        return paper.figure
    r = paper.room
    key = draw_key(paper, _entries(data, result, style), style, r.bottom)
    places = [f"; in{base.SPACE}{base.quoted(s.where)}" if s.where else "" for s in data.stands]
    notes = [f"{s.slot}, {s.setting}{place}" for s, place in zip(data.stands, places, strict=True)]
    names = [x for s in data.stands for x in (s.name, f"{s.slot}, {s.setting}")]
    room = 0.0 if paper.narrow else name_room(names, style, 56 * MM) / MM
    left, right, bottom, top = r.left + room + 1.0, r.right - 1.0, r.bottom + key + TICKS + 1.0, r.top - 1.0
    half = left + 0.58 * (right - left)
    peaks = paper.axes(left, bottom, half - 3.0, top)
    heat = paper.axes(half + 3.0, bottom, right, top)
    heat.set_zorder(-1)
    if paper.narrow:
        for ax in (peaks, heat):
            ax.tick_params(labelsize=style.small)
    placement.draw_peaks(peaks, data, style)
    placement.draw_heat(heat, data, style)
    for ax in (peaks, heat):
        placement.group_rules(ax, data, style)
    peaks.set_xlabel(data.axis, size=style.small)
    heat.set_xlabel("heat in the crash (J)", size=style.small)
    if paper.narrow:
        placement.words_above(peaks, data, style, (right - left) * MM)
    else:
        row_names(peaks, [(s.name, s.place) for s in data.stands], style, room * MM, notes)
    return paper.figure


def _entries(data: PlacementData, result: ResultSet, style: Style) -> list[Entry]:
    """Which fill is which slot, and the line of the allowable."""
    grey = style.color("quiet.color")
    out = [Entry(s, placement.slot_look(data, s, grey), True) for s in data.slots]
    line = {"color": style.color("allowable.color"), "linewidth": style.number("allowable.width")}
    if data.allowable == data.allowable:
        out.append(Entry(f"allowable {base.effort(result, result.allowable)}", line))
    return out
