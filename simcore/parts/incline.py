r"""Incline: a load on a slope, its weight pulling back, with rolling or sliding friction.

.. math:: F = m g\sin\alpha \pm \mu\, m g\cos\alpha

The weight pulls whether the load moves or not; friction opposes the motion, and at standstill holds up to
:math:`\mu_0 m g\cos\alpha`.  Where :math:`\tan\alpha > \mu_0` the load runs back once nothing holds it, with

.. math:: a = \frac{m g(\sin\alpha - \mu\cos\alpha)}{m + \sum J/r^2}

The inertia of the load belongs to a moving mass, unless it is counted here.  Work against gravity is booked as taken by
the load, and given back as it comes down.  Source: inclined plane, textbook.
"""

from __future__ import annotations

from math import cos, isnan, sin
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._given import or_else
from simcore.parts._gravity import (
    FALLS,
    LIFTS,
    G,
    breakaway_too_low,
    friction,
    loss,
    mass_moves,
    signed,
    torque,
)
from simcore.parts._gravity import pulls as sheet

__all__ = ["KIND", "friction", "loss", "sheet", "torque"]

KIND = Kind(
    name="incline",
    family="load",
    domain="travel",
    hubs=1,
    summary="load on a slope: its weight pulls back, friction opposes; runs back when let go",
    params=(
        Param("angle", "angle", "angle of the slope against the horizontal", required=True, low="0 deg", high="90 deg",
              usual=("5 deg", "30 deg"), source="common practice, from memory"),
        Param("mass", "mass", "mass on the slope", above="0 kg"),
        Param("weight", "force", "its weight, instead of the mass", above="0 N"),
        Param("friction", "ratio", "friction while moving over the pressing force", default=0.03, low=0, high=2,
              usual=(0.02, 0.5), source="on rollers 0.02 to 0.05, sliding 0.2 to 0.5; common practice, from memory"),
        Param("breakaway", "ratio", "friction at standstill over the pressing force; left out: as while moving",
              low=0, high=3),
        LIFTS,
        mass_moves("given elsewhere", "a moving mass in the line"),
    ),
    row=("weight", "runs", "sticks"),
    cautions=(FALLS, "Without an inertia of the load the line starts and stops far too fast: give a moving mass, or "
              "count it here."),
    sources=("inclined plane: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if isnan(r.mass) == isnan(r.weight):
        out.append("say how heavy the load is one way: give the mass or the weight")
    if breakaway_too_low(r.breakaway, r.friction):
        out.append("breakaway below the friction while moving: give the larger one as breakaway")
    return out


def _weight(r: Any) -> float:
    return float(or_else(r.weight, r.mass * G))


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    w, press = _weight(r) * sin(r.angle), _weight(r) * cos(r.angle)
    return signed(w, r.lifts), press * r.friction, press * max(or_else(r.breakaway, r.friction), r.friction)


def inertias(r: Any) -> tuple[float, float]:
    return _weight(r) / G * r.mass_moves, 0.0
