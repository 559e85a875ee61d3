"""A sheet of paper in millimetres: one figure with title, subtitle and corner, axes placed by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

from simcore.charts.base import Frame
from simcore.charts.metrics import LEADING, wrap
from simcore.charts.style import Style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MM: Final = 72.0 / 25.4
"""Points in a millimetre."""
EDGE: Final = 2.5
SIZES: Final = {"page": (180.0, 110.0), "column": (85.0, 110.0)}
"""Width and height [mm]: across a page, and in one column of two."""
TICKS: Final = 8.5
"""Millimetres below an axis for its ticks and label."""
VALUES: Final = 10.5
"""Millimetres left of an axis for its ticks and label."""


def sized(kind: str, height: float = 0.0) -> tuple[float, float]:
    """Width and height [mm] of a sheet; ``height`` if that is more."""
    wide, high = SIZES[kind]
    return wide, max(high, height)


class Room(NamedTuple):
    """What title and corner leave for the chart [mm from the lower left corner]."""

    left: float
    bottom: float
    right: float
    top: float


class Paper:
    """A figure with the words of ``frame`` on it; ``room`` is what they leave."""

    def __init__(self, frame: Frame, style: Style, size: tuple[float, float]) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        self.style = style
        self.width, self.height = size
        self.figure: Figure = Figure(figsize=(size[0] / 25.4, size[1] / 25.4))
        FigureCanvasAgg(self.figure)
        self.room = self._write(frame)

    @property
    def narrow(self) -> bool:
        return self.width < 120.0

    def axes(self, left: float, bottom: float, right: float, top: float) -> Axes:
        """An axis between these edges [mm]."""
        box = (
            left / self.width,
            bottom / self.height,
            (right - left) / self.width,
            (top - bottom) / self.height,
        )
        return self.figure.add_axes(box)

    def _write(self, frame: Frame) -> Room:
        big, middle = self.style.number("title.size"), self.style.number("subtitle.size")
        small, quiet = self.style.small, self.style.color("quiet.color")
        if self.narrow:
            big = min(big, 8.5)
        room = (self.width - 2 * EDGE) * MM
        y = self.height - EDGE
        for line in wrap(frame.title, room, big, True, 4 if self.narrow else 3):
            self._line(line, y, big, weight="bold")
            y -= big * LEADING / MM
        for line in wrap(frame.subtitle, room, middle, most=2):
            self._line(line, y, middle, color=quiet)
            y -= middle * LEADING / MM
        corner = wrap(frame.corner, room, small, most=2)
        for i, line in enumerate(reversed(corner)):
            self.figure.text(
                1 - EDGE / self.width,
                (1.5 + i * small * LEADING / MM) / self.height,
                line,
                size=small,
                ha="right",
                va="bottom",
                color=quiet,
                gid="corner",
            )
        return Room(EDGE, 1.5 + len(corner) * small * LEADING / MM + 1.0, self.width - EDGE, y - 1.0)

    def _line(self, text: str, y: float, size: float, **k: Any) -> None:
        self.figure.text(EDGE / self.width, y / self.height, text, size=size, ha="left", va="top", **k)
