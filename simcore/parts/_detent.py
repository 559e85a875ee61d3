"""What ball and roller detent share: modes, torque, release, pockets, re-seating.

Seated and held the torque is elastic, on the flank it follows :mod:`simcore.parts._detent_flank`, past the crest
only the residual drag is left.  The pocket at which the elements sit is a relative angle in memory; the next one each
way is known beforehand, and its guard decides from the relative speed there whether they drop in.

A reset seats elements that are out, at a slip speed of at most 10 rpm.  Whoever does it turns the hubs by hand to the
nearest pocket; that turning is not computed: the part's zero moves to the present twist instead, and how far is kept,
so that the phase lost stays that of the pocket.  What is left in the element springs is heat.
"""

from __future__ import annotations

from math import floor, nan, sqrt
from typing import Any

from simcore.contract import ENGAGED, OPEN, YIELDING, Left, Mode, Q, State
from simcore.parts._detent_flank import (
    BACK,
    BASE,
    BY_MASS,
    CREST,
    DRAG,
    FORCE,
    FREE,
    LIST,
    MU,
    POCKET,
    PULSES,
    RATCHETS,
    RISE,
    SEAT_SPEED,
    T1,
    T2,
    TOP,
    TOP_AT,
    C,
    K,
    back,
    comes_to_rest,
    free,
    lifted,
    out,
    slope,
    steepness,
    travel_at,
    whole_turn,
)
from simcore.parts._reset import BY_HAND, edge, let_go_under, reset_guard, slow_enough

SEATED, CLIMB_F, CLIMB_B, FALL_F, FALL_B, FLANK_F, FLANK_B, BACK_F, BACK_B, OUT_F, OUT_B, OUT_HELD = range(12)
DROP_B, DROP_F, LAND_B, LAND_F = range(12, 16)
LIFT = 0
HERE, COUNT, NEXT_F, NEXT_B, PLACE, OFFSET, STEEP, TURNED, TAKEN = range(9)
RESET = 3
INSIDE = 1e-9
"""Share of the setting by which a flank at rest starts inside its limits, clear of rounding."""
TURN = 6.283185307179586

MODES = (
    Mode("seated", ENGAGED), Mode("climbing forward", ENGAGED), Mode("climbing backward", ENGAGED),
    Mode("falling forward", YIELDING), Mode("falling backward", YIELDING),
    Mode("held on the flank forward", YIELDING), Mode("held on the flank backward", YIELDING),
    Mode("sliding home from forward", YIELDING), Mode("sliding home from backward", YIELDING),
    Mode("out, turning forward", OPEN, False), Mode("out, turning backward", OPEN, False),
    Mode("out, held by its drag", OPEN, False),
    Mode("dropping, turning backward", OPEN, False), Mode("dropping, turning forward", OPEN, False),
    Mode("landed on the flank backward", YIELDING), Mode("landed on the flank forward", YIELDING),
)  # fmt: skip
STATES = (State("flank travel", "rad", 0.01, "way of the elements along the flank; past the crest anchor of the drag"),)
GUARDS = ("forward", "backward", "pocket", "reset")
MEMORY = ("pocket", "pockets passed", "next pocket forward", "next pocket backward", "place of the pocket",
          "phase lost", "flank returns torque", "turned by hand", "reset taken")  # fmt: skip
"""``pocket``: relative angle at which the elements sit; ``phase lost``: the same less whole turns and less what was
turned by hand, 0 = in phase."""
TALLY = "pockets passed"
LEFT = (Left("phase lost", "angle", "angle by which the two sides sit apart from how they began, whole turns off"),)


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (mem[OFFSET] if mem[HERE] != 0.0 and MODES[m].klass != OPEN else nan,)


def start_mode(p: Any, sense: float) -> int:
    return SEATED


def _side(m: int) -> float:
    """Direction of the flank or of the turning: odd modes are forward."""
    return 1.0 if m % 2 == 1 else -1.0


