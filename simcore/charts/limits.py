"""Draws peak over allowable as a grid: candidates in rows, limits in columns, the number in every cell."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simcore.charts.base import NO_ANSWER, SPACE, percent, quoted
from simcore.charts.limits_data import LEAST, Cell, LimitsData, Line
from simcore.charts.metrics import ELLIPSIS, LEADING, cut, size_of, width, wrap
from simcore.charts.rows import set_rows
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DARKEST: Final = 1.5
"""Use at which the shading ends."""
HEAD: Final = 8.0
"""Size of the per cent in a cell."""
TALL: Final = 2.75
"""Rows at least this many lines high hold two of them ..."""
TALLER: Final = 4.0
"""... and three."""
FEWEST: Final = 12
"""Letters of a situation below which a star stands for it."""
STAR: Final = "*"


def draw_limits(ax: Axes, data: LimitsData, style: Style | None = None) -> Axes:
    """Draw the grid on ``ax`` and give it back; over 100 %: thick frame and the word 'over'."""
    style = style_for(data.frame, style)
    set_rows(ax, len(data.lines))
    ax.set_xlim(-0.5, max(len(data.columns), 1) - 0.5)
    ax.set_xticks([])
    for spine in ax.spines.values():
        spine.set_visible(False)
    for i, line in enumerate(data.lines):
        for j, cell in enumerate(line.cells):
            _cell(ax, i, j, cell, (len(data.lines), len(data.columns)), style)
    if not data.columns:
        ax.annotate("no allowable stated", (0.5, 0.5), xycoords="axes fraction", ha="center", va="center")
    return ax


def shade(use: float, style: Style) -> tuple[float, float, float]:
    """Grey of a cell: light at 0, dark at 150 % and more."""
    from matplotlib.colors import to_rgb

    a, b = to_rgb(style.color("heat.low")), to_rgb(style.color("heat.high"))
    f = min(max(use, 0.0), DARKEST) / DARKEST
    return (a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1]), a[2] + f * (b[2] - a[2]))


def _cell(ax: Axes, i: int, j: int, cell: Cell, shape: tuple[int, int], style: Style) -> None:
    from matplotlib.patches import Rectangle

    if not math.isfinite(cell.use):
        ax.annotate("\u2013", (j, i), ha="center", va="center", size=style.small)
        return
    over = cell.use > 1.0
    color = shade(cell.use, style)
    inset = 0.035
    ax.add_patch(
        Rectangle(
            (j - 0.5 + inset, i - 0.46),
            1 - 2 * inset,
            0.92,
            facecolor=color,
            edgecolor=style.color("over.color" if over else "rule.color"),
            linewidth=2.2 if over else 0.5,
            zorder=3 if over else 2,
        )
    )
    ink = "white" if 0.2126 * color[0] + 0.7152 * color[1] + 0.0722 * color[2] < 0.5 else "black"
    wide, high = size_of(ax)
    head, below = cell_words(cell, (wide / shape[1] - 6, high / shape[0]), style)
    k: dict[str, Any] = {
        "ha": "center",
        "va": "center",
        "color": ink,
        "zorder": 4,
        "xycoords": "data",
        "textcoords": "offset points",
    }
    top = 0.5 * style.small * LEADING * len(below)
    ax.annotate(head, (j, i), xytext=(0, top), size=HEAD, weight="bold" if over else "normal", **k)
    for n, text in enumerate(below):
        ax.annotate(text, (j, i), xytext=(0, top - 0.6 - (n + 1) * style.small * LEADING), size=style.small, **k)


def cell_words(cell: Cell, room: tuple[float, float], style: Style) -> tuple[str, list[str]]:
    """Per cent and, below it where the cell is high enough, the peak; 'over' in one of the two.

    ``room``: width and height [points].  A situation other than the corner's is named, or a star stands for it.
    """
    wide, high = room
    step, head = style.small * LEADING, percent(cell.use)
    if cell.least and width(f"{LEAST}{head}", HEAD, True) <= wide:
        head = f"{LEAST}{head}"
    over = cell.use > 1.0
    fits = over and width(f"{head}, over", HEAD, True) <= wide
    head += ", over" if fits else "!" if over and high <= TALL * step else ""
    if high <= TALL * step:
        return head + (STAR if cell.named else ""), []
    peak = cell.peak
    if over and not fits:
        peak = f"over, {peak}" if width(f"over, {peak}", style.small) <= wide else "over"
    if not cell.named:
        return head, [whole_number(peak, wide, style.small)]
    place = f"in {quoted(cell.situation)}"
    if width(f"{peak} {place}", style.small) <= wide:
        return head, [f"{peak} {place}"]
    short = cut(place, wide, style.small)
    if high > TALLER * step and len(short) >= FEWEST:
        return head, [cut(peak, wide, style.small), short]
    return head, [cut(peak, wide - width(STAR, style.small), style.small) + STAR]


def whole_number(text: str, room: float, size: float) -> str:
    """A number with its unit as far as they fit; the unit gives way, digits are not cut off."""
    if width(text, size) <= room:
        return text
    bare, _, unit = text.rpartition(SPACE)
    if not unit or not bare:
        return cut(text, room, size)
    return next((t for t in (f"{bare} {ELLIPSIS}", bare, bare.removeprefix(LEAST)) if width(t, size) <= room), ELLIPSIS)


def starred(data: LimitsData, room: tuple[float, float], worst: float, style: Style) -> bool:
    """Whether cells of this size, or the column beside them (``worst`` points wide), star their situation."""
    found = [cell_words(c, room, style) for x in data.lines for c in x.cells if c.named]
    found += [worst_words(x, (worst - 6, room[1]), style) for x in data.lines if x.worst_in]
    return any(text.endswith(STAR) for head, below in found for text in (head, *below))


def head_lines(data: LimitsData, style: Style, room: float) -> list[list[tuple[str, bool]]]:
    """Lines (text, bold) above each column, wrapped to ``room`` points."""
    out = []
    for c in data.columns:
        lines = [(t, True) for t in wrap(c.name, room, style.small, True, 2)]
        if c.protected:
            lines += [("protected", False)] if width("protected", style.small) <= room else []
        out.append([*lines, (whole_number(c.allowable, room, style.small), False)])
    return out


def draw_heads(ax: Axes, heads: list[list[tuple[str, bool]]], style: Style) -> Axes:
    """Names and allowables of the limits above the grid."""
    _, high = size_of(ax)
    for j, lines in enumerate(heads):
        for n, (text, bold) in enumerate(reversed(lines)):
            ax.annotate(
                text,
                (j, high + 2 + n * style.small * LEADING),
                xycoords=("data", "axes points"),
                ha="center",
                va="bottom",
                size=style.small,
                weight="bold" if bold else "normal",
                annotation_clip=False,
            )
    return ax


def worst_room(data: LimitsData, style: Style, most: float) -> float:
    """Points of the column beside the grid: use at the worse end of the setting's band."""
    texts = [t for x in data.lines for t in (x.worst_at, _place(x))] + ["end of band"]
    over = [width(_worst_text(line), HEAD, True) for line in data.lines if line.worst > 1.0 or line.lost]
    return max([min(most, max(width(t, style.small) for t in texts) + 8.0), *(w + 8.0 for w in over)])


