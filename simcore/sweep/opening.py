"""Where no setting keeps both targets: what would open a window, reckoned from the sweep's own cases."""

from __future__ import annotations

from math import ceil, floor, isfinite, nan
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep import cases, wording
from simcore.sweep.law import Law, setting_laws, setting_scatters
from simcore.sweep.odds import Curve, Window, averaged, edges, window
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import reach
from simcore.sweep.tolerance import tolerance_that_fits

Floats = NDArray[np.float64]

STEPS: Final = tuple(round(0.95 - 0.05 * i, 2) for i in range(20))
"""Shares of the present scatter that are tried."""
HAIR: Final = 1e-9
"""Share below which two settings are the same."""
ENOUGH: Final = 3000
"""Draws used here."""


def ways(
    result: SweepResult, candidate: int, damage: Curve, nuisance: Curve, tolerance: float = 0.0
) -> tuple[str, ...]:
    """Sentences: settings not tried, a higher allowable or lower peak, less asked by service, less scatter; where
    only the ``tolerance`` of the setting closes the window: a tighter one, a wider grid, stronger parts."""
    kept = window(damage, nuisance, result.damage_target, result.nuisance_target)
    if kept.likely:
        return too_narrow(result, candidate, damage, nuisance, tolerance)
    crossed = _crossed(result, damage, nuisance)
    low, high = crossed.low, crossed.high
    coarse = too_coarse(crossed, damage, nuisance, tolerance)
    out = [_untried(result, damage, low, high)]
    out.append(_refine(result, between(crossed, damage, nuisance)) if coarse else _allowable(result, candidate, low))
    if isfinite(low) and isfinite(high) and high < low and not coarse:
        a, b = wording.number(low, result.unit), wording.effort(high, result.unit)
        less = wording.percent(1.0 - high / low)
        out.append(f"If service asked {less} less (a softer start), the lower edge would fall from {a} to {b}.")
    if not heat_share(result, candidate, low) > result.damage_target:
        out.append(_scatter(result, candidate))
    return tuple(t for t in out if t)


def _crossed(result: SweepResult, damage: Curve, nuisance: Curve) -> Window:
    """The edges of a window that is none: they cross."""
    low, high = edges(damage, nuisance, result.damage_target, result.nuisance_target)
    return Window(low, high, nan, nan, False, False)


def is_coarse(result: SweepResult, damage: Curve, nuisance: Curve, tolerance: float) -> bool:
    """Whether a finer grid alone may show a window, or room for the ``tolerance`` in one, that this one does not."""
    kept = window(damage, nuisance, result.damage_target, result.nuisance_target)
    return too_coarse(kept if kept.likely else _crossed(result, damage, nuisance), damage, nuisance, tolerance)


class Between(NamedTuple):
    """Settings [N*m] between which the edges of a window lie: the neighbours that miss a target; ``step``: the widest
    gap of the grid there."""

    low: float
    high: float
    step: float


def between(kept: Window, damage: Curve, nuisance: Curve) -> Between:
    """Where the grid leaves the edges of a window open (they may cross); one at the end of the grid stays there."""
    below = nuisance.settings[nuisance.settings < kept.low * (1.0 - HAIR)]
    above = damage.settings[damage.settings > kept.high * (1.0 + HAIR)]
    low = kept.low if kept.open_below or not len(below) else float(below[-1])
    high = kept.high if kept.open_above or not len(above) else float(above[0])
    gaps = [float(s[i] - s[i - 1]) for s, i in ((nuisance.settings, len(below)), (damage.settings, -len(above)))
            if 0 < abs(i) < len(s)]  # fmt: skip
    return Between(low, high, max(gaps, default=0.0))


def too_coarse(kept: Window, damage: Curve, nuisance: Curve, tolerance: float) -> bool:
    """Whether a finer grid alone may show room for the ``tolerance`` that this one does not."""
    b = between(kept, damage, nuisance)
    return b.step > 0.0 and b.low * (1.0 + tolerance) < b.high * (1.0 - tolerance)


