r"""Brake: dry friction against the ground that closes and opens with a delay.

Closed and sliding :math:`T_b` against the motion; at standstill it holds exactly, up to its holding torque.  A holding
brake is closed by springs and opened by power: it closes the apply time after the drives lose command or
permit and opens the release time after both are back.  A service brake closes on the command "brake on" (an emergency
stop or a stop chain gives it).  From constant speed it stops a line of inertia :math:`J` against the load :math:`L` in

.. math:: t = t_a + \frac{J\omega}{T_b + L}, \qquad \text{heat in the brake } T_b\,\frac{\omega\,(t - t_a)}{2}.

The torque is there at once when the delay is over.  Source: Coulomb friction and constant deceleration, textbook.
"""

from __future__ import annotations

from math import inf, isnan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._command import commanded
from simcore.parts._given import or_else

USES = ("holding", "service", "both")
HOLDING, SERVICE, BOTH = range(3)
TORQUE, HOLDS, APPLY, RELEASE, USE = range(5)
OPEN_, CLOSING, CLOSED, OPENING = range(4)
DUE = 0

KIND = Kind(
    name="brake",
    family="load",
    hubs=1,
    summary="holding or service brake: closes and opens with a delay, then dry friction against the ground",
    params=(
        Param("torque", "torque", "braking torque while sliding; at a motor's shaft 1.5 to 2.5 times its rated torque "
              "(common practice, from memory)", required=True, above="0 N*m"),
        Param("holding_torque", "torque", "torque it holds at standstill; left out: as sliding", above="0 N*m"),
        Param("use", "choice", "holding: closes when the drives lose power or command; service: closes on the command "
              "to brake", default=USES[0], choices=USES, source="spring-applied motor brake"),
        Param("apply_time", "time", "from the command to the torque", default="50 ms", low="0 s",
              usual=("20 ms", "0.3 s"), source="coil switched on its direct-current side 20 to 80 ms, on the mains "
              "side several times that; common practice, from memory"),
        Param("release_time", "time", "from power on until it is open", default="60 ms", low="0 s",
              usual=("30 ms", "0.3 s"), source="common practice, from memory"),
        Param("inertia", "inertia", "inertia of its disc and hub", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    ),
    row=("torque", "holding torque", "apply", "release", "use", "running", "breakaway", "viscous"),
    modes=(Mode("open", ENGAGED), Mode("closing", ENGAGED), Mode("closed", ENGAGED), Mode("opening", ENGAGED)),
    guards=("told to close or to open",),
    memory=("due at",),
    reads=("command", "permit", "brake"),
    cautions=(
        "A wet, oily or worn lining gives far less torque: take the low end for stopping, the high end for shock.",
        "A brake that holds a load above people is a safety function: its sizing and proof are not done here.",
    ),
    sources=("Coulomb friction, constant deceleration: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if not isnan(r.holding_torque) and r.holding_torque < r.torque:
        return ["holding torque below the sliding torque: give the larger one as holding_torque"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    holds = or_else(r.holding_torque, r.torque)
    at_start = holds if r.use != SERVICE and r.release_time > 0.0 else 0.0
    return r.torque, holds, r.apply_time, r.release_time, r.use, 0.0, at_start, 0.0


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0


def start_mode(p: Any, sense: float) -> int:
    return CLOSED if sense == 0.0 and p[USE] != SERVICE else OPEN_


def _told_to_close(q: Q) -> float:
    """1 if it ought to be closed, else 0."""
    off = 1.0 if commanded(q.w[0]) * q.w[1] < 0.5 else 0.0
    if q.p[USE] == HOLDING:
        return off
    return q.w[2] if q.p[USE] == SERVICE else max(off, q.w[2])


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    if q.m != CLOSED and q.m != OPENING:
        return 0.0, 0.0, 0.0, 0.0
    return q.p[HOLDS], q.p[HOLDS], q.p[TORQUE], q.p[TORQUE]


def guards(q: Q, T: float) -> tuple[float]:
    asked = _told_to_close(q) - 0.5
    return (asked if q.m == CLOSING or q.m == CLOSED else -asked,)


def clock(q: Q) -> float:
    return q.mem[DUE] if q.m == CLOSING or q.m == OPENING else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        return (CLOSED if q.m == CLOSING else OPEN_), 0.0
    if q.m == OPEN_:
        M[DUE] = q.t + q.p[APPLY]
        return CLOSING, 0.0
    if q.m == CLOSED:
        M[DUE] = q.t + q.p[RELEASE]
        return OPENING, 0.0
    return (OPEN_ if q.m == CLOSING else CLOSED), 0.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"braking torque": (p[TORQUE], "torque"), "holding torque": (p[HOLDS], "torque"),
            "apply time": (p[APPLY], "time"), "release time": (p[RELEASE], "time")}  # fmt: skip
