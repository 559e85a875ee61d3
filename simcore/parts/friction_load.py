r"""Load by dry and viscous friction against the ground.

Moving: :math:`L + c\,|\omega|` against the motion.  Standing: holds exactly up to the breakaway,
which running friction scattered in a sweep takes along where it would pass it.
Source: Coulomb friction, textbook.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Kind, Param, Q

RUNNING, BREAKAWAY, VISCOUS = range(3)

KIND = Kind(
    name="friction load",
    family="load",
    domain="any",
    hubs=1,
    summary="dry friction (with its own breakaway) and viscous drag against the ground",
    params=(
        Param("running", "effort", "dry friction while moving (torque, or force on a travelling "
              "station)", required=True, low=0),
        Param("breakaway", "effort", "dry friction at standstill; left out: as running", low=0),
        Param("viscous", "any_damping", "drag growing with speed", default=0, low=0,
              source="left out unless given"),
    ),
    row=("running", "breakaway", "viscous"),
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if not isnan(r.breakaway) and r.breakaway < r.running:
        return ["breakaway below running friction: give the larger one as breakaway"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    return r.running, (r.running if isnan(r.breakaway) else max(r.breakaway, r.running)), r.viscous


def torque(q: Q) -> float:
    return q.p[VISCOUS] * q.wa


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return q.p[BREAKAWAY], q.p[BREAKAWAY], q.p[RUNNING], q.p[RUNNING]


def loss(q: Q, T: float) -> float:
    return q.p[VISCOUS] * q.wa * q.wa


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"running friction": (p[RUNNING], "effort"), "breakaway friction": (p[BREAKAWAY], "effort")}
