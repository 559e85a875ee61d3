"""Draws ordinary service: what one situation asks of each candidate against the band it holds."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from simcore.charts.metrics import ELLIPSIS, LEADING, size_of, width, wrap
from simcore.charts.rows import set_rows
from simcore.charts.service_data import Item, Service, ServiceData
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes


THINNEST: Final = 7.0
"""... and at least, where more words could stand below it."""
NEAR_EDGE: Final = 0.94
"""Share of the axis past which a number would touch the first one of the next axis, or leave the paper."""
SHORT: Final = 4
"""Letters that stay on the paper at its right edge."""
AIR: Final = 5.0
"""Points between two numbers."""
THICKEST: Final = 22.0
"""Points a bar is high at most."""


def draw_service(
    ax: Axes, service: Service, data: ServiceData, style: Style | None = None, *, last: bool = True
) -> Axes:
    """Draw one situation on ``ax``, candidates in rows, and give it back; ``last``: no axis stands right of it."""
    style = style_for(data.frame, style)
    set_rows(ax, len(data.names))
    ax.set_xlim(0, data.top)
    _ticks(ax, data.top, last)
    ax.grid(axis="x")
    for n in range(1, len(data.names)):
        ax.axhline(n - 0.5, color=style.color("rule.color"), linewidth=0.5, zorder=1)
    for item in service.items:
        _item(ax, item, len(data.names), data, style)
    return ax


def _ticks(ax: Axes, top: float, last: bool) -> None:
    """Round numbers; one at the right edge stands left of its tick, or goes with it where it has no room there."""
    from matplotlib.ticker import MaxNLocator

    ticks = [float(x) for x in MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, top) if 0.0 <= x <= top]
    texts = [f"{x:g}" for x in ticks]
    ax.set_xticks(ticks, texts)
    if len(ticks) < 2 or ticks[-1] <= NEAR_EDGE * top or (last and len(texts[-1]) <= SHORT):
        return
    label = ax.get_xticklabels()[-1]
    wide = [width(t, float(label.get_fontsize())) for t in texts[-2:]]
    if 0.5 * wide[0] + AIR + wide[1] <= (ticks[-1] - ticks[-2]) / top * size_of(ax)[0]:
        label.set_horizontalalignment("right")
    else:
        ax.set_xticks(ticks[:-1], texts[:-1])


def _item(ax: Axes, item: Item, rows: int, data: ServiceData, style: Style) -> None:
    """Bar and band above, words below, both in the middle of the row."""
    look, size = style.look(item.place), style.small
    wide, high = size_of(ax)
    pitch, step = high / rows, size * LEADING
    words = _fitting(item, wide - 4, style, 1 if pitch < 50 else 2)
    bold = 0 if item.met else len(words)
    room = int((pitch - 4.0 - 1.5 * THINNEST) // step)
    if math.isfinite(item.percent):
        words = [*words, *_more(item, wide - 4, style)][: max(room, 1)]
    thick = min(0.3 * pitch, THICKEST, (pitch - 4.0 - step * len(words)) / 1.5)
    total = 1.5 * thick + 2.0 + step * len(words)
    y, bar = item.place + (0.75 * thick - 0.5 * total) / pitch, thick / pitch
    if math.isfinite(item.asks):
        ax.barh(
            y,
            item.asks,
            height=bar,
            facecolor=style.color("band.color"),
            linewidth=0.6,
            zorder=2,
            edgecolor=style.color("quiet.color"),
        )
    if math.isfinite(item.low):
        ax.barh(
            y,
            item.high - item.low,
            left=item.low,
            height=1.5 * bar,
            facecolor=look.color,
            alpha=0.35,
            linewidth=0,
            zorder=3,
        )
        k: dict[str, Any] = {"color": look.color, "zorder": 4}
        for x in (item.low, item.high):
            ax.plot([x, x], [y - 0.75 * bar, y + 0.75 * bar], linewidth=1.2, marker="", linestyle="-", **k)
        k |= {"marker": look.marker, "linestyle": "none", "markersize": 5.5, "zorder": 5}
        ax.plot([item.setting], [y], markeredgecolor="white", markeredgewidth=0.5, **k)
    for n, text in enumerate(words):
        below = (0.5 * total - (len(words) - n - 0.5) * step) / pitch
        ax.annotate(
            text,
            (0, item.place + below),
            xytext=(2, 0),
            textcoords="offset points",
            size=size,
            va="center",
            ha="left",
            weight="bold" if n < bold else "normal",
        )


def _fitting(item: Item, room: float, style: Style, most: int) -> list[str]:
    """The words in at most ``most`` lines, the brief ones if they do not fit."""
    lines = wrap(item.words, room, style.small, not item.met)
    return lines if len(lines) <= most and not lines[-1].endswith(ELLIPSIS) else [item.brief]


def _more(item: Item, room: float, style: Style) -> list[str]:
    """Nominal and high end, each in one line."""
    return [long if width(long, style.small) <= room else short for long, short in item.more]


def head_lines(service: Service, style: Style, room: float) -> list[str]:
    """Name of the situation and what is expected in it, wrapped to ``room`` points."""
    expect = {"hold": "must hold", "carry": "may slip, must carry on"}.get(service.expect, service.expect)
    return [*wrap(service.situation, room, style.small, True, 2), *wrap(expect, room, style.small, most=1)]


def draw_head(ax: Axes, lines: list[str], style: Style) -> Axes:
    """Words above one situation's axis, the last line quiet."""
    _, high = size_of(ax)
    for n, text in enumerate(reversed(lines)):
        ax.annotate(
            text,
            (0, high + 3 + n * style.small * LEADING),
            xycoords="axes points",
            ha="left",
            va="bottom",
            size=style.small,
            weight="bold" if n else "normal",
            annotation_clip=False,
        )
    return ax
