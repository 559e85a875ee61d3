"""Composes each chart on a sheet of paper: axes, names, labels and keys in their places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from simcore.charts import base, crash, energy, instants, limits, service
from simcore.charts.crash_data import crash_data
from simcore.charts.crash_grid import crash_grid
from simcore.charts.energy_data import energy_data
from simcore.charts.instants_data import instants_data
from simcore.charts.limits_data import UNLESS, limits_data
from simcore.charts.metrics import LEADING, cut, wrap
from simcore.charts.paper import MM, TICKS, VALUES, Paper, grown, sized
from simcore.charts.rows import name_room, names_above, row_names
from simcore.charts.service_data import MOST_SITUATIONS, service_data
from simcore.charts.style import Style, style_for
from simcore.results.model import ResultSet

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def crash_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """First milliseconds beside (in a column: above) the long view, curves labelled at their ends.

    Many candidates: a small panel each.
    """
    data = crash_data(result)
    style = style_for(data.frame, style)
    if data.frame.verdicts:
        return crash_grid(data, style, size)
    paper = Paper(data.frame, style, sized(size, 125.0 if size == "column" else 0.0))
    r = paper.room
    left = r.left + VALUES + 1.0 + crash.wider_values(data, style) / MM
    key = style.small * LEADING / MM + 1.0
    most = 32.0 if paper.narrow else 50.0
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
        if short.get_xlabel() == long.get_xlabel():
            short.set_xlabel("")
        long.set_ylabel(data.axis)
        for ax in (short, long):
            ax.yaxis.label.set_fontsize(style.small)
    crash.draw_labels(long, data, style, room=labels * MM)
    reading = cut(crash.reading(data), (r.right - r.left) * MM, style.small)
    paper.figure.text(
        r.left / paper.width,
        (r.bottom + 0.3) / paper.height,
        reading,
        size=style.small,
        color=style.color("quiet.color"),
        va="bottom",
    )
    return paper.figure


def instants_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Rows of candidates with their instants, and the same as numbers beside (in a column: under) them."""
    data = instants_data(result)
    style = style_for(data.frame, style)
    rows = [(x.name, x.place) for x in data.rows]
    high = 42.0 + 13.5 * len(rows) if size == "column" else grown(len(rows), 8.5)
    paper = Paper(data.frame, style, sized(size, high))
    r = paper.room
    if paper.narrow:
        key = style.small * LEADING / MM + 2.0
        ax = paper.axes(r.left + 1.0, r.bottom + TICKS, r.right - 1.0, r.top - key)
        instants.draw_instants(ax, data, style, narrow=True)
        names_above(ax, rows, style)
        instants.draw_narrow_words(ax, data, style)
        instants.draw_sign_key(ax, style, (r.top - r.bottom - TICKS - key + 0.5 * key + 0.5) * MM)
        return paper.figure
    names = name_room([n for n, _ in rows], style, 42 * MM)
    heads = (2.0 * style.small * LEADING + 6) / MM
    right = r.right - instants.table_room(style) / MM
    ax = paper.axes(r.left + names / MM, r.bottom + TICKS, right, r.top - heads)
    instants.draw_instants(ax, data, style)
    row_names(ax, rows, style, names)
    instants.draw_table(ax, data, style)
    return paper.figure


def energy_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """Stacked bars by part, energy turned over and residual beside or above them, the key on top."""
    data = energy_data(result)
    style = style_for(data.frame, style)
    rows = [(b.name, b.place) for b in data.bars]
    high = 50.0 + 9.0 * len(rows) if size == "column" else grown(len(data.frame.verdicts), 7.0)
    paper = Paper(data.frame, style, sized(size, high))
    r = paper.room
    names = 0.0 if paper.narrow else name_room([n for n, _ in rows], style, 42 * MM)
    columns = 2.0 if paper.narrow else sum(energy.column_rooms(data, style)) / MM
    lines = energy.key_lines(data, style, (r.right - r.left) * MM)
    key = len(lines) * style.small * LEADING * 1.25 / MM
    head = 1.0 if paper.narrow else style.small * LEADING / MM + 1.5
    top = r.top - key - head
    left = r.left + (2.0 if paper.narrow else names / MM)
    ax = paper.axes(left, r.bottom + TICKS, r.right - columns, top)
    energy.draw_energy(ax, data, style, low=paper.narrow)
    if paper.narrow:
        names_above(ax, rows, style, energy.notes(data))
    else:
        energy.draw_numbers(ax, data, style)
        row_names(ax, rows, style, names)
    high = (top - r.bottom - TICKS) * MM
    energy.draw_key(ax, data, style, lines, (r.left - left) * MM, high + head * MM)
    return paper.figure


