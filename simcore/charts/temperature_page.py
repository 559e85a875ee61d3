"""Composes the temperature chart: rises, and below them the life used up where a protection counts it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simcore.charts import base, temperature
from simcore.charts.metrics import LEADING, cut
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style, style_for
from simcore.charts.temperature_data import has_temperature, temperature_data
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def temperature_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Rise of every protection that has a temperature against time, words at the curves' ends."""
    data = temperature_data(result)
    style = style_for(data.frame, style)
    shown = has_temperature(result)
    tall = 125.0 if size == "column" and shown else 0.0
    many = 34.0 + 4.0 * (len(data.warm) + len(data.wear)) if data.frame.verdicts else 0.0
    paper = Paper(data.frame, style, sized(size, max(tall, many)))
    if not shown:
        return paper.figure
    r = paper.room
    line = style.small * LEADING / MM
    far = temperature.far_limits(data)
    room = temperature.label_room(data, style, (33.0 if paper.narrow else 52.0) * MM)
    left, right = r.left + VALUES + 1.0, r.right - room / MM
    bottom, top = r.bottom + TICKS, r.top - 1.0 - (line if far else 0.0)
    split = bottom + (0.28 if data.warm else 1.0) * (top - bottom) if data.wear else bottom
    low = None
    if data.wear:
        low = paper.axes(left, bottom, right, split - (1.0 if data.warm else 0.0))
        temperature.draw_wear(low, data, style)
        temperature.draw_labels(low, temperature.wear_labels(data), style, room)
        low.set_ylabel("life used (%)", size=style.small)
    if data.warm:
        ax = paper.axes(left, split + (2.5 if data.wear else 0.0), right, top)
        temperature.draw_temperature(ax, data, style)
        temperature.draw_labels(ax, temperature.warmth_labels(data), style, room)
        ax.set_ylabel("rise above ambient (K)")
        ax.tick_params(labelbottom=low is None)
        low = low or ax
    if far:
        text = cut(far, (r.right - left) * MM, style.small)
        paper.figure.text(left / paper.width, (top + 0.5) / paper.height, text, size=style.small, va="bottom")
    if low is not None:
        ticks = "; ticks: events" if data.warm and data.instants else ""
        unit = base.time_scale(data.stop)[1]
        low.set_xlabel(f"time ({unit}){ticks}", size=style.small if paper.narrow else None)
    return paper.figure
