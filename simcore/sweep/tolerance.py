"""Room for the tolerance of the setting: what is left of a window when every part of the lot must lie in it."""

from __future__ import annotations

from math import isfinite, nan
from typing import Final

from simcore.sweep.law import setting_scatters
from simcore.sweep.odds import Window
from simcore.sweep.result import SweepResult

MOST: Final = 0.99


def tolerance_besides(result: SweepResult, candidate: str) -> float:
    """Tolerance of the setting (share of it) that the cases do not hold already: 0 where the setting scatters."""
    t = result.tolerance.get(candidate, 0.0)
    return 0.0 if setting_scatters(result, candidate) or not isfinite(t) else min(max(t, 0.0), MOST)


def settable(kept: Window, tolerance: float) -> Window:
    """Nominal settings whose whole band, ``tolerance`` to either side, lies in the window; NaN: too narrow."""
    return kept._replace(
        low=_raised(kept.low, kept.high, tolerance),
        high=_lowered(kept.low, kept.high, tolerance),
        sure_low=_raised(kept.sure_low, kept.sure_high, tolerance),
        sure_high=_lowered(kept.sure_low, kept.sure_high, tolerance),
    )


def tolerance_that_fits(kept: Window) -> float:
    """Largest tolerance for which the likely window holds one nominal setting; NaN without a window."""
    return (kept.high - kept.low) / (kept.high + kept.low) if kept.likely else nan


def _fits(low: float, high: float, t: float) -> bool:
    return low * (1.0 + t) <= high * (1.0 - t)


def _raised(low: float, high: float, t: float) -> float:
    return low / (1.0 - t) if _fits(low, high, t) else nan


def _lowered(low: float, high: float, t: float) -> float:
    return high / (1.0 + t) if _fits(low, high, t) else nan
