"""Stiffness and damping as engineers state them."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan, pi
from typing import Any, Final

from simcore.contract import Param

TWISTS: Final = {"twist_at_rated": "rated_torque", "twist_at_setting": "setting"}
"""Twists that stand for a stiffness, and the torque at which each is stated."""

RELATIVE_DAMPING = Param(
    "relative_damping", "ratio",
    "energy lost in one cycle over the elastic energy at the turning point",
    default=0.25, low=0, high=3, usual=(0.13, 0.38),
    source="structural loss of joints, keys and bearings; common practice, from memory; "
    "definition as in DIN 740-2",
)  # fmt: skip

BELT_DAMPING = replace(RELATIVE_DAMPING, source="taken as that of joints, keys and bearings; rubber mostly loses more; "
                       "common practice, from memory; definition as in DIN 740-2")  # fmt: skip


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


def contradicts(r: Any) -> list[str]:
    """A sentence if stiffness, torque and the twist at it were all stated and do not go together.

    ``r`` has only what was stated: the twist has a default, which contradicts nothing.
    """
    out = []
    for twist, torque in TWISTS.items():
        if hasattr(r, "stiffness") and hasattr(r, twist):
            k = stiffness(nan, getattr(r, twist), getattr(r, torque))
            text = f"stiffness {r.stiffness:.4g} N*m/rad contradicts {torque} over {twist}, which give {k:.4g} N*m/rad"
            out += both_or_neither(r.stiffness, k, f"{text}: leave one of them out")
    return out


def both_or_neither(a: float, b: float, text: str) -> list[str]:
    """A sentence if two ways of stating one thing contradict each other by more than 2 %."""
    if isnan(a) or isnan(b) or abs(a - b) <= 0.02 * abs(a):
        return []
    return [text]
