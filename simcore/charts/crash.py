"""Draws the crash: torque at the protected part, every candidate over the bare line."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simcore.charts.crash_data import CrashData, Curve
from simcore.charts.levels import HEAVY, LIGHT, dots_of, place_words
from simcore.charts.metrics import LEADING, cut, in_fitting_time, points_from_corner, size_of, spread, width
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes

GAP: Final = 8.0
"""Points between an axis and the labels beside it."""
SAMPLE: Final = 15.0
"""Length [points] of the piece of line in front of a label."""
VALUE_SIZE: Final = 1.15
"""Print of the axes' numbers over the small print."""


def draw_crash(
    ax: Axes, data: CrashData, style: Style | None = None, *, long: bool = False, words: bool = True
) -> Axes:
    """Draw the short (default) or the long view on ``ax`` and give it back."""
    style = style_for(data.frame, style)
    stop = data.long_end if long else data.short_end
    ax.set_xlim(data.long_start if long else data.start, stop)
    ax.set_ylim(data.bottom, data.top)
    _levels(ax, data, style, words)
    for c in sorted(data.curves, key=lambda c: c.place):
        look = style.look(c.place)
        t, y = c.long if long else c.short
        ax.plot(t, y, color=look.color, linestyle=look.line, linewidth=look.width, marker="", zorder=3)
    for c in data.curves:
        _marks(ax, c, style, stop)
    ax.axvline(0.0, color=style.color("quiet.color"), linewidth=0.6, linestyle=(0, (1, 2)), zorder=1)
    ax.set_xlabel(f"time from {data.zero} ({in_fitting_time(ax, stop)})")
    return ax


def reading(data: CrashData) -> str:
    """What the signs on the curves mean: of those that are drawn."""
    seen = ("marker: trigger", [c.trigger.time for c in data.curves])
    gone = ("bar across: disconnected", [c.disconnect.time for c in data.curves])
    return "    ".join(words for words, times in (seen, gone) if any(t <= data.long_end for t in times))


def _marks(ax: Axes, c: Curve, style: Style, stop: float) -> None:
    look = style.look(c.place)
    if math.isfinite(c.trigger.time) and c.trigger.time <= stop:
        ax.plot(
            [c.trigger.time],
            [c.trigger.torque],
            marker=look.marker,
            color=look.color,
            linestyle="none",
            markeredgecolor="white",
            markeredgewidth=0.5,
            zorder=5,
            gid="trigger",
        )
    if math.isfinite(c.disconnect.time) and c.disconnect.time <= stop:
        for color, thick in (("white", 3.2), (look.color, 1.8)):
            ax.plot(
                [c.disconnect.time],
                [c.disconnect.torque],
                marker="_",
                markersize=13,
                color=color,
                linestyle="none",
                markeredgewidth=thick,
                zorder=4.5,
            )


def _levels(ax: Axes, data: CrashData, style: Style, words: bool) -> None:
    """Setting bands and the allowable, each with its words at the left end of the line."""
    texts: list[tuple[str, float]] = []
    for level in data.levels:
        ax.axhspan(level.low, level.high, color=style.color("band.color"), alpha=0.45, linewidth=0, zorder=0)
        if math.isfinite(level.value):
            ax.axhline(level.value, color=style.color("quiet.color"), linewidth=0.7, zorder=1)
        if level.text:
            texts.append((level.text, level.high))
    if math.isfinite(data.allowable):
        ax.axhline(
            data.allowable,
            color=style.color("allowable.color"),
            linewidth=style.number("allowable.width"),
            zorder=2,
        )
        texts.append((data.allowable_text, data.allowable))
    if words:
        rules = [(x.value, LIGHT) for x in data.levels if math.isfinite(x.value)] + [(data.allowable, HEAVY)]
        marks = [m for c in data.curves for m in (c.trigger, c.disconnect)]
        place_words(ax, dots_of(ax, [c.short for c in data.curves], marks), texts, style, rules)


def wider_values(data: CrashData, style: Style) -> float:
    """Points that the numbers of the torque axis want beyond those of four digits."""
    size = VALUE_SIZE * style.small
    longest = max(width(f"{abs(y):.0f}", size) for y in (data.bottom, data.top))
    return max(0.0, longest - width("9999", size)) + (width("\u2212", size) if data.bottom < -1000.0 else 0.0)


