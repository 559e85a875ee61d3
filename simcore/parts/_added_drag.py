"""Dry drag on the load from an instant on, for a while or for good.  Shared by two events.

Row: drag, instant it begins, instant it ends (``inf``: stays).
"""

from __future__ import annotations

from math import inf

from simcore.contract import ENGAGED, Mode, Q

DRAG, FROM, UNTIL = range(3)
WAITING, DRAGGING, CLEARED = range(3)
ROW = ("drag", "from", "until")
MODES = (Mode("waiting", ENGAGED), Mode("dragging", ENGAGED), Mode("cleared", ENGAGED))


def drag_friction(q: Q) -> tuple[float, float, float, float]:
    f = q.p[DRAG] if q.m == DRAGGING else 0.0
    return f, f, f, f


def drag_clock(q: Q) -> float:
    if q.m == WAITING:
        return q.p[FROM]
    return q.p[UNTIL] if q.m == DRAGGING else inf


def drag_switch(q: Q) -> tuple[int, float]:
    return (DRAGGING if q.m == WAITING else CLEARED), 0.0
