"""Words at horizontal lines, put where the fewest curves pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts.crash_data import CrashData
from simcore.charts.metrics import LEADING, cut, size_of, width
from simcore.charts.style import Style
from simcore.results.model import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]
SAMPLES: Final = 300
FAR: Final = 30.0
"""Words that sit away from their line, or nearer to another, weigh as much as this many points."""
BEYOND: Final = 200.0
"""Words beyond another line than their own are taken for that one's."""
STEPS_AWAY: Final = 6
"""Lines of words that a text may move away from its level, up or down, where levels lie close."""
MARK: Final = 25
"""A marker under the words weighs as much as this many points of a curve."""


def place_words(ax: Axes, data: CrashData, texts: Sequence[tuple[str, float]], style: Style) -> Axes:
    """Write each text at its level, above or below it, where it covers the least of the curves."""
    wide, high = size_of(ax)
    size = style.small
    dots = _dots(data, wide, high)
    taken: list[Box] = []
    scale = high / (data.top - data.bottom)
    levels = [(y - data.bottom) * scale for _, y in texts]
    for (text, _), level in zip(texts, levels, strict=True):
        words = cut(text, wide - 6, size)
        box = _best(_spots(level, width(words, size), size * LEADING, wide, high), dots, taken, levels, level)
        taken.append(box)
        _write(ax, words, box, level, style)
    return ax


def _write(ax: Axes, words: str, box: Box, level: float, style: Style) -> None:
    """The words, and a thin line to their level where they had to move away from it."""
    k: dict[str, Any] = {
        "boxstyle": "square,pad=0.05",
        "facecolor": "white",
        "edgecolor": "none",
        "alpha": 0.7,
    }
    ax.annotate(
        words,
        (box[0], 0.5 * (box[1] + box[3])),
        xycoords="axes points",
        size=style.small,
        va="center",
        ha="left",
        zorder=2.5,
        bbox=k,
    )
    edge = box[1] if level < box[1] else box[3]
    if abs(level - edge) > 0.5 * (box[3] - box[1]):
        x = box[0] + 6.0
        line: dict[str, Any] = {"arrowstyle": "-", "shrinkA": 0, "shrinkB": 0, "linewidth": 0.6}
        ax.annotate("", (x, level), (x, edge), xycoords="axes points", textcoords="axes points", arrowprops=line)


def _dots(data: CrashData, wide: float, high: float) -> Floats:
    """Points (n, 3) of the curves on the axis: x, y [points] and weight."""
    x = np.linspace(data.start, data.short_end, SAMPLES)
    fx, fy = wide / (data.short_end - data.start), high / (data.top - data.bottom)
    parts = []
    for c in data.curves:
        t, y = c.short
        if len(t):
            on = np.interp(x, t, y)
            parts.append(np.column_stack([(x - data.start) * fx, (on - data.bottom) * fy, np.ones(SAMPLES)]))
        for m in (c.trigger, c.disconnect):
            if math.isfinite(m.time):
                parts.append(np.array([[(m.time - data.start) * fx, (m.torque - data.bottom) * fy, MARK]]))
    return np.concatenate(parts) if parts else np.zeros((0, 3))


def _spots(level: float, w: float, h: float, wide: float, high: float) -> list[Box]:
    """Boxes for the words, the preferred ones first: above the line, from the left."""
    out = []
    for low in [x for n in range(STEPS_AWAY) for x in (level + 1.0 + n * h, level - (n + 1) * h - 1.0)]:
        if not 0 <= low <= high - h:
            continue
        for f in np.linspace(0.0, 1.0, 13):
            left = 3.0 + f * max(0.0, wide - w - 6.0)
            out.append((left, low, left + w, low + h))
    return out or [(3.0, max(0.0, high - h), 3.0 + w, high)]


def _best(spots: Sequence[Box], dots: Floats, taken: Sequence[Box], levels: Sequence[float], level: float) -> Box:
    def cost(box: Box) -> float:
        middle = 0.5 * (box[1] + box[3])
        away = FAR * (min(abs(y - middle) for y in levels) < abs(level - middle) - 0.5)
        away += FAR * (abs(level - middle) > 1.2 * (box[3] - box[1]))
        clash = sum(1e6 for t in taken if _touch(box, t))
        lines = sum(40.0 for y in levels if box[1] - 0.5 < y < box[3] + 0.5)
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
    return spots[int(np.argmin(costs))]


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] + 2 and b[0] < a[2] + 2 and a[1] < b[3] + 0.5 and b[1] < a[3] + 0.5
