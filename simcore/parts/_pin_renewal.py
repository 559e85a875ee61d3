"""New shear pins: what a reset does once a pin has broken.

All pins are renewed together, at a slip speed of at most 10 rpm.  They stand unwound in the middle of their play where
the hubs stand; lasting twist, plastic way and fatigue begin anew, and starts done were the old pins'.  Whether the
edge of the wire has been taken is kept in the cell ``twist at yield`` of a broken pin, which needs it no more.
Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Q
from simcore.parts import _pins as pn
from simcore.parts._contact import start_flank
from simcore.parts._pin_fatigue import damage_before
from simcore.parts._pins import TAKEN, followed, store, twist_under
from simcore.parts._reset import BY_HAND, reset_guard, slow_enough


def reset_taken(q: Q) -> float:
    """1 once the edge of the wire has been taken, else 0."""
    for i in range(followed(q.p)):
        if q.mem[pn.START + i] == TAKEN:
            return 1.0
    return 0.0


def new_pins_guard(q: Q) -> float:
    """Watches the wire ``reset`` from the first break on."""
    if q.m != pn.GONE and q.m < pn.BROKEN_PLAY:
        return 1.0
    return reset_guard(reset_taken(q), q.w[0])


def new_pins(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Renew all pins, or not if the hubs run too fast; new mode and heat [J]."""
    mark = 0.0 if reset_taken(q) > 0.5 else TAKEN
    for i in range(followed(q.p)):
        if q.m == pn.GONE or q.mem[pn.STATE + i] == pn.GONE:
            M[pn.START + i] = mark
    if mark == 0.0 or not slow_enough(q.nu, BY_HAND):
        return q.m, 0.0
    heat = store(q)
    twist = 0.0
    if q.p[pn.STARTS] > 0.0:
        twist = twist_under(q.p, q.tab, q.p[pn.START_PEAK])
    mode = start_flank(1.0 if q.p[pn.UNEQUAL] > 0.5 else q.p[pn.HALF], 0.0)
    for i in range(followed(q.p)):
        M[pn.STATE + i] = float(mode)
        M[pn.LASTING + i] = q.phi
        M[pn.WAY + i] = 0.0
        M[pn.START + i] = 0.0
        M[pn.DAMAGE + i] = -damage_before(q.p, q.tab, i, twist)
    M[pn.PINS_BROKEN] = 0.0
    M[pn.DIRECTION] = 0.0
    M[pn.POINTS] = 0.0
    X[pn.SET] = q.phi
    X[pn.USED] = 0.0
    X[pn.WORN] = 0.0
    return mode, heat
