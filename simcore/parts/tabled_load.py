r"""Tabled load: torque or force against time, or against angle or travel, straight between the entries of a list.

Against the motion it is dry friction of the tabled size, at standstill larger by the breakaway factor; pulling backward
it is a torque of its own, positive against forward motion, that also drives.  Outside the list the end values stay, or
the list repeats.  Times count from the situation's first event (before it: the first value), places from where the line
stands at the start.  The same time or place twice is a jump.  Steady running is that of the load at its start.
Work is booked as taken by the load, negative where it drives.  Source: straight interpolation, textbook.
"""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import Any

from simcore.contract import CLOCK, Kind, Param, Q
from simcore.parts._program import program_clock, program_length, program_value

AT, VALUES, BY_PLACE, PULLS, REPEATS, STICKS = range(6)
CORNER, SHIFT = range(2)
ACTS = ("against the motion", "pulls backward")
AFTER = ("stays", "repeats")

KIND = Kind(
    name="tabled load",
    family="load",
    domain="any",
    hubs=1,
    summary="torque or force from a list: against time, or against angle or travel; stays or repeats",
    params=(
        Param("times", "time", "instants of the loads, from the situation's event on", low="0 s", many=True),
        Param("places", "travel", "angles or lengths of the loads, instead of times", many=True, low="-1e6 rad"),
        Param("loads", "effort", "torque or force at each of them", required=True, many=True, low=-1e9),
        Param("acts", "choice", "as friction against the motion, or as a pull backward that can also drive",
              default=ACTS[0], choices=ACTS, source="most processes take torque and never give it"),
        Param("afterwards", "choice", "past the end of the list", default=AFTER[0], choices=AFTER,
              source="one course"),
        Param("breakaway_factor", "ratio", "friction at standstill over the tabled load", default=1, low=1, high=5,
              source="no more than while moving"),
    ),
    row=("at", "values", "by place", "pulls", "repeats", "sticks"),
    guards=("corner behind", "corner ahead"),
    memory=("corners passed", "shift"),
    cautions=("A load measured on the running line holds its inertia's share as well: take out J times acceleration.",),
    sources=("straight interpolation: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if bool(r.times) == bool(r.places):
        return ["say what the loads go with, one way: give times or places"]
    out = []
    at, word = (r.times, "times") if r.times else (r.places, "places")
    if len(at) != len(r.loads):
        out.append(f"{word} has {len(at)} values and loads {len(r.loads)}: they go in pairs")
    if any(b < a for a, b in pairwise(at)):
        out.append(f"{word} must not fall from one value to the next")
    if not at[-1] > at[0]:
        out.append(f"{word} must span something: two different values at least")
    if r.acts == 0.0 and min(r.loads) < 0.0:
        out.append('a load against the motion cannot be negative: say acts = "pulls backward" for one that also drives')
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    by_place = 1.0 if r.places > 0.0 else 0.0
    return (r.places if by_place else r.times), r.loads, by_place, r.acts, r.afterwards, r.breakaway_factor


def _passed(q: Q) -> int:
    """Corners behind; a place begins behind its first one."""
    return int(q.mem[CORNER] + q.p[BY_PLACE])


def _here(q: Q) -> float:
    """Time or place within the list."""
    return float((q.ta if q.p[BY_PLACE] > 0.0 else q.t) - q.mem[SHIFT])


def _value(q: Q) -> float:
    i, here = _passed(q), _here(q)
    if q.p[BY_PLACE] > 0.0 and i == 1 and here < q.tab[int(q.p[AT]) + 1]:
        i = 0  # the list begins further on
    return program_value(q.tab, q.p[AT], q.p[VALUES], float(i), here)


def torque(q: Q) -> float:
    return _value(q) if q.p[PULLS] > 0.0 else 0.0


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    if q.p[PULLS] > 0.0:
        return 0.0, 0.0, 0.0, 0.0
    f = _value(q)
    return f * q.p[STICKS], f * q.p[STICKS], f, f


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.p[BY_PLACE] == 0.0:
        return 1.0, 1.0
    i, first, here = _passed(q), int(q.p[AT]), _here(q)
    behind = here - q.tab[first + i] if i > 0 else 1.0
    ahead = q.tab[first + i + 1] - here if i < program_length(q.tab, q.p[AT]) else 1.0
    return behind, ahead


def clock(q: Q) -> float:
    if q.p[BY_PLACE] > 0.0:
        return inf
    return program_clock(q.tab, q.p[AT], q.mem[CORNER]) + q.mem[SHIFT]


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    first = int(q.p[AT])
    n = program_length(q.tab, q.p[AT])
    span = q.tab[first + n] - q.tab[first + 1]
    again = q.p[REPEATS] > 0.0
    i, shift = _passed(q), q.mem[SHIFT]
    here = _here(q)
    back = k == 0
    moving = True
    while moving:
        i += -1 if back else 1
        if again and back and i == 0:
            i, shift, here = n - 1, shift - span, here + span
        elif again and not back and i == n:
            i, shift, here = 1, shift + span, here - span
        moving = False
        if k != CLOCK and back and i > 0:
            moving = here < q.tab[first + i]
        elif k != CLOCK and not back and i < n:
            moving = here > q.tab[first + i + 1]
        if 0 < i < n and q.tab[first + i + 1] <= q.tab[first + i]:
            moving = True
    M[CORNER] = i - q.p[BY_PLACE]
    M[SHIFT] = shift
    return 0, 0.0


def loss(q: Q, T: float) -> float:
    return T * q.wa
