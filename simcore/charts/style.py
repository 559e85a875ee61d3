"""Looks of the charts, read from one style file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

if TYPE_CHECKING:
    from simcore.charts.base import Frame

STYLE_FILE: Final = Path(__file__).with_name("simcore.mplstyle")
MARK: Final = "#@"

_UNTOUCHED: Final = ("backend", "backend_fallback", "interactive", "toolbar", "timezone", "datapath")


class Look(NamedTuple):
    """How one candidate is drawn in every chart."""

    color: str
    line: Any
    marker: str
    width: float


@dataclass(frozen=True)
class Style:
    """A style file as read: settings of the plotting library, and the house's own keys."""

    rc: Mapping[str, Any] = field(repr=False)
    house: Mapping[str, str]
    looks: tuple[Look, ...]
    verdicts: tuple[bool | None, ...] = ()
    """Where candidates are too many for a look each: whether each passes, which then gives its look."""

    def look(self, place: int) -> Look:
        """Look of the candidate at ``place``; the bare line has place -1."""
        if place < 0:
            dashes = tuple(float(x) for x in self.house["bare.dashes"].split())
            return Look(self.color("bare.color"), (0, dashes), "", self.number("bare.width"))
        if self.verdicts:
            return self.verdict_look(self.verdicts[place] if place < len(self.verdicts) else None)
        return self.looks[place % len(self.looks)]

    def verdict_look(self, passed: bool | None) -> Look:
        """The look that all candidates of one verdict share."""
        key = {True: "passes", False: "fails", None: "unjudged"}[passed]
        return Look(self.color(f"{key}.color"), "-", self.house[f"{key}.marker"], self.looks[0].width)

    def judged(self, verdicts: tuple[bool | None, ...]) -> Style:
        """This style for candidates told apart by their place alone; itself if ``verdicts`` is empty."""
        return replace(self, verdicts=verdicts) if verdicts else self

    def begun_at(self, place: int) -> Style:
        """This style for a result whose first candidate had ``place`` in the sweep that it is a case of."""
        first = place % len(self.looks)
        return replace(self, looks=self.looks[first:] + self.looks[:first]) if first else self

    def color(self, key: str) -> str:
        return "#" + self.house[key].lstrip("#")

    def number(self, key: str) -> float:
        return float(self.house[key])

    def listed(self, key: str) -> tuple[str, ...]:
        return tuple(self.house[key].split())

    @property
    def small(self) -> float:
        return self.number("small.size")

    @contextmanager
    def active(self) -> Iterator[None]:
        """Apply the style, whatever settings the user's machine has, and take it off again."""
        import matplotlib as mpl

        plain: dict[Any, Any] = {k: v for k, v in mpl.rcParamsDefault.items() if k not in _UNTOUCHED}
        with mpl.rc_context(plain | dict(self.rc)):
            yield


def style_for(frame: Frame, style: Style | None = None) -> Style:
    """``style`` (default: the shipped one) for the candidates of one chart."""
    return (style or read_style()).judged(frame.verdicts)


_READ: dict[Path, Style] = {}


def read_style(path: Path | str | None = None) -> Style:
    """Read a style file (default: the shipped one); OSError if it cannot be read.

    Keys of our own that a copy leaves out keep their shipped value.
    """
    where = STYLE_FILE if path is None else Path(path)
    if path is None and where in _READ:
        return _READ[where]
    style = _parsed(where)
    if path is None:
        _READ[where] = style
    return style


def _parsed(where: Path) -> Style:
    import matplotlib as mpl

    rc: dict[Any, Any] = dict(mpl.rc_params_from_file(where, use_default_template=False))
    house = _house(STYLE_FILE) | _house(where)
    cycle = rc.get("axes.prop_cycle", mpl.rcParams["axes.prop_cycle"])
    width = float(rc.get("lines.linewidth", 1.3))
    looks = tuple(Look(_hex(p["color"]), p.get("linestyle", "-"), p.get("marker", "o"), width) for p in cycle)
    return Style(rc, house, looks)


def _house(path: Path) -> dict[str, str]:
    out = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith(MARK):
            key, _, value = line[len(MARK) :].partition(":")
            out[key.strip()] = value.strip()
    return out


def _hex(color: str) -> str:
    from matplotlib.colors import to_hex

    return to_hex(color)
