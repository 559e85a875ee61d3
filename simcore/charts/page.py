"""Composes each chart on a sheet of paper: axes, names, labels and keys in their places."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from simcore.charts import crash, energy, instants, limits, motion, service
from simcore.charts.crash_data import crash_data
from simcore.charts.energy_data import energy_data
from simcore.charts.instants_data import instants_data
from simcore.charts.limits_data import limits_data
from simcore.charts.metrics import LEADING, cut, wrap
from simcore.charts.motion_data import MotionData, Panel, motion_data
from simcore.charts.paper import MM, SIZES, Paper
from simcore.charts.rows import name_room, row_names
from simcore.charts.service_data import service_data
from simcore.charts.style import Style
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

TICKS = 8.5
"""Millimetres below an axis for its ticks and label."""
VALUES = 10.5
"""Millimetres left of an axis for its ticks and label."""


def _size(kind: str, height: float = 0.0) -> tuple[float, float]:
    wide, high = SIZES[kind]
    return wide, max(high, height)


def crash_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """First milliseconds beside (in a column: above) the long view, curves labelled at their ends."""
    data = crash_data(result)
    count = len(data.curves)
    paper = Paper(data.frame, style, _size(size, 110 + 3.0 * max(0, count - 5)))
    r = paper.room
    left = r.left + VALUES + 1.0
    key = style.small * LEADING / MM + 1.0
    most = 30.0 if paper.narrow else 50.0
    labels = crash.label_room(data, style, most * MM) / MM
    right = r.right - labels
    if paper.narrow:
        bottom = r.bottom + key + TICKS
        middle = bottom + 0.48 * (r.top - bottom)
        short = paper.axes(left, middle + TICKS, r.right - 1.0, r.top)
        long = paper.axes(left, bottom, right, middle - 1.0)
    else:
        bottom = r.bottom + key + TICKS
        half = left + 0.5 * (right - left)
        short = paper.axes(left, bottom, half - 2.5, r.top)
        long = paper.axes(half + 2.5, bottom, right, r.top)
        long.tick_params(labelleft=False)
    crash.draw_crash(short, data, style)
    crash.draw_crash(long, data, style, long=True, words=False)
    short.set_ylabel(data.axis)
    if paper.narrow:
        short.set_xlabel("")
        long.set_ylabel(data.axis)
        for ax in (short, long):
            ax.yaxis.label.set_size(style.small)
    crash.draw_labels(long, data, style, room=labels * MM)
    reading = cut(crash.READING, (r.right - r.left) * MM, style.small)
    paper.figure.text(r.left / paper.width, (r.bottom + 0.3) / paper.height, reading, size=style.small,
                      color=style.color("quiet.color"), va="bottom")  # fmt: skip
    return paper.figure


def instants_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Rows of candidates with their instants, and the same as numbers."""
    data = instants_data(result)
    paper = Paper(data.frame, style, _size(size))
    r = paper.room
    names = name_room([x.name for x in data.rows], style, (20 if paper.narrow else 42) * MM)
    heads = (2.0 * style.small * LEADING + 6) / MM
    table = instants.table_room(style) / MM
    right = r.right - table
    ax = paper.axes(r.left + names / MM, r.bottom + TICKS, right, r.top - heads)
    instants.draw_instants(ax, data, style)
    row_names(ax, [(x.name, x.place) for x in data.rows], style, names)
    instants.draw_table(ax, data, style)
    return paper.figure


def motion_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """A pair of axes a candidate: speeds above, twist below."""
    data = motion_data(result)
    count = max(len(data.panels), 1)
    across = min(count, 2 if size == "column" else 4)
    down = -(-count // across)
    paper = Paper(data.frame, style, _size(size, down * 38.0 + 30.0 if size == "column" else 110.0))
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
    paper: Paper, box: tuple[float, float, float, float], panel: Panel, data: MotionData, style: Style, *,
    first: bool, last: bool,
) -> None:  # fmt: skip
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
            ax.set_ylabel(text, size=style.small)
    if last:
        lower.set_xlabel("time from contact (ms)" if x1 - x0 > 32 else "time (ms)", size=style.small)


def _panel_name(ax: Any, text: str, place: int, style: Style) -> None:
    from matplotlib.lines import Line2D

    from simcore.charts.metrics import points_from_corner, size_of

    _, high = size_of(ax)
    look = style.look(place)
    ax.add_line(Line2D([3], [high + 5], marker=look.marker, color=look.color, markersize=5.5, linestyle="none",
                       transform=points_from_corner(ax), clip_on=False))  # fmt: skip
    ax.annotate(text, (9, high + 2), xycoords="axes points", size=style.small, weight="bold", va="bottom",
                annotation_clip=False)  # fmt: skip


