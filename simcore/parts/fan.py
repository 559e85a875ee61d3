r"""Fan: torque by the square of speed on top of the friction of its bearings.

.. math:: T = b T_r\,\mathrm{sgn}\,\omega + (1 - b)\,T_r\left(\frac{\omega}{\omega_r}\right)^2\mathrm{sgn}\,\omega

:math:`T_r` at the speed :math:`\omega_r` for the given setting of dampers and vanes; :math:`b` is the bearings' share.
From :math:`\omega_0` it coasts to rest in :math:`\sqrt{J^2/(bT_r c)}\,\arctan(\omega_0\sqrt{c/(bT_r)})` with
:math:`c = (1 - b)T_r/\omega_r^2`.  A fan with open dampers takes more than with closed ones at the same speed.
Source: affinity laws of fluid machines, textbook, e.g. Bohl, Strömungsmaschinen (cited from memory).
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._speed_load import ROW, at_speed, breakaway_below, friction, loss, sheet, standstill, torque

__all__ = ["KIND", "friction", "loss", "sheet", "torque"]

KIND = Kind(
    name="fan",
    family="load",
    hubs=1,
    summary="torque grows by the square of speed, on the friction of its bearings",
    params=(
        *at_speed(),
        Param("bearings", "ratio", "share of that torque by bearings and seals, the same at any speed", default=0.03,
              low=0, high=1, usual=(0.01, 0.1), source="common practice, from memory"),
        standstill(0.1, (0.05, 0.25)),
        Param("inertia", "inertia", "inertia of the wheel", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    ),
    row=ROW,
    cautions=("A heavy wheel keeps turning long after the drive is off: wait, or brake it, before opening.",),
    sources=("affinity laws: Bohl, Strömungsmaschinen (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return breakaway_below(r, r.bearings, "share of the bearings")


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    square = (1.0 - r.bearings) * r.torque / (r.speed * r.speed)
    return r.bearings * r.torque, r.breakaway * r.torque, 0.0, square


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0
