"""Dry drag on the load from an instant on, for a while or for good, once or repeated.  Shared by two events."""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Mode, Param, Q
from simcore.parts._event import next_at

DRAG, FROM, LASTS, EVERY, TIMES, RISE = range(6)
WAITING, DRAGGING, CLEARED, GROWING = range(4)
ROW = ("drag", "from", "lasts", "every", "times", "rise")
MODES = (Mode("waiting", ENGAGED), Mode("dragging", ENGAGED), Mode("cleared", ENGAGED), Mode("growing", ENGAGED))
MEMORY = ("times done",)
GUARDS = ("cleared by hand",)
READS = ("clear",)


def rise() -> Param:
    return Param("rise", "time", "time in which it grows; left out: at once", low="0 s", usual=("0 s", "1 s"))


def rise_fits(r: Any) -> list[str]:
    """What is impossible in growing and lasting."""
    return ["it must have grown before it is over: rise below lasts"] if r.rise >= r.lasts else []


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    f = q.p[DRAG] if q.m == DRAGGING else 0.0
    if q.m == GROWING:
        f = q.p[DRAG] * max(0.0, (q.t - _began(q)) / q.p[RISE])
    return f, f, f, f


def _began(q: Q) -> float:
    return next_at(q, q.p[FROM], q.p[EVERY])


def guards(q: Q, T: float) -> tuple[float]:
    return (0.5 - q.w[0] if q.m == DRAGGING or q.m == GROWING else 1.0,)


def clock(q: Q) -> float:
    if q.m == WAITING:
        return _began(q)
    if q.m == GROWING:
        return _began(q) + q.p[RISE]
    return _began(q) + q.p[LASTS] if q.m == DRAGGING else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK and q.m == WAITING:
        return (GROWING if q.p[RISE] > 0.0 else DRAGGING), 0.0
    if k == CLOCK and q.m == GROWING:
        return DRAGGING, 0.0
    M[0] = q.mem[0] + 1.0
    return (WAITING if M[0] < q.p[TIMES] else CLEARED), 0.0
