r"""Flank of a detent: torque over the elements' travel ``u`` [rad] along it, from the row.

Slope :math:`s` and rise :math:`\lambda` (lift over pitch radius) at ``u``: a straight flank has
:math:`s = \tan\alpha`, a ball or roller on a sharp edge :math:`s = (a-x)/\sqrt{r^2-(a-x)^2}`.  With
:math:`q_{out} = (s+\mu)/(1-\mu s) = \tan(\alpha+\rho)`, :math:`q_{in} = (s-\mu)/(1+\mu s)`, guide friction
:math:`m = \mu_g R/r_g` and :math:`B = nFR`

.. math:: T_{out} = B f\,\frac{q_{out}}{1 - m q_{out}}, \qquad T_{in} = B f\,\frac{q_{in}}{1 + m |q_{in}|}

and the energy :math:`B\int f\,d\lambda` in the springs.  Spring force over its seated value, :math:`f`: linear in
the lift, or a disc spring's :math:`f \sim x((h-x)(h-x/2)+1)` with deflection and cone height over thickness.

Sources: inclined flank with friction, Niemann and Winter, Maschinenelemente 1; disc spring, Almen and Laszlo as in
EN 16984 and DIN 2092 (both cited from memory).
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

T1, T2, CREST, FREE, BACK, K, C, DRAG, POCKET, SEAT_SPEED, RATCHETS = range(11)
TOP, TOP_AT, BASE, FORCE, LIST, PULSES, BY_MASS, WAIT, RADIUS, CARRYING = range(11, 21)
SHAPE, SLOPE, EDGE_A, EDGE_R, MU, GUIDE, RISE, F2, DISC_H, DISC_X, DISC_DX, DISC_P = range(21, 33)
ROW = (
    "t1", "t2", "crest", "free", "back", "k", "c", "drag", "pocket", "seat_speed", "ratchets",
    "top", "top_at", "base", "force", "list", "pulses", "by_mass", "wait", "radius", "carrying",
    "shape", "slope", "edge_a", "edge_r", "mu", "guide", "rise", "f2", "disc_h", "disc_x", "disc_dx", "disc_p",
)  # fmt: skip
"""``shape`` 0: straight flank and linear spring, where the first columns say it all; 1: the last ones do."""

LEAST_FRICTION = 1e-6
"""No flank returns more than all but this share of its climbing torque: it must be able to stand still."""
LEAST = 1e-3
"""Least share of the force that guide and flank leave, beyond the range that inputs allow."""
BEYOND = 0.25
"""Share of the way from the edge to the ball's rim up to which a trial step sees the true slope."""
SCAN = 48
FINE = 60
INVERSE_GOLDEN = 0.5 * (sqrt(5.0) - 1.0)


def slope(p: Any, u: float) -> float:
    """Lift gained over travel."""
    if p[EDGE_A] <= 0.0:
        return p[SLOPE]
    d = min(p[EDGE_A] - u, p[EDGE_A] + BEYOND * (p[EDGE_R] - p[EDGE_A]))
    return d / sqrt(p[EDGE_R] * p[EDGE_R] - d * d)


def rise(p: Any, u: float) -> float:
    """Lift over pitch radius."""
    if p[EDGE_A] <= 0.0:
        return p[SLOPE] * u
    d = min(p[EDGE_A] - u, p[EDGE_A] + BEYOND * (p[EDGE_R] - p[EDGE_A]))
    return sqrt(p[EDGE_R] * p[EDGE_R] - d * d) - sqrt(p[EDGE_R] * p[EDGE_R] - p[EDGE_A] * p[EDGE_A])


def travel_at(p: Any, lift: float) -> float:
    """Travel [rad] at which the rise is ``lift``."""
    if p[EDGE_A] <= 0.0:
        return lift / p[SLOPE]
    y = lift + sqrt(p[EDGE_R] * p[EDGE_R] - p[EDGE_A] * p[EDGE_A])
    return p[EDGE_A] - sqrt(max(p[EDGE_R] * p[EDGE_R] - y * y, 0.0))


def disc_load(h: float, x: float) -> float:
    """Load of a disc spring up to a factor; cone height ``h`` and deflection ``x`` over thickness."""
    return x * ((h - x) * (h - 0.5 * x) + 1.0)


def disc_energy(h: float, x: float) -> float:
    """Integral of :func:`disc_load` over the deflection."""
    return x * x * (0.5 * (h * h + 1.0) + x * (0.125 * x - 0.5 * h))


def spring_force(p: Any, lift: float) -> float:
    """Spring force over its seated value."""
    if p[DISC_DX] > 0.0:
        return disc_load(p[DISC_H], p[DISC_X] + lift * p[DISC_DX]) / p[DISC_P]
    return 1.0 + (p[F2] - 1.0) * lift / p[RISE]


