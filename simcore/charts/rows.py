"""Rows of candidates: name and marker left of an axis, the same in every chart that has rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, Protocol

from simcore.charts.metrics import LEADING, cut, points_from_corner, size_of, width, wrap
from simcore.charts.style import Style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SWATCH: Final = 13.5
"""Points for the marker in front of a name."""


def name_room(names: Sequence[str], style: Style, most: float) -> float:
    """Points that the longest name wants, marker counted; at most ``most``."""
    return min(most, max((width(n, style.small, True) for n in names), default=0.0) + SWATCH + 5.0)


def set_rows(ax: Axes, count: int, *, first_on_top: bool = True) -> Axes:
    """Room for ``count`` rows at y = 0, 1, ... from the top down, without ticks."""
    ax.set_ylim(count - 0.5, -0.5) if first_on_top else ax.set_ylim(-0.5, count - 0.5)
    ax.set_yticks([])
    return ax


def row_names(ax: Axes, rows: Sequence[tuple[str, int]], style: Style, room: float, notes: Sequence[str] = ()) -> Axes:
    """Write (name, place) left of the axis; a note below the name where the row is high enough."""
    _, high = size_of(ax)
    step = high / max(len(rows), 1)
    size = style.small
    fits = max(1, int(step // (size * LEADING)))
    for i, (name, place) in enumerate(rows):
        y = high - (i + 0.5) * step
        note = wrap(notes[i], room - SWATCH - 3, size, most=2) if i < len(notes) and notes[i] else []
        lines = wrap(name, room - SWATCH - 3, size, True, max(1, min(3, fits - min(len(note), fits - 1))))
        note = note[: max(0, fits - len(lines))]
        _marker(ax, style, place, -room + 0.5 * SWATCH, y)
        top = y + 0.5 * size * LEADING * (len(lines) + len(note) - 1)
        for j, text in enumerate([*lines, *note]):
            ax.annotate(
                text,
                (-room + SWATCH, top - j * size * LEADING),
                xycoords="axes points",
                size=size,
                va="center",
                ha="left",
                weight="bold" if j < len(lines) else "normal",
                annotation_clip=False,
                color=style.color("quiet.color") if j >= len(lines) else None,
            )
    return ax


def _marker(ax: Axes, style: Style, place: int, x: float, y: float) -> None:
    from matplotlib.lines import Line2D

    look = style.look(place)
    k: dict[str, Any] = {"transform": points_from_corner(ax), "clip_on": False, "color": look.color}
    if look.marker:
        ax.add_line(
            Line2D(
                [x],
                [y],
                marker=look.marker,
                markersize=6,
                linestyle="none",
                markeredgecolor="white",
                markeredgewidth=0.4,
                **k,
            )
        )
    else:
        ax.add_line(Line2D([x - 5, x + 5], [y, y], linestyle=look.line, linewidth=look.width, **k))


class Named(Protocol):
    """What has a name and a place among the candidates."""

    @property
    def name(self) -> str: ...
    @property
    def place(self) -> int: ...


def lane_names(ax: Axes, lanes: Sequence[Named], at: Sequence[float], style: Style, left: float, room: float) -> Axes:
    """Write names at heights ``at`` (data), starting ``left`` points left of the axis, ``room`` points wide."""
    _, high = size_of(ax)
    low, top = ax.get_ylim()
    for lane, level in zip(lanes, at, strict=True):
        y = high * (level - low) / (top - low)
        _marker(ax, style, lane.place, -left + 0.5 * SWATCH, y)
        lines = wrap(lane.name, room, style.small, True, 2)
        for j, text in enumerate(lines):
            up = y + style.small * LEADING * (0.5 * (len(lines) - 1) - j)
            ax.annotate(
                text, (-left + SWATCH, up), xycoords="axes points", size=style.small, va="center", ha="left",
                weight="bold", annotation_clip=False,
            )  # fmt: skip
    return ax


def names_above(ax: Axes, rows: Sequence[tuple[str, int]], style: Style, notes: Sequence[str] = ()) -> Axes:
    """Write (name, place) into the top of each row, a note at its right end: for narrow pages."""
    wide, high = size_of(ax)
    step = high / max(len(rows), 1)
    size = style.small
    for i, (name, place) in enumerate(rows):
        y = high - i * step - 0.5 * size * LEADING - 1.0
        note = notes[i] if i < len(notes) else ""
        room = wide - SWATCH - (width(note, size) + 6 if note else 0)
        _marker(ax, style, place, 0.5 * SWATCH, y)
        k: dict[str, Any] = {
            "xycoords": "axes points",
            "size": size,
            "va": "center",
            "annotation_clip": False,
        }
        ax.annotate(cut(name, room, size, True), (SWATCH, y), ha="left", weight="bold", **k)
        if note:
            ax.annotate(note, (wide, y), ha="right", **k)
    return ax
