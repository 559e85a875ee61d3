"""Dry drag on the load from an instant on, for a while or for good, once or repeated.  Shared by two events."""

from __future__ import annotations

from math import inf, isnan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Mode, Param, Q
from simcore.parts._event import first_at, next_at, refuse_repeats, repeats
from simcore.parts._given import or_else

DRAG, FROM, LASTS, EVERY, TIMES, RISE = range(6)
WAITING, DRAGGING, CLEARED, GROWING = range(4)
ROW = ("drag", "from", "lasts", "every", "times", "rise")
MODES = (Mode("waiting", ENGAGED), Mode("dragging", ENGAGED), Mode("cleared", ENGAGED), Mode("growing", ENGAGED))
MEMORY = ("times done",)
GUARDS = ("cleared by hand",)
READS = ("clear",)


def resolved(r: Any, drag: float) -> tuple[float, ...]:
    """The columns of ROW for a drag [N*m or N]."""
    every, times = repeats(r)
    return drag, first_at(r), or_else(r.lasts, inf), every, times, or_else(r.rise, 0.0)


def refused(r: Any, what: str, ends: str) -> list[str]:
    """What is impossible in growing, lasting and coming again; ``what`` comes again, and ``ends`` in a word."""
    if not isnan(r.every) and not r.lasts < r.every:
        return [f"{what} that comes every so often must {ends} before the next: give lasts, shorter than every"]
    grown = ["it must have grown before it is over: rise below lasts"] if r.rise >= r.lasts else []
    return refuse_repeats(r) + grown


def rise() -> Param:
    return Param("rise", "time", "time in which it grows; left out: at once", low="0 s", usual=("0 s", "1 s"))


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