def limits_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """The grid of peaks over allowables, with the worse end of the band beside it."""
    data = limits_data(result)
    style = style_for(data.frame, style)
    for rest in (UNLESS, f"{UNLESS}; {limits.STAR}: another"):
        corner = data.frame.corner.replace(UNLESS.replace(" ", base.SPACE), UNLESS).replace(UNLESS, rest)
        frame = data.frame._replace(corner=corner)
        paper = Paper(frame, style, sized(size, grown(len(data.frame.verdicts), 7.0)))
        r = paper.room
        names = name_room(
            [x.name for x in data.lines], style, (42 if not paper.narrow else 22 if len(data.columns) > 2 else 27) * MM
        )
        worst = limits.worst_room(data, style, (17 if paper.narrow else 30) * MM)
        left, right = r.left + names / MM, r.right - worst / MM
        each = (right - left) * MM / max(len(data.columns), 1)
        heads = limits.head_lines(data, style, each - 4)
        high = max([len(h) for h in heads] + [2]) * style.small * LEADING / MM + 1.5
        cell = (each - 6, (r.top - high - r.bottom - 1.5) * MM / max(len(data.lines), 1))
        if not limits.starred(data, cell, worst, style):
            break
    ax = paper.axes(left, r.bottom + 1.5, right, r.top - high)
    limits.draw_limits(ax, data, style)
    limits.draw_heads(ax, heads, style)
    limits.draw_worst(ax, data, style, worst)
    row_names(ax, [(x.name, x.place) for x in data.lines], style, names)
    return paper.figure


def service_page(result: ResultSet, style: Style, size: str = "page") -> Figure:
    """A panel a situation; side by side, in a column two by two."""
    few = size == "column" and base.verdicts(result)
    data = service_data(result, 2 if few else MOST_SITUATIONS)
    style = style_for(data.frame, style)
    count = max(len(data.services), 1)
    across = min(count, 2) if size == "column" else count
    down = -(-count // across)
    rows = max(len(data.names), 1)
    each = 10.0 if few else 7.5
    height = 30.0 + down * (22.0 + each * rows) if size == "column" else grown(rows, 8.5)
    paper = Paper(data.frame, style, sized(size, height))
    r = paper.room
    most = 44 if not paper.narrow else 30 if few else 22
    names = name_room([x for n, _, t in data.names for x in (n, t)], style, most * MM)
    left, gap = r.left + names / MM, 3.0
    wide = (r.right - left + gap) / across
    heads = [service.head_lines(s, style, (wide - gap) * MM) for s in data.services]
    high = max([len(h) for h in heads] + [1]) * style.small * LEADING / MM + 2.0
    step = (r.top - r.bottom - TICKS + 3.0) / down
    for n, s in enumerate(data.services):
        i, j = divmod(n, across)
        x0, top = left + j * wide, r.top - i * step
        ax = paper.axes(x0, top - step + 5.0, x0 + wide - gap, top - high)
        service.draw_service(ax, s, data, style, last=j == across - 1)
        service.draw_head(ax, heads[n], style)
        if j == 0:
            row_names(ax, [(n, p) for n, p, _ in data.names], style, names, [t for _, _, t in data.names])
    axis = wrap(data.axis, (r.right - left) * MM, style.small, most=1)
    paper.figure.text(
        (0.5 * (left + r.right)) / paper.width,
        (r.bottom + 0.5) / paper.height,
        axis[0],
        size=style.small,
        ha="center",
        va="bottom",
    )
    return paper.figure