def _refine(result: SweepResult, b: Between) -> str:
    low, high, step = wording.number(b.low, result.unit), *(wording.effort(x, result.unit) for x in (b.high, b.step))
    return f"The grid is too coarse here: refine it between {low} and {high} (steps of {step} now)."


def too_narrow(
    result: SweepResult, candidate: int, damage: Curve, nuisance: Curve, tolerance: float
) -> tuple[str, ...]:
    """What makes a window wide enough for the tolerance of the setting; a finer grid first, where that may do."""
    kept = window(damage, nuisance, result.damage_target, result.nuisance_target)
    unit, last = result.unit, float(damage.settings[-1])
    out: list[str] = []
    coarse = too_coarse(kept, damage, nuisance, tolerance)
    if coarse:
        out.append(_refine(result, between(kept, damage, nuisance)))
    fits = tolerance_that_fits(kept)
    tried = damage.settings[(damage.settings >= kept.low * (1 - HAIR)) & (damage.settings <= kept.high * (1 + HAIR))]
    most = floor(1e4 * fits) / 1e4
    if most > 0.0 and (len(tried) > 1 or not coarse) and not wording.edges_words(result, kept):
        out.append(
            f"A tolerance of at most {wording.percent(most)} to either side (now {wording.percent(tolerance)}) "
            f"would fit into {wording.span(kept.low, kept.high, unit)}."
        )
    up, down = kept.low * (1.0 + tolerance) / (1.0 - tolerance), kept.high * (1.0 - tolerance) / (1.0 + tolerance)
    if kept.open_above or up > last:
        out.append(f"The grid ends at {wording.effort(last, unit)}: extend it to {wording.effort(up, unit)} or more.")
    elif not coarse:
        out.append(_allowable(result, candidate, up))
    if kept.open_below:
        out.append(
            f"The grid ends at {wording.effort(kept.low, unit)}: extend it to {wording.effort(down, unit)} or less."
        )
    elif not coarse:
        less = wording.percent(1.0 - down / kept.low)
        out.append(
            f"If service asked {less} less (a softer start), the lower edge would fall from "
            f"{wording.number(kept.low, unit)} to {wording.effort(down, unit)}."
        )
    return tuple(t for t in out if t)


def heat_share(result: SweepResult, candidate: int, setting: float) -> float:
    """Share of the crashes that pass the protection's heat limit at the first setting run that is no lower, in the
    worst of the other cells; 0 where none is known."""
    grid = cases.setting_axis(result, candidate).settings
    at = int(np.searchsorted(grid, setting * (1.0 - HAIR)))
    if not isfinite(setting) or at == len(grid):
        return 0.0
    heat = cases.harms(result, candidate).heat[at][:, cases.independent(result)]
    return float(heat.mean(axis=1).max())


def allowable_factor(result: SweepResult, candidate: int, setting: float) -> float:
    """By how much every allowable must grow so that the damage target is kept at ``setting``; NaN: not known."""
    use = _use(result, candidate)
    grid = cases.setting_axis(result, candidate).settings
    at = np.array([np.interp(setting, grid, u) for u in use.T])
    at = np.sort(at[np.isfinite(at)])
    if len(at) == 0:
        return nan
    keep = min(len(at) - 1, ceil((1.0 - result.damage_target) * len(at)) - 1)
    return float(at[max(keep, 0)])


def scatter_that_fits(result: SweepResult, candidate: int) -> float:
    """Largest share of the setting's present scatter that leaves a window; 0: not even none, NaN: not known."""
    asks, name = cases.asked(result, candidate), result.candidates[candidate]
    laws, scatters = setting_laws(result, name), setting_scatters(result, name)
    grid = cases.setting_axis(result, candidate).settings
    if asks is None or not laws or len(grid) < 2:
        return nan
    keep = cases.independent(result)[:ENOUGH]
    use, asks = _use(result, candidate), asks[keep]
    asks = asks[~np.isnan(asks)]
    drawn = np.stack([result.samples[n][keep] for n in scatters])
    fine = np.linspace(grid[0], grid[-1], 121)
    for share in STEPS:
        low, _ = reach(-fine[::-1], averaged(asks, _shrunk(laws, share), fine).share[::-1], result.nuisance_target)
        shares = _damage(use, grid, fine, narrowed(drawn, share))
        high, _ = reach(fine, shares, result.damage_target)
        if -low <= high:
            return share
    return 0.0


