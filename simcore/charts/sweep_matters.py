"""Draws what matters: bars of variance shares with intervals, and the mean between the ends of each input."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any, Final

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, cut, size_of, width, wrap
from simcore.charts.paper import MM, TICKS, Paper, sized
from simcore.charts.rows import set_rows
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_matters_data import Effects, MattersData

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


TOO_FEW: Final = "too few cases for shares"
STILL: Final = "it does not vary"


def draw_shares(ax: Axes, e: Effects, style: Style | None = None) -> Axes:
    """Bars of first-order share (dark) and, in a paired design, total (light, behind) on ``ax``."""
    style = style or read_style()
    set_rows(ax, len(e.bars))
    ax.set_xlim(0.0, 100.0)
    ax.grid(axis="x")
    ax.set_xticks([0, 25, 50, 75, 100])
    if not any(isfinite(x.value) for b in e.bars for x in (b.first, b.total)):
        k: dict[str, Any] = {"xycoords": "axes fraction", "ha": "center", "va": "center", "size": style.small}
        k["bbox"] = {"boxstyle": "square,pad=0.2", "facecolor": "white", "edgecolor": "none"}
        still = all(b.low == b.high for b in e.bars)
        ax.annotate(STILL if still else TOO_FEW, (0.5, 0.5), color=style.color("quiet.color"), **k)
    for i, b in enumerate(e.bars):
        for x, y, high, color in ((b.total, i + 0.17, 0.3, "#BFBFBF"), (b.first, i - 0.15, 0.3, "#4A4A4A")):
            place = y if e.paired else float(i)
            if not isfinite(x.value):
                continue
            ax.barh(place, 100.0 * max(x.value, 0.0), height=high if e.paired else 0.5, color=color, zorder=2)
            ends = [100.0 * min(max(v, 0.0), 1.0) for v in (x.low, x.high)]
            for shade, thick in (("white", 2.2), ("#111111", 0.9)):
                ax.plot(ends, [place, place], color=shade, linewidth=thick, marker="", linestyle="-", zorder=3)
            ax.plot(ends, [place, place], color="#111111", marker="|", markersize=4, linestyle="none", zorder=3)
    return ax


def draw_ends(ax: Axes, e: Effects, style: Style | None = None) -> Axes:
    """Mean with the input in its lowest (open) and highest (filled) fifth on ``ax``; the line: mean of all."""
    style = style or read_style()
    set_rows(ax, len(e.bars))
    ax.grid(axis="x")
    if isfinite(e.middle):
        ax.axvline(e.middle, color=style.color("quiet.color"), linewidth=0.8, zorder=1)
    k: dict[str, Any] = {"linestyle": "none", "markersize": 5, "zorder": 4, "color": "#111111"}
    for i, b in enumerate(e.bars):
        ax.plot([b.low, b.high], [i, i], color="#4A4A4A", linewidth=2.0, marker="", linestyle="-", zorder=3)
        ax.plot([b.low], [i], marker="o", markerfacecolor="white", markeredgewidth=1.0, **k)
        ax.plot([b.high], [i], marker="o", **k)
    a, b2 = ax.get_xlim()
    pad = 0.06 * (b2 - a)
    ax.set_xlim(a - pad, b2 + pad)
    sb.inner_ticks(ax)
    return ax


def matters_page(data: MattersData, style: Style, size: str = "page") -> Figure:
    rows = max(len(data.panels[0].bars), 1)
    each = 20.0 + 6.5 * rows
    paper = Paper(data.frame, style, sized(size, 28.0 + each * len(data.panels) if size == "column" else 0.0))
    r = paper.room
    line = style.small * LEADING / MM
    bottom = r.bottom + line + 1.0
    names = max((width(b.name, style.small) for p in data.panels for b in p.bars), default=30.0)
    names = min(names, (24.0 if paper.narrow else 42.0) * MM) / MM + 2.0
    step = (r.top - bottom) / len(data.panels)
    for n, e in enumerate(data.panels):
        top, low = r.top - n * step - line - 2.0, r.top - (n + 1) * step + TICKS + 0.5
        left = r.left + names
        ranks = 0.0 if paper.narrow else 17.0
        middle = left + 0.5 * (r.right - left - ranks)
        one = paper.axes(left, low, middle - 3.0, top)
        two = paper.axes(middle + 3.0, low, r.right - ranks - 3.0, top)
        draw_shares(one, e, style)
        draw_ends(two, e, style)
        one.set_xlabel("share of variance (%)")
        two.set_xlabel(f"mean{'' if paper.narrow else f' {e.title}'} ({e.unit})")
        _names(one, e, names * MM, style)
        if ranks:
            _ranks(two, e, style)
        _head(one, e, (r.right - r.left) * MM, names * MM, style)
    text = "open: lowest fifth of the input, filled: highest fifth, line: all"
    bars = "dark: alone, light: with others; " if data.panels[0].paired else ""
    sb.foot_line(paper, bars + text, style)
    return paper.figure


def _head(ax: Axes, e: Effects, room: float, names: float, style: Style) -> None:
    _, high = size_of(ax)
    failed = f", {e.failed:,} failed" if e.failed else ""
    text = cut(f"{e.title}: {e.cases:,} cases{failed}", room, style.small, True)
    ax.annotate(
        text, (-names, high + 3.0), xycoords="axes points", size=style.small, weight="bold", annotation_clip=False
    )


def _names(ax: Axes, e: Effects, room: float, style: Style) -> None:
    _, high = size_of(ax)
    step = high / max(len(e.bars), 1)
    most = max(1, int(step // (style.small * LEADING)))
    for i, b in enumerate(e.bars):
        lines = wrap(b.name, room - 6.0, style.small, most=min(2, most))
        y = high - (i + 0.5) * step + 0.5 * style.small * LEADING * (len(lines) - 1)
        for j, t in enumerate(lines):
            ax.annotate(
                t, (-4.0, y - j * style.small * LEADING), xycoords="axes points", ha="right", va="center",
                size=style.small, annotation_clip=False,
            )  # fmt: skip


def _ranks(ax: Axes, e: Effects, style: Style) -> None:
    """Rank correlations beside the rows."""
    wide, high = size_of(ax)
    step = high / max(len(e.bars), 1)
    k: dict[str, Any] = {"xycoords": "axes points", "ha": "right", "size": style.small, "annotation_clip": False}
    x = wide + 19.0 * MM
    ax.annotate("rank correl.", (x, high + 3.0), color=style.color("quiet.color"), **k)
    for i, b in enumerate(e.bars):
        text = (
            f"{b.rank.value:.2f}".replace("-0.00", "0.00").replace("-", "\u2212")
            if isfinite(b.rank.value)
            else "\u2013"
        )
        ax.annotate(text, (x, high - (i + 0.5) * step), va="center", **k)
