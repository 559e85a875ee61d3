"""Odds of damage and of nuisance against the setting, with bands, and the window between the two targets."""

from __future__ import annotations

from math import isfinite, nan
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep import cases
from simcore.sweep.law import Law, chance_below, setting_laws
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import (
    CONFIDENCE,
    clopper_pearson,
    monotone,
    most_if_none_seen,
    reach,
    support,
    weighted_band,
)

Floats = NDArray[np.float64]

FINE: Final = 121
"""Settings at which averaged odds are reckoned."""
COUNTED: Final = "counted"
THIN: Final = 8.0
"""Averaged odds that rest on fewer cases than this are only told as an upper bound."""


class Curve(NamedTuple):
    """Share of cases against the nominal setting, arrays over settings.

    ``cases`` were counted or averaged over at each setting, ``failed`` ones are not among them; ``rests``: how
    many of them the share stands on.
    """

    settings: Floats
    share: Floats
    low: Floats
    high: Floats
    cases: Floats
    failed: int
    model: str
    rests: Floats

    @property
    def counted(self) -> bool:
        return self.model == COUNTED

    def at(self, setting: float) -> Odds:
        """The odds at one setting, straight lines between the settings of the curve."""
        if len(self.settings) == 0 or not isfinite(setting):
            return Odds(nan, 0.0, 1.0, 0.0, self.model, 0.0)
        mid = [float(np.interp(setting, self.settings, y)) for y in (self.share, self.low, self.high)]
        near = int(np.argmin(np.abs(self.settings - setting)))
        return Odds(mid[0], mid[1], mid[2], float(self.cases[near]), self.model, float(self.rests[near]))


class Odds(NamedTuple):
    """A share with its band; ``rests``: how many cases an averaged one stands on."""

    share: float
    low: float
    high: float
    cases: float
    model: str
    rests: float


class Window(NamedTuple):
    """Settings [N*m] that keep both targets: by the estimates (likely) and by the bounds (sure); NaN: none.

    ``open_below``, ``open_above``: the edge is only where the grid ends.
    """

    low: float
    high: float
    sure_low: float
    sure_high: float
    open_below: bool
    open_above: bool

    @property
    def likely(self) -> bool:
        return self.low <= self.high

    @property
    def sure(self) -> bool:
        return self.sure_low <= self.sure_high


def damage_curve(result: SweepResult, candidate: int, confidence: float = CONFIDENCE) -> Curve:
    """Share of crashes that pass an allowable; rises with the setting.  Counted."""
    if not len(cases.places(result, cases.CRASH)):
        return _unasked(result, candidate, "no crash in this sweep")
    return _counted(result, candidate, cases.damage(result, candidate), True, confidence)


def nuisance_curve(result: SweepResult, candidate: int, confidence: float = CONFIDENCE) -> Curve:
    """Share of ordinary events that trip; falls with the setting.

    Averaged over the law of the setting's scatter where that and each case's smallest holding setting are
    known: mean over draws of P(S X < asks); counted otherwise, and where a start is not held that a jam follows.
    """
    if not cases.holding(result):
        return _unasked(result, candidate, "no ordinary event in this sweep")
    early = bool((cases.too_soon(result, candidate) > 0.0).any())
    asks = None if early else cases.asked(result, candidate)
    laws = setting_laws(result, result.candidates[candidate]) if result.design != "table" else None
    if asks is None or laws is None or not laws:
        return _counted(result, candidate, cases.nuisance(result, candidate), False, confidence)
    grid = cases.setting_axis(result, candidate).settings
    settings = np.union1d(np.linspace(grid[0], grid[-1], FINE), grid) if len(grid) > 1 else grid
    asks = asks[cases.independent(result)]
    known = asks[~np.isnan(asks)]
    return averaged(known, laws, settings, int(np.isnan(asks).sum()), confidence)