def _worst_text(line: Line) -> str:
    if line.lost:
        return NO_ANSWER
    text = percent(line.worst) if math.isfinite(line.worst) else "\u2013"
    return f"{text}, over" if line.worst > 1.0 else text


def _place(line: Line) -> str:
    return f"in {quoted(line.worst_in)}" if line.worst_in else ""


def worst_words(line: Line, room: tuple[float, float], style: Style) -> tuple[str, list[str]]:
    """Per cent and, below it where the row is high enough, limit and situation; ``room`` as in :func:`cell_words`."""
    wide, high = room
    step, size = style.small * LEADING, style.small
    head, star = _worst_text(line), STAR if line.worst_in else ""
    if high <= TALL * step or not line.worst_at:
        return head + star, []
    place = cut(_place(line), wide, size)
    if star and high > TALLER * step and len(place) >= FEWEST:
        return head, [cut(line.worst_at, wide, size), *_whole(line, place, wide, style, high > (TALLER + 1.0) * step)]
    return head, [cut(line.worst_at, wide - width(star, size), size) + star]


def _whole(line: Line, place: str, wide: float, style: Style, two: bool) -> list[str]:
    """The situation in two lines if that keeps its name whole, else cut to one."""
    lines = wrap(_place(line), wide, style.small, most=2)
    return lines if two and not lines[-1].endswith(ELLIPSIS) and not lines[0].endswith(ELLIPSIS) else [place]


def draw_worst(ax: Axes, data: LimitsData, style: Style, room: float) -> Axes:
    """Use at the worse end of the setting's band, and where."""
    wide, high = size_of(ax)
    step = high / max(len(data.lines), 1)
    size = style.small
    k: dict[str, Any] = {"xycoords": "axes points", "annotation_clip": False, "ha": "left"}
    for n, text in enumerate(("end of band", "at the worse")):
        ax.annotate(
            text,
            (wide + 6, high + 2 + n * size * LEADING),
            va="bottom",
            size=size,
            color=style.color("quiet.color"),
            **k,
        )
    for i, line in enumerate(data.lines):
        y = high - (i + 0.5) * step
        head, below = worst_words(line, (room - 6, step), style)
        top = y + 0.5 * size * LEADING * len(below)
        weight = "bold" if line.worst > 1.0 else "normal"
        ax.annotate(head, (wide + 6, top), va="center", size=HEAD, weight=weight, **k)
        for m, text in enumerate(below):
            ax.annotate(text, (wide + 6, top - 0.6 - (m + 1) * size * LEADING), va="center", size=size, **k)
    return ax
