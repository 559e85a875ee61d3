"""Order conditions of the Runge-Kutta pair and its dense output.

Source: rooted-tree conditions, Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I.
"""

from __future__ import annotations

import numpy as np
import pytest

from simcore.solver.tableau import ERROR, STAGES, A, C, dense_weights

a = np.zeros((STAGES, STAGES))
a[:, :6] = A
c = np.array(C)
TREES = {  # elementary weight of every tree up to order 5, its order and its density
    "1": (np.ones(STAGES), 1, 1), "2": (c, 2, 2), "3a": (c**2, 3, 3), "3b": (a @ c, 3, 6),
    "4a": (c**3, 4, 4), "4b": (c * (a @ c), 4, 8), "4c": (a @ c**2, 4, 12), "4d": (a @ (a @ c), 4, 24),
    "5a": (c**4, 5, 5), "5b": (c**2 * (a @ c), 5, 10), "5c": ((a @ c) ** 2, 5, 20),
    "5d": (c * (a @ c**2), 5, 15), "5e": (a @ c**3, 5, 20), "5f": (c * (a @ (a @ c)), 5, 30),
    "5g": (a @ (c * (a @ c)), 5, 40), "5h": (a @ (a @ c**2), 5, 60), "5i": (a @ (a @ (a @ c)), 5, 120),
}  # fmt: skip


def test_rows_sum_to_their_nodes():
    assert a.sum(axis=1) == pytest.approx(c, abs=1e-14)


@pytest.mark.parametrize("tree", TREES)
def test_step_has_order_five(tree):
    phi, _, density = TREES[tree]
    assert a[6] @ phi == pytest.approx(1.0 / density, abs=1e-14)


def test_difference_has_order_four_and_not_five():
    sizes = {k: abs(np.array(ERROR) @ phi) for k, (phi, order, _) in TREES.items() if order <= 4}
    assert max(sizes.values()) < 1e-14
    assert max(abs(np.array(ERROR) @ phi) for phi, order, _ in TREES.values() if order == 5) > 1e-5


@pytest.mark.parametrize("s", [0.1, 0.37, 0.5, 0.83, 1.0])
def test_dense_output_has_order_four(s):
    w = np.array(dense_weights(s))
    for phi, order, density in TREES.values():
        if order <= 4:
            assert w @ phi == pytest.approx(s**order / density, abs=1e-13)


def test_dense_output_meets_both_ends_with_their_slopes():
    assert np.array(dense_weights(0.0)) == pytest.approx(np.zeros(STAGES), abs=1e-15)
    assert np.array(dense_weights(1.0)) == pytest.approx(a[6], abs=1e-14)
    d = 1e-6
    start = np.array(dense_weights(d)) / d
    end = (np.array(dense_weights(1.0)) - np.array(dense_weights(1.0 - d))) / d
    assert start == pytest.approx(np.eye(STAGES)[0], abs=1e-4)
    assert end == pytest.approx(np.eye(STAGES)[6], abs=1e-4)
