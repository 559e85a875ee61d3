"""Draws the trade-off: two panels of settings with their fronts, names beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.base import SPACE
from simcore.charts.metrics import LEADING, size_of
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_tradeoff_data import Points, TradeoffData
from simcore.sweep.statistics import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NEVER_ROOM: Final = 30.0
"""Points left of 'never' in which no number stands."""


def draw_tradeoff(ax: Axes, data: TradeoffData, style: Style | None = None, *, quiet: bool = False) -> Axes:
    """Peak against disconnect time (``quiet``: against nuisance odds) on ``ax``; gives it back."""
    style = style or read_style()
    xs = [p.nuisance if quiet else p.time for p in data.candidates]
    never = None if quiet else _never(ax, xs, style)
    shown = [np.where(np.isinf(x), np.nan if never is None else never, x) for x in xs]
    _limits(ax, data, shown, quiet)
    ax.grid()
    ax.axhline(100.0, color=style.color("allowable.color"), linewidth=style.number("allowable.width"), zorder=2)
    if quiet and data.nuisance_target > data.floor:
        ax.axvline(data.nuisance_target, color=style.look(sb.NUISANCE).color, linewidth=0.9, linestyle=(0, (1, 1.4)))
    _front(ax, data, shown, quiet, style)
    for p, x in zip(data.candidates, shown, strict=True):
        _points(ax, p, x, p.quiet if quiet else p.fast, style)
    _names(ax, data, shown, quiet, style)
    return ax


def _never(ax: Axes, xs: list[Floats], style: Style) -> float | None:
    """Place of 'never' right of the longest time, marked by a line; None if all disconnect."""
    if not any(np.isinf(x).any() for x in xs):
        return None
    longest = max((float(x[np.isfinite(x)].max()) for x in xs if np.isfinite(x).any()), default=1.0)
    at = 1.14 * longest
    ax.axvline(1.07 * longest, color=style.color("rule.color"), linewidth=0.8)
    return at


def _limits(ax: Axes, data: TradeoffData, shown: list[Floats], quiet: bool) -> None:
    use = np.concatenate([p.use for p in data.candidates])
    use = use[np.isfinite(use)]
    low, high = (float(use.min()), float(use.max())) if len(use) else (0.0, 100.0)
    high, low = max(high, 103.0), min(low, 97.0)
    ax.set_ylim(low - 0.09 * (high - low), high + 0.09 * (high - low))
    x = np.concatenate(shown)
    x = x[np.isfinite(x)]
    if quiet:
        ax.set_xscale("log")
        ax.set_xlim(0.7 * data.floor, 1.6)
        decades = [t for t in (1.0, 1e-2, 1e-4, 1e-6) if t >= 300.0 * data.floor]
        least = f"\u2264\u2009{sb.percent(data.floor)}".replace(SPACE, "\u2009")
        ax.set_xticks([data.floor, *decades], [least, *(sb.percent(t).replace(SPACE, "\u2009") for t in decades)])
        ax.xaxis.set_ticks([], minor=True)
        ax.get_xticklabels()[0].set_horizontalalignment("left")
        return
    a, b = (float(x.min()), float(x.max())) if len(x) else (0.0, 1.0)
    pad = max(0.08 * (b - a), 0.02 * b, 1e-6)
    ax.set_xlim(max(0.0, a - pad), b + pad)
    ax.locator_params(axis="x", nbins=5)
    never = [s for s, p in zip(shown, data.candidates, strict=True) if np.isinf(p.time).any()]
    if never:
        place = max(float(s.max()) for s in never)
        low, high = ax.get_xlim()
        clear = NEVER_ROOM * (high - low) / size_of(ax)[0]
        ticks = [t for t in ax.get_xticks() if low <= t < min(place / 1.09, place - clear)]
        ax.set_xticks([*ticks, place], [*(f"{t:g}" for t in ticks), "never"])


def _front(ax: Axes, data: TradeoffData, shown: list[Floats], quiet: bool, style: Style) -> None:
    x, y = _steps(data, shown, quiet)
    ax.plot(x, y, color="#8A8A8A", linewidth=2.6, alpha=0.55, marker="", zorder=2)


def _steps(data: TradeoffData, shown: list[Floats], quiet: bool) -> tuple[Floats, Floats]:
    """The front as a line of steps: level up to the next setting, then down to it."""
    on = [p.quiet if quiet else p.fast for p in data.candidates]
    x = np.concatenate([s[o] for s, o in zip(shown, on, strict=True)])
    y = np.concatenate([p.use[o] for p, o in zip(data.candidates, on, strict=True)])
    order = np.argsort(x)
    return np.repeat(x[order], 2)[1:], np.repeat(y[order], 2)[:-1]


def _points(ax: Axes, p: Points, x: Floats, on: Any, style: Style) -> None:
    look = style.look(p.who.place)
    k: dict[str, Any] = {"color": look.color, "marker": look.marker, "linestyle": "none"}
    ax.plot(x, p.use, color=look.color, linestyle="-", linewidth=0.5, marker="", alpha=0.6, zorder=2.5)
    ax.plot(x[~on], p.use[~on], markersize=2.5, alpha=0.6, zorder=3, **k)
    ax.plot(x[on], p.use[on], markersize=3.8, zorder=4, markeredgecolor="#111111", markeredgewidth=0.6, **k)
    c = p.chosen
    edge = "#111111" if on[c] else "white"
    ax.plot(x[[c]], p.use[[c]], markersize=7.5, zorder=5, markeredgecolor=edge, markeredgewidth=0.9, **k)


def _names(ax: Axes, data: TradeoffData, shown: list[Floats], quiet: bool, style: Style) -> None:
    """Names of the chosen settings on the front, where there is room for them."""
    from simcore.charts.sweep_labels import place_names

    marks = [(x, p.use) for x, p in zip(shown, data.candidates, strict=True)]
    names = []
    for n, (p, x) in enumerate(zip(data.candidates, shown, strict=True)):
        on = p.quiet if quiet else p.fast
        if on.any():
            at = np.array([p.chosen]) if on[p.chosen] else np.flatnonzero(on)
            names.append((p.who.name, n, x[at], p.use[at]))
    lines = [_steps(data, shown, quiet), (np.array(ax.get_xlim()), np.full(2, 100.0))]
    lines += [(x, p.use) for x, p in zip(shown, data.candidates, strict=True)]
    if quiet and data.nuisance_target > data.floor:
        lines.append((np.full(2, data.nuisance_target), np.array(ax.get_ylim())))
    place_names(ax, names, marks, style, lines)


def tradeoff_page(data: TradeoffData, style: Style, size: str = "page") -> Figure:
    who = [p.who for p in data.candidates]
    step = 3.6 * style.small * LEADING / MM
    paper = Paper(data.frame, style, sized(size, 125.0 + step * len(who) if size == "column" else 0.0))
    r = paper.room
    help_line = style.small * LEADING / MM + 1.0
    left, bottom = r.left + VALUES + 2.0, r.bottom + help_line + TICKS
    if paper.narrow:
        key = step * len(who)
        low = bottom + key
        middle = 0.5 * (low + r.top)
        boxes = [(left, middle + 5.0, r.right - 1, r.top - 1), (left, low, r.right - 1, middle - 5.0)]
        room = (r.right - r.left) * MM
        place = (r.left, r.bottom + help_line, r.right, r.bottom + help_line + key)
    else:
        room = sb.key_room(who, style, 55.0 * MM)
        right = r.right - room / MM - 3.0
        half = 0.5 * (left + right)
        boxes = [(left, bottom, half - 1.5, r.top - 1), (half + 1.5, bottom, right, r.top - 1)]
        place = (r.right - room / MM, r.bottom, r.right, r.top - 1)
    axes = [paper.axes(*b) for b in boxes]
    for ax, quiet in zip(axes, (False, True), strict=True):
        draw_tradeoff(ax, data, style, quiet=quiet)
        ax.set_xlabel("ordinary events that trip (estimate)" if quiet else "median time to disconnect (ms)")
    axes[0].set_ylabel("peak over allowable (%)" if paper.narrow else "peak over allowable, 95 % point (%)")
    if paper.narrow:
        axes[1].set_ylabel("peak over allowable (%)")
        for ax in axes:
            ax.yaxis.label.set_fontsize(style.small)
    else:
        axes[1].tick_params(labelleft=False)
    bold = [bool(p.fast[p.chosen] or p.quiet[p.chosen]) for p in data.candidates]
    sb.draw_key(paper.axes(*place), who, bold, room, style)
    words = f"dark rims, grey steps{', bold names' if any(bold) else ''}: nothing is better in both"
    if data.nuisance_target > data.floor and not paper.narrow:
        words += f"; dotted: target {sb.percent(data.nuisance_target)}; black: what is allowable"
    sb.foot_line(paper, words, style)
    return paper.figure
