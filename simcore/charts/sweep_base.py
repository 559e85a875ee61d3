"""What all charts of sweeps share: words around the picture, panels, headings, a key."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, isfinite, log10, prod
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from simcore.charts.base import MOST, SPACE, UNBROKEN, Frame, number
from simcore.charts.metrics import LEADING, cut, points_from_corner, size_of, width
from simcore.charts.paper import MM, TICKS, VALUES, Paper
from simcore.charts.rows import SWATCH
from simcore.charts.style import Style
from simcore.sweep import cases
from simcore.sweep.decide import Choice, Decision
from simcore.sweep.result import SweepResult
from simcore.units import to_unit, typeset

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ACROSS: Final = {1: 1, 2: 2, 3: 2, 4: 2, 5: 3, 6: 3, 7: 4, 8: 4}
"""Panels side by side on a page."""
DAMAGE, NUISANCE = 5, 0
"""Looks of the two odds."""


class Named(NamedTuple):
    """A candidate on a chart: its name, its place in the file (which gives its look), a note."""

    name: str
    place: int
    note: str


class Heading(NamedTuple):
    """Name and lines of words above a panel."""

    who: Named
    words: str


def shown(decision: Decision) -> list[Choice]:
    """The best candidates that fit on a chart, in the order of the file."""
    return sorted(decision.choices[:MOST], key=lambda c: c.candidate)


def in_unit(result: SweepResult, si: float) -> float:
    return to_unit(si, "effort", result.unit) if isfinite(si) else si


def effort(result: SweepResult, si: float) -> str:
    return f"{number(in_unit(result, si))}{SPACE}{typeset(result.unit)}" if isfinite(si) else "n/a"


def percent(share: float) -> str:
    """A share in per cent, two significant digits, for axes and keys."""
    digits = 3 if 100.0 * share >= 99.5 else 2
    return f"{number(float(f'{100.0 * share:.{digits}g}'))}{SPACE}%" if isfinite(share) else "n/a"


def sweep_frame(result: SweepResult, title: str, note: str) -> Frame:
    """Title, scenario and note, and in the corner what the chart stands on."""
    total = len(result.candidates)
    parts = [result.title, note]
    if total > MOST:
        parts.append(f"best {MOST} of {total} candidates")
    return Frame(title[:1].upper() + title[1:], " \u2013 ".join(p for p in parts if p), corner(result))


def corner(result: SweepResult) -> str:
    """Cases (candidate x cell x draw) and their runs in every situation, how many failed, design, seed, version."""
    runs, bad = cases.tally(result)
    counts = cases.count(result)
    told = " \u00d7 ".join(_count(n, word) for n, word in zip(counts, ("candidate", "cell", "draw"), strict=True))
    parts = [
        f"{prod(counts):,} cases ({told})",
        *([f"{result.draws:,} of {result.planned:,} draws so far"] if result.draws < result.planned else []),
        f"{runs:,} runs ({_count(len(result.situations), 'situation')} a case), {bad:,} failed",
        f"{result.design}, seed {result.seed}",
        f"simcore {version(result)}",
    ]
    return f"{SPACE}{SPACE}| {SPACE}".join(p.replace(" ", SPACE) if len(p) <= UNBROKEN else p for p in parts)


def _count(n: int, word: str) -> str:
    return f"{n:,} {word}{'' if n == 1 else 's'}"


def version(result: SweepResult) -> str:
    about = result.provenance
    found = str(about.get("simcore", "") or about.get("versions", {}).get("simcore", ""))
    return "from source" if found == "source" else found or "(version not recorded)"


OWN_NUMBERS: Final = 8.0
"""Millimetres for the numbers of a y axis beside another panel."""


def panels(paper: Paper, count: int, head: float, foot: float, *, own: bool = False) -> list[Any]:
    """Axes of ``count`` panels; ``head`` [mm] above each for its heading, ``foot`` [mm] below all for a key.

    ``own``: each has numbers of its own on the y axis; else only the left ones have, for all.
    """
    r = paper.room
    across, gap, left, wide = _grid(paper, count)
    down = -(-count // across)
    step = (r.top - r.bottom - foot - TICKS + 4.5) / down
    out = []
    for n in range(count):
        i, j = divmod(n, across)
        x0, top = left + j * wide, r.top - i * step
        inset = OWN_NUMBERS if own and j else 0.0
        ax = paper.axes(x0 + inset, top - step + 4.5, x0 + wide - gap, top - head)
        if j and not own:
            ax.tick_params(labelleft=False)
        out.append(ax)
    return out


def _grid(paper: Paper, count: int) -> tuple[int, float, float, float]:
    """Panels side by side, the gap between them, the left edge of the first, the width of one with its gap [mm]."""
    across = min(ACROSS.get(count, 4), 2 if paper.narrow else 4)
    gap = 3.0 if across < 4 else 2.0
    left = paper.room.left + VALUES + 4.0
    return across, gap, left, (paper.room.right - 1.0 - left + gap) / across


def panel_room(paper: Paper, count: int) -> float:
    """Points that a line above one of ``count`` panels has."""
    _, gap, _, wide = _grid(paper, count)
    return (wide - gap) * MM


def heading(ax: Axes, head: Heading, style: Style) -> Axes:
    """Marker, name and lines of words above a panel."""
    wide, high = size_of(ax)
    size = style.small
    lines = head.words.split("\n")
    above = high + 2.0 + len(lines) * size * LEADING
    swatch(ax, head.who.place, 0.5 * SWATCH - 2.0, above + 0.5 * size * LEADING, style)
    k: dict[str, Any] = {"xycoords": "axes points", "size": size, "annotation_clip": False, "va": "bottom"}
    name = cut(head.who.name, wide - SWATCH, size, True)
    ax.annotate(name, (SWATCH - 2.0, above), weight="bold", **k)
    for i, text in enumerate(lines):
        ax.annotate(cut(text, wide + 4.0, size), (0.0, above - (i + 1) * size * LEADING), **k)
    return ax


HEAD_LINES: Final = 2.4
"""Lines that a heading takes."""


def swatch(ax: Axes, place: int, x: float, y: float, style: Style, size: float = 6.0) -> None:
    """The marker of a candidate at points from the axis' lower left corner."""
    from matplotlib.lines import Line2D

    look = style.look(place)
    k: dict[str, Any] = {"marker": look.marker or "o", "markersize": size, "linestyle": "none"}
    k |= {"color": look.color, "markeredgecolor": "white", "markeredgewidth": 0.4}
    ax.add_line(Line2D([x], [y], transform=points_from_corner(ax), clip_on=False, **k))


