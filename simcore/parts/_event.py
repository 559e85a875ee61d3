"""When events come: at an instant after the situation's first event, once or again and again.

Count in memory cell 0: how often the event has been.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Param, Q

WHEN = Param("when", "time", "instant after the situation's first event; left out: at once", low="0 s")
EVERY = Param("every", "time", "time from one to the next; left out: once", above="0 s")
TIMES = Param("times", "count", "how often it comes, with every", low=1, high=1_000_000)
REPEATED = (WHEN, EVERY, TIMES)


def refuse_repeats(r: Any) -> list[str]:
    """What is impossible in the instants."""
    if isnan(r.every) != isnan(r.times):
        return ["every and times belong together: give both or neither"]
    return []


def first_at(r: Any) -> float:
    """First instant [s]."""
    return 0.0 if isnan(r.when) else r.when


def repeats(r: Any) -> tuple[float, float]:
    """Time from one to the next [s] and how often."""
    if isnan(r.every) or isnan(r.times):
        return 0.0, 1.0
    return r.every, r.times


def next_at(q: Q, first: float, every: float) -> float:
    """Instant of the next one."""
    return first + q.mem[0] * every
