"""Draws the timeline: lanes of candidates, speeds above, below them a bar for every acting part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from simcore.charts import base
from simcore.charts.metrics import LEADING, cut, size_of, width, wrap
from simcore.charts.stops_data import TO_TRIGGER, Leg, Stopped
from simcore.charts.style import Style, style_for
from simcore.charts.timeline_data import Bar, Instant, Lane, Row, TimelineData, duration, merged

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MM: Final = 72.0 / 25.4
ROW: Final = 3.3
"""Height of a row of bars [mm] where there is room."""
LEAST_SPEEDS: Final = 3.0
"""Lowest strip of speeds [mm] that is drawn."""
GAP: Final = 2.0
"""Between two lanes [mm]."""
MOST_WORDS: Final = 3
COLUMNS: Final = ("delay", "lasts", "heat")
"""What stands above the delays, where there is room."""
OFTEN: Final = 3
"""Instants of one name past which only the first is named."""


class Plan(NamedTuple):
    """Where things stand on an axis of ``height`` mm: first row of words, lanes from the top, jams at the bottom."""

    height: float
    words: int
    """Lines of words above the lanes."""
    head: float
    lane: float
    above: float
    """Words above each lane [mm]."""
    row: float
    rows: int
    speeds: float
    """Height of the strip of speeds; 0: none."""

    def top(self, n: int) -> float:
        """Upper edge of lane ``n``, its words counted in."""
        return self.height - self.head - n * self.lane


def plan(data: TimelineData, height: float, style: Style, above: float = 0.0) -> Plan:
    """Share the height [mm] among the lanes."""
    rows = max((len(x.rows) for x in data.lanes), default=1)
    line = style.small * LEADING / MM
    words = min(MOST_WORDS, len(named(data.instants)))
    head = line * words + 0.5
    lane = (height - head - ROW - 1.0) / max(len(data.lanes), 1)
    row = min(ROW, (lane - above - 0.25 * GAP) / max(rows, 1))
    speeds = lane - above - GAP - rows * row
    return Plan(height, words, head, lane, above, row, rows, speeds if speeds >= LEAST_SPEEDS else 0.0)


def fitted(data: TimelineData, height: float, style: Style, above: float = 0.0) -> TimelineData:
    """The same with as many rows a lane as can be named in ``height`` mm: brakes give way first, then the motor."""
    line = style.small * LEADING / MM
    words = min(MOST_WORDS, len(named(data.instants)))
    lane = (height - line * words - ROW - 1.5) / max(len(data.lanes), 1)
    most = max(1, int((lane - above - 0.25 * GAP) / line + 0.01))
    return data._replace(lanes=tuple(x._replace(rows=_most_telling(x.rows, most)) for x in data.lanes))


def _most_telling(rows: Sequence[Row], most: int) -> tuple[Row, ...]:
    kept = list(rows)
    for row in sorted(rows, key=lambda r: ("brake", "motor", "stop chain", "protection").index(r.sort)):
        if len(kept) > most:
            kept.remove(row)
    return tuple(kept)


def draw_timeline(
    ax: Axes, data: TimelineData, where: Plan, view: tuple[float, float], style: Style | None = None
) -> Axes:
    """Draw one stretch of time on ``ax``, whose height stands for the plan's millimetres, and give it back."""
    style = style_for(data.frame, style)
    factor, unit = base.time_scale(view[1])
    ax.set_xlim(factor * view[0], factor * view[1])
    ax.set_ylim(0.0, where.height)
    ax.set_yticks([])
    ax.spines["left"].set_visible(False)
    ax.locator_params(axis="x", nbins=5)
    text = f"time from the first event ({unit})"
    text = text if width(text, style.small) <= size_of(ax)[0] else f"time ({unit})"
    ax.set_xlabel(text, size=style.small)
    lines = [i.time for i in data.instants]
    for n, lane in enumerate(data.lanes):
        y = where.top(n) - where.above
        if where.speeds:
            _speeds(ax, lane, (y - where.speeds, y), factor, style)
        for i, row in enumerate(lane.rows):
            _row(ax, row, view, y - where.speeds - (i + 1) * where.row - 0.3, where.row, factor, style, lines)
    _row(ax, data.jams, view, 0.3, ROW, factor, style, lines)
    ax.axvline(0.0, color=style.color("allowable.color"), linewidth=0.8, zorder=3.5)
    _instants(ax, data, where, view, factor, style)
    return ax


def _speeds(ax: Axes, lane: Lane, edges: tuple[float, float], factor: float, style: Style) -> None:
    low, high = lane.speeds
    scale = (edges[1] - edges[0]) / (high - low)
    t, u = factor * lane.drive[0], factor * lane.load[0]
    drive, load = (edges[0] + scale * (y - low) for y in (lane.drive[1], lane.load[1]))
    ax.fill_between(t, drive, np.interp(t, u, load), color=style.color("class.slipping"), linewidth=0.0, zorder=1)
    ax.axhline(edges[0] - scale * low, color=style.color("rule.color"), linewidth=0.5, zorder=1)
    quiet = style.color("quiet.color")
    ax.plot(u, load, color=quiet, linestyle=(0, (2.5, 1)), linewidth=0.9, marker="", zorder=3)
    ax.plot(t, drive, color=style.look(lane.place).color, linestyle="-", linewidth=1.2, marker="", zorder=3)


