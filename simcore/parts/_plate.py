"""What the plate of a three-phase motor says: power, speed, mains.  Shared by its kinds.

Synchronous speed: 2 pi f / pole pairs, textbook; without the number of poles the next one above rated speed.
"""

from __future__ import annotations

from math import copysign, floor, isnan, pi
from typing import Any

from simcore.contract import Param

PLATE = (
    Param("rated_power", "power", "rated power", required=True, above="0 W"),
    Param("rated_speed", "speed", "rated speed; negative: the other way round", required=True),
    Param("mains", "frequency", "frequency the plate holds for", default="50 Hz", above="0 Hz",
          usual=("50 Hz", "60 Hz"), source="most of the world's mains"),
    Param("poles", "count", "number of poles; left out: by the rated speed", low=2, high=48),
)  # fmt: skip
INERTIA = Param("inertia", "inertia", "rotor inertia, brake and fan counted in", required=True, above="0 kg*m^2")


def synchronous(r: Any) -> float:
    """Synchronous speed [rad/s], with the sign of the rated speed."""
    pairs = max(1.0, floor(2.0 * pi * r.mains / abs(r.rated_speed))) if isnan(r.poles) else 0.5 * r.poles
    return copysign(2.0 * pi * r.mains / pairs, r.rated_speed)


def refuse_plate(r: Any) -> list[str]:
    """Sentences on what is impossible on the plate."""
    if r.rated_speed == 0.0:
        return ["a rated speed of 0 gives no rated torque"]
    if not isnan(r.poles) and r.poles % 2.0 != 0.0:
        return [f"poles come in pairs: {r.poles:.0f} is odd"]
    top = abs(synchronous(r))
    if abs(r.rated_speed) >= top:
        return [f"the rated speed must lie below the synchronous speed, {top * 30.0 / pi:.5g} rpm by mains and poles"]
    return []
