"""Stiffness and damping as engineers state them."""

from __future__ import annotations

from math import isnan, nan, pi

from simcore.contract import Param

RELATIVE_DAMPING = Param(
    "relative_damping", "ratio",
    "energy lost in one cycle over the elastic energy at the turning point",
    default=0.25, low=0, high=3, usual=(0.13, 0.38),
    source="structural loss of joints, keys and bearings; common practice, from memory; "
    "definition as in DIN 740-2",
)  # fmt: skip


def damping(psi: float, k: float, w1: float) -> float:
    """Viscous damping [N*m*s/rad] that loses the share ``psi`` a cycle at ``w1`` [rad/s].

    ``c = psi*k/(2*pi*w1)``; definition of the relative damping as in DIN 740-2.
    """
    return psi * k / (2.0 * pi * w1)


def stiffness(k: float, twist: float, torque: float) -> float:
    """Stiffness [N*m/rad]: as given, else from the twist at a torque; NaN if neither is known."""
    if not isnan(k):
        return k
    if isnan(twist) or isnan(torque) or twist <= 0.0:
        return nan
    return torque / twist


def both_or_neither(a: float, b: float, text: str) -> list[str]:
    """A sentence if two ways of stating one thing contradict each other by more than 2 %."""
    if isnan(a) or isnan(b) or abs(a - b) <= 0.02 * abs(a):
        return []
    return [text]
