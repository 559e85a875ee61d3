"""Draws the motion of one candidate: both hubs' speed above, the twist between them below, modes shaded."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simcore.charts.metrics import LEADING, size_of, width
from simcore.charts.motion_data import MotionData, Panel
from simcore.charts.style import Style, style_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def draw_speeds(ax: Axes, panel: Panel, data: MotionData, style: Style | None = None) -> Axes:
    """Motor side as a full line in the candidate's colour, load side dashed in dark grey."""
    style = style_for(data.frame, style)
    _modes(ax, panel, data, style)
    look = style.look(panel.place)
    ax.plot(*panel.load, color=style.color("quiet.color"), linestyle=(0, (2.5, 1)), linewidth=1.0, marker="")
    ax.plot(*panel.drive, color=look.color, linestyle="-", linewidth=1.5, marker="")
    ax.set_xlim(data.start, data.stop)
    ax.set_ylim(*panel.speeds)
    ax.axhline(0.0, color=style.color("quiet.color"), linewidth=0.4, zorder=1)
    ax.tick_params(labelbottom=False)
    ax.locator_params(axis="both", nbins=4)
    return ax


def draw_twist(ax: Axes, panel: Panel, data: MotionData, style: Style | None = None) -> Axes:
    """Relative angle of the two hubs."""
    style = style_for(data.frame, style)
    _modes(ax, panel, data, style)
    look = style.look(panel.place)
    ax.plot(*panel.twist, color=look.color, linestyle="-", linewidth=1.2, marker="")
    ax.set_xlim(data.start, data.stop)
    ax.set_ylim(*panel.twists)
    ax.axhline(0.0, color=style.color("quiet.color"), linewidth=0.4, zorder=1)
    ax.locator_params(axis="x", nbins=4)
    ax.locator_params(axis="y", nbins=3)
    return ax


def _modes(ax: Axes, panel: Panel, data: MotionData, style: Style) -> None:
    for s in panel.spans:
        if s.klass != "engaged":
            hatch = style.house.get(f"class.{s.klass}.hatch", "")
            ax.axvspan(
                s.start,
                s.stop,
                facecolor=style.color(f"class.{s.klass}"),
                hatch=hatch,
                linewidth=0.0,
                edgecolor=style.color("class.hatch.color"),
                zorder=0,
            )


def mode_words(ax: Axes, panel: Panel, data: MotionData, style: Style | None = None) -> Axes:
    """Name each stretch of modes along the top edge where the word fits, along the lower one where the curve passes."""
    style = style_for(data.frame, style)
    wide, high = size_of(ax)
    per = wide / (data.stop - data.start)
    for s in panel.spans:
        need = width(s.klass, style.small) + 3
        if (s.stop - s.start) * per > need:
            middle = 0.5 * (s.start + s.stop)
            low = _passes(panel, (middle - 0.5 * need / per, middle + 0.5 * need / per), style.small * LEADING / high)
            ax.annotate(
                s.klass,
                (middle, 0.0 if low else 1.0),
                xytext=(0, 2 if low else -2),
                textcoords="offset points",
                xycoords=("data", "axes fraction"),
                size=style.small,
                ha="center",
                va="bottom" if low else "top",
                zorder=6,
                bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none", "alpha": 0.8},
            )
    return ax


def _passes(panel: Panel, span: tuple[float, float], share: float) -> bool:
    """Whether the twist passes the upper ``share`` of its axis within ``span`` [ms], and not the lower as well."""
    t, y = panel.twist
    if not len(t):
        return False
    inside = np.r_[np.interp(span, t, y), y[(t >= span[0]) & (t <= span[1])]]
    low, high = panel.twists
    at = (inside[np.isfinite(inside)] - low) / (high - low)
    return bool(at.size and at.max() > 1.0 - share - 0.02 and at.min() > share + 0.02)