def _row(
    ax: Axes, row: Row, view: tuple[float, float], y: float, high: float, factor: float, style: Style,
    lines: Sequence[float],
) -> None:  # fmt: skip
    wide, _ = size_of(ax)
    per = wide / (view[1] - view[0])
    for b in merged(row.bars, view):
        _bar(ax, b, y, 0.88 * high, factor, style)
        need = width(b.words, style.small)
        if high * MM > style.small and need <= per * (b.stop - b.start) - 3:
            at, crossed = middle_of(b, (need + 3) / per, lines)
            ax.text(
                factor * at, y + 0.42 * high, b.words, size=style.small, ha="center", va="center_baseline", zorder=6,
                clip_on=True, bbox=_behind(b.meaning, style, crossed),
            )  # fmt: skip


def middle_of(b: Bar, need: float, lines: Sequence[float]) -> tuple[float, bool]:
    """Middle [s] of words that take ``need`` s of a bar, clear of all instants at ``lines``; whether one crosses them.

    The bar's own middle if nothing stands there, else that of its longest stretch between two instants.
    """
    middle = 0.5 * (b.start + b.stop)
    if all(abs(t - middle) > 0.5 * need for t in lines):
        return middle, False
    edges = [b.start, *sorted(t for t in lines if b.start < t < b.stop), b.stop]
    start, stop = max(pairwise(edges), key=lambda e: e[1] - e[0])
    return (0.5 * (start + stop), False) if stop - start >= need else (middle, True)


def _bar(ax: Axes, b: Bar, y: float, high: float, factor: float, style: Style) -> None:
    from matplotlib.patches import Rectangle

    x, wide = factor * b.start, factor * (b.stop - b.start)
    ax.add_patch(Rectangle((x, y), wide, high, linewidth=0.5, zorder=4, **state_look(b.meaning, style)))


def state_look(meaning: str, style: Style) -> dict[str, Any]:
    """Fill, edge and hatch of one meaning."""
    edge = style.color("quiet.color" if meaning == "delay" else "class.hatch.color")
    return {
        "facecolor": style.color(f"state.{meaning}"),
        "edgecolor": edge,
        "hatch": style.house.get(f"state.{meaning}.hatch", ""),
    }


def _behind(meaning: str, style: Style, crossed: bool) -> dict[str, Any] | None:
    """A plain patch behind words where the bar is hatched or an instant crosses them."""
    if not (crossed or style.house.get(f"state.{meaning}.hatch")):
        return None
    return {"boxstyle": "square,pad=0.08", "facecolor": style.color(f"state.{meaning}"), "edgecolor": "none"}


def _instants(
    ax: Axes, data: TimelineData, where: Plan, view: tuple[float, float], factor: float, style: Style
) -> None:
    """Dotted lines; their words above the lanes, on lines such that none strikes another."""
    wide, _ = size_of(ax)
    per = wide / (view[1] - view[0])
    step = style.small * LEADING / MM
    ends = [0.0] * where.words
    inside = [i for i in data.instants if view[0] <= i.time <= view[1]]
    tops = {i.time: where.height - where.head for i in inside}
    for i in named(inside):
        need = width(i.words, style.small) + 4.0
        x = per * (i.time - view[0])
        left = x if x + need <= wide else max(x - need, 0.0)
        line = next((k for k in range(len(ends)) if all(end <= left for end in ends[k:])), None)
        if line is None:
            continue
        ends[line] = left + need
        y = where.height - (line + 0.5) * step
        tops[i.time] = y + 0.5 * step
        ax.text(factor * (view[0] + (left + 2.0) / per), y, i.words, size=style.small, ha="left", va="center")
    for t, top in tops.items():
        line_look: dict[str, Any] = {"linewidth": 0.7, "linestyle": ":", "marker": "", "zorder": 5}
        ax.plot([factor * t] * 2, [0.0, top], color=style.color("allowable.color"), **line_look)


def named(instants: Sequence[Instant]) -> list[Instant]:
    """Instants with the words to write; of many alike the first, with their number."""
    out: list[Instant] = []
    for words, group in groupby(sorted(instants, key=lambda i: i.words), key=lambda i: i.words):
        own = list(group)
        many = len(own) > OFTEN
        out += [Instant(own[0].time, f"{words} \u00d7{len(own)}")] if many else own
    return sorted(out)


