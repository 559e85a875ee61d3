"""What matters: Sobol' indices from paired rows, shares of variance from any sample."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.statistics import CONFIDENCE, Band, rank_correlation

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RESAMPLES: Final = 400
MOST_BINS: Final = 20


class Pairing(NamedTuple):
    """Which draws are the rows A, B (n each) and AB_i (k, n): A with its column i taken from B."""

    a: Ints
    b: Ints
    ab: Ints


class Indices(NamedTuple):
    """First-order and total indices (k) with their bands, and how many base rows they stand on."""

    first: Floats
    total: Floats
    first_band: Band
    total_band: Band
    rows: int


def pairing(samples: Floats) -> Pairing | None:
    """Find the paired rows in ``samples`` (draws, k), k + 2 draws a base row; None if they are not there.

    Base row after base row (A, B, AB_1 ... AB_k) or block after block, whichever fits the numbers.
    """
    k = samples.shape[1]
    n = len(samples) // (k + 2)
    if k == 0 or n < 2:
        return None
    each = np.arange(n * (k + 2))
    for rows in (each.reshape(n, k + 2).T, each.reshape(k + 2, n)):
        a, b, ab = samples[rows[0]], samples[rows[1]], samples[rows[2:]]
        wanted = np.repeat(a[None], k, axis=0)
        wanted[np.arange(k), :, np.arange(k)] = b.T
        if np.array_equal(ab, wanted):
            return Pairing(rows[0], rows[1], rows[2:])
    return None


def sobol(a: Floats, b: Floats, ab: Floats) -> tuple[Floats, Floats]:
    """First-order and total indices from outputs ``a``, ``b`` (..., n) and ``ab`` (k, ..., n).

    First order after Saltelli et al., Computer Physics Communications 181 (2010) 259-270, total after Jansen,
    ibid. 117 (1999) 35-43; outputs are centred first.
    """
    both = np.concatenate([a, b], axis=-1)
    middle, variance = both.mean(axis=-1, keepdims=True), both.var(axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        first = ((b - middle) * (ab - a)).mean(axis=-1) / variance
        total = 0.5 * ((a - ab) ** 2).mean(axis=-1) / variance
    return first, total


def sobol_indices(y: Floats, rows: Pairing, confidence: float = CONFIDENCE, seed: int = 0) -> Indices:
    """Indices of ``y`` (draws) with bootstrap bands; a base row with a missing value is left out whole."""
    a, b, ab = y[rows.a], y[rows.b], y[rows.ab]
    known = np.isfinite(a) & np.isfinite(b) & np.isfinite(ab).all(axis=0)
    a, b, ab = a[known], b[known], ab[:, known]
    n, k = len(a), len(ab)
    if n < 2 or np.ptp(np.concatenate([a, b])) == 0.0:
        nothing = np.full(k, np.nan)
        return Indices(nothing, nothing, Band(nothing, nothing), Band(nothing, nothing), n)
    first, total = sobol(a, b, ab)
    pick = np.random.default_rng(seed).integers(0, n, (RESAMPLES, n))
    again = [sobol(a[p], b[p], ab[:, p]) for p in pick]
    side = 0.5 * (1.0 - confidence)
    bands = [Band(*np.nanquantile(np.stack(each), [side, 1.0 - side], axis=0)) for each in zip(*again, strict=True)]
    return Indices(first, total, bands[0], bands[1], n)


def explained(x: Floats, y: Floats) -> float:
    """Share of the variance of ``y`` that ``x`` explains alone: the first-order index from any sample.

    Variance between the means of equally filled classes of ``x``, less what chance puts there (omega squared,
    Hays).  NaN and inf are left out; NaN for fewer than 20 pairs.
    """
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    n = len(x)
    if n < 20 or np.ptp(x) == 0.0 or np.ptp(y) == 0.0:
        return float("nan")
    classes = int(np.clip(np.sqrt(n) / 2.0, 4, MOST_BINS))
    member = np.minimum((np.argsort(np.argsort(x, kind="stable"), kind="stable") * classes) // n, classes - 1)
    count = np.bincount(member, minlength=classes)
    means = np.bincount(member, y, classes) / count
    between = float((count * (means - y.mean()) ** 2).sum())
    within = float(((y - means[member]) ** 2).sum()) / max(n - classes, 1)
    return float(np.clip((between - (classes - 1) * within) / (between + (n - classes + 1) * within), 0.0, 1.0))


def explains(x: Floats, y: Floats) -> float:
    """``explained``; of fewer than 20 pairs the square of the rank correlation, 0 where its band includes none."""
    share = explained(x, y)
    if np.isfinite(share):
        return share
    r = rank_correlation(x, y)
    if not np.isfinite(r.value):
        return share
    return r.value**2 if r.low > 0.0 or r.high < 0.0 else 0.0


def explained_band(
    x: Floats, y: Floats, confidence: float = CONFIDENCE, seed: int = 0, resamples: int = 100
) -> tuple[float, float, float]:
    """``explained`` with bootstrap bounds: value, low, high."""
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    value = explained(x, y)
    if not np.isfinite(value):
        return value, value, value
    pick = np.random.default_rng(seed).integers(0, len(x), (resamples, len(x)))
    side = 0.5 * (1.0 - confidence)
    low, high = np.quantile([explained(x[p], y[p]) for p in pick], [side, 1.0 - side])
    return value, min(float(low), value), max(float(high), value)
