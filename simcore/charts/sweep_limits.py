"""Draws exceedance curves of the peak, a panel a limit, over the peak in % of what it bears."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from simcore.charts import sweep_base as sb
from simcore.charts.metrics import LEADING, cut, size_of
from simcore.charts.paper import MM, Paper, sized
from simcore.charts.style import Style, read_style
from simcore.charts.sweep_exceedance import draw_curves, levels, lowest
from simcore.charts.sweep_exceedance_data import marks_told
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
    levels(ax, ALLOWABLE, "allowable" if panel is data.panels[0] else "", data.target, style)
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
    for ax, panel in zip(sb.panels(paper, count, head, foot), data.panels, strict=False):
        draw_limit(ax, panel, data, _span(data), style)
        heading(ax, panel, style)
    sb.label_axes(paper, "peak in % of what the limit bears", "share of crashes at or above", words + key + 2.2, style)
    _key(paper, data, who, columns, words, key, style)
    told = marks_told([c for p in data.panels for c in p.curves])
    sb.foot_line(paper, f"{told}band: 90 %, of the bold one", style)
    return paper.figure


def _span(data: SweepLimitsData) -> tuple[float, float]:
    peaks = [c.peak for p in data.panels for c in p.curves if c.cases]
    low, high = min(float(p[0]) for p in peaks), max(float(p[-1]) for p in peaks)
    wide = max(high, ALLOWABLE) - min(low, ALLOWABLE)
    return max(0.0, min(low, ALLOWABLE) - 0.03 * wide), max(high, ALLOWABLE) + 0.06 * wide


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
