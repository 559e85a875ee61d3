r"""Damping ratio of a contact from its restitution.

A mass on spring and dashpot that parts when their force falls to zero leaves with the share

.. math:: e = \exp\left(-2\zeta\,\frac{\arccos\zeta}{\sqrt{1-\zeta^2}}\right), \qquad c = 2\zeta\sqrt{k m}

of its speed; past :math:`\zeta = 1` (:math:`e < e^{-2}`) the same with the hyperbolic functions.  Source: damped free
vibration, textbook.
"""

from __future__ import annotations

from math import acos, acosh, log, sqrt

NEAR_ONE = 1e-4
STEPS = 40
CLOSE = 1e-13


def shape(z: float) -> float:
    """``acos z / sqrt(1 - z^2)``, smooth through z = 1."""
    u = 1.0 - z
    if abs(u) < NEAR_ONE:
        return 1.0 + u * (1.0 / 3.0 + u * (2.0 / 15.0))
    if z < 1.0:
        return acos(z) / sqrt(1.0 - z * z)
    return acosh(z) / sqrt(z * z - 1.0)


def damping_ratio(e: float) -> float:
    """Damping ratio of a contact with restitution ``e``, 0 < e <= 1.

    Newton's method from 0: ``z * shape(z)`` rises and bends down, so every step stays short of the root.
    """
    want = -0.5 * log(e)
    z = 0.0
    for _ in range(STEPS):
        s = shape(z)
        u = 1.0 - z
        slope = 2.0 / 3.0 + 0.4 * u if abs(u) < NEAR_ONE else (s - z) / (1.0 - z * z)
        step = (want - z * s) / slope
        z += step
        if abs(step) < CLOSE * (1.0 + z):
            break
    return z