def _motion_key(paper: Paper, data: MotionData, style: Style) -> float:
    """One or two lines that say which line is which and what the shades mean; their height [mm]."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    from simcore.charts.metrics import width

    r, size = paper.room, style.small
    step = size * LEADING / MM + 0.6
    quiet = style.color("quiet.color")
    entries: list[tuple[str, Any]] = [
        ("motor side", {"color": style.color("allowable.color"), "linewidth": 1.5}),
        ("load side", {"color": quiet, "linewidth": 1.0, "linestyle": (0, (2.5, 1))}),
    ]
    entries += [(c, c) for c in data.classes if c != "engaged"]
    lines: list[list[tuple[str, Any, float]]] = [[]]
    x = r.left
    for text, look in entries:
        need = 7.0 + width(text, size) / MM + 4.0
        if x + need > r.right and lines[-1]:
            lines.append([])
            x = r.left
        lines[-1].append((text, look, x))
        x += need
    for n, line in enumerate(lines):
        y = r.bottom + (len(lines) - n - 0.5) * step
        for text, look, at in line:
            where = (at / paper.width, (y - 1.2) / paper.height)
            if isinstance(look, dict):
                paper.figure.add_artist(Line2D([where[0], (at + 5.5) / paper.width], [y / paper.height] * 2, **look))
            else:
                hatch = style.house.get(f"class.{look}.hatch", "")
                paper.figure.add_artist(Rectangle(where, 5.5 / paper.width, 2.4 / paper.height,
                                                  facecolor=style.color(f"class.{look}"),
                                                  edgecolor=style.color("class.hatch.color"),
                                                  hatch=hatch, linewidth=0.5))  # fmt: skip
            paper.figure.text((at + 7.0) / paper.width, y / paper.height, text, size=size, va="center")
    return len(lines) * step


def energy_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Stacked bars by part, energy turned over and residual beside them, the key above."""
    data = energy_data(result)
    paper = Paper(data.frame, style, _size(size))
    r = paper.room
    names = name_room([b.name for b in data.bars], style, (19 if paper.narrow else 42) * MM)
    columns = sum(energy.column_rooms(data, style)) / MM
    lines = energy.key_lines(data, style, (r.right - r.left) * MM)
    key = len(lines) * style.small * LEADING * 1.25 / MM
    head = style.small * LEADING / MM + 1.5
    ax = paper.axes(r.left + names / MM, r.bottom + TICKS, r.right - columns, r.top - key - head)
    energy.draw_energy(ax, data, style)
    energy.draw_numbers(ax, data, style)
    row_names(ax, [(b.name, b.place) for b in data.bars], style, names)
    high = (r.top - key - head - r.bottom - TICKS) * MM
    energy.draw_key(ax, data, style, lines, -names, high + head * MM)
    return paper.figure


def limits_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """The grid of peaks over allowables, with the worse end of the band beside it."""
    data = limits_data(result)
    paper = Paper(data.frame, style, _size(size))
    r = paper.room
    names = name_room([x.name for x in data.lines], style, (19 if paper.narrow else 42) * MM)
    worst = limits.worst_room(data, style, (15 if paper.narrow else 30) * MM)
    left, right = r.left + names / MM, r.right - worst / MM
    each = (right - left) * MM / max(len(data.columns), 1)
    heads = limits.head_lines(data, style, each - 4)
    high = max([len(h) for h in heads] + [2]) * style.small * LEADING / MM + 1.5
    ax = paper.axes(left, r.bottom + 1.5, right, r.top - high)
    limits.draw_limits(ax, data, style)
    limits.draw_heads(ax, data, style, heads)
    limits.draw_worst(ax, data, style, worst)
    row_names(ax, [(x.name, x.place) for x in data.lines], style, names)
    return paper.figure


def service_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """A panel a situation; side by side, in a column two by two."""
    data = service_data(result)
    count = max(len(data.services), 1)
    across = min(count, 2) if size == "column" else count
    down = -(-count // across)
    rows = max(len(data.names), 1)
    height = 30.0 + down * (22.0 + 7.5 * rows) if size == "column" else 110.0
    paper = Paper(data.frame, style, _size(size, height))
    r = paper.room
    names = name_room([n for n, _, _ in data.names], style, (22 if paper.narrow else 44) * MM)
    left, gap = r.left + names / MM, 3.0
    wide = (r.right - left + gap) / across
    heads = [service.head_lines(s, style, (wide - gap) * MM) for s in data.services]
    high = max([len(h) for h in heads] + [1]) * style.small * LEADING / MM + 2.0
    step = (r.top - r.bottom - TICKS + 3.0) / down
    for n, s in enumerate(data.services):
        i, j = divmod(n, across)
        x0, top = left + j * wide, r.top - i * step
        ax = paper.axes(x0, top - step + 5.0, x0 + wide - gap, top - high)
        service.draw_service(ax, s, data, style)
        service.draw_head(ax, heads[n], style)
        if j == 0:
            row_names(ax, [(n, p) for n, p, _ in data.names], style, names, [t for _, _, t in data.names])
    axis = wrap(data.axis, (r.right - left) * MM, style.small, most=1)
    paper.figure.text((0.5 * (left + r.right)) / paper.width, (r.bottom + 0.5) / paper.height, axis[0],
                      size=style.small, ha="center", va="bottom")  # fmt: skip
    return paper.figure