def narrowed(drawn: Floats, share: float) -> Floats:
    """(draw): by what a setting changes when each of its factors (factor, draw) scatters ``share`` as much about 1,
    as in :func:`_shrunk`."""
    return np.asarray(np.prod((1.0 + share * (drawn - 1.0)) / drawn, axis=0))


def _use(result: SweepResult, candidate: int) -> Floats:
    """(setting, draw): the largest use over the other cells."""
    use = cases.worst(result, candidate, "use")[:, :, cases.independent(result)[:ENOUGH]]
    return np.asarray(use.max(axis=1))


def _damage(use: Floats, grid: Floats, fine: Floats, ratio: Floats) -> Floats:
    """Share of draws with use over 1 at each fine setting when each draw's setting is ``ratio`` times as high."""
    known = np.isfinite(use).all(axis=0)
    rows = [np.interp(fine * r, grid, u) > 1.0 for r, u in zip(ratio[known], use.T[known], strict=True)]
    shares = np.mean(rows, axis=0) if rows else np.full(len(fine), nan)
    return np.asarray(np.maximum.accumulate(shares))


def _shrunk(laws: tuple[Law, ...], share: float) -> tuple[Law, ...]:
    if share <= 0.0:
        return ()
    return tuple(
        Law(
            law.words,
            lambda x, law=law: law.cdf(1.0 + (x - 1.0) / share),  # type: ignore[misc]
            lambda u, law=law: 1.0 + share * (law.ppf(u) - 1.0),  # type: ignore[misc]
            law.exact,
        )
        for law in laws
    )


def _untried(result: SweepResult, damage: Curve, low: float, high: float) -> str:
    first, last = (wording.effort(float(damage.settings[i]), result.unit) for i in (0, -1))
    if len(damage.settings) < 2:
        return f"Only one setting was tried, {first}: a grid of settings would tell more."
    if not isfinite(low):
        return f"Settings above {last} were not tried; even that one trips too often."
    if not isfinite(high):
        return f"Settings below {first} were not tried; even that one lets too much be damaged."
    return ""


def _allowable(result: SweepResult, candidate: int, low: float) -> str:
    """What would allow the setting ``low``: stronger parts, or less slip heat where that is what forbids it."""
    if (hot := heat_share(result, candidate, low)) > result.damage_target:
        return (
            f"At {wording.effort(low, result.unit)} {wording.percent(hot)} of the crashes pass the protection's heat "
            "limit: a stop that comes sooner, or one that bears more heat, would allow it."
        )
    factor = allowable_factor(result, candidate, low) if isfinite(low) else nan
    if not factor > 1.0:
        return ""
    more = f"Parts that bear {wording.percent(factor - 1.0)} more"
    if isfinite(result.allowable):
        extra, whole = (wording.effort(f * result.allowable, result.unit) for f in (factor - 1.0, factor))
        more += f" ('{result.protect}': {extra} more, {whole})"
    rare = " at the least" if result.damage_target * len(cases.independent(result)) < 1.0 else ""
    less = wording.percent(1.0 - 1.0 / factor)
    return f"{more}, or a peak {less} lower{rare}, would allow {wording.effort(low, result.unit)}."


def _scatter(result: SweepResult, candidate: int) -> str:
    share = scatter_that_fits(result, candidate)
    if not isfinite(share):
        return ""
    if share <= 0.0:
        return "Less scatter of the setting would not be enough by itself."
    return f"A setting that scatters only {wording.percent(share)} as much as it does would leave a window."
