"""The key under a chart: lines and shades with their words, in as many rows as they need."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from simcore.charts.metrics import LEADING, width
from simcore.charts.paper import MM, Paper
from simcore.charts.style import Style

Entry = tuple[str, dict[str, Any] | str]
"""Words, and either the properties of a line or the class of a mode."""


def draw_key(paper: Paper, entries: Sequence[Entry], style: Style) -> float:
    """Write the entries above the lower edge of the paper's room; the height they take [mm]."""
    size = style.small
    step = size * LEADING / MM + 0.6
    lines: list[list[tuple[Entry, float]]] = [[]]
    x = paper.room.left
    for entry in entries:
        need = 7.0 + width(entry[0], size) / MM + 4.0
        if x + need > paper.room.right and lines[-1]:
            lines.append([])
            x = paper.room.left
        lines[-1].append((entry, x))
        x += need
    for n, line in enumerate(lines):
        y = paper.room.bottom + (len(lines) - n - 0.5) * step
        for (text, look), at in line:
            _sign(paper, look, at, y, style)
            paper.figure.text((at + 7.0) / paper.width, y / paper.height, text, size=size, va="center")
    return len(lines) * step


def _sign(paper: Paper, look: dict[str, Any] | str, at: float, y: float, style: Style) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    if isinstance(look, dict):
        ends = [at / paper.width, (at + 5.5) / paper.width]
        paper.figure.add_artist(Line2D(ends, [y / paper.height] * 2, **look))
        return
    paper.figure.add_artist(
        Rectangle(
            (at / paper.width, (y - 1.2) / paper.height),
            5.5 / paper.width,
            2.4 / paper.height,
            facecolor=style.color(f"class.{look}"),
            edgecolor=style.color("class.hatch.color"),
            hatch=style.house.get(f"class.{look}.hatch", ""),
            linewidth=0.5,
        )
    )
