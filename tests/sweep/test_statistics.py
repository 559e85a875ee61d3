"""Bands, odds and indices against closed forms, printed tables and reference libraries."""

from __future__ import annotations

from math import comb

import numpy as np
import pytest
from scipy import stats

from simcore.sweep import sensitivity as sv
from simcore.sweep import statistics as st
from simcore.sweep.law import Law
from simcore.sweep.odds import averaged


@pytest.mark.parametrize(("seen", "cases"), [(0, 30), (1, 10), (3, 200), (17, 60), (199, 200), (50, 50)])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_binomial_bands_against_scipy(seen: int, cases: int, confidence: float) -> None:
    wanted = stats.binomtest(seen, cases).proportion_ci(confidence, "exact")
    band = st.clopper_pearson(seen, cases, confidence)
    assert (float(band.low), float(band.high)) == pytest.approx((wanted.low, wanted.high), abs=1e-12)


def test_three_trips_in_two_hundred() -> None:
    """Exact bounds as roots of the binomial tails (Clopper and Pearson 1934)."""
    low, high = st.clopper_pearson(3, 200, 0.95)
    assert (low, high) == (pytest.approx(0.00310410762, rel=1e-8), pytest.approx(0.0432082819, rel=1e-8))
    assert stats.binom.sf(2, 200, low) == pytest.approx(0.025, rel=1e-9)
    assert stats.binom.cdf(3, 200, high) == pytest.approx(0.025, rel=1e-9)


def test_ten_cases_as_in_the_published_table() -> None:
    """Clopper and Pearson's 95 % limits for ten cases as commonly tabled (three decimals, from memory)."""
    table = {0: (0.0, 0.308), 1: (0.003, 0.445), 2: (0.025, 0.556), 3: (0.067, 0.652), 5: (0.187, 0.813)}
    for seen, wanted in table.items():
        low, high = st.clopper_pearson(seen, 10, 0.95)
        assert (round(float(low), 3), round(float(high), 3)) == wanted


def test_none_seen_is_about_three_over_n() -> None:
    assert st.most_if_none_seen(300) == pytest.approx(0.00993608194, rel=1e-8)
    assert st.most_if_none_seen(10_000) == pytest.approx(3e-4, rel=2e-3)
    assert st.most_if_none_seen(0) == 1.0
    assert st.clopper_pearson(0, 300).high == pytest.approx(st.most_if_none_seen(300), rel=1e-12)
    assert st.cases_needed(0.05) == 59  # Wilks 1941
    assert 0.999 ** st.cases_needed(0.001) <= 0.05 < 0.999 ** (st.cases_needed(0.001) - 1)


def test_no_cases_leave_everything_open() -> None:
    band = st.clopper_pearson(0, 0)
    assert (float(band.low), float(band.high)) == (0.0, 1.0)


def _normal(sd: float) -> Law:
    law = stats.norm(1.0, sd)
    return Law("normal", law.cdf, law.ppf, True)


def test_nuisance_of_normal_setting_and_normal_peak() -> None:
    """Exact: Phi(-25/sqrt(9.5^2 + 8^2)), setting 190 with 5 %, peak 165 with 8, independent."""
    exact = float(stats.norm.cdf(-25.0 / np.hypot(9.5, 8.0)))
    assert exact == pytest.approx(0.0220613018, rel=1e-8)
    even = stats.norm.ppf((np.arange(200_000) + 0.5) / 200_000, 165.0, 8.0)
    assert averaged(even, (_normal(0.05),), np.array([190.0])).share[0] == pytest.approx(exact, rel=1e-5)
    drawn = np.random.default_rng(1).normal(165.0, 8.0, 1000)
    curve = averaged(drawn, (_normal(0.05),), np.array([190.0]))
    assert curve.low[0] < exact < curve.high[0]
    assert curve.high[0] - curve.low[0] < 0.5 * np.subtract(*st.clopper_pearson(22, 1000)[::-1])


def test_averaging_sees_far_below_one_over_n() -> None:
    exact = float(stats.norm.cdf(-(240.0 - 165.0) / np.hypot(12.0, 8.0)))
    curve = averaged(np.random.default_rng(2).normal(165.0, 8.0, 1000), (_normal(0.05),), np.array([240.0]))
    assert exact < 1e-6
    assert curve.low[0] < exact < curve.high[0]
    assert curve.share[0] == pytest.approx(exact, rel=1.0)


def test_two_laws_multiply() -> None:
    """Product of two lognormals is lognormal: exact."""
    laws = []
    for sd in (0.03, 0.04):
        law = stats.lognorm(sd)
        laws.append(Law("lognormal", law.cdf, law.ppf, True))
    share = averaged(np.array([170.0]), tuple(laws), np.array([190.0])).share[0]
    assert share == pytest.approx(stats.norm.cdf(np.log(170 / 190) / 0.05), rel=0.05)


def _asks(name: str, shape: tuple[int, ...]) -> np.ndarray:
    rng = np.random.default_rng(3)
    if name == "normal":
        return rng.normal(165.0, 8.0, shape)
    return 165.0 * np.exp(0.1 * rng.normal(size=shape)) if name == "lognormal" else rng.gumbel(160.0, 6.0, shape)


