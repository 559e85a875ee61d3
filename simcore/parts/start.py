"""Start from rest under load: the drives get their command at t = 0.

Writes the wire ``command`` that every drive reads.  Source: common practice.
"""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q

AT = 0

KIND = Kind(
    name="start",
    family="event",
    domain="any",
    hubs=0,
    summary="the line starts from rest under full load, with the motor's torque ramp or another",
    params=(
        Param("ramp", "time", "torque ramp of this start; left out: the motor's own", low="0 s"),
    ),
    row=("at",),
    modes=(Mode("waiting", ENGAGED), Mode("given", ENGAGED)),
    writes=("command",),
    sources=("common practice",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float]:
    return (0.0,)


def clock(q: Q) -> float:
    return q.p[AT] if q.m == 0 else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    O[0] = 1.0
    return 1, 0.0