def draw_key(
    ax: Axes, who: Sequence[Named], bold: Sequence[bool], room: float, style: Style, *, lines: bool = True
) -> Axes:
    """Names with marker, line (if ``lines``) and note, one below the other on an empty axis of ``room`` points."""
    from matplotlib.lines import Line2D

    ax.set_axis_off()
    _, high = size_of(ax)
    size = style.small
    each = min(high / max(len(who), 1), 3.6 * size * LEADING)
    for i, (n, b) in enumerate(zip(who, bold, strict=True)):
        y = high - i * each - 0.5 * size * LEADING
        look = style.look(n.place)
        if lines:
            line = Line2D([0.0, 20.0], [y, y], color=look.color, linestyle=look.line, linewidth=look.width)
            line.set(transform=points_from_corner(ax), clip_on=False)
            ax.add_line(line)
        swatch(ax, n.place, 10.0, y, style)
        k: dict[str, Any] = {"xycoords": "axes points", "size": size, "annotation_clip": False, "va": "center"}
        ax.annotate(cut(n.name, room - 25.0, size, b), (25.0, y), weight="bold" if b else "normal", **k)
        for j, note in enumerate(n.note.split("\n") if n.note else []):
            ax.annotate(
                cut(note, room - 25.0, size),
                (25.0, y - (j + 1) * size * LEADING),
                color=style.color("quiet.color"),
                **k,
            )
    return ax


def key_room(who: Sequence[Named], style: Style, most: float) -> float:
    """Points that the key wants, at most ``most``."""
    notes = [width(t, style.small) for n in who for t in n.note.split("\n")]
    return min(most, 28.0 + max([*notes, *(width(n.name, style.small, True) for n in who)], default=0.0))


def foot_line(paper: Paper, text: str, style: Style, line: int = 0) -> None:
    """A quiet line of reading help above the corner."""
    r = paper.room
    paper.figure.text(
        r.left / paper.width,
        (r.bottom + 0.3 + line * style.small * LEADING / MM) / paper.height,
        cut(text, (r.right - r.left) * MM, style.small),
        size=style.small,
        color=style.color("quiet.color"),
        va="bottom",
    )


def label_axes(paper: Paper, across: str, up: str, foot: float, style: Style) -> None:
    """One label below and one beside all panels."""
    r = paper.room
    x = 0.5 * (r.left + VALUES + r.right) / paper.width
    k: dict[str, Any] = {"size": style.number("subtitle.size"), "ha": "center"}
    paper.figure.text(x, (r.bottom + foot - 1.0) / paper.height, across, va="bottom", **k)
    y = 0.5 * (r.bottom + foot + r.top) / paper.height
    paper.figure.text((r.left + 1.6) / paper.width, y, up, rotation=90, va="center", **k)


def share_ticks(ax: Axes, floor: float, top: float = 1.0) -> None:
    """Decades in per cent on a logarithmic axis of shares."""
    decades = [10.0**i for i in range(ceil(log10(floor) - 1e-9), ceil(log10(top) - 1e-9) + 1)]
    ax.yaxis.set_ticks(decades, [percent(d).replace(SPACE, "\u2009") for d in decades])
    ax.yaxis.set_ticks([], minor=True)


def inner_ticks(ax: Axes) -> None:
    """Ticks of a linear x axis that keep clear of its ends, so that panels side by side do not touch."""
    from matplotlib.ticker import MaxNLocator

    low, high = ax.get_xlim()
    most = int(np.clip(size_of(ax)[0] / 28.0, 3, 9))
    edge = 0.07 * (high - low)
    found = [float(t) for t in MaxNLocator(most).tick_values(low, high) if low + edge <= t <= high - edge]
    if found:
        ax.set_xticks(found, [f"{t:g}".replace("-", "\u2212") for t in found])
