r"""DC motor: armature with resistance and inductance, permanent field.

.. math:: L\frac{di}{dt} = U - R i - k\omega, \qquad T = k i

Switched off, the current runs on through a diode until it is gone, then the armature is open; while it runs the
supply is a short circuit (U = 0), so a motor that is driven against its current brakes on.  Ledger: copper loss
:math:`R i^2` less the power of the supply :math:`U i`; magnetic store :math:`L i^2/2`.
Mechanical time constant :math:`R J/k^2`.  Source: textbook, e.g. Leonhard, Control of Electrical Drives (cited from
memory).
"""

from __future__ import annotations

from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q, State
from simcore.parts._rampup import MEMORY, OFF, RAMP, READS, command_came, command_guard, ramp_clock, sense_asked, share

VOLTAGE, R, L, K, RAMP_TIME, INERT = range(6)
ON, DIODE, DIODE_BACK = 1, 2, 3
CURRENT = 0

KIND = Kind(
    name="DC motor",
    family="drive",
    hubs=1,
    summary="armature resistance, inductance and torque constant on a voltage; current dies out through a diode",
    params=(
        Param("voltage", "voltage", "voltage of the supply; negative: the other way round", required=True,
              low="-1500 V", high="1500 V"),
        Param("resistance", "resistance", "resistance of the armature, leads counted in", required=True, above="0 ohm"),
        Param("inductance", "inductance", "inductance of the armature", required=True, above="0 H"),
        Param("torque_constant", "motor_constant", "torque over current, the same as voltage over speed",
              required=True, above="0 N*m/A"),
        Param("inertia", "inertia", "rotor inertia, brake and fan counted in", required=True, above="0 kg*m^2"),
        RAMP,
    ),
    row=("voltage", "r", "l", "k", "ramp", "inert"),
    modes=(Mode("off", ENGAGED), Mode("on", ENGAGED), Mode("current dies out", ENGAGED),
           Mode("current dies out, backward", ENGAGED)),
    states=(State("current", "A", 1.0, "current in the armature", True),),
    guards=("command", "current gone"),
    memory=MEMORY,
    reads=READS,
    cautions=("A locked motor takes its stall current until it burns: fuse it, or limit the current.",
              "Reversed at speed it takes up to twice its locked current."),
    sources=("armature circuit: Leonhard, Control of Electrical Drives (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return ["a voltage of 0 leaves nothing to drive"] if r.voltage == 0.0 else []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    return r.voltage, r.resistance, r.inductance, r.torque_constant, r.ramp, r.inertia


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def free_speed(p: Any) -> float:
    return p[VOLTAGE] / p[K]


def top_torque(p: Any) -> float:
    return p[K] * abs(p[VOLTAGE]) / p[R]


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else ON


def _voltage(q: Q) -> float:
    if q.m != ON:
        return 0.0
    return q.p[VOLTAGE] * sense_asked(q) * share(q, q.p[RAMP_TIME])


def torque(q: Q) -> float:
    return q.p[K] * q.x[CURRENT]


def rate(q: Q, T: float) -> tuple[float]:
    if q.m == OFF:
        return (0.0,)
    return ((_voltage(q) - q.p[R] * q.x[CURRENT] - q.p[K] * q.wb) / q.p[L],)


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m == ON or q.m == OFF:
        return command_guard(q), 1.0
    return 0.5 - abs(q.w[0] * q.w[1]), (q.x[CURRENT] if q.m == DIODE else -q.x[CURRENT])


def clock(q: Q) -> float:
    return ramp_clock(q, q.p[RAMP_TIME])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[1] = 0.0
        return q.m, 0.0
    if k == 1:
        X[CURRENT] = 0.0
        return OFF, 0.0
    if q.m == ON:
        M[1] = 0.0
        if q.x[CURRENT] == 0.0:
            return OFF, 0.0
        return (DIODE if q.x[CURRENT] > 0.0 else DIODE_BACK), 0.0
    command_came(q, q.p[RAMP_TIME], M)
    return ON, 0.0


def loss(q: Q, T: float) -> float:
    return (q.p[R] * q.x[CURRENT] - _voltage(q)) * q.x[CURRENT]


def store(q: Q) -> float:
    return 0.5 * q.p[L] * q.x[CURRENT] * q.x[CURRENT]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "speed without load": (p[VOLTAGE] / p[K], "speed"),
        "locked torque": (p[K] * abs(p[VOLTAGE]) / p[R], "torque"),
        "locked current": (abs(p[VOLTAGE]) / p[R], "current"),
        "mechanical time constant, rotor alone": (p[R] * p[INERT] / (p[K] * p[K]), "time"),
        "electrical time constant": (p[L] / p[R], "time"),
    }
