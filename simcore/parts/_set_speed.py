r"""The set speed of a controlled drive in time: ramps, or index after index.  Shared by their speed loop.

It is a share u of the full set speed, asked for by the command.  While all memory is 0, u = 1: steady running.  A
ramp is :math:`u = 1 - g - \dot g (t - t_0)`; one that changes sign ends at zero first, as ramps up and down differ.

An index turns by the angle A in the time B, over its top speed, with :math:`\tau = t/B`:
cycloidal :math:`(1 - \cos 2\pi\tau)/2`, top speed 2 A/B; harmonic :math:`\sin\pi\tau`, top speed
:math:`\pi A/(2B)`; trapezoid, thirds of rise, run and fall, top speed 1.5 A/B.  Asked for less than full speed it turns
steadily, without index.
Source: laws of motion, any text on cams, e.g. VDI 2143 (cited from memory).
"""

from __future__ import annotations

from math import ceil, cos, inf, pi, sin
from typing import Any

from simcore.contract import Q

SPEED, UP, DOWN, MOVE, DWELL, LAW, STARTS = range(7)
COLUMNS = ("speed", "up", "down", "move", "dwell", "law", "starts")
SHORT, FALL, SINCE, END, TARGET, GOAL, STAGE, BEGAN, NEXT = range(9)
MEMORY = ("short of full speed", "falling away", "ramp began at", "ramp ends at", "short of it at the end",
          "asked for less than full speed", "stage of the index", "index began at", "next stage at")  # fmt: skip
RAMPS, DWELLS, MOVES, RUNS, SLOWS = range(5)
EQUAL = 1e-9
"""Shares that differ by less, by rounding, are the same."""
LAWS = ("cycloidal", "harmonic", "trapezoid speed")


def top_speed(law: float, angle: float, move: float) -> float:
    """Largest speed of an index [rad/s]."""
    if law < 0.5:
        return 2.0 * angle / move
    return (0.5 * pi if law < 1.5 else 1.5) * angle / move


def set_share(q: Q) -> float:
    """Set speed over full set speed."""
    if q.mem[STAGE] > 0.5:
        return (1.0 - q.mem[GOAL]) * _index_share(q)
    return 1.0 - q.mem[SHORT] - q.mem[FALL] * (q.t - q.mem[SINCE])


def _index_share(q: Q) -> float:
    stage = int(q.mem[STAGE])
    tau = (q.t - q.mem[BEGAN]) / q.p[MOVE]
    if stage == DWELLS:
        return 0.0
    if stage == RUNS:
        return 1.0
    if stage == SLOWS:
        return 3.0 * (1.0 - tau)
    if q.p[LAW] < 0.5:
        return 0.5 * (1.0 - cos(2.0 * pi * tau))
    return sin(pi * tau) if q.p[LAW] < 1.5 else 3.0 * tau


def goal_asked(q: Q) -> float:
    """What command and ramp down ask for: a share from -1 to 1."""
    return float(q.w[0] * (1.0 - q.w[2]))


def goal_guard(q: Q) -> float:
    """> 0 while the set speed goes where it is asked to."""
    return 0.5 - ceil(abs(goal_asked(q) - (1.0 - q.mem[GOAL])) - EQUAL)


def set_clock(q: Q) -> float:
    """End of the ramp, or next stage of the index."""
    if q.mem[STAGE] > 0.5:
        return float(q.mem[NEXT])
    return float(q.mem[END]) if q.mem[FALL] != 0.0 else inf


def aim(q: Q, u: float, goal: float, M: Any) -> None:
    """From the share ``u`` to ``goal``."""
    M[GOAL] = 1.0 - goal
    M[STAGE] = RAMPS
    _leg(q, u, goal, M)
    if M[FALL] == 0.0 and M[TARGET] == 1.0 and goal != 0.0:
        _from_zero(q, goal, M)


def _leg(q: Q, u: float, goal: float, M: Any) -> None:
    """One straight ramp to ``goal``, or to zero if that lies before it or an index is to begin there."""
    target = goal
    if u * goal < 0.0 or _indexes(q, goal):
        target = 0.0
    takes = abs(target - u) * (q.p[UP] if abs(target) > abs(u) else q.p[DOWN])
    M[TARGET] = 1.0 - target
    M[SINCE] = q.t
    M[SHORT] = 1.0 - target
    M[FALL] = 0.0
    if takes > 0.0:
        M[SHORT] = 1.0 - u
        M[FALL] = (u - target) / takes
        M[END] = q.t + takes


def _indexes(q: Q, goal: float) -> bool:
    """Whether it turns index by index there: at full speed only."""
    return bool(q.p[MOVE] > 0.0 and abs(goal) > 1.0 - EQUAL)


def _from_zero(q: Q, goal: float, M: Any) -> None:
    if _indexes(q, goal):
        M[STAGE] = DWELLS
        M[NEXT] = q.t + q.p[STARTS]
    else:
        _leg(q, 0.0, goal, M)


def pass_set_corner(q: Q, M: Any) -> None:
    """At the instant of ``set_clock``."""
    stage = int(q.mem[STAGE])
    if stage == RAMPS:
        M[SHORT] = q.mem[TARGET]
        M[FALL] = 0.0
        if q.mem[TARGET] != q.mem[GOAL]:
            _from_zero(q, 1.0 - q.mem[GOAL], M)
        return
    if stage == DWELLS:
        M[BEGAN] = q.t
        M[STAGE] = MOVES
        M[NEXT] = q.t + (q.p[MOVE] if q.p[LAW] < 1.5 else q.p[MOVE] / 3.0)
    elif stage == SLOWS or q.p[LAW] < 1.5:
        M[STAGE] = DWELLS
        M[NEXT] = q.t + q.p[DWELL]
    else:
        M[STAGE] = stage + 1
        M[NEXT] = q.mem[BEGAN] + q.p[MOVE] * (2.0 / 3.0 if stage == MOVES else 1.0)