def label_room(data: CrashData, style: Style, most: float) -> float:
    """Points that the labels beside the long view want, at most ``most``."""
    size = style.small
    wide = max((max(width(c.name, size, True), width(c.note, size)) for c in data.curves), default=0.0)
    return min(most, wide + SAMPLE + GAP + 6.0)


def draw_labels(ax: Axes, data: CrashData, style: Style | None = None, *, room: float, top: float = 0.0) -> Axes:
    """Label every curve at its end, beside ``ax``, within ``room`` points; ``top`` points above are free."""
    style = style_for(data.frame, style)
    wide, high = size_of(ax)
    size = style.small
    scale = high / (data.top - data.bottom)
    curves = sorted(data.curves, key=lambda c: (-c.place,))
    ends = [(c.end - data.bottom) * scale if math.isfinite(c.end) else 0.0 for c in curves]
    lines = 2 if len(curves) * (2 * size * LEADING + 3) <= high + top else 1
    height = lines * size * LEADING + 3
    for c, end, y in zip(curves, ends, spread(ends, [height] * len(curves), 0.0, high + top), strict=True):
        _label(ax, c, style, (wide, end, y), (room, lines))
    return ax


def _label(ax: Axes, c: Curve, style: Style, at: tuple[float, float, float], fit: tuple[float, int]) -> None:
    wide, end, y = at
    room, lines = fit
    look, size = style.look(c.place), style.small
    points = {"xycoords": "axes points", "textcoords": "axes points", "annotation_clip": False}
    thin: dict[str, Any] = {
        "arrowstyle": "-",
        "shrinkA": 0,
        "shrinkB": 0,
        "linewidth": 0.5,
        "color": look.color,
    }
    if not math.isfinite(c.given_up):  # else the curve does not come as far as this
        ax.annotate("", (wide, end), (wide + GAP, y), arrowprops=thin, **points)  # type: ignore[arg-type]
    _sample(ax, style, c.place, wide + GAP, y)
    left, text_room = wide + GAP + SAMPLE + 3, room - GAP - SAMPLE - 3
    step = 0.5 * size * LEADING if lines == 2 else 0.0
    if lines == 1:
        ax.annotate(_one_line(c, text_room, size), (left, y), size=size, va="center", **_free())
        return
    ax.annotate(cut(c.name, text_room, size, True), (left, y + step), size=size, weight="bold", va="center", **_free())
    ax.annotate(_note(c, text_room, size), (left, y - step), size=size, va="center", **_free())


def _note(c: Curve, room: float, size: float) -> str:
    """The note, without its first word or in shorter words where that makes it fit."""
    bare = c.note.removeprefix("peak ")
    brief = bare.replace("drive off", "stop").replace("disconnects ", "off ").removeprefix("no answer, ")
    return cut(next((t for t in (c.note, bare) if width(t, size) <= room), brief), room, size)


def _one_line(c: Curve, room: float, size: float) -> str:
    """Name and peak in one line; the name gives way."""
    tail = f" {c.peak:.3g}" if math.isfinite(c.peak) else " no answer" if math.isfinite(c.given_up) else ""
    return cut(c.name, room - width(tail, size), size) + tail


def _free() -> dict[str, Any]:
    return {"xycoords": "axes points", "annotation_clip": False, "ha": "left"}


def _sample(ax: Axes, style: Style, place: int, x: float, y: float) -> None:
    """A piece of the curve's own line with its marker, at ``x``, ``y`` points from the axis' corner."""
    from matplotlib.lines import Line2D

    look = style.look(place)
    points = points_from_corner(ax)
    line = Line2D(
        [x, x + SAMPLE],
        [y, y],
        color=look.color,
        linestyle=look.line,
        linewidth=look.width,
        transform=points,
        clip_on=False,
    )
    dot = Line2D(
        [x + 0.5 * SAMPLE],
        [y],
        color=look.color,
        marker=look.marker,
        linestyle="none",
        markeredgecolor="white",
        markeredgewidth=0.5,
        transform=points,
        clip_on=False,
    )
    ax.add_line(line)
    if look.marker:
        ax.add_line(dot)
