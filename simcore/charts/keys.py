"""Lines of a key on the paper: a sample of each look with its words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from simcore.charts.metrics import LEADING, width
from simcore.charts.style import Style

if TYPE_CHECKING:
    from simcore.charts.paper import Paper

POINTS: Final = 72.0 / 25.4
"""Points in a millimetre."""
SAMPLE: Final = 5.5
"""Millimetres of a sample."""
WORDS: Final = 7.0
"""Millimetres from a sample's start to its words."""
GAP: Final = 4.0
"""Millimetres between two entries."""


class Entry(NamedTuple):
    """Words and the look of their sample: a line (with a marker in its middle) or a patch."""

    text: str
    look: dict[str, Any]
    patch: bool = False


def shade(klass: str, style: Style) -> Entry:
    """A class of modes with the shade it has on the charts."""
    hatch = style.house.get(f"class.{klass}.hatch", "")
    look = {"facecolor": style.color(f"class.{klass}"), "edgecolor": style.color("class.hatch.color"), "hatch": hatch}
    return Entry(klass, look, True)


def step_of(style: Style) -> float:
    """Height of one line of a key [mm]."""
    return style.small * LEADING / POINTS + 0.6


def lines_of(entries: Sequence[Entry], style: Style, left: float, right: float) -> list[list[tuple[Entry, float]]]:
    """Entries with their places [mm], in lines between ``left`` and ``right``."""
    lines: list[list[tuple[Entry, float]]] = [[]]
    x = left
    for entry in entries:
        need = WORDS + width(entry.text, style.small) / POINTS + GAP
        if x + need > right and lines[-1]:
            lines.append([])
            x = left
        lines[-1].append((entry, x))
        x += need
    return lines


def draw_key(paper: Paper, entries: Sequence[Entry], style: Style, bottom: float) -> float:
    """Write the key from ``bottom`` [mm] up, as wide as the paper's room; its height [mm]."""
    lines = lines_of(entries, style, paper.left, paper.right)
    step = step_of(style)
    for n, line in enumerate(lines):
        y = bottom + (len(lines) - n - 0.5) * step
        for entry, at in line:
            _sample(paper, entry, at, y)
            x = (at + WORDS) / paper.width
            paper.figure.text(x, y / paper.height, entry.text, size=style.small, va="center")
    return len(lines) * step


def _sample(paper: Paper, entry: Entry, at: float, y: float) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Rectangle

    x0, x1 = at / paper.width, (at + SAMPLE) / paper.width
    if entry.patch:
        wide, high = SAMPLE / paper.width, 2.4 / paper.height
        paper.figure.add_artist(Rectangle((x0, (y - 1.2) / paper.height), wide, high, linewidth=0.5, **entry.look))
        return
    xs = [0.5 * (x0 + x1)] if entry.look.get("linestyle") == "none" else [x0, x1]
    paper.figure.add_artist(Line2D(xs, [y / paper.height] * len(xs), **entry.look))
