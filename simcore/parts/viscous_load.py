r"""Viscous load: torque in proportion to speed on top of a dry share (stirrers, kneaders, calenders).

.. math:: T = d\,T_r\,\mathrm{sgn}\,\omega + (1 - d)\,T_r\,\frac{\omega}{\omega_r}

From :math:`\omega_0` it coasts to rest in :math:`\frac{J}{c}\ln\left(1 + \frac{c\,\omega_0}{d T_r}\right)` with
:math:`c = (1 - d)T_r/\omega_r`.  Source: Newtonian fluid in laminar flow, textbook.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._speed_load import ROW, at_speed, breakaway_below, friction, loss, sheet, standstill, torque

__all__ = ["KIND", "friction", "loss", "sheet", "torque"]

KIND = Kind(
    name="viscous load",
    family="load",
    hubs=1,
    summary="torque in proportion to speed on a dry share: stirrers, kneaders, calenders",
    params=(
        *at_speed(),
        Param("dry_share", "ratio", "share of that torque which does not depend on speed: bearings, seals, cutting",
              default=0.1, low=0, high=1, usual=(0.05, 0.5), source="common practice, from memory"),
        standstill(0.2, (0.1, 1.2)),
    ),
    row=ROW,
    cautions=("A mass that has stood, cooled or settled can need many times its running torque to break away.",),
    sources=("Newtonian fluid in laminar flow: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return breakaway_below(r, r.dry_share, "dry share")


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    return r.dry_share * r.torque, r.breakaway * r.torque, (1.0 - r.dry_share) * r.torque / r.speed, 0.0
