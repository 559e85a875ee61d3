"""How drives come on: off until their command, then a torque ramp.  Shared by the motors.

Memory: 0 instant the command came, 1 whether the ramp is still running.
"""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import Param, Q

OFF = 0
MEMORY = ("command came at", "ramping")
READS = ("command",)
RAMP = Param(
    "ramp", "time", "time in which the torque rises from zero after the command",
    default="0 s", low="0 s", usual=("0 s", "5 s"), source="direct start; worst case",
)  # fmt: skip


def share(q: Q, ramp: float) -> float:
    """Share of the full torque at this instant."""
    if q.mem[1] > 0.5:
        return min(1.0, (q.t - q.mem[0]) / ramp)
    return 1.0


def command_guard(q: Q) -> float:
    """> 0 while the command agrees with the mode."""
    return 0.5 - q.w[0] if q.m == OFF else q.w[0] - 0.5


def ramp_clock(q: Q, ramp: float) -> float:
    """End of the ramp."""
    return q.mem[0] + ramp if q.mem[1] > 0.5 else inf


def command_came(q: Q, ramp: float, M: Any) -> None:
    M[0] = q.t
    M[1] = 1.0 if ramp > 0.0 else 0.0
