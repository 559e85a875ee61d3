"""Names beside marks, where they cover neither marks nor each other; left out where there is no room."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, pi, sin
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts.base import clipped
from simcore.charts.levels import along
from simcore.charts.metrics import LEADING, size_of, width
from simcore.charts.style import Style
from simcore.sweep.statistics import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]
AWAY: Final = (8.0, 14.0, 22.0, 32.0)
"""Points from a mark to its name, tried in this order."""
PAD: Final = 2.5


def place_names(
    ax: Axes,
    names: Sequence[tuple[str, float, float]],
    marks: Sequence[tuple[Floats, Floats]],
    style: Style,
    lines: Sequence[tuple[Floats, Floats]] = (),
) -> Axes:
    """Write each (name, x, y) near its mark; ``marks`` and ``lines``: all drawn points and lines as (x, y) arrays."""
    wide, high = size_of(ax)
    dots = np.concatenate([np.stack(_points(ax, x, y), axis=1) for x, y in marks]) if marks else np.zeros((0, 2))
    dots = np.concatenate([dots, *(np.stack(along(*_points(ax, x, y)), axis=1) for x, y in lines)])
    dots = dots[np.isfinite(dots).all(axis=1)]
    taken: list[Box] = []
    for name, x, y in names:
        (px,), (py,) = _points(ax, np.array([x]), np.array([y]))
        text = clipped(name)
        box = _free(px, py, width(text, style.small), style.small * LEADING, (wide, high), dots, taken)
        if box is not None:
            taken.append(box)
            _write(ax, text, (px, py), box, style)
    return ax


def _points(ax: Axes, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Points right of and above the axis' corner."""
    wide, high = size_of(ax)
    out = ax.transLimits.transform(ax.transScale.transform(np.stack([x, y], axis=1)))
    return out[:, 0] * wide, out[:, 1] * high


def _free(
    x: float, y: float, w: float, h: float, room: tuple[float, float], dots: Floats, taken: Sequence[Box]
) -> Box | None:
    for far in AWAY:
        for k in (1, 7, 3, 5, 0, 4, 2, 6):
            dx, dy = far * cos(0.25 * pi * k), far * sin(0.25 * pi * k)
            left = x + dx if dx > 1e-6 else x + dx - w if dx < -1e-6 else x - 0.5 * w
            box = (left, y + dy - 0.5 * h, left + w, y + dy + 0.5 * h)
            if box[0] < 1 or box[1] < 1 or box[2] > room[0] - 1 or box[3] > room[1] - 1:
                continue
            hit = (dots[:, 0] > box[0] - PAD) & (dots[:, 0] < box[2] + PAD)
            hit &= (dots[:, 1] > box[1] - PAD) & (dots[:, 1] < box[3] + PAD)
            if not hit.any() and not any(_touch(box, t) for t in taken):
                return box
    return None


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] + 2 and b[0] < a[2] + 2 and a[1] < b[3] + 1 and b[1] < a[3] + 1


def _write(ax: Axes, text: str, mark: tuple[float, float], box: Box, style: Style) -> None:
    k: dict[str, Any] = {"xycoords": "axes points", "annotation_clip": False}
    middle = 0.5 * (box[1] + box[3])
    white: dict[str, Any] = {"boxstyle": "square,pad=0.05", "facecolor": "white", "edgecolor": "none", "alpha": 0.75}
    ax.annotate(text, (box[0], middle), ha="left", va="center", size=style.small, zorder=6, bbox=white, **k)
    near = (min(max(mark[0], box[0]), box[2]), min(max(mark[1], box[1]), box[3]))
    if np.hypot(near[0] - mark[0], near[1] - mark[1]) > 9.0:
        arrow: dict[str, Any] = {"arrowstyle": "-", "shrinkA": 0, "shrinkB": 3, "linewidth": 0.5, "color": "#555555"}
        ax.annotate("", mark, near, xycoords="axes points", textcoords="axes points", arrowprops=arrow, zorder=5.5)
