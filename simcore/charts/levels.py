"""Words at horizontal lines, put where the fewest curves pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts.base import SPACE
from simcore.charts.metrics import LEADING, cut, size_of, width, wrap
from simcore.charts.style import Style
from simcore.results.model import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]
STEP: Final = 0.75
"""Points between two dots of a curve; each weighs 1."""
MOST_DOTS: Final = 20_000
FAR: Final = 30.0
"""Words that sit away from their line, or nearer to another, weigh as much as this many points."""
BEYOND: Final = 200.0
"""Words beyond another line than their own are taken for that one's."""
STEPS_AWAY: Final = 6
"""Lines of words that a text may move away from its level, up or down, where levels lie close."""
SHARES: Final = (1.0, 0.62, 0.42)
"""Length of the longest line over that of the text in one."""
BROKEN: Final = 8.0
"""Each line more weighs as much as this many points."""
HEAVY, LIGHT = 110.0, 40.0
"""... and words across a thick line without words, or a thin one."""
HALO: Final = 2.0
"""Width [points] of the white rim that keeps words legible on a curve."""
MARK: Final = 25
"""A marker under the words weighs as much as this many points of a curve."""


def place_words(
    ax: Axes,
    dots: Floats,
    texts: Sequence[tuple[str, float]],
    style: Style,
    rules: Sequence[tuple[float, float]] = (),
) -> Axes:
    """Write each (text, level) above or below its level, where it covers the least of ``dots``; in two lines if better.

    ``dots`` (n, 3): x, y [points from the axis' corner] and weight of what should stay free; ``rules``: levels at
    which a line runs that words are to keep off, with its weight.
    """
    wide, high = size_of(ax)
    bottom, top = ax.get_ylim()
    taken: list[Box] = []
    scale = high / (top - bottom)
    levels, others = [(y - bottom) * scale for _, y in texts], [((y - bottom) * scale, w) for y, w in rules]
    for (text, _), level in zip(texts, levels, strict=True):
        options = [_laid(lines, level, (wide, high), style) for lines in layouts(text, style.small)]
        cost = [_best(spots, dots, taken, (levels, others), level) for _, spots in options]
        n = min(range(len(options)), key=lambda i: cost[i][0] + BROKEN * i)
        taken.append(cost[n][1])
        _write(ax, options[n][0], cost[n][1], level, style)
    return ax


def layouts(text: str, size: float) -> list[list[str]]:
    """The text in one line, and in two or three of about the same length."""
    whole = width(text, size)
    text = text.replace(" to ", f"{SPACE}to{SPACE}")
    found = [wrap(text, max(share * whole, *(width(w, size) for w in text.split(" "))), size) for share in SHARES]
    return [x for n, x in enumerate(found) if x not in found[:n]]


def _laid(lines: list[str], level: float, room: tuple[float, float], style: Style) -> tuple[list[str], list[Box]]:
    """The lines as they fit, and the boxes that they may take."""
    size = style.small
    words = [cut(line, room[0] - 6, size) for line in lines]
    w = max(width(line, size) for line in words)
    return words, _spots(level, w, size * LEADING, len(words), room)


def _write(ax: Axes, words: Sequence[str], box: Box, level: float, style: Style) -> None:
    """The words, and a thin line to their level where they had to move away from it; a halo where curves pass."""
    from matplotlib.patheffects import withStroke

    ax.annotate(
        "\n".join(words),
        (box[0], 0.5 * (box[1] + box[3])),
        xycoords="axes points",
        size=style.small,
        va="center",
        ha="left",
        zorder=3.5,
        path_effects=[withStroke(linewidth=HALO, foreground="white")],
    )
    edge = box[1] if level < box[1] else box[3]
    if abs(level - edge) > 0.5 * style.small * LEADING:
        x = box[0] + 6.0
        line: dict[str, Any] = {"arrowstyle": "-", "shrinkA": 0, "shrinkB": 0, "linewidth": 0.6}
        ax.annotate("", (x, level), (x, edge), xycoords="axes points", textcoords="axes points", arrowprops=line)


def dots_of(ax: Axes, curves: Sequence[tuple[Floats, Floats]], marks: Sequence[tuple[float, float]] = ()) -> Floats:
    """Points (n, 3) of curves and marks given in the axis' data: x, y [points] and weight."""
    wide, high = size_of(ax)
    (left, right), (bottom, top) = ax.get_xlim(), ax.get_ylim()
    fx, fy = wide / (right - left), high / (top - bottom)
    drawn = [along((t - left) * fx, (y - bottom) * fy) for t, y in curves]
    parts = [np.column_stack([x, y, np.ones(len(x))]) for x, y in drawn]
    parts += [np.array([[(t - left) * fx, (y - bottom) * fy, MARK]]) for t, y in marks if math.isfinite(t)]
    return np.concatenate(parts) if parts else np.zeros((0, 3))


def along(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Points at equal steps along a curve, so that steep stretches weigh as much as flat ones."""
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    if len(x) < 2:
        return x, y
    way = np.r_[0.0, np.cumsum(np.hypot(np.diff(x), np.diff(y)))]
    at = np.linspace(0.0, way[-1], 2 + min(int(way[-1] / STEP), MOST_DOTS))
    return np.interp(at, way, x), np.interp(at, way, y)


def _spots(level: float, w: float, step: float, lines: int, room: tuple[float, float]) -> list[Box]:
    """Boxes for the words, the preferred ones first: above the line, from the left."""
    out = []
    (wide, high), h = room, lines * step
    for low in [x for n in range(STEPS_AWAY) for x in (level + 1.0 + n * step, level - n * step - h - 1.0)]:
        if not 0 <= low <= high - h:
            continue
        for f in np.linspace(0.0, 1.0, 13):
            left = 3.0 + f * max(0.0, wide - w - 6.0)
            out.append((left, low, left + w, low + h))
    return out or [(3.0, max(0.0, high - h), 3.0 + w, high)]


def _best(
    spots: Sequence[Box],
    dots: Floats,
    taken: Sequence[Box],
    rules: tuple[Sequence[float], Sequence[tuple[float, float]]],
    level: float,
) -> tuple[float, Box]:
    """Least cost and its box; ``rules``: levels of all words, and lines with their weights."""
    levels, others = rules

    def cost(box: Box) -> float:
        middle = 0.5 * (box[1] + box[3])
        away = FAR * (min(abs(y - middle) for y in levels) < abs(level - middle) - 0.5)
        away += FAR * (abs(level - middle) > 1.2 * (box[3] - box[1]))
        clash = sum(1e6 for t in taken if _touch(box, t))
        lines = sum(w for y, w in (*((y, LIGHT) for y in levels), *others) if box[1] - 0.5 < y < box[3] + 0.5)
        lines += sum(BEYOND for y in levels if min(level, middle) < y < max(level, middle))
        pad = 2.0
        hit = (
            (dots[:, 0] > box[0] - pad)
            & (dots[:, 0] < box[2] + pad)
            & (dots[:, 1] > box[1] - pad)
            & (dots[:, 1] < box[3] + pad)
        )
        return clash + lines + away + float(dots[hit, 2].sum())

    costs = [cost(b) for b in spots]
    n = int(np.argmin(costs))
    return costs[n], spots[n]


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] + 2 and b[0] < a[2] + 2 and a[1] < b[3] + 0.5 and b[1] < a[3] + 0.5
