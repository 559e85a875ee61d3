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
CLEAR: Final = 3.0
"""Points by which a name is nearer to its own mark than to one of another."""


def place_names(
    ax: Axes,
    names: Sequence[tuple[str, int, Floats, Floats]],
    marks: Sequence[tuple[Floats, Floats]],
    style: Style,
    lines: Sequence[tuple[Floats, Floats]] = (),
) -> Axes:
    """Write each (name, n, x, y) near the first of its marks that has room, nearer to it than to a mark of another;
    ``marks``: the drawn points of everyone, those of the name at its place ``n``, ``lines``: all drawn lines, as (x, y)
    arrays."""
    wide, high = size_of(ax)
    own = [np.stack(_points(ax, x, y), axis=1) for x, y in marks]
    dots = np.concatenate(own) if own else np.zeros((0, 2))
    dots = np.concatenate([dots, *(np.stack(along(*_points(ax, x, y)), axis=1) for x, y in lines)])
    dots = dots[np.isfinite(dots).all(axis=1)]
    taken: list[Box] = []
    for name, n, x, y in names:
        text = clipped(name)
        others = np.concatenate([np.zeros((0, 2)), *own[:n], *own[n + 1 :]])
        size = (width(text, style.small), style.small * LEADING)
        drawn = (dots, others[np.isfinite(others).all(axis=1)])
        for mark in zip(*_points(ax, x, y), strict=True):
            box = _free(mark, size, (wide, high), drawn, taken)
            if box is not None:
                taken.append(box)
                _write(ax, text, mark, box, style)
                break
    return ax


def _points(ax: Axes, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Points right of and above the axis' corner."""
    wide, high = size_of(ax)
    out = ax.transLimits.transform(ax.transScale.transform(np.stack([x, y], axis=1)))
    return out[:, 0] * wide, out[:, 1] * high


def _free(
    mark: tuple[float, float],
    size: tuple[float, float],
    room: tuple[float, float],
    drawn: tuple[Floats, Floats],
    taken: Sequence[Box],
) -> Box | None:
    """A box for the words; ``drawn``: all points to keep off, and the marks of others, which must be farther away."""
    (x, y), (w, h), (dots, others) = mark, size, drawn
    for far in AWAY:
        for k in (1, 7, 3, 5, 0, 4, 2, 6):
            dx, dy = far * cos(0.25 * pi * k), far * sin(0.25 * pi * k)
            middle = min(max(x - 0.5 * w, 1.0), room[0] - 1.0 - w)
            left = x + dx if dx > 1e-6 else x + dx - w if dx < -1e-6 else middle
            box = (left, y + dy - 0.5 * h, left + w, y + dy + 0.5 * h)
            if box[0] < 1 or box[1] < 1 or box[2] > room[0] - 1 or box[3] > room[1] - 1:
                continue
            hit = (dots[:, 0] > box[0] - PAD) & (dots[:, 0] < box[2] + PAD)
            hit &= (dots[:, 1] > box[1] - PAD) & (dots[:, 1] < box[3] + PAD)
            if hit.any() or any(_touch(box, t) for t in taken):
                continue
            if _away(box, np.array([[x, y]])) + CLEAR <= _away(box, others):
                return box
    return None


def _away(box: Box, points: Floats) -> float:
    """Distance of the nearest of ``points`` from the box; infinite if there are none."""
    near = np.clip(points, box[:2], box[2:])
    return float(np.hypot(*(points - near).T).min(initial=np.inf))


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
