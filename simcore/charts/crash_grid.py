"""Composes the crash of many candidates: a small panel each over the bare line, best first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simcore.charts import crash
from simcore.charts.base import NO_ANSWER, number
from simcore.charts.crash_data import CrashData, Curve, Mark
from simcore.charts.keys import Entry, draw_key
from simcore.charts.metrics import LEADING, width, wrap
from simcore.charts.panels import PITCH, draw_title, grid, wrapped
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FIRST: Final = 0.66
"""Share of a panel's width for the first milliseconds; the rest of the run follows behind a gap."""
GAP: Final = 0.9
"""Millimetres between the two."""
BESIDE: Final = 2.5
"""Millimetres between panels."""


def crash_grid(data: CrashData, style: Style, size: str) -> Figure:
    """Panels in the order of the verdict: first milliseconds, then the rest of the run on its own scale."""
    curves = sorted((c for c in data.curves if c.place >= 0), key=lambda c: c.place)
    across, down = grid(len(curves), size)
    paper = Paper(data.frame, style, sized(size, 34.0 + PITCH[size] * down))
    r = paper.room
    bottom = r.bottom + draw_key(paper, _entries(data, style), style, r.bottom) + TICKS
    left = r.left + VALUES + 1.5 + crash.wider_values(data, style) / MM
    wide, high = (r.right - left) / across, (r.top - bottom) / down
    inside = wide - BESIDE
    names = wrapped([c.name for c in curves], style, inside, 2)
    notes = [_notes(c, data, inside * MM, style) for c in curves]
    words = [len(n) + len(m) for n, m in zip(names, notes, strict=True)]
    for n, curve in enumerate(curves):
        i, j = divmod(n, across)
        above = max(words[i * across : (i + 1) * across]) * style.small * LEADING / MM + 1.0
        x0, y0, y1 = left + j * wide, r.top - (i + 1) * high + 1.5, r.top - i * high - above
        near = paper.axes(x0, y0, x0 + FIRST * inside, y1)
        far = paper.axes(x0 + FIRST * inside + GAP, y0, x0 + inside, y1)
        draw_panel(near, curve, data, style)
        draw_panel(far, curve, data, style, rest=True)
        draw_title(near, names[n], curve.place, style, notes[n])
        near.tick_params(labelleft=j == 0, labelbottom=n + across >= len(curves))
        far.tick_params(labelleft=False, labelbottom=n + across >= len(curves), left=False)
    _axis_words(paper, data, style, (0.5 * (bottom + r.top), bottom - TICKS + 0.6))
    return paper.figure


def draw_panel(ax: Axes, curve: Curve, data: CrashData, style: Style, *, rest: bool = False) -> Axes:
    """One candidate over the bare line: the first milliseconds, or the ``rest`` of the run."""
    from matplotlib.ticker import MaxNLocator

    bare = tuple(c for c in data.curves if c.place < 0)
    if rest:
        curve = curve._replace(trigger=_late(curve.trigger, data), disconnect=_late(curve.disconnect, data))
    alone = data._replace(curves=(*bare, curve), levels=(curve.level,) if curve.level else ())
    crash.draw_crash(ax, alone, style, long=rest, words=False)
    ax.set_xlabel("")
    ax.locator_params(axis="y", nbins=4)
    ax.tick_params(labelsize=style.small)
    if rest:
        ax.set_xlim(data.short_end, data.long_end)
        ax.spines["left"].set_visible(False)
        ax.set_xticks([data.long_end], [number(data.long_end)], ha="right")
        return ax
    ticks = MaxNLocator(3).tick_values(0.0, data.short_end)
    ax.set_xticks([t for t in ticks if 0.0 <= t <= 0.85 * data.short_end])
    return ax


def _late(mark: Mark, data: CrashData) -> Mark:
    """A mark that the first milliseconds do not show; NaN otherwise."""
    return mark if mark.time > data.short_end else Mark(math.nan, math.nan)


def _notes(c: Curve, data: CrashData, room: float, style: Style) -> list[tuple[str, bool]]:
    """Peak and how it parts; a peak over the allowable says so, bold."""
    over = c.peak > data.allowable
    text = c.note.replace(f"peak {number(c.peak)}", f"peak {number(c.peak)} over") if over else c.note
    return [(t, over) for t in wrap(text, room, style.small, over, 2)]


def _entries(data: CrashData, style: Style) -> list[Entry]:
    """What lines, band and signs of every panel mean."""
    quiet = style.color("quiet.color")
    bare = style.look(-1)
    sign: dict[str, Any] = {"linestyle": "none", "color": quiet}
    out = []
    if math.isfinite(data.allowable):
        look = {"color": style.color("allowable.color"), "linewidth": style.number("allowable.width")}
        out.append(Entry(data.allowable_text, look))
    for c in data.curves:
        if c.place < 0:
            look = {"color": bare.color, "linestyle": bare.line, "linewidth": bare.width}
            out.append(Entry(f"{c.name}, {f'peak {number(c.peak)}' if math.isfinite(c.peak) else NO_ANSWER}", look))
    band = {"facecolor": style.color("band.color"), "alpha": 0.45}
    out.append(Entry("setting with tolerance", band | {"edgecolor": "none"}, True))
    out.append(Entry("marker: trigger", sign | {"marker": style.look(0).marker, "markersize": 5}))
    out.append(Entry("disconnected", sign | {"marker": "_", "markersize": 11, "markeredgewidth": 1.8}))
    return out


def _axis_words(paper: Paper, data: CrashData, style: Style, at: tuple[float, float]) -> None:
    """Names of both axes, once for all panels."""
    y, x_words = at
    k: dict[str, Any] = {"size": style.small}
    middle = 0.5 * (paper.left + VALUES + 1.5 + paper.right)
    text = f"time from {data.zero} (ms); behind each gap the rest of the run, closer together"
    room = (paper.right - paper.left - VALUES - 1.5) * MM
    text = text if width(text, style.small) <= room else text.partition(";")[0]
    paper.figure.text(middle / paper.width, x_words / paper.height, text, ha="center", va="bottom", **k)
    paper.figure.text(
        (paper.left + 0.3) / paper.width, y / paper.height, data.axis, ha="left", va="center", rotation=90, **k
    )
