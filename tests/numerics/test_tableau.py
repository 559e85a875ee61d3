"""Order conditions of the Runge-Kutta pair, of its middle and of its dense output.

Source: rooted-tree conditions, Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, II.2.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import comb, prod

import numpy as np
import pytest

from simcore.solver.tableau import ERROR, HALF, STAGES, A, C, dense_weights

a = np.zeros((STAGES, STAGES))
a[:, :-1] = A
c = np.array(C)
whole = a[-1]
Tree = tuple["Tree", ...]


def forests(nodes: int, largest: int) -> Iterator[Tree]:
    """All sets of trees with so many nodes in all, none with more than ``largest``."""
    if nodes == 0:
        yield ()
    for n in range(1, min(nodes, largest) + 1):
        for tree in forests(n - 1, n - 1):
            yield from ((tree, *rest) for rest in forests(nodes - n, n))


def trees(order: int) -> list[Tree]:
    """Rooted trees with so many nodes, each as the sorted set of what grows on its root."""
    return sorted({sorted_tree(f) for f in forests(order - 1, order - 1)})


def sorted_tree(tree: Tree) -> Tree:
    return tuple(sorted(sorted_tree(branch) for branch in tree))


def size(tree: Tree) -> int:
    return 1 + sum(size(branch) for branch in tree)


def density(tree: Tree) -> int:
    return size(tree) * prod(density(branch) for branch in tree)


def weight(tree: Tree) -> np.ndarray:
    """Elementary weight of every stage."""
    return np.prod([np.ones(STAGES), *(a @ weight(branch) for branch in tree)], axis=0)


def misses(weights: np.ndarray, share: float, order: int) -> float:
    """By how much the conditions of one order are missed at most, at the share of a step."""
    return max(abs(weights @ weight(t) - share**order / density(t)) for t in trees(order))


def test_trees_are_all_there():
    """1, 1, 2, 4, 9, 20, 48 rooted trees (A. Cayley; numbers from memory)."""
    assert [len(trees(n)) for n in range(1, 8)] == [1, 1, 2, 4, 9, 20, 48]


def test_rows_sum_to_their_nodes():
    assert a.sum(axis=1) == pytest.approx(c, abs=1e-14)
    assert sum(HALF) == pytest.approx(0.5, abs=1e-15)


def test_step_has_order_six_and_not_seven():
    assert max(misses(whole, 1.0, n) for n in range(1, 7)) < 2e-14
    assert misses(whole, 1.0, 7) > 1e-6


def test_companion_has_order_five_and_not_six():
    companion = whole - np.array(ERROR)
    assert max(misses(companion, 1.0, n) for n in range(1, 6)) < 2e-14
    assert misses(companion, 1.0, 6) > 1e-6


def test_middle_has_order_five_and_not_six():
    assert max(misses(np.array(HALF), 0.5, n) for n in range(1, 6)) < 2e-14
    assert misses(np.array(HALF), 0.5, 6) > 1e-6


@pytest.mark.parametrize("s", [0.0, 0.1, 0.37, 0.5, 0.83, 1.0])
def test_dense_output_is_exact_for_polynomials_of_degree_five(s):
    """It meets start, middle and end with their slopes: s^5 and (1 - s)^5 and what lies between."""
    half, end, slope_0, slope_half, slope_1 = dense_weights(s)
    for n in range(6):
        f = np.polynomial.Polynomial([(-1) ** (i + n) * comb(n, i) * 3.0**i for i in range(n + 1)])
        d = f.deriv()
        got = f(0.0) + half * (f(0.5) - f(0.0)) + end * (f(1.0) - f(0.0))
        got += slope_0 * d(0.0) + slope_half * d(0.5) + slope_1 * d(1.0)
        assert got == pytest.approx(f(s), abs=1e-12)


@pytest.mark.parametrize(("h", "worst"), [(0.2, 4e-10), (0.4, 3e-8)])
def test_dense_output_follows_an_oscillation(h, worst):
    """exp(i t) over one step, between its ends too: closed form."""
    k = np.linalg.solve(np.eye(STAGES) - 1j * h * a, np.full(STAGES, 1j * h))
    middle, end = 1.0 + np.array(HALF) @ k, 1.0 + whole @ k
    for s in np.linspace(0.0, 1.0, 41):
        w = dense_weights(s)
        got = 1.0 + w[0] * (middle - 1.0) + w[1] * (end - 1.0) + 1j * h * (w[2] + w[3] * middle + w[4] * end)
        assert abs(got - np.exp(1j * h * s)) < worst
