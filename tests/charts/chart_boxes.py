"""Where the words of a figure lie, measured by the renderer."""

from __future__ import annotations

from itertools import combinations

from matplotlib.figure import Figure
from matplotlib.text import Text

Words = list[tuple[str, tuple[float, float, float, float]]]
SLACK = 1.0
"""Pixels two boxes may share (empty room in a letter's box)."""


def words_of(figure: Figure) -> Words:
    """Every visible text with its box in pixels; the figure is drawn first, so that ticks are real."""
    figure.draw_without_rendering()
    renderer = figure.canvas.get_renderer()
    hidden = _undrawn(figure)
    out = []
    for text in figure.findobj(Text):
        if not text.get_text().strip() or not text.get_visible() or id(text) in hidden:
            continue
        box = Text.get_window_extent(text, renderer)
        out.append((text.get_text().replace("\n", " "), (box.x0, box.y0, box.x1, box.y1)))
    return out


def _undrawn(figure: Figure) -> set[int]:
    """Tick labels that lie outside of their axis' limits: they exist but are never drawn."""
    out = set()
    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            low, high = sorted(axis.get_view_interval())
            room = 1e-9 * (high - low)
            for tick in axis.get_major_ticks() + axis.get_minor_ticks():
                if not low - room <= tick.get_loc() <= high + room:
                    out |= {id(tick.label1), id(tick.label2)}
    return out


def overlaps(figure: Figure, words: Words | None = None) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes overlap by more than SLACK pixels both ways."""
    found = []
    for (a, p), (b, q) in combinations(words_of(figure) if words is None else words, 2):
        across = min(p[2], q[2]) - max(p[0], q[0])
        up = min(p[3], q[3]) - max(p[1], q[1])
        if across > SLACK and up > SLACK:
            found.append((a, b))
    return found


def outside(figure: Figure, words: Words | None = None) -> list[str]:
    """Texts that stick out of the paper."""
    wide, high = figure.get_size_inches() * figure.dpi
    return [t for t, (x0, y0, x1, y1) in words or words_of(figure) if x0 < 0 or y0 < 0 or x1 > wide or y1 > high]
