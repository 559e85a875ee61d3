r"""Foreign body: something is drawn through with the load and drags until it has passed.

Dry drag by the distance :math:`s` travelled since it came: it rises in a straight line, stays, falls in a straight
line, and is gone once pushed through.  Too little push, and the load stands.  Turned back, it comes out the way it went
in.  Work to push it through: :math:`F\,(s_{rise}/2 + s_{stay} + s_{fall}/2)`, all of it heat.  A jam that clears after
a distance is the middle part alone.

Source: Coulomb friction, textbook.
"""

from __future__ import annotations

from math import copysign, inf, isnan
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._event import WHEN, first_at
from simcore.parts._given import or_else

DRAG, FULL_AT, FALLS_AT, ENDS_AT, AT = range(5)
WAITING, RISING, FULL, FALLING, BEFORE, PASSED, TAKEN_OUT = range(7)
PLACE, SENSE = range(2)

KIND = Kind(
    name="foreign body",
    family="event",
    domain="any",
    hubs=1,
    summary="something is drawn through with the load: drag rises, stays and falls by distance, then it has passed",
    params=(
        Param("drag", "effort", "largest dry drag (torque, or force on a travelling station)", required=True, above=0),
        Param("rises_over", "travel", "distance over which the drag rises; left out: at once", above=0),
        Param("stays_over", "travel", "distance over which it stays; left out: none", above=0),
        Param("falls_over", "travel", "distance over which it falls; left out: at once", above=0),
        WHEN,
    ),
    row=("drag", "full at", "falls at", "ends at", "at"),
    modes=(Mode("not there yet", ENGAGED), Mode("going in", ENGAGED), Mode("in the middle of it", ENGAGED),
           Mode("coming out", ENGAGED), Mode("turned out again", ENGAGED), Mode("passed", ENGAGED),
           Mode("taken out", ENGAGED)),
    guards=("back", "on", "taken out by hand"),
    memory=("place", "sense"),
    reads=("clear",),
    expect="carry",
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if isnan(r.rises_over) and isnan(r.stays_over) and isnan(r.falls_over):
        return ["a foreign body of no length drags nothing: give rises_over, stays_over or falls_over"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    full = or_else(r.rises_over, 0.0)
    falls = full + or_else(r.stays_over, 0.0)
    return r.drag, full, falls, falls + or_else(r.falls_over, 0.0), first_at(r)


def _way(q: Q) -> float:
    """Distance since it came."""
    return q.mem[SENSE] * (q.ta - q.mem[PLACE])


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    f = 0.0
    if q.m == RISING:
        f = max(0.0, q.p[DRAG] * _way(q) / q.p[FULL_AT])
    elif q.m == FULL:
        f = q.p[DRAG]
    elif q.m == FALLING:
        f = max(0.0, q.p[DRAG] * (q.p[ENDS_AT] - _way(q)) / (q.p[ENDS_AT] - q.p[FALLS_AT]))
    return f, f, f, f


def guards(q: Q, T: float) -> tuple[float, float, float]:
    s = _way(q)
    by_hand = 0.5 - q.w[0]
    if q.m == RISING:
        return s, q.p[FULL_AT] - s, by_hand
    if q.m == FULL:
        return s - q.p[FULL_AT], q.p[FALLS_AT] - s, by_hand
    if q.m == FALLING:
        return s - q.p[FALLS_AT], q.p[ENDS_AT] - s, by_hand
    if q.m == BEFORE:
        return 1.0, -s, by_hand
    return 1.0, 1.0, 1.0


def clock(q: Q) -> float:
    return q.p[AT] if q.m == WAITING else inf


def _entry(p: Any) -> int:
    return RISING if p[FULL_AT] > 0.0 else FULL


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING:
        M[PLACE] = q.ta
        M[SENSE] = copysign(1.0, q.wa)
        return _entry(q.p), 0.0
    if k == 2:
        return TAKEN_OUT, 0.0
    if q.m == BEFORE:
        return _entry(q.p), 0.0
    if k == 0:
        if q.m == FALLING:
            return FULL, 0.0
        return (RISING if q.m == FULL and q.p[FULL_AT] > 0.0 else BEFORE), 0.0
    if q.m == RISING:
        return FULL, 0.0
    return (FALLING if q.m == FULL and q.p[ENDS_AT] > q.p[FALLS_AT] else PASSED), 0.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"largest drag": (p[DRAG], "effort"), "distance until it has passed": (p[ENDS_AT], "travel")}
