r"""Hard stop: the load meets something that does not move.

.. math:: F = k d + c\dot d \ge 0, \quad d = \text{travel past first contact}

Source: contact see :mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, damping

K, C, GAP, SENSE = range(4)
CLEAR, TOUCHING, EASED = range(3)

KIND = Kind(
    name="hard stop",
    family="event",
    domain="any",
    hubs=1,
    summary="the load meets a stop: contact stiffness, damping, opening and closing",
    params=(
        Param("stiffness", "any_stiffness", "contact stiffness, machine frame behind it counted in",
              required=True, above=0),
        Param("damping", "any_damping", "contact damping; left out: from the relative damping", low=0),
        RELATIVE_DAMPING,
        Param("after", "time", "steady running before the contact", above="0 s"),
        Param("distance", "travel", "travel at running speed before the contact", above=0),
    ),
    row=("k", "c", "gap", "sense"),
    modes=(Mode("clear", ENGAGED, False), Mode("touching", ENGAGED), Mode("eased", ENGAGED, False)),
    guards=("contact", "contact again"),
    sources=("Kelvin-Voigt contact without adhesion (Flores and Lankarani, cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if not isnan(r.after) and not isnan(r.distance):
        return ["give the time or the distance before the contact, not both"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    """``gap`` and ``sense`` are the assembler's."""
    c = damping(r.relative_damping, r.stiffness, w1) if isnan(r.damping) else r.damping
    return r.stiffness, c, 0.0, 1.0


def _depth(q: Q) -> float:
    return q.p[SENSE] * q.ta - q.p[GAP]


def torque(q: Q) -> float:
    if q.m != TOUCHING:
        return 0.0
    return q.p[SENSE] * q.p[K] * _depth(q) + q.p[C] * q.wa


def guards(q: Q, T: float) -> tuple[float, float]:
    d = _depth(q)
    if q.m == CLEAR:
        return -d, 1.0
    if q.m == TOUCHING:
        return q.p[SENSE] * T, 1.0
    return d, -(q.p[K] * d + q.p[C] * q.p[SENSE] * q.wa)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == CLEAR:
        return TOUCHING, 0.0
    if q.m == TOUCHING:
        return (EASED if _depth(q) > 0.0 else CLEAR), 0.0
    return (CLEAR if k == 0 else TOUCHING), 0.0


def loss(q: Q, T: float) -> float:
    if q.m == TOUCHING:
        return q.p[C] * q.wa * q.wa
    if q.m == EASED:
        return -q.p[K] * _depth(q) * q.p[SENSE] * q.wa
    return 0.0


def store(q: Q) -> float:
    d = _depth(q)
    return 0.0 if q.m == CLEAR else 0.5 * q.p[K] * d * d


def hint(p: Any) -> float:
    return p[K]
