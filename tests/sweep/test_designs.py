"""Designs: what each promises of its draws, and indices that are known in closed form."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.stats import qmc

from simcore.sweep import designs

NAMES = ("setting", "spoon stiffness", "drag")
MAKERS = {
    "random": lambda a, b: designs.random(7, NAMES, a, b),
    "latin hypercube": lambda a, b: designs.latin_hypercube(7, NAMES, a, b, 40),
    "sobol sequence": lambda a, b: designs.sobol_sequence(7, 3, a, b),
    "paired": lambda a, b: designs.paired(7, 3, a, b),
}
every = pytest.mark.parametrize("make", MAKERS.values(), ids=list(MAKERS))


@every
@settings(max_examples=40, deadline=None)
@given(cuts=st.lists(st.integers(0, 300), max_size=5))
def test_any_split_gives_the_same_bits(make, cuts):
    ends = [0, *sorted(cuts), 300]
    parts = [make(a, b) for a, b in pairwise(ends)]
    assert np.array_equal(np.concatenate(parts), make(0, 300))


@every
def test_one_draw_alone_is_the_one_in_the_crowd(make):
    crowd = make(0, 200)
    for d in (199, 0, 57, 40, 39, 3):
        assert np.array_equal(make(d, d + 1)[0], crowd[d])


@every
def test_inside_the_unit_cube_and_even(make):
    u = make(0, 4000)
    assert u.shape == (4000, 3)
    assert (u > 0).all()
    assert (u < 1).all()
    for column in u.T:
        assert stats.kstest(column, "uniform").pvalue > 1e-3


@pytest.mark.parametrize("make", [MAKERS["random"], MAKERS["latin hypercube"]])
def test_columns_are_independent_and_differ(make):
    r = np.corrcoef(make(0, 4000).T) - np.eye(3)
    assert np.abs(r).max() < 4 / np.sqrt(4000)


def test_a_far_draw_costs_nothing():
    far = designs.random(7, NAMES, 10**12, 10**12 + 3)
    assert far.shape == (3, 3)


def test_random_and_hypercube_go_by_name_not_by_place():
    swapped = NAMES[::-1]
    assert np.array_equal(designs.random(7, swapped, 0, 50)[:, ::-1], designs.random(7, NAMES, 0, 50))
    one = designs.latin_hypercube(7, ("drag",), 0, 50, 20)
    assert np.array_equal(one[:, 0], designs.latin_hypercube(7, NAMES, 0, 50, 20)[:, 2])


@pytest.mark.parametrize("name", ["random", "latin hypercube", "sobol sequence", "paired"])
def test_another_seed_gives_other_draws(name):
    other = {
        "random": lambda: designs.random(8, NAMES, 0, 9),
        "latin hypercube": lambda: designs.latin_hypercube(8, NAMES, 0, 9, 40),
        "sobol sequence": lambda: designs.sobol_sequence(8, 3, 0, 9),
        "paired": lambda: designs.paired(8, 3, 0, 9),
    }
    assert not np.isin(other[name](), MAKERS[name](0, 9)).any()


@pytest.mark.parametrize("size", [2, 3, 40, 1000])
def test_each_hypercube_has_one_draw_in_each_stratum(size):
    """McKay, Beckman and Conover 1979: the definition of the design."""
    for j in (0, 1, 5):
        u = designs.latin_hypercube(3, NAMES, j * size, (j + 1) * size, size)
        strata = np.sort(np.floor(u * size).astype(int), axis=0)
        assert (strata == np.arange(size)[:, None]).all()


def test_hypercubes_differ_from_each_other():
    u = designs.latin_hypercube(3, NAMES, 0, 200, 100)
    assert not np.array_equal(np.argsort(u[:100], axis=0), np.argsort(u[100:], axis=0))


def test_variance_of_the_mean_of_a_hypercube():
    """Mean of x, uniform on 0..1, from n strata: variance 1/(12 n^3), against 1/(12 n) of independent draws.

    Closed form: n strata of width 1/n, each mean term has variance (1/n)^2/12, their mean 1/n of that.
    """
    n, cubes = 10, 4000
    means = designs.latin_hypercube(11, ("x",), 0, n * cubes, n).reshape(cubes, n).mean(axis=1)
    assert means.var() == pytest.approx(1 / (12 * n**3), rel=4 * np.sqrt(2 / cubes))
    plain = designs.random(11, ("x",), 0, n * cubes).reshape(cubes, n).mean(axis=1)
    assert plain.var() == pytest.approx(1 / (12 * n), rel=4 * np.sqrt(2 / cubes))


@pytest.mark.parametrize("dims", [1, 3, 12])
def test_the_sequence_is_scipys(dims):
    theirs = qmc.Sobol(dims, scramble=True, seed=np.random.default_rng(7)).random(256)
    assert np.array_equal(designs.sobol_sequence(7, dims, 0, 256), theirs)
    assert np.array_equal(designs.sobol_sequence(7, dims, 100, 256), theirs[100:])


def test_the_sequence_is_a_net():
    """Sobol' 1967: of the first 2^m points each of 2^m equal intervals of an axis holds one, scrambled or not."""
    u = designs.sobol_sequence(7, 5, 0, 256)
    assert (np.sort(np.floor(u * 256).astype(int), axis=0) == np.arange(256)[:, None]).all()
    plain = qmc.Sobol(5, scramble=False).random(256)
    assert qmc.discrepancy(u) < 1.5 * qmc.discrepancy(plain)


