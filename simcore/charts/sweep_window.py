"""Draws setting windows: one panel a candidate, odds on a logarithmic axis."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, width, wrap
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Look, Style, read_style
from simcore.charts.sweep_window_data import Line, Panel, WindowData

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


DOTS: Final = (0, (1, 1.4))
SIGN: Final = 14.0
"""Points of a sign in the key."""
MOST_LINES: Final = 3
"""Lines of words above a panel; one more above a small one."""
SMALL: Final = 150.0
"""Points of width below which a panel is small."""
_BOUND: Final[dict[str, Any]] = {"marker": "v", "markeredgewidth": 0.7, "linestyle": "none"}
_ROOM: Final[dict[str, Any]] = {"color": "#333333", "linewidth": 1.0, "marker": "|", "markersize": 6, "linestyle": "-"}


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
    _shade(ax, panel.likely, panel.ends, style.color("class.yielding"))
    _shade(ax, panel.sure, panel.ends, style.color("class.slipping"))
    for x, target, place in (
        (panel.damage, data.damage_target, sb.DAMAGE),
        (panel.nuisance, data.nuisance_target, sb.NUISANCE),
    ):
        _odds(ax, x, data.floor, place, style)
        if 0.0 < target < 1.0:
            ax.axhline(target, color=style.look(place).color, linewidth=0.9, linestyle=DOTS, zorder=3)
    if isfinite(panel.chosen):
        look = style.look(panel.head.who.place)
        k: dict[str, Any] = {"markersize": 6, "markeredgecolor": "white", "markeredgewidth": 0.4, "zorder": 6}
        ax.plot([panel.chosen], [1.0], marker=look.marker, color=look.color, linestyle="none", gid="chosen", **k)
        ax.axvline(panel.chosen, color=look.color, linewidth=0.6, linestyle=(0, (1, 2)), zorder=2)
        if panel.room[0] <= panel.room[1]:
            ax.plot(panel.room, [1.0, 1.0], gid="room", zorder=5, **_ROOM)
    return ax


def _shade(ax: Axes, span: tuple[float, float], ends: tuple[bool, bool], color: str) -> None:
    """The span between two edges; an edge that is only the grid's end has no line."""
    if span[0] <= span[1]:
        ax.axvspan(span[0], span[1], facecolor=color, linewidth=0, zorder=0.5)
        for x, only_the_end in zip(span, ends, strict=True):
            if not only_the_end:
                ax.axvline(x, color="#6A6A6A", linewidth=0.7, zorder=0.6)


