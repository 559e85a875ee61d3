"""Draws the placement chart: peak and heat of each candidate side by side, grouped by kind."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from simcore.charts import base
from simcore.charts.metrics import LEADING, cut, size_of, width
from simcore.charts.placement_data import PlacementData, Stand
from simcore.charts.rows import set_rows
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def draw_peaks(ax: Axes, data: PlacementData, style: Style | None = None) -> Axes:
    """Bars of the peak at the protected part, the allowable as a line."""
    style = style_for(data.frame, style)
    _axis(ax, data, data.top)
    for n, s in enumerate(data.stands):
        words = base.number(s.peak)
        if math.isfinite(data.allowable):
            words += f", {base.percent(s.peak / data.allowable)}"
        _bar(ax, n, s, s.peak, words, data, style, data.allowable)
    if math.isfinite(data.allowable):
        ax.axvline(data.allowable, color=style.color("allowable.color"), linewidth=style.number("allowable.width"))
    return ax


def draw_heat(ax: Axes, data: PlacementData, style: Style | None = None) -> Axes:
    """Bars of the heat in the crash."""
    style = style_for(data.frame, style)
    _axis(ax, data, 1.12 * data.hottest)
    for n, s in enumerate(data.stands):
        _bar(ax, n, s, s.heat, base.joules(s.heat), data, style)
    return ax


def _axis(ax: Axes, data: PlacementData, top: float) -> None:
    set_rows(ax, len(data.stands))
    ax.set_xlim(0.0, top)
    ax.locator_params(axis="x", nbins=4)
    ax.grid(axis="x")


def _bar(
    ax: Axes, n: int, s: Stand, value: float, words: str, data: PlacementData, style: Style, limit: float = math.nan
) -> None:
    """A bar, hatched by its slot, and its number at the end or, where that has no room, inside; bold past its limit."""
    bold = value > limit
    look, wide = style.look(s.place), size_of(ax)[0]
    if math.isfinite(value):
        ax.barh(n, value, height=0.42, zorder=2, linewidth=0.8, **slot_look(data, s.slot, look.color))
    scale = wide / ax.get_xlim()[1]
    end = scale * value if math.isfinite(value) else 0.0
    need = width(words, style.small, bold) + 7
    room = scale * limit - 2 if end < scale * limit < end + need else wide
    fits = end + need < room or need > end
    k: dict[str, Any] = {"xycoords": ("axes points", "data"), "size": style.small, "va": "center", "zorder": 6}
    white = {"boxstyle": "square,pad=0.12", "facecolor": "white", "edgecolor": "none"}
    ax.annotate(
        words, (end + 3 if fits else end - 3, n), ha="left" if fits else "right", bbox=white,
        weight="bold" if bold else "normal", **k,
    )  # fmt: skip


def slot_look(data: PlacementData, slot: str, color: str) -> dict[str, Any]:
    """Full, empty or hatched: which slot."""
    n = data.slots.index(slot) if slot in data.slots else 0
    fill = color if n == 0 else "white"
    return {"facecolor": fill, "edgecolor": color, "hatch": ("", "////", "....", "xxxx")[n % 4]}


def group_rules(ax: Axes, data: PlacementData, style: Style) -> Axes:
    """A thin rule between two kinds."""
    for n in range(1, len(data.stands)):
        if data.stands[n].part != data.stands[n - 1].part:
            ax.axhline(n - 0.5, color=style.color("quiet.color"), linewidth=0.6, zorder=1)
    return ax


def words_above(ax: Axes, data: PlacementData, style: Style, room: float) -> Axes:
    """For narrow pages: name, slot and setting into the top of each row, from the paper's left edge."""
    _, high = size_of(ax)
    pitch = high / max(len(data.stands), 1)
    step = style.small * LEADING
    for n, s in enumerate(data.stands):
        y = high - n * pitch - 0.5 * step
        k: dict[str, Any] = {"xycoords": "axes points", "size": style.small, "va": "center", "annotation_clip": False}
        white = {"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"}
        note = f"{f'in {base.quoted(s.where)}, ' if s.where else ''}{s.slot}, {s.setting}"
        name = cut(s.name, max(room - width(note, style.small) - 8, 40.0), style.small, True)
        ax.annotate(name, (0, y), ha="left", weight="bold", bbox=white, zorder=6, **k)
        at = width(name, style.small, True) + 6
        ax.annotate(cut(note, room - at, style.small), (at, y), ha="left", bbox=white, zorder=6, **k)
    return ax
