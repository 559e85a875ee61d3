"""Draws where the energy went: a stacked bar a candidate, by part, the ledger's residual beside it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simcore.charts.base import NO_ANSWER, joules
from simcore.charts.energy_data import DRIVE, KEPT, PROTECTION, Bar, EnergyData
from simcore.charts.metrics import LEADING, points_from_corner, size_of, width
from simcore.charts.rows import set_rows
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes

THICKEST: Final = 34.0
"""Points a bar is high at most."""
HEADS: Final = ("turned over", "residual")


def draw_energy(ax: Axes, data: EnergyData, style: Style | None = None, *, low: bool = False) -> Axes:
    """Draw all bars on ``ax``, each 100 % long, and give it back; ``low`` leaves room for a name above."""
    style = style_for(data.frame, style)
    set_rows(ax, len(data.bars))
    ax.set_xlim(0, 100)
    pitch = size_of(ax)[1] / max(len(data.bars), 1)
    above, below = (1.0 + style.small * LEADING + 2.0, 5.0) if low else (0.19 * pitch, 0.19 * pitch)
    thick = min(pitch - above - below, THICKEST) / pitch
    shift = (above / pitch + 0.5 * thick - 0.5) if low else 0.0
    for i, bar in enumerate(data.bars):
        _bar(ax, (i + shift, thick), bar, data, style)
    ax.set_xlabel("share of the energy turned over (%)")
    ax.spines["left"].set_visible(False)
    return ax


def _bar(ax: Axes, at: tuple[float, float], bar: Bar, data: EnergyData, style: Style) -> None:
    whole = sum(bar.energies) or 1.0
    per = size_of(ax)[0] / 100.0
    left = 0.0
    y, thick = at
    for entry, energy in zip(data.entries, bar.energies, strict=True):
        share = 100.0 * energy / whole
        if share <= 0.0:
            continue
        look = entry_look(data, entry, bar.place, style)
        ax.barh(y, share, left=left, height=thick, linewidth=0.6, **look)
        text = joules(energy)
        if width(text, style.small) + 5 < share * per:
            ax.annotate(
                text,
                (left + 0.5 * share, y),
                size=style.small,
                ha="center",
                va="center",
                bbox={"boxstyle": "square,pad=0.12", "facecolor": "white", "edgecolor": "none"},
            )
        left += share


def entry_look(data: EnergyData, entry: str, place: int, style: Style) -> dict[str, Any]:
    """Colour and hatch of one entry; the protection's own share is in the candidate's colour."""
    edge = style.color("allowable.color")
    if entry == PROTECTION:
        return {"facecolor": style.look(place).color, "edgecolor": edge}
    if entry == KEPT:
        return {"facecolor": style.color("stored.color"), "edgecolor": edge}
    parts = [e for e in data.entries if e not in (PROTECTION, KEPT)]
    if entry == DRIVE:
        return {"facecolor": style.color("stored.color"), "edgecolor": edge, "hatch": "|||"}
    n = parts.index(entry)
    colors, hatches = style.listed("energy.colors"), style.listed("energy.hatches")
    hatch = hatches[n % len(hatches)].replace("none", "")
    return {"facecolor": "#" + colors[n % len(colors)], "edgecolor": edge, "hatch": hatch}


def column_rooms(data: EnergyData, style: Style) -> list[float]:
    """Points of the two columns of numbers beside the axis."""
    rows = [_numbers(b) for b in data.bars]
    return [
        max([width(head, style.small), *(width(r[j], style.small) for r in rows)]) + 8.0 for j, head in enumerate(HEADS)
    ]


def _numbers(bar: Bar) -> tuple[str, str]:
    if not math.isfinite(bar.total):
        return NO_ANSWER, "\u2013"
    if not math.isfinite(bar.residual):
        return joules(bar.total), "n/a"
    small = abs(bar.residual)
    return joules(bar.total), "< 0.0001 %" if small < 1e-6 else f"{100 * small:.1g} %".replace("e-0", "e-")


def notes(data: EnergyData) -> list[str]:
    """The same numbers as one text a bar."""
    return [
        f"{total}, residual {rest}" if math.isfinite(b.total) else total
        for b, (total, rest) in zip(data.bars, map(_numbers, data.bars), strict=True)
    ]


def draw_numbers(ax: Axes, data: EnergyData, style: Style | None = None) -> Axes:
    """Energy turned over and the ledger's residual right of the axis."""
    style = style_for(data.frame, style)
    wide, high = size_of(ax)
    step = high / max(len(data.bars), 1)
    k: dict[str, Any] = {
        "xycoords": "axes points",
        "annotation_clip": False,
        "size": style.small,
        "ha": "right",
    }
    x = wide
    for j, (head, room) in enumerate(zip(HEADS, column_rooms(data, style), strict=True)):
        x += room
        ax.annotate(head, (x, high + 2), va="bottom", color=style.color("quiet.color"), **k)
        for i, bar in enumerate(data.bars):
            ax.annotate(_numbers(bar)[j], (x, high - (i + 0.5) * step), va="center", **k)
    return ax


def key_lines(data: EnergyData, style: Style, room: float) -> list[list[str]]:
    """Entries in lines of at most ``room`` points."""
    lines: list[list[str]] = [[]]
    used = 0.0
    for entry in data.entries:
        need = _key_width(entry, style)
        if lines[-1] and used + need > room:
            lines.append([])
            used = 0.0
        lines[-1].append(entry)
        used += need
    return lines


def _key_width(entry: str, style: Style) -> float:
    return 16.0 + width(entry, style.small) + 9.0


def draw_key(ax: Axes, data: EnergyData, style: Style, lines: list[list[str]], left: float, bottom: float) -> Axes:
    """Patches with the parts' names; ``left`` and ``bottom`` [points] from the axis' lower left corner."""
    from matplotlib.patches import Rectangle

    height = style.small * LEADING * 1.25
    place = next((b.place for b in data.bars if b.place >= 0), 0)
    for n, line in enumerate(lines):
        x, y = left, bottom + (len(lines) - n - 0.5) * height
        for entry in line:
            look = entry_look(data, entry, place, style)
            if entry == PROTECTION:
                look["facecolor"] = style.color("quiet.color")
            ax.add_patch(
                Rectangle(
                    (x, y - 3.5),
                    13,
                    7,
                    transform=points_from_corner(ax),
                    clip_on=False,
                    linewidth=0.5,
                    **look,
                )
            )
            ax.annotate(
                entry,
                (x + 16, y),
                xycoords="axes points",
                annotation_clip=False,
                size=style.small,
                va="center",
                ha="left",
            )
            x += _key_width(entry, style)
    return ax
