"""Draws setting windows: one panel a candidate, odds on a logarithmic axis."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, width
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Look, Style, read_style
from simcore.charts.sweep_window_data import Line, Panel, WindowData

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


DOTS: Final = (0, (1, 1.4))
SIGN: Final = 14.0
"""Points of a sign in the key."""


def draw_window(ax: Axes, panel: Panel, data: WindowData, style: Style | None = None) -> Axes:
    """Draw one candidate's odds, targets and window on ``ax`` and give it back."""
    style = style or read_style()
    ax.set_yscale("log")
    ax.set_ylim(data.floor, 1.6)
    settings = np.concatenate([panel.damage.settings, panel.nuisance.settings])
    low, high = float(settings.min()), float(settings.max())
    pad = 0.02 * (high - low) if high > low else 0.1 * abs(low)
    ax.set_xlim(low - pad, high + pad)
    sb.inner_ticks(ax)
    sb.share_ticks(ax, data.floor)
    ax.grid(axis="y")
    _shade(ax, panel.likely, style.color("class.yielding"))
    _shade(ax, panel.sure, style.color("class.slipping"))
    for x, target, place in (
        (panel.damage, data.damage_target, sb.DAMAGE),
        (panel.nuisance, data.nuisance_target, sb.NUISANCE),
    ):
        _odds(ax, x, data.floor, _look(style, place))
        if 0.0 < target < 1.0:
            ax.axhline(target, color=style.look(place).color, linewidth=0.9, linestyle=DOTS, zorder=3)
    if isfinite(panel.chosen):
        look = style.look(panel.head.who.place)
        k: dict[str, Any] = {"markersize": 6, "markeredgecolor": "white", "markeredgewidth": 0.4, "zorder": 6}
        ax.plot([panel.chosen], [1.0], marker=look.marker, color=look.color, linestyle="none", gid="chosen", **k)
        ax.axvline(panel.chosen, color=look.color, linewidth=0.6, linestyle=(0, (1, 2)), zorder=2)
    return ax


def _shade(ax: Axes, span: tuple[float, float], color: str) -> None:
    if span[0] <= span[1]:
        ax.axvspan(span[0], span[1], facecolor=color, linewidth=0, zorder=0.5)
        for x in span:
            ax.axvline(x, color="#8A8A8A", linewidth=0.5, zorder=0.6)


def _odds(ax: Axes, x: Line, floor: float, look: Look) -> None:
    if len(x.settings) == 1:
        side = 1.0 + (0.003 if x.counted else -0.003)
        s, top = side * float(x.settings[0]), max(float(x.high[0]), floor)
        ends = [max(float(x.low[0]), floor), top]
        ax.plot([s, s], ends, color=look.color, linewidth=3.0, alpha=0.4, marker="", linestyle="-")
        share = max(float(x.share[0]), floor) if x.share[0] > 0.0 else top
        marker = "_" if x.share[0] > 0.0 else 7
        ax.plot([s], [share], color=look.color, marker=marker, markersize=9, linestyle="none")
        return
    shown = np.isfinite(x.share)
    band, line = np.where(shown, np.maximum(x.low, floor), np.nan), x.share
    high = np.where(shown, np.maximum(x.high, floor), np.nan)
    ax.fill_between(x.settings, band, high, facecolor=look.color, alpha=0.2, linewidth=0, zorder=2)
    ax.plot(x.settings, high, color=look.color, linewidth=0.5, linestyle="-", marker="", zorder=2.5)
    ax.plot(
        x.settings,
        np.where(line > 0.0, line, 1e-3 * floor),
        color=look.color,
        linewidth=1.4,
        linestyle=look.line,
        marker="." if x.counted else "",
        markersize=4,
        zorder=4,
    )
    at = np.isin(x.settings, x.none_seen)
    ax.plot(x.settings[at], high[at], marker=7, markersize=3.5, color=look.color, linestyle="none", zorder=4)


def _look(style: Style, place: int) -> Look:
    """Damage is a whole line, nuisance a dashed one, for grey prints."""
    return style.look(place)._replace(line="-" if place == sb.DAMAGE else (0, (5, 1.5)))


def window_page(data: WindowData, style: Style, size: str = "page") -> Figure:
    count = max(len(data.panels), 1)
    paper = Paper(data.frame, style, sized(size, 32.0 + 38.0 * -(-count // 2) if size == "column" else 0.0))
    lines = 3 if paper.narrow else 1
    line = style.small * LEADING / MM
    foot = lines * line + 3.5
    axes = sb.panels(paper, len(data.panels), sb.HEAD_LINES * line + 0.4, foot)
    for ax, panel in zip(axes, data.panels, strict=True):
        draw_window(ax, panel, data, style)
        sb.heading(ax, panel.head, style)
    sb.label_axes(paper, data.axis, "share of cases", foot, style)
    _key(paper, data, style, lines)
    return paper.figure


def _key(paper: Paper, data: WindowData, style: Style, lines: int) -> None:
    """Damage, nuisance, their targets and windows, in one or two lines."""
    r = paper.room
    line = style.small * LEADING / MM
    ax = paper.axes(r.left, r.bottom, r.right, r.bottom + lines * line)
    ax.set_axis_off()
    ax.set_xlim(0, (r.right - r.left) * MM)
    ax.set_ylim(0, lines * line * MM)
    items = [
        ("damage in a crash", "damage"),
        (f"target {sb.percent(data.damage_target)}", "damage target"),
        ("nuisance trip", "nuisance"),
        (f"target {sb.percent(data.nuisance_target)}", "nuisance target"),
        ("none seen: below", "none"),
        ("likely", "class.yielding"),
        ("95 % sure window", "class.slipping"),
    ]
    each = -(-len(items) // lines)
    for i in range(lines):
        x, y = 0.0, (lines - i - 0.5) * line * MM
        for text, what in items[i * each : (i + 1) * each]:
            _sign(ax, x, y, what, style)
            ax.annotate(text, (x + SIGN + 3.0, y), va="center", size=style.small, annotation_clip=False)
            x += SIGN + 3.0 + width(text, style.small) + (5.0 if paper.narrow else 9.0)


def _sign(ax: Axes, x: float, y: float, what: str, style: Style) -> None:
    from matplotlib.patches import Rectangle

    k: dict[str, Any] = {"clip_on": False}
    if what == "none":
        ax.plot([x + 0.5 * SIGN], [y], color="#333333", marker=7, markersize=3.5, linestyle="none", **k)
    elif what.startswith("class"):
        box: dict[str, Any] = {"facecolor": style.color(what), "edgecolor": "#8A8A8A", "linewidth": 0.5}
        ax.add_patch(Rectangle((x, y - 3.0), SIGN, 6.0, **box, **k))
    else:
        look = _look(style, sb.DAMAGE if what.startswith("damage") else sb.NUISANCE)
        dotted = what.endswith("target")
        if not dotted:
            ax.add_patch(Rectangle((x, y - 3.0), SIGN, 6.0, facecolor=look.color, alpha=0.2, linewidth=0, **k))
        ax.plot(
            [x, x + SIGN],
            [y, y],
            color=look.color,
            linestyle=DOTS if dotted else look.line,
            linewidth=0.9 if dotted else 1.4,
            marker="",
            **k,
        )
