"""Statistics of sweeps: pure functions of arrays, NaN-aware where they say so.

Bands hold a share ``confidence`` of the time, what is left is split evenly between the two sides: the upper
end of a 90 % band is a one-sided 95 % bound.  They take the cases as drawn independently.
"""

from __future__ import annotations

from math import ceil, log, log1p
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

CONFIDENCE: Final = 0.90
"""Of bands; their upper end is passed in 5 % of sweeps at most."""


TENTH: Final = 10


class Band(NamedTuple):
    """Lower and upper confidence bounds, arrays of one shape."""

    low: Floats
    high: Floats


class Estimate(NamedTuple):
    """A value and its confidence bounds; NaN where the sample cannot give one, inf for 'never'."""

    value: float
    low: float
    high: float


def clopper_pearson(seen: ArrayLike, cases: ArrayLike, confidence: float = CONFIDENCE) -> Band:
    """Exact binomial bounds for ``seen`` out of ``cases`` (any shapes that broadcast).

    Clopper and Pearson, Biometrika 26 (1934) 404-413, as quantiles of the beta distribution.  ``seen`` may be
    a fraction (pooled counts).  No cases: 0 to 1.
    """
    from scipy.stats import beta

    k, n = np.broadcast_arrays(np.asarray(seen, dtype=float), np.asarray(cases, dtype=float))
    side = 0.5 * (1.0 - confidence)
    with np.errstate(invalid="ignore"):
        low = np.where(k > 0.0, beta.ppf(side, k, n - k + 1.0), 0.0)
        high = np.where(k < n, beta.ppf(1.0 - side, k + 1.0, n - k), 1.0)
    return Band(low, high)


def most_if_none_seen(cases: int, sure: float = 0.95) -> float:
    """Largest share that ``cases`` without a single hit leave open: about 3 over ``cases`` at 95 %."""
    return float(-np.expm1(log(1.0 - sure) / cases)) if cases > 0 else 1.0


def cases_needed(share: float, sure: float = 0.95) -> int:
    """Cases without a single hit that show a share below ``share``.

    >>> cases_needed(0.001)
    2995
    """
    return ceil(log(1.0 - sure) / log1p(-share))


def weighted_band(chances: Floats, confidence: float = CONFIDENCE) -> Band:
    """Bounds of the mean over axis 0 of ``chances`` (n, ...), each in 0 to 1.

    Gamma interval for weighted sums (Fay and Feuer, Statistics in Medicine 16 (1997) 791-801): chances of 0
    and 1 give the exact Poisson bounds, equal ones a narrow band.  The upper end adds one more case, as rare
    and as weighty as none was seen: its chance is the largest one times the ratio of the largest to the tenth.
    """
    from scipy.stats import gamma

    n = len(chances)
    side = 0.5 * (1.0 - confidence)
    y, v = chances.mean(axis=0), (chances**2).sum(axis=0) / n**2
    unseen = np.maximum(_unseen(chances), 1e-100) / n
    with np.errstate(invalid="ignore", divide="ignore"):
        low = np.where(v > 0.0, gamma.ppf(side, y * y / v, scale=v / y), 0.0)
    wider = v + unseen**2
    high = gamma.ppf(1.0 - side, (y + unseen) ** 2 / wider, scale=wider / (y + unseen))
    return Band(np.minimum(low, y), np.clip(high, y, 1.0))


def _unseen(chances: Floats) -> Floats:
    """Chance of a case beyond the largest seen: that one times its ratio to the tenth; 1 if there is no ratio."""
    place = max(len(chances) - TENTH, 0)
    ordered = np.partition(chances, [place, len(chances) - 1], axis=0)
    largest, tenth = ordered[-1], ordered[place]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        return np.asarray(np.where(tenth > 0.0, np.minimum(largest * (largest / tenth), 1.0), 1.0))


def support(chances: Floats) -> Floats:
    """How many cases the mean over axis 0 of ``chances`` (n, ...) rests on: (sum)^2 over sum of squares (Kish)."""
    squares = (chances**2).sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.where(squares > 0.0, chances.sum(axis=0) ** 2 / squares, 0.0))


