"""Draws a part's own chart: torque against twist, slip speed or current, with its levels and its data sheet."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts.character_data import CharacterData, Level, Trace, character_data
from simcore.charts.keys import Entry, draw_key, shade
from simcore.charts.metrics import LEADING, cut, size_of, width, wrap
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.units import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from simcore.character import Character

COLUMNS: Final = (3, 2)
"""Of the data sheet; fewer where words would be cut."""
GAP: Final = 5.0
"""Millimetres between them."""
LABELS: Final = 40.0
"""Millimetres that words at levels may take."""
MOST_LEVELS: Final = 6
ARROWS: Final = 62.0
"""Points of curve from one arrow head to the next."""
WIDTHS: Final = (1.6, 1.3)
"""Of the first curve and of those after it."""


def character_page(c: Character, version: str, style: Style | None = None) -> Figure:
    """One panel with levels named at its right, data-sheet values and key under it."""
    style = style or read_style()
    with style.active():
        return _page(character_data(c, version), style)


def _page(data: CharacterData, style: Style) -> Figure:
    paper = Paper(data.frame, style, sized("page"))
    r = paper.room
    entries = _entries(data, style)
    key = draw_key(paper, entries, style, r.bottom) + 1.0 if entries else 0.0
    table = _draw_sheet(paper, data, style, r.bottom + key)
    named = [wrap(v.text, LABELS * MM - 6, style.small, most=2) for v in data.levels]
    room = max([width(line, style.small) for lines in named for line in lines] + [0.0]) / MM
    ax = paper.axes(r.left + VALUES + 1.0, r.bottom + key + table + TICKS + 1.0, r.right - room - 2.5, r.top - 0.5)
    draw_character(ax, data, style)
    ax.set_xlabel(data.x_label)
    ax.set_ylabel(data.y_label)
    return paper.figure


def draw_character(ax: Axes, data: CharacterData, style: Style | None = None) -> Axes:
    """Shades of modes, levels with their names, curves with the jumps at switches."""
    style = style or read_style()
    if data.log:
        ax.set_xscale("log")
    ax.set_xlim(*data.x_range)
    ax.set_ylim(*data.y_range)
    _plain_ticks(ax, data.log)
    _modes(ax, data, style)
    _levels(ax, data, style)
    ax.axhline(0.0, color=style.color("quiet.color"), linewidth=0.4, zorder=1)
    for trace in data.traces:
        _draw_trace(ax, trace, style)
    return ax


def _plain_ticks(ax: Axes, log: bool) -> None:
    from matplotlib.ticker import FuncFormatter, NullFormatter

    written = FuncFormatter(lambda v, _: plain(v).replace("-", "−"))
    ax.xaxis.set_major_formatter(written)
    ax.yaxis.set_major_formatter(written)
    ax.locator_params(axis="y", nbins=7)
    if log:
        ax.xaxis.set_minor_formatter(NullFormatter())
    else:
        ax.locator_params(axis="x", nbins=9)


def _modes(ax: Axes, data: CharacterData, style: Style) -> None:
    wide, _ = size_of(ax)
    to_points = ax.transLimits
    for s in data.spans:
        if s.klass == "engaged":
            continue
        hatch = style.house.get(f"class.{s.klass}.hatch", "")
        ax.axvspan(s.start, s.stop, facecolor=style.color(f"class.{s.klass}"), hatch=hatch, linewidth=0.0,
                   edgecolor=style.color("class.hatch.color"), zorder=0)  # fmt: skip
    for s in data.spans:
        ends = (ax.transScale + to_points).transform([(s.start, 1.0), (s.stop, 1.0)])[:, 0]
        if (ends[1] - ends[0]) * wide > width(s.klass, style.small) + 6:
            ax.annotate(
                s.klass, (float(ends.mean()), 1.0), xytext=(0, -2), textcoords="offset points",
                xycoords="axes fraction", size=style.small, ha="center", va="top", zorder=6,
                bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.8},
            )  # fmt: skip


def _levels(ax: Axes, data: CharacterData, style: Style) -> None:
    """Levels whose words do not run into those before; the first one with its band."""
    _, high = size_of(ax)
    per = high / (data.y_range[1] - data.y_range[0])
    taken: list[tuple[float, float]] = []
    for level in data.levels:
        lines = wrap(level.text, LABELS * MM - 6, style.small, most=2)
        half = 0.5 * len(lines) * style.small * LEADING + 0.5
        at = (level.value - data.y_range[0]) * per
        if len(taken) == MOST_LEVELS or any(abs(at - y) < half + other for y, other in taken):
            continue
        taken.append((at, half))
        _draw_level(ax, level, lines, style, first=len(taken) == 1)


def _draw_level(ax: Axes, level: Level, lines: list[str], style: Style, *, first: bool) -> None:
    color = style.color("allowable.color" if first else "quiet.color")
    if level.low != level.high:
        ax.axhspan(level.low, level.high, facecolor=style.color("band.color"), alpha=0.55, linewidth=0.0, zorder=0.5)
    ax.axhline(level.value, color=color, linewidth=0.9 if first else 0.5, zorder=1.5)
    ax.annotate(
        "\n".join(lines), (1.0, level.value), xytext=(4, 0), textcoords="offset points",
        xycoords=("axes fraction", "data"), size=style.small, ha="left", va="center", color=color,
        linespacing=LEADING - 0.05, annotation_clip=False,
    )  # fmt: skip


def _look(place: int, style: Style) -> dict[str, Any]:
    look = style.look(place)
    return {"color": look.color, "linestyle": look.line, "linewidth": WIDTHS[min(place, 1)], "marker": ""}


def _draw_trace(ax: Axes, trace: Trace, style: Style) -> None:
    look = _look(trace.place, style)
    for x, y in trace.pieces:
        ax.plot(x, y, zorder=3 + trace.place, **look)
    for at, before, after in trace.steps:
        ax.plot([at, at], [before, after], color=look["color"], linestyle=(0, (1, 1.5)), linewidth=1.0, marker="",
                zorder=3)  # fmt: skip
    if trace.returns:
        _arrows(ax, trace, look["color"])


def _arrows(ax: Axes, trace: Trace, color: str) -> None:
    """Heads along the way at even distances on the paper."""
    wide, high = size_of(ax)
    way = np.concatenate([np.column_stack(p) for p in trace.pieces])
    on_paper = ax.transLimits.transform(way) * (wide, high)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(on_paper, axis=0).T))])
    count = max(2, int(along[-1] / ARROWS))
    for at in (np.arange(count) + 0.5) * along[-1] / count:
        tail, head = (
            (float(np.interp(s, along, way[:, 0])), float(np.interp(s, along, way[:, 1]))) for s in (at - 2.0, at + 2.0)
        )
        arrow = {"arrowstyle": "-|>,head_width=0.3,head_length=0.7", "color": color, "linewidth": 0.0,
                 "mutation_scale": 9.0, "shrinkA": 0, "shrinkB": 0}  # fmt: skip
        ax.annotate("", head, tail, arrowprops=arrow, zorder=5 + trace.place)


def _entries(data: CharacterData, style: Style) -> list[Entry]:
    traces = data.traces if len(data.traces) > 1 else ()
    named = [Entry(t.name, _no_marker(t.place, style)) for t in traces]
    return [*named, *(shade(c, style) for c in data.classes if c != "engaged")]


def _no_marker(place: int, style: Style) -> dict[str, Any]:
    return {k: v for k, v in _look(place, style).items() if k != "marker"}


def _draw_sheet(paper: Paper, data: CharacterData, style: Style, bottom: float) -> float:
    """Values of the data sheet in columns, read downward; the height they take [mm]."""
    r, size = paper.room, style.small
    step = size * LEADING / MM
    needs = max((width(n, size) + width(v, size) + 6 for n, v in data.sheet), default=0.0) / MM
    wides = {count: (r.right - r.left + GAP) / count for count in COLUMNS}
    count = next((n for n in COLUMNS if wides[n] - GAP >= needs), COLUMNS[-1])
    wide, rows = wides[count], ceil(len(data.sheet) / count)
    for n, (name, value) in enumerate(data.sheet):
        x = r.left + (n // rows) * wide
        y = (bottom + (rows - n % rows - 0.5) * step) / paper.height
        words = cut(name, (wide - GAP) * MM - width(value, size) - 5, size)
        paper.figure.text(x / paper.width, y, words, size=size, va="center", color=style.color("quiet.color"))
        paper.figure.text((x + wide - GAP) / paper.width, y, value, size=size, va="center", ha="right")
    return rows * step + (1.0 if rows else 0.0)
