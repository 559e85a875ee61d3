"""Dry drag on the load from an instant on, for a while or for good, once or repeated.  Shared by two events."""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Mode, Q
from simcore.parts._event import next_at

DRAG, FROM, LASTS, EVERY, TIMES = range(5)
WAITING, DRAGGING, CLEARED = range(3)
ROW = ("drag", "from", "lasts", "every", "times")
MODES = (Mode("waiting", ENGAGED), Mode("dragging", ENGAGED), Mode("cleared", ENGAGED))
MEMORY = ("times done",)
GUARDS = ("cleared by hand",)
READS = ("clear",)


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    f = q.p[DRAG] if q.m == DRAGGING else 0.0
    return f, f, f, f


def guards(q: Q, T: float) -> tuple[float]:
    return (0.5 - q.w[0] if q.m == DRAGGING else 1.0,)


def clock(q: Q) -> float:
    if q.m == WAITING:
        return next_at(q, q.p[FROM], q.p[EVERY])
    return next_at(q, q.p[FROM], q.p[EVERY]) + q.p[LASTS] if q.m == DRAGGING else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK and q.m == WAITING:
        return DRAGGING, 0.0
    M[0] = q.mem[0] + 1.0
    return (WAITING if M[0] < q.p[TIMES] else CLEARED), 0.0