def averaged(
    asks: Floats, laws: tuple[Law, ...], settings: Floats, failed: int = 0, confidence: float = CONFIDENCE
) -> Curve:
    """Mean over ``asks`` (draws) [N*m] of P(S X < asks) at each of ``settings`` (rising), X the product of ``laws``.

    Where the mean rests on fewer than ``THIN`` cases its upper bound is what no hit at all would leave open.
    The true share falls with the setting, so a bound found at a lower setting holds at higher ones too.
    """
    model = f"setting's scatter averaged ({'; '.join(law.words for law in laws)})"
    if len(asks) == 0:
        return _nothing(settings, failed, model)
    chances = np.stack([chance_below(laws, asks / s) for s in settings], axis=1)
    band = weighted_band(chances, confidence)
    rests, share = support(chances), chances.mean(axis=0)
    high = np.where(rests < THIN, np.maximum(band.high, most_if_none_seen(len(asks))), band.high)
    high = np.maximum(np.minimum.accumulate(high), share)
    count = np.full(len(settings), float(len(asks)))
    return Curve(settings, share, np.maximum.accumulate(band.low[::-1])[::-1], high, count, failed, model, rests)


def _unasked(result: SweepResult, candidate: int, model: str) -> Curve:
    """A target that nothing in the sweep can miss binds no edge of the window."""
    settings = cases.setting_axis(result, candidate).settings
    zero = np.zeros(len(settings))
    return Curve(settings, zero, zero, zero, zero, 0, model, zero)


def _nothing(settings: Floats, failed: int, model: str) -> Curve:
    n = len(settings)
    return Curve(settings, np.full(n, nan), np.zeros(n), np.ones(n), np.zeros(n), failed, model, np.zeros(n))


def _counted(result: SweepResult, candidate: int, hits: Floats, rising: bool, confidence: float) -> Curve:
    """Counts over the independent draws; of several cells at one setting the one with the largest share."""
    settings = cases.setting_axis(result, candidate).settings
    hits = hits[:, :, cases.independent(result)]
    count, seen = (~np.isnan(hits)).sum(axis=2).astype(float), np.nansum(hits, axis=2)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(count > 0, seen / count, np.nan)
    pick = np.argmax(np.where(np.isnan(share), -1.0, share), axis=1)
    n = np.take_along_axis(count, pick[:, None], axis=1)[:, 0]
    p = monotone(np.take_along_axis(share, pick[:, None], axis=1)[:, 0], n, rising=rising)
    band = clopper_pearson(np.nan_to_num(p) * n, n, confidence)
    accumulate = np.maximum.accumulate
    high = accumulate(band.high) if rising else accumulate(band.high[::-1])[::-1]
    lost = int(np.isnan(hits).sum())
    return Curve(settings, p, band.low, high, n, lost, COUNTED, np.nan_to_num(p) * n)


def window(damage: Curve, nuisance: Curve, damage_target: float, nuisance_target: float) -> Window:
    """Settings between the two targets, interpolated on the curves; a curve without cases leaves no window."""
    high, open_above = reach(damage.settings, damage.share, damage_target)
    sure_high, _ = reach(damage.settings, damage.high, damage_target)
    low, open_below = _from(nuisance.settings, nuisance.share, nuisance_target)
    sure_low, _ = _from(nuisance.settings, nuisance.high, nuisance_target)
    if not low <= high:
        low = high = nan
    if not sure_low <= sure_high:
        sure_low = sure_high = nan
    return Window(low, high, sure_low, sure_high, open_below, open_above)


def edges(damage: Curve, nuisance: Curve, damage_target: float, nuisance_target: float) -> tuple[float, float]:
    """Smallest setting that keeps the nuisance target and largest that keeps the damage target; NaN: none."""
    low, _ = _from(nuisance.settings, nuisance.share, nuisance_target)
    high, _ = reach(damage.settings, damage.share, damage_target)
    return low, high


def _from(x: Floats, y: Floats, level: float) -> tuple[float, bool]:
    """Smallest x from which falling y stays at or below the level."""
    at, open_end = reach(-x[::-1], y[::-1], level)
    return -at, open_end
