"""Fatigue of shear pins: turning points of the twist, counted while the case runs.

All pins turn round with the joint, and rainflow closes the same ranges on the twist as on any torque that rises
with it; so one stack of twists serves all pins, and the range in torque is worked out for each.  Stretching
moves a pin's torque against the twist: when it ends, all ranges on the stack count as half cycles and the stack
begins anew at that point.  A full stack counts its oldest range as a half cycle.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Q
from simcore.parts import _pins as pn
from simcore.parts._pins import (
    break_pin,
    followed,
    pin_store,
    state_of,
    still_torque,
    strength_of,
    together,
    twist_under,
)
from simcore.parts._rainflow import closed_range, cycle_damage, drop_oldest

SMALL = 1e-5
"""A turn is noticed at this share of the twist speed that belongs to the setting: rounding at rest is no turn."""


def turn_guard(q: Q) -> float:
    """Falls to zero once the twist has turned round; at first, once it moves either way."""
    if q.p[pn.FATIGUE] < 0.5 or q.m == pn.GONE:
        return 1.0
    v = q.nu / q.p[pn.SPEED]
    way = q.mem[pn.DIRECTION]
    if way == 0.0:
        return min(SMALL - v, SMALL + v)
    return way * v + SMALL


def pin_cycle(q: Q, M: Any, i: int, a: float, b: float) -> float:
    """Damage of pin ``i`` by one full cycle between the twists ``a`` and ``b``."""
    p = q.p
    low = still_torque(p, q.tab, i, a - M[pn.LASTING + i])
    high = still_torque(p, q.tab, i, b - M[pn.LASTING + i])
    amplitude = 0.5 * abs(high - low) / strength_of(p, q.tab, i)
    return cycle_damage(amplitude, p[pn.FAT_STRENGTH], p[pn.FAT_EXPONENT], p[pn.KNEE])


def add_range(q: Q, M: Any, weight: float, a: float, b: float) -> None:
    for i in range(followed(q.p)):
        M[pn.DAMAGE + i] = M[pn.DAMAGE + i] + weight * pin_cycle(q, M, i, a, b)


def note_turn(q: Q, M: Any) -> None:
    """Put the present twist on the stack and count what it closes."""
    n = int(M[pn.POINTS])
    if n == pn.DEPTH:
        add_range(q, M, 0.5, M[pn.STACK], M[pn.STACK + 1])
        n = drop_oldest(M, pn.STACK, n)
    M[pn.STACK + n] = q.phi
    n += 1
    weight = 1.0
    while weight > 0.0:
        weight, a, b, n = closed_range(M, pn.STACK, n)
        if weight > 0.0:
            add_range(q, M, weight, a, b)
    M[pn.POINTS] = float(n)


def begin_anew(q: Q, M: Any) -> None:
    """Stretching ends here: half a cycle for every range on the stack, which begins anew with this point."""
    note_turn(q, M)
    for j in range(int(M[pn.POINTS]) - 1):
        add_range(q, M, 0.5, M[pn.STACK + j], M[pn.STACK + j + 1])
    M[pn.STACK] = q.phi
    M[pn.POINTS] = 1.0


def damage_before(p: Any, tab: Any, i: int, twist: float) -> float:
    """Damage of pin ``i`` by the starts done; ``twist`` is that at the peak of a start."""
    if p[pn.STARTS] == 0.0 or p[pn.START_PEAK] == 0.0:
        return 0.0
    return p[pn.STARTS] * start_damage(p, tab, i, twist)


def start_damage(p: Any, tab: Any, i: int, twist: float) -> float:
    """Damage of pin ``i`` by one start from no torque to the torque at ``twist``."""
    amplitude = 0.5 * still_torque(p, tab, i, twist) / strength_of(p, tab, i)
    return cycle_damage(amplitude, p[pn.FAT_STRENGTH], p[pn.FAT_EXPONENT], p[pn.KNEE])


def damage_so_far(q: Q, M: Any, i: int, twist: float) -> float:
    """Damage of pin ``i``: before the run, closed ranges, and half a cycle for each range left on the stack."""
    total = damage_before(q.p, q.tab, i, twist) + M[pn.DAMAGE + i]
    for j in range(int(M[pn.POINTS]) - 1):
        total += 0.5 * pin_cycle(q, M, i, M[pn.STACK + j], M[pn.STACK + j + 1])
    return total


def turn(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """The twist turns round: count, wear, and break what is worn out; new mode and heat [J]."""
    way = q.mem[pn.DIRECTION]
    note_turn(q, M)
    if way == 0.0:
        way = -1.0 if q.nu > 0.0 else 1.0
    M[pn.DIRECTION] = -way
    twist = 0.0
    if q.p[pn.STARTS] > 0.0:
        twist = twist_under(q.p, q.tab, q.p[pn.START_PEAK])
    n = followed(q.p)
    whole_set = q.p[pn.UNEQUAL] < 0.5
    heat = 0.0
    for i in range(n):
        if not whole_set:
            M[pn.STATE + i] = state_of(q, i)
    for i in range(n):
        s = q.m if whole_set else state_of(q, i)
        if s == pn.GONE:
            continue
        worn = damage_so_far(q, M, i, twist)
        X[pn.WORN] = max(X[pn.WORN], worn)
        if worn < 1.0:
            continue
        if whole_set:
            return break_set(q, M)
        heat += break_pin(q, i, M)
    return (q.m if whole_set else together(M, n)), heat


def break_set(q: Q, M: Any) -> tuple[int, float]:
    """A set of alike pins goes; the elastic energy left in it becomes heat [J]."""
    M[pn.SETS_BROKEN] = q.mem[pn.SETS_BROKEN] + 1.0
    M[pn.PINS_BROKEN] = q.p[pn.PINS]
    if q.w[0] > 0.5:
        M[pn.START] = pn.TAKEN
    return pn.GONE, pin_store(q.m, q.phi - q.x[pn.SET], q.p[pn.K], q.p[pn.HALF])
