"""Draws the temperature of protections that slip again and again, and the life they use up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from simcore.charts import base
from simcore.charts.levels import dots_of, place_words
from simcore.charts.metrics import LEADING, cut, size_of, spread, width
from simcore.charts.style import Style, style_for
from simcore.charts.temperature_data import TemperatureData, kelvin

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_MARKS: Final = 200
"""Instants that are marked one by one."""


def draw_temperature(ax: Axes, data: TemperatureData, style: Style | None = None) -> Axes:
    """Rise of the bulk as a line, the face as a thin one above it, limits that are near as thin lines."""
    from matplotlib.markers import TICKUP

    style = style_for(data.frame, style)
    factor, _ = base.time_scale(data.stop)
    ax.set_xlim(factor * data.start, factor * data.stop)
    ax.set_ylim(0.0, data.top)
    ax.grid(axis="y")
    ax.locator_params(axis="both", nbins=6)
    for w in data.warm:
        look = style.look(w.place)
        t, y = factor * w.bulk[0], w.bulk[1]
        if w.face is not None:
            ax.plot(factor * w.face[0], w.face[1], color=look.color, linestyle="-", linewidth=0.5, marker="", zorder=2)
        ax.plot(t, y, color=look.color, linestyle=look.line, linewidth=look.width, marker="", zorder=3)
        if w.limit <= data.top:
            ax.axhline(w.limit, color=style.color("allowable.color"), linewidth=0.8, linestyle="--", zorder=4)
    texts = []
    for limit in sorted({w.limit for w in data.warm if w.limit <= data.top}):
        whose = [w.name for w in data.warm if w.limit == limit]
        texts.append((f"limit {kelvin(limit)}: {base.listing(whose)}", limit))
    lines = [(factor * t, y) for w in data.warm for t, y in (w.bulk, *([w.face] if w.face else []))]
    place_words(ax, dots_of(ax, lines), texts, style)
    if len(data.instants) <= MOST_MARKS:
        low = np.zeros(len(data.instants))
        k: dict[str, Any] = {"marker": TICKUP, "linestyle": "none", "markersize": 5, "clip_on": False, "zorder": 5}
        ax.plot(factor * np.array(data.instants), low, color=style.color("quiet.color"), **k)
    return ax


def draw_wear(ax: Axes, data: TemperatureData, style: Style | None = None) -> Axes:
    """Share of life used up [%]."""
    style = style_for(data.frame, style)
    factor, _ = base.time_scale(data.stop)
    ax.set_xlim(factor * data.start, factor * data.stop)
    ax.locator_params(axis="both", nbins=4)
    for w in data.wear:
        look = style.look(w.place)
        ax.plot(factor * w.share[0], 100.0 * w.share[1], color=look.color, linestyle=look.line, marker="")
    ax.set_ylim(bottom=0.0)
    return ax


class Label(NamedTuple):
    """Words at the end of a curve: the place of its candidate, lines (the first is bold), short, its last height."""

    place: int
    lines: list[str]
    brief: str
    end: float
    reaches: bool = True
    """Whether the curve comes to the end of the axis."""


def warmth_labels(data: TemperatureData) -> list[Label]:
    """Name and highest rises of each candidate."""
    out = []
    for w in data.warm:
        share = f", {base.percent(w.highest / w.limit)} of {kelvin(w.limit)}" if w.limit > 0 else ", no limit"
        if w.given_up:
            out.append(_lost(w.place, w.name, w.given_up, _last(w.bulk[1])))
            continue
        lines = [w.name, kelvin(w.highest) + share]
        if w.face is not None:
            lines.append(f"face {kelvin(w.hottest_face)}")
        out.append(Label(w.place, lines, f"{w.name} {kelvin(w.highest)}", _last(w.bulk[1])))
    return out


def wear_labels(data: TemperatureData) -> list[Label]:
    """Name and life used of each candidate."""
    return [
        _lost(w.place, w.name, w.given_up, 100.0 * _last(w.share[1]))
        if w.given_up
        else Label(w.place, [w.name, base.percent(w.used)], f"{w.name} {base.percent(w.used)}", 100 * _last(w.share[1]))
        for w in data.wear
    ]


def _lost(place: int, name: str, why: str, end: float) -> Label:
    """A candidate whose run was given up: no numbers, for they would be told as those of the horizon."""
    return Label(place, [name, *why.split(", ")], f"{name} {why.partition(',')[0]}", end, False)


def label_room(data: TemperatureData, style: Style, most: float) -> float:
    """Points that the words right of the axis want."""
    labels = warmth_labels(data) + wear_labels(data)
    texts = [(x, i == 0) for label in labels for i, x in enumerate(label.lines)]
    brief = [(label.brief, True) for label in labels]
    texts = brief if data.frame.verdicts else [*texts, *brief]
    return min(most, max((width(t, style.small, bold) for t, bold in texts), default=0.0) + 16)


def draw_labels(ax: Axes, labels: Sequence[Label], style: Style, room: float) -> Axes:
    """Words right of each curve's end; with many candidates the brief ones."""
    from matplotlib.lines import Line2D

    from simcore.charts.metrics import points_from_corner

    wide, high = size_of(ax)
    step = style.small * LEADING
    top_value = ax.get_ylim()[1]
    full = sum(len(x.lines) for x in labels) * step <= 0.95 * high
    words = [x.lines if full else [x.brief] for x in labels]
    ends = [high * min(max(x.end, 0.0) / top_value, 1.0) for x in labels]
    heights = [len(x) * step + 3 for x in words]
    for label, lines, y, end in zip(labels, words, spread(ends, heights, 0.0, high), ends, strict=True):
        look = style.look(label.place)
        top = y + 0.5 * step * (len(lines) - 1)
        line: dict[str, Any] = {"transform": points_from_corner(ax), "clip_on": False, "color": look.color}
        if label.reaches:
            ax.add_line(Line2D([wide, wide + 6], [end, top], linewidth=0.6, **line))
        ax.add_line(Line2D([wide + 9], [top], marker=look.marker, markersize=5, linestyle="none", **line))
        for i, text in enumerate(lines):
            ax.annotate(
                cut(text, room - 15, style.small, not i), (wide + 14, top - i * step), xycoords="axes points",
                size=style.small, va="center", ha="left", weight="normal" if i else "bold", annotation_clip=False,
            )  # fmt: skip
    return ax


def _last(values: Any) -> float:
    y = values[np.isfinite(values)]
    return float(y[-1]) if len(y) else 0.0


def far_limits(data: TemperatureData) -> str:
    """Which limits lie outside the axis; '' if none does."""
    far = sorted({w.limit for w in data.warm if math.isfinite(w.limit) and w.limit > data.top})
    return f"above the axis: limits of {base.span(far, 'K')}" if far else ""
