"""The law of shear pins: one set that shares evenly, or up to eight pins followed one by one.

Every pin is a flank with play about its lasting twist (see ``_contact.py``) that stretches at its strength.
A set of alike pins is one such pin, and the part's mode is its state.  Unequal pins keep their states in
memory; the part's modes up to ``GONE`` then mean that all pins are in that state, the further ones tell what the
pins do together.  While a pin stretches its lasting twist follows the twist rigidly from ``START`` on, so no
state needs to be integrated for it.
"""

from __future__ import annotations

from math import erfc, exp, inf, log1p, pi, sqrt
from typing import Any

from simcore.contract import Q
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_guards, flank_loss, flank_store, flank_switch, flank_torque

MOST = 8
"""Pins that can be followed one by one."""
STRENGTH, PLASTIC, K, C, HALF, PINS, UNEQUAL, LIST_S, LIST_H, SPEED, RATE, RATE_REF = range(12)
FATIGUE, FAT_STRENGTH, FAT_EXPONENT, KNEE, STARTS, START_PEAK = range(12, 18)
RATIO = 18
HALVES = RATIO + MOST
SET, USED, WORN = range(3)
SETS_BROKEN, PINS_BROKEN, DIRECTION, POINTS = range(4)
STATE, LASTING, WAY, START, DAMAGE = 4, 12, 20, 28, 36
STACK, DEPTH = 44, 20
STRETCH_F, STRETCH_B, GONE = 7, 8, 9
UNEVEN, SOME_STRETCH, BROKEN_PLAY, BROKEN_CARRY, BROKEN_STRETCH = range(10, 15)
INSIDE = 1e-9
CLEAR = 1e-7
"""A guard of a pin (all are of size 1) below minus this switches the pin along with the lowest one."""
TAKEN = 1e30
"""Mark in ``START`` of a broken pin: the wire ``reset`` has been on since, see ``_pin_renewal.py``."""
LN2 = 0.6931471805599453


def faster(p: Any, v: float) -> float:
    """Strength over its static value at twist speed ``v`` [rad/s] in the direction of the stretching."""
    if p[RATE] == 0.0 or v <= 0.0:
        return 1.0
    return 1.0 + p[RATE] * log1p(v / p[RATE_REF]) / LN2


def followed(p: Any) -> int:
    """Number of pins followed one by one; 1: the set as a whole."""
    return int(p[PINS]) if p[UNEQUAL] > 0.5 else 1


def strength_of(p: Any, tab: Any, i: int) -> float:
    """Static strength of pin ``i`` (or of the set) [N*m]."""
    ratio = p[RATIO + i]
    if p[LIST_S] >= 0.0:
        ratio = tab[int(p[LIST_S]) + 1 + i]
    return p[STRENGTH] * ratio / followed(p)


def half_of(p: Any, tab: Any, i: int) -> float:
    """Half the play of pin ``i`` [rad]."""
    if p[LIST_H] >= 0.0:
        return 0.5 * tab[int(p[LIST_H]) + 1 + i]
    return p[HALVES + i]


def state_of(q: Q, i: int) -> int:
    """State of pin ``i`` of an unequal set; a pin without play is always tight."""
    s = q.m if q.m <= GONE else int(q.mem[STATE + i])
    if s <= ct.PARTED_B and half_of(q.p, q.tab, i) <= 0.0:
        return ct.TIGHT_F
    return s


def pin_twist(q: Q, i: int, s: int) -> float:
    """Twist of pin ``i`` about its lasting twist; it stands still while the pin stretches [rad]."""
    at = q.mem[START + i] if s == STRETCH_F or s == STRETCH_B else q.phi
    return at - q.mem[LASTING + i]


def pin_torque(s: int, z: float, nu: float, k: float, c: float, half: float, p: Any, top: float) -> float:
    """Torque of a pin of static strength ``top`` [N*m]."""
    if s == GONE:
        return 0.0
    if s == STRETCH_F:
        return top * faster(p, nu)
    if s == STRETCH_B:
        return -top * faster(p, -nu)
    return flank_torque(s, z, nu, k, c, half)


def pin_store(s: int, z: float, k: float, half: float) -> float:
    """Elastic energy of a pin [J], stretching or not."""
    if s == GONE:
        return 0.0
    if s >= STRETCH_F:
        if half <= 0.0:
            s = ct.TIGHT_F
        else:
            s = ct.FORWARD if s == STRETCH_F else ct.BACKWARD
    return flank_store(s, z, k, half)


def torque(q: Q) -> float:
    p = q.p
    if p[UNEQUAL] < 0.5:
        return pin_torque(q.m, q.phi - q.x[SET], q.nu, p[K], p[C], p[HALF], p, p[STRENGTH])
    n = int(p[PINS])
    total = 0.0
    for i in range(n):
        s = state_of(q, i)
        z = pin_twist(q, i, s)
        total += pin_torque(s, z, q.nu, p[K] / n, p[C] / n, half_of(p, q.tab, i), p, strength_of(p, q.tab, i))
    return total