@pytest.mark.parametrize("name", ["normal", "lognormal", "extreme value"])
@pytest.mark.parametrize("draws", [200, 1000])
def test_averaged_bound_holds_its_promise(name: str, draws: int) -> None:
    """Of 300 sweeps at most about 5 % may have the exact share above the upper bound, far below 1/n too."""
    settings = np.array([185.0, 200.0, 220.0, 240.0])
    exact = np.array([stats.norm.cdf((_asks(name, (400_000,)) / s - 1.0) / 0.05).mean() for s in settings])
    curves = [averaged(a, (_normal(0.05),), settings) for a in _asks(name, (300, draws))]
    missed = np.mean([c.high < exact for c in curves], axis=0)
    assert np.all(missed <= 0.08), missed
    assert np.mean([c.low > exact for c in curves], axis=0).max() <= 0.08


def test_weighted_band_of_counts_is_the_exact_poisson_one() -> None:
    """Garwood, Biometrika 28 (1936): bounds of a Poisson mean from chi-square quantiles."""
    hits = np.zeros(10_000)
    hits[:7] = 1.0
    low, high = st.weighted_band(hits, 0.95)
    assert low * 1e4 == pytest.approx(0.5 * stats.chi2.ppf(0.025, 14), rel=1e-9)
    assert high * 1e4 == pytest.approx(0.5 * stats.chi2.ppf(0.975, 16), rel=1e-9)


def test_support_counts_equal_cases_and_ignores_empty_ones() -> None:
    assert st.support(np.full(50, 0.01)) == pytest.approx(50.0)
    assert st.support(np.r_[0.3, np.zeros(99)]) == pytest.approx(1.0)
    assert st.support(np.zeros(9)) == 0.0


def test_monotone_pools_what_disagrees() -> None:
    got = st.monotone(np.array([0.0, 0.2, 0.1, np.nan, 0.5]), np.array([10.0, 10, 30, 0, 10]), rising=True)
    assert got[[0, 1, 2, 4]] == pytest.approx([0.0, 0.125, 0.125, 0.5])
    assert np.isnan(got[3])


def test_bounds_of_averaged_odds_fall_with_the_setting_as_the_odds_do() -> None:
    """A bound found at one setting holds on the side where the true share can only be smaller, or larger."""
    for asks in _asks("extreme value", (20, 60)):
        curve = averaged(asks, (_normal(0.05),), np.linspace(120.0, 260.0, 60))
        assert (np.diff(curve.high) <= 0.0).all()
        assert (np.diff(curve.low) <= 0.0).all()


def test_reach_interpolates_and_says_where_the_grid_ends() -> None:
    x, y = np.array([100.0, 110, 120]), np.array([0.0, 0.0, 0.1])
    assert st.reach(x, y, 0.025) == (pytest.approx(112.5), False)
    assert st.reach(x, y, 0.2) == (120.0, True)
    assert np.isnan(st.reach(x, y + 0.3, 0.025)[0])
    assert st.reach(x, y, float(y[-1])) == (x[-1], True)
    assert st.reach(x, y + 0.3, 0.3 + float(y[0]))[0] >= x[0]


def test_quantile_bounds_are_order_statistics() -> None:
    """59 values are the fewest whose largest one bounds the 95 % point with 95 % (Wilks 1941)."""
    assert st.quantile(np.arange(59.0), 0.95).high == 58.0
    assert np.isnan(st.quantile(np.arange(58.0), 0.95).high)
    drawn = np.random.default_rng(4).random((500, 200))
    found = [st.quantile(d, 0.5) for d in drawn]
    assert np.mean([e.high < 0.5 for e in found]) <= 0.08
    assert np.mean([e.low > 0.5 for e in found]) <= 0.08
    assert st.quantile(np.array([1.0, np.inf, np.nan, np.inf]), 0.95).value == np.inf
    assert np.isnan(st.quantile(np.array([np.nan]), 0.5).value)


def test_exceedance_pareto_regret() -> None:
    v, share = st.exceedance(np.array([3.0, np.nan, 1, 2, 4]))
    assert list(v) == [1, 2, 3, 4]
    assert share == pytest.approx([1.0, 0.75, 0.5, 0.25])
    front = st.pareto(np.array([[1.0, 5], [2, 2], [3, 1], [3, 3], [np.nan, 0], [2, 2], [0.5, np.inf]]))
    assert list(front) == [True, True, True, False, False, True, True]
    costs = np.array([[1.0, 2, np.nan], [3, 1, 1]])
    assert np.array_equal(st.regret(costs), [[0, 1, np.nan], [2, 0, np.nan]], equal_nan=True)


