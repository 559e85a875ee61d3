"""Draws exceedance curves of the peak, a panel a limit, over the peak in % of what it bears."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, cut, size_of, width
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_exceedance import draw_curves, lowest
from simcore.charts.sweep_limits_data import Panel, SweepLimitsData, over

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ALLOWABLE: Final = 100.0


def draw_limit(ax: Axes, panel: Panel, data: SweepLimitsData, span: tuple[float, float], style: Style | None = None
               ) -> Axes:  # fmt: skip
    """Draw one limit on ``ax`` over ``span`` [%] and give it back."""
    style = style or read_style()
    draw_curves(ax, panel.curves, data.banded, lowest([c for p in data.panels for c in p.curves], data.target), style)
    ax.set_xlim(*span)
    ax.axvline(ALLOWABLE, color=style.color("allowable.color"), linewidth=style.number("allowable.width"))
    if 0.0 < data.target < 1.0:
        ax.axhline(data.target, color=style.look(sb.DAMAGE).color, linewidth=0.9, linestyle=(0, (1, 1.4)), zorder=2)
    sb.inner_ticks(ax)
    return ax


def heading(ax: Axes, panel: Panel, style: Style) -> Axes:
    """The limit's name, what it bears and how many cases passed it, in two lines above the panel."""
    wide, high = size_of(ax)
    size = style.small
    k: dict[str, Any] = {"xycoords": "axes points", "size": size, "annotation_clip": False, "va": "bottom"}
    ax.annotate(cut(panel.name, wide, size, True), (0.0, high + 2.0 + size * LEADING), weight="bold", **k)
    ax.annotate(cut(_words(panel), wide + 4.0, size), (0.0, high + 2.0), **k)
    return ax


def _words(panel: Panel) -> str:
    passed, cases = sum(over(c) for c in panel.curves), sum(c.cases for c in panel.curves)
    return f"{panel.words}; {f'{passed:,} of {cases:,}' if passed else 'none'} over"


def limits_page(data: SweepLimitsData, style: Style, size: str = "page") -> Figure:
    who = [c.who for c in data.panels[0].curves] if data.panels else []
    count = max(len(data.panels), 1)
    step = 2.4 * style.small * LEADING / MM
    down = -(-count // (2 if size == "column" else sb.ACROSS[count]))
    paper = Paper(data.frame, style, sized(size, 30.0 + 46.0 * down + step * len(who) if size == "column" else 0.0))
    line = style.small * LEADING / MM
    head, words = 2.2 * line, line + 1.0
    most = 0.5 * (paper.room.right - paper.room.left) * MM
    room = min(sb.key_room(who, style, most), most)
    columns = max(1, min(len(who), int((paper.room.right - paper.room.left) * MM // max(room, 1.0))))
    lines = -(-len(who) // columns)
    key = lines * step
    foot = words + key + line + 1.5
    for i, (ax, panel) in enumerate(zip(sb.panels(paper, count, head, foot), data.panels, strict=False)):
        draw_limit(ax, panel, data, _span(data), style)
        heading(ax, panel, style)
        if i == 0:
            _say(ax, data, style)
    sb.label_axes(paper, "peak in % of what the limit bears", "share of crashes at or above", words + key + 2.2, style)
    _key(paper, data, who, columns, words, key, style)
    sb.foot_line(paper, "marks: median, 95 % point; band: 90 %, of the bold one", style)
    return paper.figure


def _span(data: SweepLimitsData) -> tuple[float, float]:
    peaks = [c.peak for p in data.panels for c in p.curves if c.cases]
    low, high = min(float(p[0]) for p in peaks), max(float(p[-1]) for p in peaks)
    wide = max(high, ALLOWABLE) - min(low, ALLOWABLE)
    return max(0.0, min(low, ALLOWABLE) - 0.03 * wide), max(high, ALLOWABLE) + 0.06 * wide


def _say(ax: Axes, data: SweepLimitsData, style: Style) -> None:
    """The words of both lines, in the first panel."""
    white: dict[str, Any] = {"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.8}
    k: dict[str, Any] = {"textcoords": "offset points", "size": style.small, "zorder": 5, "bbox": white}
    a, b = ax.get_xlim()
    room = (b - ALLOWABLE) / (b - a) * size_of(ax)[0]
    right = room > width("allowable", style.small) + 4.0
    ax.annotate("allowable", (ALLOWABLE, 1.0), xytext=(3 if right else -3, 0), va="center",
                ha="left" if right else "right", **k)  # fmt: skip
    if 0.0 < data.target < 1.0:
        ax.annotate(f"target {sb.percent(data.target)}", (0.0, data.target), xycoords=("axes fraction", "data"),
                    xytext=(3, 2), va="bottom", **k)  # fmt: skip


def _key(paper: Paper, data: SweepLimitsData, who: list[sb.Named], columns: int, low: float, high: float, style: Style
         ) -> None:  # fmt: skip
    r = paper.room
    wide = (r.right - r.left) / columns
    rows = -(-len(who) // columns)
    bold = [i == data.banded for i in range(len(who))]
    for j in range(columns):
        part = slice(j * rows, (j + 1) * rows)
        if who[part]:
            x0 = r.left + j * wide
            share = len(who[part]) / rows
            ax = paper.axes(x0, r.bottom + low + high * (1.0 - share), x0 + wide - 1.0, r.bottom + low + high)
            sb.draw_key(ax, who[part], bold[part], (wide - 1.0) * MM, style)
