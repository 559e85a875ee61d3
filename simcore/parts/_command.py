"""Commands given at known instants: one value on one wire, for good or for an instant.  Shared by events.

Row: first instant, time from one to the next, how often, value, how long it is held (0: for good).
"""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import ENGAGED, Mode, Q
from simcore.parts._event import first_at, next_at, repeats

AT, EVERY, TIMES, VALUE, HELD = range(5)
WAITING, HOLDING, DONE = range(3)
ROW = ("at", "every", "times", "value", "held")
MODES = (Mode("waiting", ENGAGED), Mode("being given", ENGAGED), Mode("given", ENGAGED))
MEMORY = ("times given",)
INSTANT = 1e-3
"""How long a command for an instant is held [s]."""


def command_row(r: Any, value: float, held: float) -> tuple[float, float, float, float, float]:
    every, times = repeats(r)
    return first_at(r), every, times, value, held


def commanded(command: float) -> float:
    """1 if any command stands, also one for a share of the speed; else 0."""
    return 1.0 if command != 0.0 else 0.0


def clock(q: Q) -> float:
    if q.m == DONE:
        return inf
    return next_at(q, q.p[AT], q.p[EVERY]) + (q.p[HELD] if q.m == HOLDING else 0.0)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING:
        O[0] = q.p[VALUE]
        if q.p[HELD] > 0.0:
            return HOLDING, 0.0
    else:
        O[0] = 0.0
    M[0] = q.mem[0] + 1.0
    return (WAITING if M[0] < q.p[TIMES] else DONE), 0.0


RESUMES = ("command", "permit", "slow", "brake", "vent", "coil")
"""Wires of a command that also takes back what stopped the drive."""


def resume(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    """As ``switch``; permit given, no ramp down, brakes off, air and coils back on."""
    O[1] = 1.0
    O[2] = 0.0
    O[3] = 0.0
    O[4] = 0.0
    O[5] = 0.0
    return switch(k, q, T, X, M, O)


def air_back(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    """As ``switch``, with the air back on as the command comes."""
    if q.m == WAITING:
        O[1] = 0.0
    return switch(k, q, T, X, M, O)