def test_rank_correlation_and_tail_means() -> None:
    rng = np.random.default_rng(6)
    x = rng.normal(size=4000)
    y = 0.6 * x + 0.8 * rng.normal(size=4000)
    wanted = 6.0 / np.pi * np.arcsin(0.3)  # Spearman's rho of a bivariate normal with correlation 0.6 (Pearson 1907)
    got = st.rank_correlation(x, y)
    assert got.low < wanted < got.high
    assert got.value == pytest.approx(stats.spearmanr(x, y).statistic)
    low, high = st.tail_means(x, y)
    edge = stats.norm.pdf(stats.norm.ppf(0.2)) / 0.2
    assert (low, high) == (pytest.approx(-0.6 * edge, abs=0.06), pytest.approx(0.6 * edge, abs=0.06))
    assert np.isnan(st.rank_correlation(x, np.ones(4000)).value)


def _rows(k: int, n: int) -> tuple[np.ndarray, sv.Pairing]:
    """Paired rows from a scrambled Sobol' sequence of 2 k dimensions."""
    both = stats.qmc.Sobol(2 * k, seed=8).random(n)
    a, b = both[:, :k], both[:, k:]
    rows = np.stack([a, b, *(np.where(np.arange(k) == i, b, a) for i in range(k))], axis=1).reshape(-1, k)
    found = sv.pairing(rows)
    assert found is not None
    return rows, found


def g_function(u: np.ndarray) -> np.ndarray:
    a = np.array([0.0, 1.0, 4.5, 9.0])
    return np.prod((np.abs(4.0 * u - 2.0) + a) / (1.0 + a), axis=1)


def ishigami(u: np.ndarray) -> np.ndarray:
    x = np.pi * (2.0 * u - 1.0)
    return np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


CLOSED = {
    g_function: (
        (0.716492935, 0.179123234, 0.0236857169, 0.00716492935),
        (0.787369701, 0.2422676, 0.0343267445, 0.0104633847),
    ),
    ishigami: ((0.313905191, 0.442411145, 0.0), (0.557588855, 0.442411145, 0.243683664)),
}


@pytest.mark.parametrize("function", CLOSED)
def test_indices_of_functions_with_closed_forms(function) -> None:
    """Ishigami and Homma (1990), Sobol' g function: closed forms in Saltelli et al., Global Sensitivity Analysis."""
    first, total = CLOSED[function]
    rows, pairs = _rows(len(first), 8192)
    got = sv.sobol_indices(function(rows), pairs)
    assert got.first == pytest.approx(first, abs=0.01)
    assert got.total == pytest.approx(total, abs=0.01)
    for band, wanted in ((got.first_band, first), (got.total_band, total)):
        assert np.all(band.low <= np.array(wanted) + 0.005)
        assert np.all(band.high >= np.array(wanted) - 0.005)


def test_indices_against_a_reference_library() -> None:
    analyze = pytest.importorskip("SALib.analyze.sobol")
    rows, pairs = _rows(4, 1024)
    y = g_function(rows)
    order = np.concatenate([pairs.a[None], pairs.ab, pairs.b[None]]).T.ravel()
    problem = {"num_vars": 4, "names": list("abcd"), "bounds": [[0, 1]] * 4}
    wanted = analyze.analyze(problem, y[order], calc_second_order=False, num_resamples=10, seed=1)
    got = sv.sobol_indices(y, pairs)
    assert got.first == pytest.approx(wanted["S1"], abs=1e-6)
    assert got.total == pytest.approx(wanted["ST"], abs=1e-6)


def test_pairing_is_found_in_both_layouts_and_not_invented() -> None:
    rows, pairs = _rows(3, 16)
    blocks = np.concatenate([rows[pairs.a], rows[pairs.b], *(rows[i] for i in pairs.ab)])
    found = sv.pairing(blocks)
    assert found is not None
    assert np.array_equal(blocks[found.ab[1]], rows[pairs.ab[1]])
    assert sv.pairing(np.random.default_rng(1).random((80, 3))) is None


def test_failed_rows_are_left_out_whole() -> None:
    rows, pairs = _rows(4, 2048)
    y = g_function(rows)
    y[pairs.ab[2][5]] = y[pairs.a[9]] = np.nan
    got = sv.sobol_indices(y, pairs)
    assert got.rows == 2046
    assert got.total == pytest.approx(CLOSED[g_function][1], abs=0.03)


def test_explained_from_any_sample() -> None:
    u = np.random.default_rng(9).random((20_000, 3))
    got = [sv.explained(u[:, i], ishigami(u)) for i in range(3)]
    assert got == pytest.approx(CLOSED[ishigami][0], abs=0.03)
    value, low, high = sv.explained_band(u[:2000, 0], ishigami(u)[:2000])
    assert low < 0.313905191 < high
    assert low <= value <= high
    assert np.isnan(sv.explained(u[:, 0], np.ones(20_000)))


def test_bounds_of_a_median_of_ten_are_the_second_and_the_ninth() -> None:
    """Ten signs by coin: one or none is rarer than 5 % (11 of 1024), two or fewer is not (56 of 1024); by hand."""
    assert sum(comb(10, k) for k in range(2)) / 2**10 < 0.05 < sum(comb(10, k) for k in range(3)) / 2**10
    found = st.quantile(np.arange(1.0, 11.0), 0.5)
    assert (found.low, found.high) == (2.0, 9.0)
