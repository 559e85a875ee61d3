"""How drives come on: off until their command, then a torque ramp; off when it or the permit goes.  Shared by motors.

Memory: 0 instant the command came, 1 whether the ramp is still running, 2 sense of running asked for (0: forward).
"""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import Param, Q

OFF = 0
MEMORY = ("command came at", "ramping", "sense asked for")
READS = ("command", "permit", "slow")
RAMP = Param(
    "ramp", "time", "time in which the torque rises from zero after the command",
    default="0 s", low="0 s", usual=("0 s", "5 s"), source="direct start; worst case",
)  # fmt: skip


def share(q: Q, ramp: float) -> float:
    """Share of the full torque at this instant."""
    if q.mem[1] > 0.5:
        return min(1.0, (q.t - q.mem[0]) / ramp)
    return 1.0


def sense_asked(q: Q) -> float:
    """Which way the drive is asked to run: 1, or -1 in reverse."""
    return -1.0 if q.mem[2] < 0.0 else 1.0


def command_guard(q: Q) -> float:
    """> 0 while command and permit agree with the mode."""
    asked = q.w[0] * q.w[1]
    return 0.5 - abs(asked) if q.m == OFF else asked * sense_asked(q) - 0.5


def ramp_clock(q: Q, ramp: float) -> float:
    """End of the ramp."""
    return q.mem[0] + ramp if q.mem[1] > 0.5 else inf


def command_came(q: Q, ramp: float, M: Any) -> None:
    """Note when and which way; M and ``q.mem`` are the same cells."""
    M[0] = q.t
    M[1] = 1.0 if ramp > 0.0 else 0.0
    M[2] = q.w[0]
