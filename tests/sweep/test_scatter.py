"""Distributions against scipy.stats, which is independent of the inverses in the project."""

from __future__ import annotations

import math

import mpmath as mp
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from simcore.sweep.scatter import Scatter

INF = math.inf
U = np.concatenate([[1e-9, 1e-6], np.linspace(0.001, 0.999, 999), [1 - 1e-6, 1 - 1e-9]])


def scaled(low, high, mean, sd):
    return (low - mean) / sd, (high - mean) / sd


CASES = [
    (Scatter("normal", (340.0, 10.0)), stats.norm(340.0, 10.0)),
    (Scatter("normal", (1.0, 0.03), 0.9, 1.1), stats.truncnorm(*scaled(0.9, 1.1, 1.0, 0.03), 1.0, 0.03)),
    (Scatter("normal", (1.0, 0.03), 0.98), stats.truncnorm((0.98 - 1) / 0.03, INF, 1.0, 0.03)),
    (Scatter("normal", (1.0, 0.03), -INF, 0.98), stats.truncnorm(-INF, (0.98 - 1) / 0.03, 1.0, 0.03)),
    (Scatter("normal", (0.0, 1.0), 4.0, 9.0), stats.truncnorm(4.0, 9.0)),
    (Scatter("normal", (0.0, 1.0), -9.0, -4.0), stats.truncnorm(-9.0, -4.0)),
    (Scatter("lognormal", (2e6, 0.7)), stats.lognorm(0.7, scale=2e6)),
    (Scatter("uniform", (-2.0, 6.0)), stats.uniform(-2.0, 8.0)),
    (Scatter("log_uniform", (0.1, 10.0)), stats.loguniform(0.1, 10.0)),
    (Scatter("triangular", (60.0, 150.0, 190.0)), stats.triang(90 / 130, 60.0, 130.0)),
    (Scatter("triangular", (0.0, 0.0, 2.0)), stats.triang(0.0, 0.0, 2.0)),
    (Scatter("triangular", (0.0, 2.0, 2.0)), stats.triang(1.0, 0.0, 2.0)),
]


@pytest.mark.parametrize(("ours", "theirs"), CASES)
def test_inverse_is_scipys(ours, theirs):
    np.testing.assert_allclose(ours.ppf(U), theirs.ppf(U), rtol=1e-9, atol=1e-12 * max(map(abs, ours.numbers)))


@pytest.mark.parametrize("u", [1e-12, 0.3, 1 - 1e-12])
@pytest.mark.parametrize(("low", "high"), [(0.98, INF), (-INF, 0.98), (1.12, 1.3), (0.7, 0.88)])
def test_tails_of_a_cut_normal_to_forty_digits(low, high, u):
    """mpmath, where scipy's cut normal keeps six digits only."""
    mean, sd = mp.mpf(1.0), mp.mpf(0.03)
    with mp.workdps(40):
        a, b = (mp.ncdf((end - mean) / sd) if abs(end) < INF else mp.mpf(end > 0) for end in (low, high))
        a_up, b_up = (mp.ncdf((mean - end) / sd) if abs(end) < INF else mp.mpf(end < 0) for end in (low, high))
        x = float(Scatter("normal", (1.0, 0.03), low, high).ppf(u))
        z = (mp.mpf(x) - mean) / sd
        share = (mp.ncdf(z) - a) / (b - a) if z < 0 else 1 - (mp.ncdf(-z) - b_up) / (a_up - b_up)
        slope = mp.npdf(z) / ((b - a) * sd)
        assert abs(share - mp.mpf(u)) < abs(slope) * 1e-14


@pytest.mark.parametrize(("low", "high"), [(0.5, 3.0), (0.0, 1.5), (1.2, INF)])
def test_cut_lognormal_is_the_exponential_of_a_cut_normal(low, high):
    ours = Scatter("lognormal", (1.0, 0.7), low if low else -INF, high)
    a, b = (math.log(x) / 0.7 if 0 < x < INF else (-INF if x == 0 else INF) for x in (low, high))
    np.testing.assert_allclose(ours.ppf(U), np.exp(0.7 * stats.truncnorm(a, b).ppf(U)), rtol=1e-9)


def test_measured_sample_is_numpys_linear_quantile():
    sample = np.sort(stats.weibull_min(1.4).rvs(37, random_state=3))
    np.testing.assert_allclose(Scatter("measured", (), values=tuple(sample)).ppf(U), np.quantile(sample, U), rtol=1e-13)


@pytest.mark.parametrize(("ours", "theirs"), CASES)
def test_shares_below_are_scipys(ours, theirs):
    """``below`` (used for warnings and refusals) is the distribution that is not cut off."""
    if ours.word == "normal":
        free = stats.norm(*ours.numbers)
    elif ours.word == "lognormal":
        free = stats.lognorm(ours.numbers[1], scale=ours.numbers[0])
    else:
        return
    for u in (1e-9, 0.01, 0.5, 0.9):
        assert ours.below(free.ppf(u)) == pytest.approx(u, rel=1e-9)


@pytest.mark.parametrize("ours", [c[0] for c in CASES])
def test_nothing_is_infinite_or_outside(ours):
    x = ours.ppf(np.array([0.0, 1e-300, 2.0**-54, 0.5, 1.0 - 2.0**-53, 1.0]))
    assert np.isfinite(x).all()
    low, high = ours.support
    assert (x >= low).all()
    assert (x <= high).all()


def cuts():
    ends = st.tuples(st.floats(-3, 2.5), st.floats(0.1, 4.0))
    return ends.map(lambda e: (e[0], e[0] + e[1]))


@given(cuts(), st.lists(st.floats(0, 1), min_size=2, max_size=20))
def test_a_cut_normal_is_monotonic_and_within(ends, us):
    x = Scatter("normal", (0.0, 1.0), *ends).ppf(np.sort(us))
    assert (np.diff(x) >= 0).all()
    assert ends[0] <= x[0]
    assert x[-1] <= ends[1]


@given(st.floats(1e-6, 1e9), st.floats(0.01, 3.0), st.floats(0.001, 0.999))
def test_lognormal_is_symmetric_about_its_median_in_logarithms(median, sd, u):
    up, down = Scatter("lognormal", (median, sd)).ppf([u, 1 - u])
    assert up * down == pytest.approx(median**2, rel=1e-6)
