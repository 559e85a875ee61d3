"""Grids of small panels, a candidate each: how many side by side, and the words above each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

from simcore.charts.base import TOLD_APART
from simcore.charts.metrics import LEADING, points_from_corner, size_of, wrap
from simcore.charts.paper import MM
from simcore.charts.style import Style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INDENT: Final = 10.0
"""Points in front of a name for its marker."""
PITCH: Final = {"page": 43.0, "column": 31.0}
"""Height of one row of panels [mm] with many candidates."""


class Grid(NamedTuple):
    """Panels side by side and one above the other."""

    across: int
    down: int


def grid(count: int, size: str) -> Grid:
    """Four panels side by side, in a column two, many of them three."""
    count = max(count, 1)
    most = 4 if size != "column" else 2 if count <= TOLD_APART else 3
    across = min(count, most)
    return Grid(across, -(-count // across))


def wrapped(names: Sequence[str], style: Style, wide: float, most: int) -> list[list[str]]:
    """Each name in at most ``most`` lines of ``wide`` mm."""
    return [wrap(n, wide * MM - INDENT, style.small, True, most) for n in names]


def draw_title(ax: Axes, name: Sequence[str], place: int, style: Style, notes: Sequence[tuple[str, bool]] = ()) -> Axes:
    """Marker and name in lines above ``ax``, below them the notes (text, bold)."""
    from matplotlib.lines import Line2D

    _, high = size_of(ax)
    look, step = style.look(place), style.small * LEADING
    rows = [(t, True, 9.0) for t in name] + [(t, bold, 0.0) for t, bold in notes]
    ax.add_line(
        Line2D(
            [3],
            [high + 5 + (len(rows) - 1) * step],
            marker=look.marker,
            color=look.color,
            markersize=5.5,
            linestyle="none",
            transform=points_from_corner(ax),
            clip_on=False,
        )
    )
    for n, (text, bold, x) in enumerate(reversed(rows)):
        ax.annotate(
            text,
            (x, high + 2 + n * step),
            xycoords="axes points",
            size=style.small,
            weight="bold" if bold else "normal",
            va="bottom",
            annotation_clip=False,
        )
    return ax