def test_a_point_at_zero_is_moved_inside(monkeypatch):
    monkeypatch.setattr(designs, "_sequence", lambda seed, dims: qmc.Sobol(dims, scramble=False))
    u = designs.sobol_sequence(7, 3, 0, 8)
    assert (u[0] == 2.0**-31).all()
    assert np.array_equal(u[1:], qmc.Sobol(3, scramble=False).random(8)[1:])


def test_order_of_paired_rows():
    """Saltelli et al. 2010, table 2, first and total indices: A, then A with one column from B, then B."""
    both = designs.sobol_sequence(7, 6, 0, 4)
    rows = designs.paired(7, 3, 0, 20).reshape(4, 5, 3)
    a, b = both[:, :3], both[:, 3:]
    assert np.array_equal(rows[:, 0], a)
    assert np.array_equal(rows[:, 4], b)
    for i in range(3):
        swapped = a.copy()
        swapped[:, i] = b[:, i]
        assert np.array_equal(rows[:, 1 + i], swapped)


def test_order_of_paired_rows_is_that_of_a_reference_library(monkeypatch):
    """Fed with the same base sequence, SALib writes the same rows."""
    sobol = pytest.importorskip("SALib.sample.sobol")
    problem = {"num_vars": 3, "names": list(NAMES), "bounds": [[0, 1]] * 3}
    theirs = sobol.sample(problem, 16, calc_second_order=False, scramble=False, skip_values=0)
    monkeypatch.setattr(designs, "_sequence", lambda seed, dims: qmc.Sobol(dims, scramble=False))
    np.testing.assert_allclose(designs.paired(7, 3, 0, 16 * 5), theirs, atol=2.0**-30)


def ishigami(u):
    x = np.pi * (2 * u - 1)
    return np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


FIRST = np.array([0.3139, 0.4424, 0.0])
TOTAL = np.array([0.5576, 0.4424, 0.2437])
"""Ishigami and Homma 1990, a = 7, b = 0.1: closed form, V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2."""


def test_closed_form_of_the_indices():
    a, b, pi = 7.0, 0.1, np.pi
    v = a**2 / 8 + b * pi**4 / 5 + b**2 * pi**8 / 18 + 0.5
    v1, v2, v13 = 0.5 * (1 + b * pi**4 / 5) ** 2, a**2 / 8, 8 * b**2 * pi**8 / 225
    np.testing.assert_allclose(FIRST, [v1 / v, v2 / v, 0], atol=5e-5)
    np.testing.assert_allclose(TOTAL, [(v1 + v13) / v, v2 / v, v13 / v], atol=5e-5)


def test_indices_from_the_paired_design_by_salib():
    analyze = pytest.importorskip("SALib.analyze.sobol").analyze
    problem = {"num_vars": 3, "names": list(NAMES), "bounds": [[-np.pi, np.pi]] * 3}
    y = ishigami(designs.paired(5, 3, 0, 4096 * 5))
    found = analyze(problem, y, calc_second_order=False, seed=1)
    assert (np.abs(found["S1"] - FIRST) < np.minimum(found["S1_conf"] + 1e-3, 0.02)).all()
    assert (np.abs(found["ST"] - TOTAL) < np.minimum(found["ST_conf"] + 1e-3, 0.02)).all()


def test_indices_from_the_paired_design_by_scipy():
    y = ishigami(designs.paired(5, 3, 0, 4096 * 5)).reshape(4096, 5)
    given_values = {"f_A": y[:, 0][None], "f_B": y[:, 4][None], "f_AB": y[:, 1:4].T[:, None, :]}
    found = stats.sobol_indices(func=given_values, n=4096)
    np.testing.assert_allclose(np.ravel(found.first_order), FIRST, atol=0.02)
    np.testing.assert_allclose(np.ravel(found.total_order), TOTAL, atol=0.02)