def _elastic(m: int) -> bool:
    return m == SEATED or m == FLANK_F or m == FLANK_B or m >= LAND_B


def torque(q: Q) -> float:
    m = q.m
    phi = q.phi - q.mem[HERE]
    if m == SEATED:
        return q.p[K] * phi + q.p[C] * q.nu
    u = q.x[LIFT]
    if m == OUT_HELD:
        return q.p[K] * (q.phi - u) + q.p[C] * q.nu
    if _elastic(m):
        return q.p[K] * (phi - u) + q.p[C] * q.nu
    side = _side(m)
    if m >= OUT_F:
        return side * q.p[DRAG]
    if m >= BACK_F:
        return side * back(q.p, side * u, q.mem[STEEP])
    return side * out(q.p, side * u)


def rate(q: Q, T: float) -> tuple[float]:
    m = q.m
    if (m >= CLIMB_F and m <= FALL_B) or m == BACK_F or m == BACK_B:
        return (q.nu,)
    return (0.0,)


def loss(q: Q, T: float) -> float:
    m = q.m
    if _elastic(m) or m == OUT_HELD:
        return q.p[C] * q.nu * q.nu
    if m >= OUT_F:
        return T * q.nu
    side = _side(m)
    return (T - side * free(q.p, side * q.x[LIFT])) * q.nu


def guards(q: Q, T: float) -> tuple[float, float, float, float]:
    a, b, c = _own_guards(q, T)
    out_of_pocket = q.m >= OUT_F and q.m <= OUT_HELD
    return a, b, c, (reset_guard(q.mem[TAKEN], q.w[0]) if out_of_pocket else 1.0)


def _own_guards(q: Q, T: float) -> tuple[float, float, float]:
    m = q.m
    if m == SEATED:
        return q.p[T1] - T, q.p[T1] + T, 1.0
    if m == OUT_HELD:
        return q.p[DRAG] - T, q.p[DRAG] + T, 1.0
    side = _side(m)
    u = side * q.x[LIFT]
    if m <= CLIMB_B:
        return q.p[TOP_AT] - u, side * q.nu, 1.0
    if m <= FALL_B:
        return q.p[CREST] - u, side * q.nu, 1.0
    if m <= FLANK_B:
        return out(q.p, u) - side * T, side * T - back(q.p, u, steepness(q.p, u)), 1.0
    if m <= BACK_B:
        return u, -side * q.nu, _until_held(q, u)
    if m >= LAND_B:
        return out(q.p, u) - side * T, side * q.nu, 1.0
    if m >= DROP_B:
        return side * q.nu, 1.0, u - side * (q.phi - q.mem[HERE])
    pocket = 1.0
    if q.p[RATCHETS] > 0.5:
        pocket = side * ((q.mem[NEXT_F] if side > 0.0 else q.mem[NEXT_B]) - q.phi)
    return side * q.nu, 1.0, pocket


def _until_held(q: Q, u: float) -> float:
    """Slope by which the flank still returns torque, or still does not; the guide's friction turns there."""
    if q.mem[STEEP] >= 0.0:
        return 1.0
    return q.p[MU] - slope(q.p, u)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m = q.m
    if k == RESET:
        return _put_back(q, X, M) if edge(M, TAKEN) and slow_enough(q.nu, BY_HAND) else (m, 0.0)
    if m == SEATED:
        return _climb(q, 1.0 if k == 0 else -1.0, 0.0), 0.0
    if m == OUT_HELD:
        return (OUT_F if k == 0 else OUT_B), 0.5 * q.p[K] * (q.phi - q.x[LIFT]) * (q.phi - q.x[LIFT])
    side = _side(m)
    u = side * q.x[LIFT]
    if m <= FALL_B:
        if k != 0:
            return _rest_on_flank(q, side, u, X, M)
        if m <= CLIMB_B and q.p[TOP_AT] < q.p[CREST]:
            return (FALL_F if side > 0.0 else FALL_B), 0.0
        return _release(q, side, u, X, M)
    if m <= FLANK_B:
        if k == 0:
            return _climb(q, side, u), 0.0
        M[STEEP] = steepness(q.p, u)
        return (BACK_F if side > 0.0 else BACK_B), 0.0
    if m <= BACK_B:
        return _sliding_ends(k, q, side, u, X, M)
    if m >= LAND_B:
        if k == 0:
            return (FALL_F if side > 0.0 else FALL_B), 0.0
        return _rest_on_flank(q, side, u, X, M)
    if m >= DROP_B:
        return _dropped(k, q, side, u, X, M)
    if k == 0:
        if q.p[DRAG] <= 0.0:
            return (OUT_B if m == OUT_F else OUT_F), 0.0
        X[LIFT] = q.phi
        return OUT_HELD, 0.0
    return _meet_pocket(q, side, X, M)