def row_labels(ax: Axes, data: TimelineData, where: Plan, style: Style) -> Axes:
    """Name the rows left of the axis, and the scale of the speeds."""
    k: dict[str, Any] = {
        "xycoords": ("axes fraction", "data"), "textcoords": "offset points", "xytext": (-3, 0), "size": style.small,
        "ha": "right", "va": "center", "annotation_clip": False,
    }  # fmt: skip
    for n, lane in enumerate(data.lanes):
        y = where.top(n) - where.above - where.speeds
        for i, row in enumerate(lane.rows):
            ax.annotate(row.who, (0.0, y - (i + 0.56) * where.row - 0.3), **k)
        if where.speeds and lane.running:
            at = where.speeds * (lane.running - lane.speeds[0]) / (lane.speeds[1] - lane.speeds[0])
            at = min(at, where.speeds - 0.5 * style.small * LEADING / MM)
            ax.annotate(f"{base.number(lane.running)} rpm", (0.0, y + at), **k)
    if data.jams.bars:
        ax.annotate(data.jams.who, (0.0, 0.3 + 0.44 * ROW), **k)
    return ax


def stop_lines(stop: Stopped, most: int) -> list[tuple[str, str, str]]:
    """What, how long, heat of each delay, and at what instant the power goes with the heat of all.

    Of more than ``most`` lines those with most heat, the others as one, so that they add up to the whole.
    """
    legs, others = list(stop.legs), list[Leg]()
    while legs and len(legs) + bool(others) + 1 > most:
        others.append(min(legs, key=lambda leg: (leg.what != TO_TRIGGER, leg.heat, leg.stop - leg.start)))
        legs.remove(others[-1])
    lines = [(leg.what, duration(leg.stop - leg.start), _heat(leg.heat, stop.heat)) for leg in legs]
    if legs and others:
        time, heat = sum(x.stop - x.start for x in others), sum(x.heat for x in others)
        lines.append((f"{len(others)} others", duration(time), _heat(heat, stop.heat)))
    if math.isfinite(stop.off):
        return [*lines, ("power off at", duration(stop.off), base.joules(stop.heat))]
    return [*lines, ("drive stays on", "", base.joules(stop.heat))]


def _heat(part: float, whole: float) -> str:
    return base.joules(part if abs(part) >= 1e-3 * abs(whole) else 0.0)


def draw_stops(ax: Axes, data: TimelineData, where: Plan, style: Style, room: float) -> Axes:
    """The delays and the heat in them, as lines right of the axis."""
    wide, _ = size_of(ax)
    step = style.small * LEADING / MM
    for n, lane in enumerate(data.lanes):
        most = int((where.lane - where.above - 0.2) // step)
        lines = stop_lines(lane.stop, most)
        if 1 < len(lines) < most:
            lines = [COLUMNS, *lines]
        for i, (what, ms, heat) in enumerate(lines):
            y = where.top(n) - where.above - (i + 0.5) * step
            last = "bold" if i == len(lines) - 1 else "normal"
            ink = style.color("quiet.color") if (what, ms, heat) == COLUMNS else None
            for text, x, side in ((what, 4.0, "left"), (ms, 0.68 * room, "right"), (heat, room, "right")):
                ax.annotate(
                    text, ((wide + x) / wide, y), xycoords=("axes fraction", "data"), size=style.small, ha=side,
                    va="center", weight=last, color=ink, annotation_clip=False,
                )  # fmt: skip
    return ax


def lane_words(ax: Axes, data: TimelineData, where: Plan, style: Style, room: float) -> Axes:
    """For narrow pages: name and the stop in words above each lane, ``room`` points wide from the paper's edge."""
    from matplotlib.lines import Line2D
    from matplotlib.transforms import blended_transform_factory

    wide, _ = size_of(ax)
    left = wide - room
    step = style.small * LEADING / MM
    white = {"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"}
    k: dict[str, Any] = {"xycoords": ("axes points", "data"), "size": style.small, "va": "center", "bbox": white}
    k |= {"zorder": 7, "annotation_clip": False}
    for n, lane in enumerate(data.lanes):
        y = where.top(n) - 0.5 * step
        look = style.look(lane.place)
        axis = blended_transform_factory(ax.transAxes, ax.transData)
        ax.add_line(Line2D([(left + 4) / wide], [y], marker=look.marker, color=look.color, markersize=5,
                           linestyle="none", transform=axis, clip_on=False))  # fmt: skip
        total = " ".join(x for x in stop_lines(lane.stop, 1)[0] if x)
        need = width(total, style.small) + 6
        name = cut(lane.name, room - 10 - need, style.small, True)
        ax.annotate(name, (left + 10, y), ha="left", weight="bold", **k)
        ax.annotate(total, (wide, y), ha="right", **k)
        lines = int(where.above / step + 0.01) - 1
        legs = "; ".join(" ".join(x).replace(" ", base.SPACE) for x in stop_lines(lane.stop, 6)[:-1])
        for i, text in enumerate(wrap(legs, room, style.small, most=lines) if lines and legs else []):
            ax.annotate(text, (left, y - (i + 1) * step), ha="left", **k)
    return ax