def monotone(share: Floats, cases: Floats, *, rising: bool) -> Floats:
    """Nearest rising (or falling) sequence, weighted by ``cases``; NaN where there are none."""
    from scipy.optimize import isotonic_regression

    out = np.full(len(share), np.nan)
    known = np.isfinite(share) & (cases > 0)
    if known.any():
        out[known] = isotonic_regression(share[known], weights=cases[known], increasing=rising).x
    return out


def reach(x: Floats, y: Floats, level: float) -> tuple[float, bool]:
    """Largest ``x`` up to which rising ``y`` stays at or below ``level``, and whether that is the last x.

    Straight lines between the points; (nan, False) if the first value is above already.  In the tail of a
    distribution, where shares curve upwards, this errs to the safe side.
    """
    over = ~(y <= level)
    if len(x) == 0 or over[0]:
        return float("nan"), False
    if not over.any():
        return float(x[-1]), True
    i = int(np.argmax(over))
    if not np.isfinite(y[i]):
        return float(x[i - 1]), False
    return float(x[i - 1] + (x[i] - x[i - 1]) * (level - y[i - 1]) / (y[i] - y[i - 1])), False


def quantile(values: Floats, share: float, confidence: float = CONFIDENCE) -> Estimate:
    """Quantile of a sample with distribution-free bounds from order statistics; inf may be among the values.

    NaN are left out.  A bound that the sample cannot give is NaN (the 95 % point needs 59 values for a
    one-sided 95 % bound: Wilks, Ann. Math. Statist. 12 (1941) 91-96).
    """
    from scipy.stats import binom

    v = np.sort(values[~np.isnan(values)])
    n = len(v)
    if n == 0:
        return Estimate(float("nan"), float("nan"), float("nan"))
    side = 0.5 * (1.0 - confidence)
    low, high = int(binom.ppf(side, n, share)) - 1, int(binom.ppf(1.0 - side, n, share))
    at = float(v[low]) if low >= 0 else float("nan")
    above = float(v[high]) if high < n else float("nan")
    return Estimate(float(np.quantile(v, share, method="inverted_cdf")), at, above)


def exceedance(values: Floats) -> tuple[Floats, Floats]:
    """Sorted values and the share of values at or above each; NaN are left out."""
    v = np.sort(values[~np.isnan(values)])
    return v, 1.0 - np.arange(len(v)) / max(len(v), 1)


def pareto(points: Floats) -> Flags:
    """Which of ``points`` (n, criteria) no other one beats: smaller is better; NaN is never on the front."""
    known = np.asarray(~np.isnan(points).any(axis=1))
    a, b = points[:, None, :], points[None, :, :]
    beaten = (b <= a).all(axis=2) & (b < a).any(axis=2) & known[None, :]
    return np.asarray(known & ~beaten.any(axis=1))


def regret(costs: Floats) -> Floats:
    """Cost over the least one of the same draw, for ``costs`` (candidates, draws); NaN where a case is missing."""
    out = costs - costs.min(axis=0, keepdims=True)
    return np.asarray(np.where(np.isnan(costs).any(axis=0), np.nan, out))


def tail_means(x: Floats, y: Floats, share: float = 0.2) -> tuple[float, float]:
    """Mean of ``y`` where ``x`` is in its lowest and in its highest ``share``; NaN pairs are left out."""
    known = np.isfinite(x) & np.isfinite(y)
    if not known.any():
        return float("nan"), float("nan")
    x, y = x[known], y[known]
    low, high = np.quantile(x, [share, 1.0 - share])
    return float(y[x <= low].mean()), float(y[x >= high].mean())


def rank_correlation(x: Floats, y: Floats, confidence: float = CONFIDENCE) -> Estimate:
    """Spearman's correlation; bounds by Fisher's z with variance 1.06/(n - 3) (Fieller, Hartley, Pearson 1957)."""
    from scipy.stats import norm, spearmanr

    known = np.isfinite(x) & np.isfinite(y)
    n = int(known.sum())
    if n < 5 or np.ptp(x[known]) == 0 or np.ptp(y[known]) == 0:
        return Estimate(float("nan"), float("nan"), float("nan"))
    r = float(spearmanr(x[known], y[known]).statistic)
    z = np.arctanh(np.clip(r, -1 + 1e-12, 1 - 1e-12))
    half = float(norm.ppf(0.5 + 0.5 * confidence)) * np.sqrt(1.06 / (n - 3))
    return Estimate(r, float(np.tanh(z - half)), float(np.tanh(z + half)))