def _climb(q: Q, side: float, u: float) -> int:
    if u < q.p[TOP_AT]:
        return CLIMB_F if side > 0.0 else CLIMB_B
    return FALL_F if side > 0.0 else FALL_B


def _sliding_ends(k: int, q: Q, side: float, u: float, X: Any, M: Any) -> tuple[int, float]:
    if k == 2:
        M[STEEP] = 1.0
        return q.m, 0.0
    if k == 0:
        X[LIFT] = 0.0
        return SEATED, 0.0
    return _rest_on_flank(q, side, u, X, M)


def _release(q: Q, side: float, u: float, X: Any, M: Any) -> tuple[int, float]:
    """Past the crest; the wind-up, less what the element springs still take up on the way, is heat [J]."""
    z = q.phi - q.mem[HERE] - side * u
    rest = lifted(q.p, q.p[CREST]) - lifted(q.p, min(abs(u), q.p[CREST]))
    _between(q, q.mem[HERE], q.mem[PLACE], side, M)
    M[TAKEN] = let_go_under(q.w[0])
    X[LIFT] = q.phi
    return (OUT_F if side > 0.0 else OUT_B), 0.5 * q.p[K] * z * z - rest


def _rest_on_flank(q: Q, side: float, u: float, X: Any, M: Any) -> tuple[int, float]:
    """At rest the wind-up holds between the flank's two limits; outside them the elements move at once.

    Up until the spring holds no more than the flank, perhaps over the crest; or down, perhaps home.
    The energy that this sets free is heat [J].
    """
    z = side * (q.phi - q.mem[HERE]) - u
    flank = FLANK_F if side > 0.0 else FLANK_B
    inside = INSIDE * q.p[TOP]
    X[LIFT] = side * u
    climbs = q.p[K] * z > out(q.p, u) - inside
    if not climbs and q.p[K] * z >= back(q.p, u, steepness(q.p, u)) + inside:
        return flank, 0.0
    new = comes_to_rest(q.p, z + u, u, climbs, inside)
    if climbs and new >= q.p[CREST]:
        return _release(q, side, u, X, M)
    new = max(new, 0.0)
    X[LIFT] = side * new
    z_new = z + u - new
    freed = 0.5 * q.p[K] * (z * z - z_new * z_new) + lifted(q.p, u) - lifted(q.p, new)
    return (flank if new > 0.0 else SEATED), freed


def _gap(q: Q, place: float) -> float:
    """Angle [rad] from the pocket at ``place`` to the next one forward."""
    i = int(q.p[LIST])
    if i == 0:
        return q.p[POCKET]
    n = int(q.tab[i])
    j = int(place) % n
    if j == n - 1:
        return q.tab[i + 1] + TURN - q.tab[i + n]
    return q.tab[i + 2 + j] - q.tab[i + 1 + j]


def _between(q: Q, here: float, place: float, side: float, M: Any) -> None:
    """The pockets ahead and behind once the elements have left the one at ``here``; ``place``: the one behind."""
    if side > 0.0:
        M[PLACE] = place
        M[NEXT_B] = here
        M[NEXT_F] = here + _gap(q, place)
    else:
        M[PLACE] = place - 1.0
        M[NEXT_F] = here
        M[NEXT_B] = here - _gap(q, place - 1.0)


