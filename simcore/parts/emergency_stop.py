"""Emergency stop: power off at once, or a controlled ramp first; service brakes go on.

Category 0 or 1 only; a restart before the end of the ramp calls off what was to follow.
Source: stop categories of IEC 60204-1 (cited from memory).
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._event import WHEN, first_at
from simcore.parts._stopping import ACTION as HOW
from simcore.parts._stopping import RAMP_AND_HOLD, STOPPING, WRITES, end_of_ramp, first_action

AT, ACTION, RAMP, BRAKES, VENTS, CUTS = range(6)
WAITING, RAMPING, DONE = range(3)

KIND = Kind(
    name="emergency stop",
    family="event",
    domain="any",
    hubs=0,
    summary="the drives are stopped on command, by stop category",
    params=(
        WHEN,
        Param("delay", "time", "from the button to the contacts", default="30 ms", low="0 s",
              usual=("10 ms", "150 ms"), source="safety relay and contactor; common practice, from memory"),
        replace(HOW, meaning="stop category 0 (power off) or 1 (ramp, then off); category 2 is refused"),
        *STOPPING,
    ),
    row=("at", "action", "ramp", "brakes", "vents", "cuts"),
    modes=(Mode("waiting", ENGAGED), Mode("ramping down", ENGAGED), Mode("done", ENGAGED)),
    writes=WRITES,
    cautions=("Stop category and reaction time follow from the risk assessment, not from this program.",),
    sources=("stop categories: IEC 60204-1 (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.action == RAMP_AND_HOLD:
        return ["an emergency stop ends with the power off, stop category 0 or 1: ramp and hold is category 2"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    return first_at(r) + r.delay, r.action, r.ramp_time, r.brakes, r.vents, r.cuts_coils


def clock(q: Q) -> float:
    if q.m == WAITING:
        return q.p[AT]
    return q.p[AT] + q.p[RAMP] if q.m == RAMPING else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING and first_action(q.p[ACTION], q.p[BRAKES], q.p[VENTS], q.p[CUTS], O):
        return RAMPING, 0.0
    if q.m == RAMPING:
        end_of_ramp(q.p[BRAKES], O)
    return DONE, 0.0