def climbing(s: float, mu: float, guide: float) -> float:
    """Side force over axial spring force, elements moving out."""
    t = (s + mu) / max(1.0 - mu * s, LEAST)
    return t / max(1.0 - guide * t, LEAST)


def sliding(s: float, mu: float, guide: float) -> float:
    """Side force over axial spring force, elements moving in; ``guide`` < 0 where they must be pulled."""
    t = (s - mu) / (1.0 + mu * s)
    return t / (1.0 + guide * t)


def out(p: Any, u: float) -> float:
    """Torque [N*m] to climb out at travel ``u`` >= 0."""
    if p[SHAPE] < 0.5:
        return p[T1] + (p[T2] - p[T1]) * u / p[CREST]
    return p[BASE] * spring_force(p, rise(p, u)) * climbing(slope(p, u), p[MU], p[GUIDE])


def free(p: Any, u: float) -> float:
    """Torque [N*m] that goes into the springs."""
    if p[SHAPE] < 0.5:
        return p[FREE] * out(p, u)
    return p[BASE] * spring_force(p, rise(p, u)) * slope(p, u)


def steepness(p: Any, u: float) -> float:
    """1 where the flank returns torque, -1 where friction holds the elements on it."""
    return 1.0 if slope(p, u) >= p[MU] else -1.0


def back(p: Any, u: float, steep: float) -> float:
    """Torque [N*m] returned while sliding home, ``steep`` as :func:`steepness` says."""
    T = out(p, u)
    if p[SHAPE] < 0.5:
        return p[BACK] * T
    T_in = p[BASE] * spring_force(p, rise(p, u)) * sliding(slope(p, u), p[MU], steep * p[GUIDE])
    return min(T_in, (1.0 - LEAST_FRICTION) * T)


def lifted(p: Any, u: float) -> float:
    """Energy [J] the springs have taken up at travel ``u`` >= 0."""
    if p[SHAPE] < 0.5:
        return p[FREE] * (p[T1] * u + 0.5 * (p[T2] - p[T1]) * u * u / p[CREST])
    lift = rise(p, u)
    if p[DISC_DX] > 0.0:
        x = p[DISC_X] + lift * p[DISC_DX]
        way = disc_energy(p[DISC_H], x) - disc_energy(p[DISC_H], p[DISC_X])
        return p[BASE] * way / (p[DISC_P] * p[DISC_DX])
    return p[BASE] * (lift + 0.5 * (p[F2] - 1.0) * lift * lift / p[RISE])


def top_at(p: Any) -> float:
    """Travel at which the climbing torque is largest: a scan, then golden section."""
    best = 0
    for i in range(1, SCAN + 1):
        if out(p, p[CREST] * i / SCAN) > out(p, p[CREST] * best / SCAN):
            best = i
    left, right = p[CREST] * max(best - 1, 0) / SCAN, p[CREST] * min(best + 1, SCAN) / SCAN
    for _ in range(FINE):
        way = INVERSE_GOLDEN * (right - left)
        if out(p, right - way) < out(p, left + way):
            left = right - way
        else:
            right = left + way
    u = 0.5 * (left + right)
    if out(p, 0.0) >= out(p, u):
        return 0.0
    if out(p, p[CREST]) >= out(p, u):
        return p[CREST]
    return u


def excess(p: Any, twist: float, u: float, climbs: bool, inside: float) -> float:
    """What spring torque at ``twist`` has over the flank's limit at ``u``, the limit drawn in by ``inside``."""
    if climbs:
        return p[K] * (twist - u) - out(p, u) + inside
    return p[K] * (twist - u) - back(p, u, steepness(p, u)) - inside


def comes_to_rest(p: Any, twist: float, u: float, climbs: bool, inside: float) -> float:
    """Where elements that move from ``u`` at a hub twist that stays come to rest; the flank's end if nowhere."""
    end = p[CREST] if climbs else 0.0
    if p[SHAPE] < 0.5:
        share = 1.0 if climbs else p[BACK]
        rate = p[K] + share * (p[T2] - p[T1]) / p[CREST]
        if rate <= 0.0:
            return end
        return (p[K] * twist - share * p[T1] + (inside if climbs else -inside)) / rate
    from_, to = u, u
    for i in range(1, SCAN + 1):
        from_, to = to, u + (end - u) * i / SCAN
        if (excess(p, twist, to, climbs, inside) <= 0.0) == climbs:
            break
        if i == SCAN:
            return end
    for _ in range(FINE):
        mid = 0.5 * (from_ + to)
        if (excess(p, twist, mid, climbs, inside) <= 0.0) == climbs:
            to = mid
        else:
            from_ = mid
    return to


def whole_turn(x: float) -> float:
    """Angle ``x`` [rad] less whole turns, within half a turn either way."""
    return x - 2.0 * pi * float(int(x / (2.0 * pi) + (0.5 if x >= 0.0 else -0.5)))
