r"""Pump: a share of its torque is there at any speed (static head, seals), the rest grows by the square.

.. math:: T = s\,T_r\,\mathrm{sgn}\,\omega + (1 - s)\,T_r\left(\frac{\omega}{\omega_r}\right)^2\mathrm{sgn}\,\omega

Taken as if a check valve kept the liquid from flowing back: a pump that is let go slows down and does not turn back.
Below the speed at which the valve opens a real pump takes less than this.  A displacement pump at constant
pressure has :math:`s` near 1.  Source: affinity laws of fluid machines, textbook, e.g. Bohl, Strömungsmaschinen (cited
from memory); share of the static head as constant torque, common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._speed_load import ROW, at_speed, breakaway_below, friction, loss, sheet, standstill, torque

__all__ = ["KIND", "friction", "loss", "sheet", "torque"]

KIND = Kind(
    name="pump",
    family="load",
    hubs=1,
    summary="a share of its torque at any speed, the rest by the square; does not turn back",
    params=(
        *at_speed(),
        Param("static_share", "ratio", "share of that torque which does not depend on speed: static head, seals",
              default=0.3, low=0, high=1, usual=(0.1, 0.6), source="centrifugal pump into some head; about 1 for a "
              "displacement pump; common practice, from memory"),
        standstill(0.4, (0.1, 1.2)),
        Param("inertia", "inertia", "inertia of impeller and liquid in it", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    ),
    row=ROW,
    cautions=("A check valve that fails lets the pump turn back as a turbine: that is not in this part.",),
    sources=("affinity laws: Bohl, Strömungsmaschinen (cited from memory)", "static share: common practice"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return breakaway_below(r, r.static_share, "static share")


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    square = (1.0 - r.static_share) * r.torque / (r.speed * r.speed)
    return r.static_share * r.torque, r.breakaway * r.torque, 0.0, square


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0
