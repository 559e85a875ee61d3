r"""Constant-torque motor: full torque up to its running speed, where it falls steeply to nothing.

.. math:: T = f(t)\,\mathrm{clip}\!\left(\frac{T_m}{\delta}\left(1-\frac{\omega}{\omega_0}\right),
          -T_m,\; T_m\right)

with the ramp :math:`f`, droop :math:`\delta` and speed without load :math:`\omega_0`.  Stands for a
speed-controlled drive at its torque limit.  Source: speed droop of a proportional speed controller,
common practice.
"""

from __future__ import annotations

from math import copysign
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._rampup import MEMORY, OFF, RAMP, READS, command_came, command_guard, ramp_clock, sense_asked, share

TORQUE, SPEED, SLOPE, RAMP_TIME = range(4)
AT_SPEED, FULL, BRAKING = 1, 2, 3

KIND = Kind(
    name="constant-torque motor",
    family="drive",
    hubs=1,
    summary="full torque up to its running speed; rotor inertia, torque ramp",
    params=(
        Param("torque", "torque", "torque at its limit", required=True, above="0 N*m"),
        Param("speed", "speed", "speed without load; negative: the other way round", required=True),
        Param("droop", "ratio", "speed lost at full torque", default="3 %", above=0, high=1,
              usual=(0.005, 0.08), source="common practice, from memory"),
        Param("inertia", "inertia", "rotor inertia, brake and fan counted in", required=True,
              above="0 kg*m^2"),
        RAMP,
    ),
    row=("torque", "speed", "slope", "ramp"),
    modes=(Mode("off", ENGAGED), Mode("at speed", ENGAGED), Mode("full torque", ENGAGED),
           Mode("braking at full torque", ENGAGED)),
    guards=("command", "corner", "corner below"),
    memory=MEMORY,
    reads=READS,
    sources=("proportional speed control: common practice",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return ["a speed of 0 leaves nothing to drive"] if r.speed == 0.0 else []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    return r.torque, r.speed, r.torque / (r.droop * abs(r.speed)), r.ramp


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def free_speed(p: Any) -> float:
    return p[SPEED]


def top_torque(p: Any) -> float:
    return p[TORQUE]


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else AT_SPEED


def _asked(q: Q) -> float:
    """Torque the speed asks for, in the running direction."""
    side = sense_asked(q) * copysign(1.0, q.p[SPEED])
    return q.p[SLOPE] * (abs(q.p[SPEED]) - side * q.wb)


def torque(q: Q) -> float:
    if q.m == OFF:
        return 0.0
    T = _asked(q)
    if q.m == FULL:
        T = q.p[TORQUE]
    elif q.m == BRAKING:
        T = -q.p[TORQUE]
    return share(q, q.p[RAMP_TIME]) * T * sense_asked(q) * copysign(1.0, q.p[SPEED])


def guards(q: Q, T: float) -> tuple[float, float, float]:
    on = command_guard(q)
    ask = _asked(q)
    if q.m == AT_SPEED:
        return on, q.p[TORQUE] - ask, q.p[TORQUE] + ask
    if q.m == FULL:
        return on, ask - q.p[TORQUE], 1.0
    if q.m == BRAKING:
        return on, -q.p[TORQUE] - ask, 1.0
    return on, 1.0, 1.0


def clock(q: Q) -> float:
    return ramp_clock(q, q.p[RAMP_TIME])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[1] = 0.0
        return q.m, 0.0
    if k == 0:
        if q.m != OFF:
            return OFF, 0.0
        command_came(q, q.p[RAMP_TIME], M)
        ask = _asked(q)
        if ask > q.p[TORQUE]:
            return FULL, 0.0
        return (BRAKING if ask < -q.p[TORQUE] else AT_SPEED), 0.0
    if q.m == AT_SPEED:
        return (FULL if k == 1 else BRAKING), 0.0
    return AT_SPEED, 0.0


def loss(q: Q, T: float) -> float:
    return -T * q.wb


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"torque at its limit": (p[TORQUE], "torque"), "speed without load": (p[SPEED], "speed")}
