"""Draws the instants: a row a candidate, times on one axis, the numbers beside it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from simcore.charts.base import NO_ANSWER
from simcore.charts.instants_data import BEFORE, InstantsData, Row, told
from simcore.charts.metrics import LEADING, cut, points_from_corner, size_of, width
from simcore.charts.rows import set_rows
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEADS: Final = ("trigger", "peak", "lets go", "disconnects")
SIGNS: Final = ("trigger", "peak", "lets_go", "disconnect")
NAME: Final = 18.0
"""Points above the bar for a name and the sign of the peak, on a narrow page."""
TIGHT: Final = 34.0
"""Points of a row on a narrow page below which bar and signs draw together."""
SMALL: Final = {"trigger": 5.5, "lets_go": 7.0, "disconnect": 7.0, "peak": 4.0}
"""Sizes of the signs in such rows."""
LATER: Final = 5
"""Sign of a peak beyond the axis: its tip points out of the picture at the edge."""
UNKNOWN: Final = (NO_ANSWER, "not known")
"""Words of rows that have no instants."""
THICKEST: Final = 24.0
"""Points a bar is high at most ..."""
THIN: Final = 4.0
"""... and where rows are tight."""
UNDER: Final = 18.0
"""Points of a row that words under its bar take, twice."""
LOWEST: Final = 4.5
"""Points from the middle of the last row's words to the axis."""


def draw_instants(ax: Axes, data: InstantsData, style: Style | None = None, *, narrow: bool = False) -> Axes:
    """Draw all rows on ``ax`` and give it back; ``narrow`` leaves room for words above and below each bar."""
    style = style_for(data.frame, style)
    set_rows(ax, len(data.rows))
    if data.log:
        ax.set_xscale("log")
        ax.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
        ax.xaxis.set_minor_formatter(lambda x, _: "")
    ax.set_xlim(data.start, data.stop)
    ax.grid(axis="x")
    for i, row in enumerate(data.rows):
        at = _bar_of(ax, i, len(data.rows), narrow)
        _row(ax, at, row, data, style)
        if row.note and not narrow:
            _words(ax, at, row, len(data.rows), style)
    ax.set_xlabel(f"time from {data.zero} (ms" + (", logarithmic)" if data.log else ")"))
    ax.spines["left"].set_visible(not data.log)
    return ax


def _bar_of(ax: Axes, i: int, rows: int, narrow: bool) -> tuple[float, float]:
    """Middle and height of the bar of row ``i``, in rows."""
    pitch = size_of(ax)[1] / rows
    thick = min((0.22 if narrow else 0.3) * pitch, THICKEST)
    if not narrow:
        thick = min(thick, max(pitch - UNDER, THIN))
    name = NAME
    if narrow and pitch < TIGHT:
        thick, name = THIN, NAME - 2.5
    return (i - 0.5 + (name + 0.5 * thick) / pitch if narrow else i), thick / pitch


def _row(ax: Axes, at: tuple[float, float], row: Row, data: InstantsData, style: Style) -> None:
    i, thick = at
    look = style.look(row.place)
    step = len(data.rows) / size_of(ax)[1]
    first = row.trigger if math.isfinite(row.trigger) else row.lets_go
    if row.words in UNKNOWN:
        return
    ax.plot(
        [max(data.start, 1e-9), first if math.isfinite(first) else data.stop],
        [i, i],
        color=look.color,
        linewidth=0.8,
        marker="",
        linestyle="-",
    )
    if math.isfinite(first):
        last = row.disconnect if math.isfinite(row.disconnect) else data.stop
        hatch = "" if math.isfinite(row.disconnect) else "////"
        ax.barh(
            i,
            last - first,
            left=first,
            height=thick,
            facecolor=pale(look.color) if not hatch else "white",
            edgecolor=look.color,
            hatch=hatch,
            linewidth=0.8,
            zorder=2,
        )
    for kind in SIGNS:
        _sign(
            ax,
            kind,
            getattr(row, kind),
            i - 0.5 * thick - 4.0 * step if kind == "peak" else i,
            row.place,
            style,
            thick < 4.5 * step,
        )
    if math.isfinite(row.reengage) and row.reengage <= data.stop:
        ax.plot([row.reengage], [i], marker=">", color=look.color, linestyle="none", zorder=4)


def pale(color: str) -> tuple[float, float, float]:
    """A light tint of ``color``."""
    from matplotlib.colors import to_rgb

    r, g, b = to_rgb(color)
    return 0.3 * r + 0.7, 0.3 * g + 0.7, 0.3 * b + 0.7


def _words(ax: Axes, at: tuple[float, float], row: Row, rows: int, style: Style) -> None:
    """Words under the bar, at its right end."""
    wide, high = size_of(ax)
    below = at[0] + 0.5 * at[1] + 6.0 * rows / high
    below = min(below, rows - 0.5 - LOWEST * rows / high)
    ax.annotate(
        fitting_note(row, wide - 6, style.small),
        (1.0, below),
        xytext=(-3, 0),
        xycoords=("axes fraction", "data"),
        textcoords="offset points",
        size=style.small,
        ha="right",
        va="center",
        style="italic",
    )