def rate(q: Q, T: float) -> tuple[float, float, float]:
    if q.p[UNEQUAL] > 0.5:
        ahead, back = 0.0, 0.0
        for i in range(int(q.p[PINS])):
            s = state_of(q, i)
            if s == STRETCH_F:
                ahead += 1.0
            elif s == STRETCH_B:
                back += 1.0
        v = q.nu / q.p[PINS]
        return (ahead + back) * v, (ahead - back) * v, 0.0
    if q.m == STRETCH_F or q.m == STRETCH_B:
        return q.nu, (q.nu if q.m == STRETCH_F else -q.nu), 0.0
    return 0.0, 0.0, 0.0


def loss(q: Q, T: float) -> float:
    p = q.p
    if q.m == GONE:
        return 0.0
    if p[UNEQUAL] < 0.5:
        if q.m >= STRETCH_F:
            return T * q.nu
        return flank_loss(q.m, q.phi - q.x[SET], q.nu, p[K], p[C], p[HALF])
    n = int(p[PINS])
    total = 0.0
    for i in range(n):
        s = state_of(q, i)
        half = half_of(p, q.tab, i)
        if s == STRETCH_F or s == STRETCH_B:
            total += q.nu * pin_torque(s, 0.0, q.nu, 0.0, 0.0, half, p, strength_of(p, q.tab, i))
        elif s != GONE:
            total += flank_loss(s, pin_twist(q, i, s), q.nu, p[K] / n, p[C] / n, half)
    return total


def store(q: Q) -> float:
    p = q.p
    if p[UNEQUAL] < 0.5:
        return pin_store(q.m, q.phi - q.x[SET], p[K], p[HALF])
    total = 0.0
    for i in range(int(p[PINS])):
        s = state_of(q, i)
        total += pin_store(s, pin_twist(q, i, s), p[K] / p[PINS], half_of(p, q.tab, i))
    return total


def set_guards(q: Q, T: float) -> tuple[float, float, float, float]:
    """Guards of a set of alike pins."""
    m = q.m
    p = q.p
    if m >= STRETCH_F:
        side = 1.0 if m == STRETCH_F else -1.0
        return side * q.nu, 1.0, p[PLASTIC] - q.x[USED], 1.0
    g0, g1 = flank_guards(m, q.phi - q.x[SET], q.nu, p[K], p[C], p[HALF], T)
    if m >= ct.TIGHT_F:
        g0 = 1.0
    return g0, g1, p[STRENGTH] * faster(p, q.nu) - T, p[STRENGTH] * faster(p, -q.nu) + T


def pin_guards(q: Q, i: int) -> tuple[float, float, float, float]:
    """Guards of pin ``i`` of an unequal set, all of size 1 so that their least makes sense."""
    s = state_of(q, i)
    if s == GONE:
        return 1.0, 1.0, 1.0, 1.0
    p = q.p
    twist = p[K] / p[STRENGTH]
    if s >= STRETCH_F:
        side = 1.0 if s == STRETCH_F else -1.0
        used = q.mem[WAY + i] + side * (q.phi - q.mem[START + i])
        return side * q.nu / p[SPEED], 1.0, (p[PLASTIC] - used) * twist, 1.0
    n = p[PINS]
    half, top, z = half_of(p, q.tab, i), strength_of(p, q.tab, i), pin_twist(q, i, s)
    T = flank_torque(s, z, q.nu, p[K] / n, p[C] / n, half)
    g0, g1 = flank_guards(s, z, q.nu, p[K] / n, p[C] / n, half, T)
    if s >= ct.TIGHT_F:
        g0 = 1.0
    elif s == ct.FORWARD or s == ct.BACKWARD:
        g0 = g0 / top
    else:
        g0 = g0 * twist
        g1 = g1 * twist if s == ct.OPEN_PLAY else g1 / top
    return g0, g1, faster(p, q.nu) - T / top, faster(p, -q.nu) + T / top


def least_guards(q: Q) -> tuple[float, float, float, float]:
    """The least over the pins of each of their guards."""
    a, b, c, d = inf, inf, inf, inf
    for i in range(int(q.p[PINS])):
        g = pin_guards(q, i)
        a, b, c, d = min(a, g[0]), min(b, g[1]), min(c, g[2]), min(d, g[3])
    return a, b, c, d


def held(side: float, z: float, half: float, k: float, top: float) -> tuple[float, float]:
    """Stretching stops at wind-up ``z``: what the lasting twist must still take up, and the heat of that.

    The pin then holds a hair below its strength, clear of rounding.
    """
    d = side * z - half
    most = (1.0 - INSIDE) * top / k
    if d <= most:
        return 0.0, 0.0
    return d - most, 0.5 * k * (d * d - most * most)


