"""Sizes of text before it is drawn, and where labels go so that none covers another."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

import numpy as np

LEADING: Final = 1.25
"""Distance of lines of text over their size."""
SAFETY: Final = 1.02
"""Renderers space letters a little differently."""
ELLIPSIS: Final = "\u2026"


@lru_cache(maxsize=4096)
def width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of text [points] in the active style's font."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    font = get_font(findfont(FontProperties(weight="bold" if bold else "normal")))
    font.set_size(10.0 * size, 72)
    font.set_text(text, 0.0)
    return 0.1 * SAFETY * float(font.get_width_height()[0]) / 64.0


def cut(text: str, room: float, size: float, bold: bool = False) -> str:
    """``text`` shortened with an ellipsis to ``room`` points."""
    if width(text, size, bold) <= room:
        return text
    while text and width(text + ELLIPSIS, size, bold) > room:
        text = text[:-1]
    return text.rstrip(" ,;") + ELLIPSIS


def wrap(text: str, room: float, size: float, bold: bool = False, most: int = 99) -> list[str]:
    """Lines of at most ``room`` points; the last of ``most`` lines is cut with an ellipsis."""
    lines: list[str] = []
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width(joined, size, bold) <= room:
            lines[-1] = joined
        else:
            lines.append(word)
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return [cut(line, room, size, bold) for line in lines]


def spread(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float]:
    """Centres near ``wanted``, in its order, that keep boxes of ``heights`` apart and in [low, high].

    Least squares under order constraints (pool adjacent violators); if the boxes cannot fit they are
    packed evenly.  Ties keep their order.
    """
    if not wanted:
        return []
    h = np.asarray(heights, dtype=float)
    if h.sum() >= high - low:
        scale = (high - low) / h.sum()
        return _in_order(wanted, h, lambda hs: low + scale * (np.cumsum(hs) - 0.5 * hs))

    def place(hs: Any) -> Any:
        before = np.cumsum(hs) - 0.5 * hs
        target = np.asarray(sorted(wanted)) - before
        return np.clip(_pooled(target), low, high - hs.sum()) + before

    return _in_order(wanted, h, place)


def _in_order(wanted: Sequence[float], h: Any, place: Any) -> list[float]:
    order = np.argsort(np.asarray(wanted), kind="stable")
    out = np.empty(len(order))
    out[order] = place(h[order])
    return [float(x) for x in out]


def _pooled(values: Any) -> Any:
    """Nearest non-decreasing sequence in the sense of least squares."""
    blocks: list[list[float]] = []
    for v in values:
        blocks.append([float(v), 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            b, n = blocks.pop()
            a, m = blocks.pop()
            blocks.append([(a * m + b * n) / (m + n), m + n])
    return np.concatenate([np.full(int(n), v) for v, n in blocks])


SECONDS_FROM: Final = 2000.0
PAST: Final = 2.0
"""Points that the last number of an axis may reach past its end."""


def size_of(ax: Any) -> tuple[float, float]:
    """Width and height of an axis [points]."""
    figure = ax.figure
    box = ax.get_position()
    return 72.0 * figure.get_figwidth() * box.width, 72.0 * figure.get_figheight() * box.height


def in_fitting_time(ax: Any, stop: float) -> str:
    """Show a time axis drawn in ms as seconds where it ends ``stop`` [ms] at two seconds or later; gives the unit."""
    if stop < SECONDS_FROM:
        return "ms"
    ax.xaxis.set_major_formatter(lambda x, _: f"{1e-3 * x:g}")
    return "s"


def end_inside(ax: Any) -> None:
    """The last number of a time axis stands left of its tick where it would run past the axis' end."""
    low, high = ax.get_xlim()
    ticks = [float(x) for x in ax.get_xticks() if low <= x <= high]
    if not ticks:
        return
    texts = ax.xaxis.get_major_formatter().format_ticks(ticks)
    ax.set_xticks(ticks, texts)
    label = ax.get_xticklabels()[-1]
    past = 0.5 * width(texts[-1], float(label.get_fontsize())) - (high - ticks[-1]) / (high - low) * size_of(ax)[0]
    if past > PAST:
        label.set_horizontalalignment("right")


def points_from_corner(ax: Any) -> Any:
    """Transform from points right of and above an axis' lower left corner, at any resolution."""
    from matplotlib.transforms import Affine2D, ScaledTranslation

    box, figure = ax.get_position(), ax.figure
    return Affine2D().scale(1.0 / 72.0) + figure.dpi_scale_trans + ScaledTranslation(box.x0, box.y0, figure.transFigure)
