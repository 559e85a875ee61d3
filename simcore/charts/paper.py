"""A sheet of paper in millimetres: one figure with title, subtitle and corner, axes placed by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, NamedTuple

from simcore.charts.base import TOLD_APART, Frame
from simcore.charts.keys import Entry, draw_key, lines_of, step_of
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
TALLEST: Final = 250.0
"""Height [mm] that still goes on one A4 page with its margins."""
VERDICTS: Final = {True: "passes", False: "does not pass", None: "not judged"}
TICKS: Final = 8.5
"""Millimetres below an axis for its ticks and label."""
VALUES: Final = 10.5
"""Millimetres left of an axis for its ticks and label."""


def sized(kind: str, height: float = 0.0) -> tuple[float, float]:
    """Width and height [mm] of a sheet; ``height`` if that is more, up to an A4 page."""
    wide, high = SIZES[kind]
    return wide, min(TALLEST, max(high, height))


def grown(count: int, each: float) -> float:
    """Height [mm] of a sheet with ``each`` mm for every candidate that a plain one has no room for."""
    return SIZES["page"][1] + each * max(0, count - TOLD_APART)


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
        self._grow(frame)
        self.figure: Figure = Figure(figsize=(self.width / 25.4, self.height / 25.4))
        FigureCanvasAgg(self.figure)
        self.room = self._write(frame)

    @property
    def narrow(self) -> bool:
        return self.width < 120.0

    @property
    def left(self) -> float:
        return EDGE

    @property
    def right(self) -> float:
        return self.width - EDGE

    def axes(self, left: float, bottom: float, right: float, top: float) -> Axes:
        """An axis between these edges [mm]."""
        box = (
            left / self.width,
            bottom / self.height,
            (right - left) / self.width,
            (top - bottom) / self.height,
        )
        return self.figure.add_axes(box)

    def _below(self, frame: Frame) -> list[str]:
        """Lines of the subtitle."""
        room = (self.width - 2 * EDGE) * MM
        return wrap(frame.subtitle, room, self.style.number("subtitle.size"), most=3 if self.narrow else 2)

    def _grow(self, frame: Frame) -> None:
        """A third line of the subtitle takes nothing off the chart."""
        more = max(0, len(self._below(frame)) - 2)
        self.height = min(TALLEST, self.height + more * self.style.number("subtitle.size") * LEADING / MM)

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
        for line in self._below(frame):
            self._line(line, y, middle, color=quiet)
            y -= middle * LEADING / MM
        if frame.verdicts:
            y = self._verdicts(frame, y)
        corner = wrap(frame.corner, room, small, most=3)
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

    def _verdicts(self, frame: Frame, y: float) -> float:
        """A line that says what colour and marker mean where they do not tell candidates apart."""
        entries = []
        for passed in dict.fromkeys(sorted(frame.verdicts, key=lambda v: (v is None, not v))):
            look = self.style.verdict_look(passed)
            text = f"{VERDICTS[passed]}: {frame.verdicts.count(passed)}"
            entries.append(
                Entry(text, {"linestyle": "none", "color": look.color, "marker": look.marker, "markersize": 5.5})
            )
        entries[-1] = entries[-1]._replace(text=f"{entries[-1].text}    (best first)")
        bottom = y - 0.5 - len(lines_of(entries, self.style, self.left, self.right)) * step_of(self.style)
        draw_key(self, entries, self.style, bottom)
        return bottom

    def _line(self, text: str, y: float, size: float, **k: Any) -> None:
        self.figure.text(EDGE / self.width, y / self.height, text, size=size, ha="left", va="top", **k)
