"""Derived numbers of a line: lowest mode of the bare line, and damping that loses a share of the energy."""

from __future__ import annotations

from math import pi

import numpy as np
from scipy.linalg import eigh

MOST_DAMPED = 0.25
"""No connection's own mode is damped by more than this share of critical."""


def lowest_mode(J: list[float], springs: list[tuple[int, int, float, float, float]]) -> float:
    """Lowest elastic frequency [rad/s]; springs are (a, b, ra, rb, k) between nodes 0..n-1 of inertia ``J``."""
    K = np.zeros((len(J), len(J)))
    for a, b, ra, rb, k in springs:
        r = np.zeros(len(J))
        r[a], r[b] = ra, -rb
        K += k * np.outer(r, r)
    w2 = eigh(K, np.diag(J), eigvals_only=True)
    return float(np.sqrt(w2[w2 > 1e-9 * w2[-1]][0]))


def damping(psi: float, k: float, w1: float, ja: float = np.inf, jb: float = np.inf, stiff: float = 0.0) -> float:
    """``c = psi k / (2 pi w)`` with w = w1, raised for a stiff connection between ``ja`` and ``jb``.

    Inertias at the connection's own shaft; ``stiff`` is the connection's whole stiffness if not ``k``.
    """
    own = float(np.sqrt((stiff or k) * (1.0 / ja + 1.0 / jb)))
    return psi * k / (2.0 * pi * max(w1, own * psi / (4.0 * pi * MOST_DAMPED)))
