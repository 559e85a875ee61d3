"""Draws exceedance curves of the peak on a logarithmic axis of shares."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, isfinite, log10
from typing import TYPE_CHECKING, Any

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, size_of, width
from simcore.charts.paper import MM, TICKS, VALUES, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_exceedance_data import Curve, ExceedanceData, marked, marks_told

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def draw_exceedance(ax: Axes, data: ExceedanceData, style: Style | None = None) -> Axes:
    """Draw all candidates, the best one with its band, on ``ax`` and give it back."""
    style = style or read_style()
    draw_curves(ax, data.curves, data.banded, lowest(data.curves, data.target), style)
    return levels(ax, data.allowable, data.allowable_text, data.target, style)


def lowest(curves: Sequence[Curve], target: float) -> float:
    """Lower end of the axis of shares: below one of the most cases and below the target."""
    most = max((c.cases for c in curves), default=1)
    return float(10.0 ** floor(log10(min(0.9 / max(most, 10), 0.5 * target if target > 0 else 1.0))))


def draw_curves(ax: Axes, curves: Sequence[Curve], banded: int, low: float, style: Style) -> Axes:
    """Draw exceedance curves, that of ``banded`` with its band, over shares from ``low`` on."""
    ax.set_yscale("log")
    ax.set_ylim(low, 1.4)
    sb.share_ticks(ax, low)
    ax.grid(axis="y")
    for i, c in enumerate(curves):
        if not c.cases:
            continue
        look = style.look(c.who.place)
        if i == banded:
            band = np.maximum(c.low, 0.1 * low)
            ax.fill_between(c.peak, band, c.high, step="pre", facecolor=look.color, alpha=0.2, linewidth=0, zorder=1.5)
        k: dict[str, Any] = {"color": look.color, "linestyle": look.line, "linewidth": look.width}
        ax.plot(c.peak, c.share, drawstyle="steps-pre", marker="", zorder=3, gid="curve", **k)  # ends at 1 of n cases
        at = marked(c)
        ax.plot(
            c.peak[at], c.share[at], marker=look.marker, color=look.color, linestyle="none", markersize=4.5,
            markeredgecolor="white", markeredgewidth=0.4, zorder=4,
        )  # fmt: skip
    return ax


def levels(ax: Axes, allowable: float, text: str, target: float, style: Style) -> Axes:
    """The allowable as an upright line with ``text``, and the target; without ``text`` the lines alone."""
    quiet: dict[str, Any] = {"textcoords": "offset points", "size": style.small, "zorder": 5}
    white: dict[str, Any] = {"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.8}
    if isfinite(allowable):
        ax.axvline(allowable, color=style.color("allowable.color"), linewidth=style.number("allowable.width"))
        a, b = ax.get_xlim()
        ax.set_xlim(a, max(b, allowable + 0.04 * (b - a)))
        a, b = ax.get_xlim()
        wide, _ = size_of(ax)
        room = (b - allowable) / (b - a) * wide
        right = room > width(text, style.small) + 4.0
        if text:
            ax.annotate(
                text, (allowable, 1.0), xytext=(3 if right else -3, 0), va="center",
                ha="left" if right else "right", bbox=white, **quiet,
            )  # fmt: skip
    if 0.0 < target < 1.0:
        ax.axhline(target, color=style.look(sb.DAMAGE).color, linewidth=0.9, linestyle=(0, (1, 1.4)), zorder=2)
        if text:
            ax.annotate(
                f"target {sb.percent(target)}", (0.0, target), xycoords=("axes fraction", "data"),
                xytext=(3, 2), va="bottom", bbox=white, **quiet,
            )  # fmt: skip
    return ax


def exceedance_page(data: ExceedanceData, style: Style, size: str = "page") -> Figure:
    who = [c.who for c in data.curves]
    step = 3.6 * style.small * LEADING / MM
    paper = Paper(data.frame, style, sized(size, 80.0 + step * len(who) if size == "column" else 0.0))
    r = paper.room
    help_line = style.small * LEADING / MM + 1.0
    left, bottom = r.left + VALUES + 4.0, r.bottom + help_line + TICKS
    if paper.narrow:
        key = step * len(who)
        ax = paper.axes(left, bottom + key, r.right - 1, r.top - 1)
        room = (r.right - r.left) * MM
        beside = paper.axes(r.left, r.bottom + help_line, r.right, r.bottom + help_line + key)
    else:
        room = sb.key_room(who, style, 50.0 * MM)
        ax = paper.axes(left, bottom, r.right - room / MM - 4.0, r.top - 1)
        beside = paper.axes(r.right - room / MM, r.bottom, r.right, r.top - 1)
    draw_exceedance(ax, data, style)
    ax.set_xlabel(data.axis)
    ax.set_ylabel("share of crashes at or above")
    sb.draw_key(beside, who, [i == data.banded for i in range(len(who))], room, style)
    words = f"{marks_told(data.curves)}band: 90 %, of the bold one"
    words += "" if paper.narrow else "; a curve ends at its largest case"
    sb.foot_line(paper, words, style)
    return paper.figure
