"""Order conditions of the L-stable step, its embedded step and its dense output.

Source: order conditions of Rosenbrock methods, Hairer and Wanner, Solving Ordinary Differential Equations II, IV.7.
"""

from __future__ import annotations

import numpy as np
import pytest

from simcore.solver import rosenbrock as rb

wide = ((0, 0), (0, 1))
a, coupling = np.pad(rb.A, wide), np.pad(rb.COUPLING, wide)
gamma = np.linalg.inv(np.eye(rb.STAGES) / rb.GAMMA - coupling)
"""From the form without products with the Jacobian back to the usual one."""
alpha = a @ gamma
beta = alpha + gamma
c, b1 = alpha.sum(axis=1), beta.sum(axis=1)
TREES = {  # elementary weight, its order and its density
    "1": (np.ones(rb.STAGES), 1, 1), "2": (b1, 2, 2), "3a": (c**2, 3, 3), "3b": (beta @ b1, 3, 6),
    "4a": (c**3, 4, 4), "4b": (c * (alpha @ b1), 4, 8), "4c": (beta @ c**2, 4, 12), "4d": (beta @ beta @ b1, 4, 24),
}  # fmt: skip
STEP = np.append(rb.A[-1], 1.0)
"""Weights of the stages; the last stage is the error."""
EMBEDDED = np.append(rb.A[-1], 0.0)


def at(s: float) -> np.ndarray:
    """Weights of the stages in the dense output."""
    return s * (STEP + (1.0 - s) * np.append(np.array(rb.H[0]) + s * np.array(rb.H[1]), 0.0))


def defect(weights: np.ndarray, order: int, s: float = 1.0) -> float:
    """Largest defect of the conditions of one order."""
    b = weights @ gamma
    return max(abs(b @ phi - s**p / density) for phi, p, density in TREES.values() if p == order)


def test_rows_sum_to_their_nodes():
    assert c == pytest.approx(rb.C, abs=1e-14)
    assert gamma.sum(axis=1) == pytest.approx(rb.D, abs=1e-14)
    assert np.diag(gamma) == pytest.approx(np.full(rb.STAGES, rb.GAMMA), abs=1e-14)


@pytest.mark.parametrize("order", [1, 2, 3, 4])
def test_step_has_order_four(order):
    assert defect(STEP, order) < 1e-13


def test_embedded_step_has_order_three_and_not_four():
    assert max(defect(EMBEDDED, order) for order in (1, 2, 3)) < 1e-13
    assert defect(EMBEDDED, 4) > 1e-3


@pytest.mark.parametrize("s", [0.1, 0.37, 0.5, 0.83, 1.0])
def test_dense_output_has_order_three(s):
    assert max(defect(at(s), order, s) for order in (1, 2, 3)) < 1e-13