def fitting_note(row: Row, room: float, size: float) -> str:
    """The words of a row; where both do not fit, what the numbers beside them do not tell."""
    return cut(row.note if width(row.note, size) <= room else row.elsewhere or row.words, room, size)


def _sign(ax: Axes, kind: str, time: float, y: float, place: int, style: Style, small: bool = False) -> None:
    if not math.isfinite(time):
        return
    look = _look_of(kind, place, style)
    late = kind == "peak" and time > ax.get_xlim()[1]
    if late:
        time, look["marker"] = ax.get_xlim()[1], LATER
    if small and kind in SMALL:
        look["markersize"] = SMALL[kind]
    ax.plot([time], [y], **look)  # type: ignore[arg-type]


def _look_of(kind: str, place: int, style: Style) -> dict[str, object]:
    look = style.look(place)
    out: dict[str, object] = {"linestyle": "none", "color": look.color, "zorder": 4}
    if kind == "trigger":
        return out | {
            "marker": look.marker,
            "markersize": 7,
            "markeredgecolor": "white",
            "markeredgewidth": 0.6,
        }
    if kind == "lets_go":
        return out | {"marker": "o", "markersize": 9, "markerfacecolor": "none", "markeredgewidth": 1.1}
    if kind == "disconnect":
        return out | {"marker": "|", "markersize": 15, "markeredgewidth": 2.2}
    return out | {"marker": 7, "markersize": 4.5}


def table_room(style: Style) -> float:
    """Points that the numbers beside the axis take."""
    return sum(_columns(style)) + 6.0


def _columns(style: Style) -> list[float]:
    return [max(width(h, style.small), 26.0) + 7.0 for h in HEADS]


def draw_table(ax: Axes, data: InstantsData, style: Style | None = None) -> Axes:
    """Numbers [ms] right of the axis, under heads with the signs used in the rows."""
    style = style_for(data.frame, style)
    wide, high = size_of(ax)
    size = style.small
    step = high / max(len(data.rows), 1)
    x = wide + 6.0
    for head, kind, room in zip(HEADS, SIGNS, _columns(style), strict=True):
        x += room
        k = {"xycoords": "axes points", "annotation_clip": False, "size": size, "ha": "right"}
        ax.annotate(head, (x, high + 3.0), va="bottom", color=style.color("quiet.color"), **k)  # type: ignore[arg-type]
        _head_sign(ax, kind, x - 0.5 * min(room, 18.0), high + 3.0 + size * LEADING + 5.0, style)
        for i, row in enumerate(data.rows):
            text = "?" if row.words in UNKNOWN and not math.isfinite(getattr(row, kind)) else told(row, kind)
            ax.annotate(text, (x, high - (i + 0.5) * step), va="center", **k)  # type: ignore[arg-type]
    return ax


def narrow_notes(data: InstantsData) -> list[str]:
    """The numbers of each row in one text, for pages without room for a table."""
    out = []
    for row in data.rows:
        parts = [
            f"{h} {told(row, k)}"
            for h, k in zip(HEADS, SIGNS, strict=True)
            if math.isfinite(getattr(row, k)) and k != "peak"
        ]
        unit = "" if parts and parts[-1].endswith(BEFORE) else " ms"
        out.append(f"{', '.join(parts)}{unit}" if parts else "")
    return out


def draw_narrow_words(ax: Axes, data: InstantsData, style: Style) -> Axes:
    """Under each row its numbers [ms], and who does not disconnect."""
    wide, high = size_of(ax)
    rows = max(len(data.rows), 1)
    for i, (row, note) in enumerate(zip(data.rows, narrow_notes(data), strict=True)):
        rest = fitting_note(row, wide - width(f"{note}; ", style.small), style.small) if row.note else ""
        text = "; ".join(x for x in (note, rest) if x)
        middle, thick = _bar_of(ax, i, rows, narrow=True)
        ax.annotate(
            cut(text, wide, style.small),
            (0, high - (middle + 0.5 * thick + 0.5) * high / rows - 6.0),
            xycoords="axes points",
            size=style.small,
            va="center",
            ha="left",
            color=style.color("quiet.color"),
        )
    return ax


def draw_sign_key(ax: Axes, style: Style, y: float) -> Axes:
    """The signs with their words in one line, ``y`` points above the axis' lower edge."""
    x = 5.0
    for head, kind in zip(HEADS, SIGNS, strict=True):
        _head_sign(ax, kind, x, y, style)
        ax.annotate(head, (x + 8, y), xycoords="axes points", size=style.small, va="center", annotation_clip=False)
        x += 8 + width(head, style.small) + 14
    return ax


def _head_sign(ax: Axes, kind: str, x: float, y: float, style: Style) -> None:
    from matplotlib.lines import Line2D

    look = _look_of(kind, 0, style) | {"color": style.color("quiet.color")}
    if kind == "trigger":
        look |= {"markersize": 5}
    if kind == "disconnect":
        look |= {"markersize": 10}
    ax.add_line(Line2D([x], [y], transform=points_from_corner(ax), clip_on=False, **look))  # type: ignore[arg-type]
