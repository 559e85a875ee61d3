"""Distributions of scattered inputs, by their inverse: a draw is the quantile of a number between 0 and 1.

Sources: the inverses are textbook (uniform, logarithm of a uniform, triangular, normal, lognormal); a cut
distribution is drawn by mapping the unit interval onto the share it keeps; measured samples are read off by
linear interpolation between order statistics, the first one at 0 and the last one at 1 (definition 7 of
Hyndman and Fan 1996, Sample quantiles in statistical packages).
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from simcore.scenario import plan

Floats = NDArray[np.float64]
LEAST: Final = 2.0**-54
"""Distance from 0 and 1 at which quantiles of unbounded distributions are taken."""


class Scatter(plan.Scatter):
    """A checked distribution that can be drawn from."""

    def ppf(self, u: Any) -> Floats:
        """Values at the shares ``u`` (any shape, 0 to 1), in the unit of the distribution's numbers."""
        return ppf(self, u)


def ppf(scatter: plan.Scatter, u: Any) -> Floats:
    """Inverse of the distribution at ``u`` (any shape, 0 to 1); never infinite."""
    share = np.clip(np.asarray(u, dtype=np.float64), 0.0, 1.0)
    word, nums = scatter.word, scatter.numbers
    if word == "normal":
        return _cut(nums[0] + nums[1] * _standard(share, *_shares(scatter)), scatter)
    if word == "lognormal":
        return _cut(np.exp(math.log(nums[0]) + nums[1] * _standard(share, *_shares(scatter))), scatter)
    if word == "uniform":
        return nums[0] + (nums[1] - nums[0]) * share
    if word == "log_uniform":
        return np.clip(nums[0] * np.exp(share * math.log(nums[1] / nums[0])), nums[0], nums[1])
    if word == "triangular":
        return _triangular(share, nums[0], nums[1], nums[2])
    order = np.asarray(scatter.values)
    return np.asarray(np.interp(share * (order.size - 1), np.arange(order.size), order))


def _shares(scatter: plan.Scatter) -> tuple[float, float]:
    """The cut's ends as standard normal deviates."""
    middle, sd = scatter.numbers
    if scatter.word == "normal":
        return (scatter.low - middle) / sd, (scatter.high - middle) / sd
    low = math.log(scatter.low / middle) if scatter.low > 0 else -math.inf
    return low / sd, (math.log(scatter.high / middle) if scatter.high < math.inf else math.inf) / sd


def _standard(u: Floats, a: float, b: float) -> Floats:
    """Standard normal between the deviates ``a`` and ``b``, each half from the side where shares keep their digits."""
    from scipy.special import ndtr, ndtri

    kept = ndtr(-a) - ndtr(-b) if a > 0.0 else ndtr(b) - ndtr(a)
    lower = ndtr(a) + np.maximum(u, LEAST) * kept
    upper = ndtr(-b) + np.maximum(1.0 - u, LEAST) * kept
    return np.asarray(np.where(lower < 0.5, ndtri(lower), -ndtri(upper)))


def _cut(x: Floats, scatter: plan.Scatter) -> Floats:
    return np.clip(x, scatter.low, scatter.high)


def _triangular(u: Floats, a: float, c: float, b: float) -> Floats:
    kept = (c - a) / (b - a)
    up = a + np.sqrt(u * (b - a) * (c - a))
    down = b - np.sqrt((1.0 - u) * (b - a) * (b - c))
    return np.asarray(np.where(u < kept, up, down))