def rested(side: float, half: float) -> int:
    """State of a pin that has stopped stretching."""
    if half <= 0.0:
        return ct.TIGHT_F
    return ct.FORWARD if side > 0.0 else ct.BACKWARD


def switch_pin(k: int, q: Q, i: int, X: Any, M: Any) -> float:
    """Switch pin ``i`` of an unequal set on its guard ``k``; gives the heat [J]."""
    s = state_of(q, i)
    p = q.p
    if s < STRETCH_F and k >= 2 and p[PLASTIC] > q.mem[WAY + i]:
        M[STATE + i] = STRETCH_F if k == 2 else STRETCH_B
        M[START + i] = q.phi
        return 0.0
    if k >= 2:
        return break_pin(q, i, M)
    half = half_of(p, q.tab, i)
    if s < STRETCH_F:
        M[STATE + i] = flank_switch(s, k, q.phi - q.mem[LASTING + i], half)
        return 0.0
    side = 1.0 if s == STRETCH_F else -1.0
    n = p[PINS]
    rest, heat = held(side, pin_twist(q, i, s), half, p[K] / n, strength_of(p, q.tab, i))
    moved = q.phi - q.mem[START + i]
    M[LASTING + i] = q.mem[LASTING + i] + moved + side * rest
    M[WAY + i] = q.mem[WAY + i] + side * moved
    M[STATE + i] = rested(side, half)
    X[SET] = q.x[SET] + side * rest / n
    return heat


def break_pin(q: Q, i: int, M: Any) -> float:
    """Pin ``i`` goes; its elastic energy becomes heat [J]."""
    s = state_of(q, i)
    heat = pin_store(s, pin_twist(q, i, s), q.p[K] / q.p[PINS], half_of(q.p, q.tab, i))
    M[STATE + i] = GONE
    if q.w[0] > 0.5:
        M[START + i] = TAKEN
    M[PINS_BROKEN] = M[PINS_BROKEN] + 1.0
    if M[PINS_BROKEN] == q.p[PINS]:
        M[SETS_BROKEN] = M[SETS_BROKEN] + 1.0
    return heat


def together(M: Any, n: int) -> int:
    """The part's mode from the states of its pins."""
    first = int(M[STATE])
    same, broken, stretch, carry = True, False, False, False
    for i in range(n):
        s = int(M[STATE + i])
        same = same and s == first
        broken = broken or s == GONE
        stretch = stretch or s == STRETCH_F or s == STRETCH_B
        carry = carry or (s > ct.OPEN_PLAY and s < STRETCH_F)
    if same:
        return first
    if broken:
        if stretch:
            return BROKEN_STRETCH
        return BROKEN_CARRY if carry else BROKEN_PLAY
    return SOME_STRETCH if stretch else UNEVEN


def still_torque(p: Any, tab: Any, i: int, z: float) -> float:
    """Torque of pin ``i`` held still at the twist ``z`` about its lasting twist, never above its strength."""
    d = abs(z) - half_of(p, tab, i)
    if d <= 0.0:
        return 0.0
    T = min(p[K] / followed(p) * d, strength_of(p, tab, i))
    return T if z > 0.0 else -T


def twist_under(p: Any, tab: Any, T: float) -> float:
    """Twist at which the new pins together carry ``T`` > 0 [rad], all still whole."""
    low, high = 0.0, 0.0
    for i in range(followed(p)):
        high = max(high, half_of(p, tab, i) + strength_of(p, tab, i) / p[K] * followed(p))
    for _ in range(60):
        mid = 0.5 * (low + high)
        total = 0.0
        for i in range(followed(p)):
            total += still_torque(p, tab, i, mid)
        if total < T:
            low = mid
        else:
            high = mid
    return 0.5 * (low + high)


def most_torque(p: Any, tab: Any) -> float:
    """Largest torque of slow loading until all pins are broken [N*m]: just before one of them breaks."""
    n = followed(p)
    most = 0.0
    for j in range(n):
        at = half_of(p, tab, j) + strength_of(p, tab, j) * n / p[K] + p[PLASTIC]
        total = 0.0
        for i in range(n):
            ends = half_of(p, tab, i) + strength_of(p, tab, i) * n / p[K] + p[PLASTIC]
            if ends >= at:
                total += still_torque(p, tab, i, at)
        most = max(most, total)
    return most


def normal_quantile(share: float) -> float:
    """Value below which the share ``share`` of a standard normal distribution lies, by Newton's method."""
    x = 0.0
    for _ in range(30):
        x += (share - 0.5 * erfc(-x / sqrt(2.0))) * sqrt(2.0 * pi) * exp(0.5 * x * x)
    return x


def spread(n: float, i: int) -> float:
    """Standard deviations by which pin ``i`` of ``n`` lies off the mean: the middle of its n-th of all pins."""
    return normal_quantile((i + 0.5) / n)