def _beside(flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Flags and their neighbours, so that lines of the two kinds meet."""
    out = flags.copy()
    out[1:] |= flags[:-1]
    out[:-1] |= flags[1:]
    return out


def _odds(ax: Axes, x: Line, floor: float, place: int, style: Style) -> None:
    look = _look(style, place)
    if len(x.settings) == 1:
        side = 1.0 + (0.003 if x.counted else -0.003)
        s, top = side * float(x.settings[0]), max(float(x.high[0]), floor)
        ends = [max(float(x.low[0]), floor), top]
        ax.plot([s, s], ends, color=look.color, linewidth=3.0, alpha=0.4, marker="", linestyle="-")
        share = max(float(x.share[0]), floor) if x.share[0] > 0.0 else top
        marker = "_" if x.share[0] > 0.0 else 7
        ax.plot([s], [share], color=look.color, marker=marker, markersize=9, linestyle="none")
        return
    high = np.where(np.isfinite(x.share) & (x.high > floor), x.high, np.nan)
    told = np.where(x.bound, np.nan, np.where(x.share > 0.0, x.share, 1e-3 * floor))
    band = np.where(np.isfinite(told), np.maximum(x.low, floor), np.nan)
    ax.fill_between(x.settings, band, np.maximum(x.high, floor), facecolor=look.color, alpha=0.2, linewidth=0, zorder=2)
    ax.plot(x.settings, high, color=look.color, linewidth=0.6, linestyle=look.line, marker="", zorder=2.5)
    k: dict[str, Any] = {"color": look.color, "linestyle": look.line}
    few = np.where(_beside(x.bound), np.where(x.share > 0.0, x.share, 1e-3 * floor), np.nan)
    if not x.counted:  # a law says how it goes on; what was counted says no more than the bound
        ax.plot(x.settings, few, linewidth=0.6, marker="", zorder=3, gid="few", **k)
    ax.plot(x.settings, told, linewidth=1.4, marker="." if x.counted else "", markersize=4, zorder=4, gid="told", **k)
    at = np.isin(x.settings, x.marked)
    face, big = (look.color, 4.8) if place == sb.DAMAGE else ("white", 2.6)  # one is seen around the other
    ax.plot(x.settings[at], 0.93 * high[at], markerfacecolor=face, markersize=big, color=look.color, **_BOUND,
            zorder=4.0 + (place != sb.DAMAGE))  # fmt: skip


def _look(style: Style, place: int) -> Look:
    """Damage is a whole line, nuisance a dashed one, for grey prints."""
    return style.look(place)._replace(line="-" if place == sb.DAMAGE else (0, (5, 1.5)))


def window_page(data: WindowData, style: Style, size: str = "page") -> Figure:
    count = max(len(data.panels), 1)
    paper = Paper(data.frame, style, sized(size, 32.0 + 46.0 * -(-count // 2) if size == "column" else 0.0))
    key = _key_lines(data, (paper.room.right - paper.room.left) * MM, style)
    line = style.small * LEADING / MM
    foot = len(key) * line + 3.5
    words = [words_above(p, sb.panel_room(paper, count), style) for p in data.panels]
    head = 1.4 + max(len(w) for w in words)
    axes = sb.panels(paper, len(data.panels), head * line + 0.4, foot)
    for ax, panel, said in zip(axes, data.panels, words, strict=True):
        draw_window(ax, panel, data, style)
        sb.heading(ax, panel.head._replace(words="\n".join(said)), style)
    sb.label_axes(paper, data.axis, "share of cases", foot, style)
    _key(paper, key, style)
    return paper.figure


def words_above(panel: Panel, room: float, style: Style) -> list[str]:
    """The window in words, as many sentences as go into ``MOST_LINES`` of ``room`` points; the brief form if not even
    the first does."""
    most = MOST_LINES + (room < SMALL)
    said: list[str] = []
    found: list[str] = []
    for n, sentence in enumerate(panel.said):
        lines = wrap(" ".join([*said, sentence]), room, style.small)
        if len(lines) <= most:
            said.append(sentence)
            found = lines
        elif n == 0:
            break
    return found or [line for t in panel.brief for line in wrap(t, room, style.small)]


def _key_lines(data: WindowData, room: float, style: Style) -> list[list[tuple[float, str, str]]]:
    """Lines of (place from the left, text, sign) [points] that fit into ``room``: odds, targets, windows."""
    items = [
        ("damage in a crash", "damage"),
        (f"target {sb.percent(data.damage_target)}", "damage target"),
        ("nuisance trip", "nuisance"),
        (f"target {sb.percent(data.nuisance_target)}", "nuisance target"),
        ("too few seen: below", "none"),
        ("likely", "class.yielding"),
        ("95 % sure window", "class.slipping"),
    ]
    if any(p.room[0] <= p.room[1] for p in data.panels):
        items.append(("room for the tolerance", "room"))
    lines: list[list[tuple[float, str, str]]] = [[]]
    x = 0.0
    for text, what in items:
        wide = SIGN + 3.0 + width(text, style.small)
        if x + wide > room and lines[-1]:
            x = 0.0
            lines.append([])
        lines[-1].append((x, text, what))
        x += wide + 6.0
    return lines


def _key(paper: Paper, lines: list[list[tuple[float, str, str]]], style: Style) -> None:
    """The lines at the foot."""
    r = paper.room
    line = style.small * LEADING / MM
    ax = paper.axes(r.left, r.bottom, r.right, r.bottom + len(lines) * line)
    ax.set_axis_off()
    ax.set_xlim(0, (r.right - r.left) * MM)
    ax.set_ylim(0, len(lines) * line * MM)
    for i, items in enumerate(lines):
        y = (len(lines) - i - 0.5) * line * MM
        for x, text, what in items:
            _sign(ax, x, y, what, style)
            ax.annotate(text, (x + SIGN + 3.0, y), va="center", size=style.small, annotation_clip=False)


def _sign(ax: Axes, x: float, y: float, what: str, style: Style) -> None:
    from matplotlib.patches import Rectangle

    k: dict[str, Any] = {"clip_on": False}
    if what == "none":
        for dx, face, big in ((0.25, "#333333", 4.8), (0.75, "white", 2.6)):
            ax.plot([x + dx * SIGN], [y], color="#333333", markerfacecolor=face, markersize=big, **_BOUND, **k)
    elif what == "room":
        ax.plot([x, x + SIGN], [y, y], **_ROOM, **k)
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