def _meet_pocket(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    """The elements drop in, drop part of the way on to the far flank, or pass."""
    pocket = q.mem[NEXT_F] if side > 0.0 else q.mem[NEXT_B]
    place = q.mem[PLACE] + (1.0 if side > 0.0 else 0.0)
    M[COUNT] = q.mem[COUNT] + 1.0
    speed = side * q.nu
    if speed <= q.p[SEAT_SPEED]:
        _sit(pocket, place, M)
        X[LIFT] = 0.0
        return SEATED, lifted(q.p, q.p[CREST])
    if q.p[PULSES] > 0.5:
        _sit(pocket, place, M)
        X[LIFT] = side * travel_at(q.p, q.p[RISE] * (1.0 - seat_depth(q.p[SEAT_SPEED], speed)))
        return (DROP_F if side > 0.0 else DROP_B), 0.0
    _between(q, pocket, place, side, M)
    return q.m, 0.0


def seat_depth(seat_speed: float, speed: float) -> float:
    """Share of the lift dropped while the pocket passes: ``(F/m) tau^2/2``, tau as 1/speed; whole at ``seat_speed``."""
    return seat_speed * seat_speed / (speed * speed)


def _sit(pocket: float, place: float, M: Any) -> None:
    M[HERE] = pocket
    M[PLACE] = place
    M[OFFSET] = whole_turn(pocket - M[TURNED])


def _put_back(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Seated where it stands, in the place of the nearest pocket; what it held is heat [J]."""
    heat = store(q)
    back, place = q.mem[NEXT_B], q.mem[PLACE]
    period = q.p[POCKET] if q.p[LIST] == 0.0 else TURN
    back += floor((q.phi - back) / period) * period
    while back + _gap(q, place) <= q.phi:
        back += _gap(q, place)
        place += 1.0
    ahead = back + _gap(q, place)
    if ahead - q.phi < q.phi - back:
        back, place = ahead, place + 1.0
    M[TURNED] = q.mem[TURNED] + q.phi - back
    _sit(q.phi, place, M)
    X[LIFT] = 0.0
    return SEATED, heat


def _dropped(k: int, q: Q, side: float, u: float, X: Any, M: Any) -> tuple[int, float]:
    """The elements land on the far flank, or, standing still before, straight below; their fall is heat [J]."""
    if k == 2:
        return (LAND_F if side > 0.0 else LAND_B), lifted(q.p, q.p[CREST]) - lifted(q.p, u)
    u = min(max(side * (q.phi - q.mem[HERE]), 0.0), u)
    m, freed = _rest_on_flank(q, side, u, X, M)
    return m, freed + lifted(q.p, q.p[CREST]) - lifted(q.p, u)


def store(q: Q) -> float:
    m = q.m
    phi = q.phi - q.mem[HERE]
    if m == SEATED:
        return 0.5 * q.p[K] * phi * phi
    if m >= OUT_F and m < LAND_B:
        e = lifted(q.p, q.p[CREST])
        if m == OUT_HELD:
            e += 0.5 * q.p[K] * (q.phi - q.x[LIFT]) * (q.phi - q.x[LIFT])
        return e
    z = phi - q.x[LIFT]
    return 0.5 * q.p[K] * z * z + lifted(q.p, abs(q.x[LIFT]))


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The nut turns the spring force; stiffness and damping of the seat stay, by mass they drop in sooner."""
    seat = p[SEAT_SPEED] * (sqrt(f) if p[BY_MASS] > 0.5 else 1.0)
    return (p[T1] * f, p[T2] * f, p[CREST], p[FREE], p[BACK], p[K], p[C], p[DRAG] * f, p[POCKET], seat, p[RATCHETS],
            p[TOP] * f, p[TOP_AT], p[BASE] * f, p[FORCE] * f)  # fmt: skip


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]
