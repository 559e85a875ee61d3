r"""Speed loop with torque limit, the law of converter-fed and servo motor.  Shared by both.

Asked torque, integrator and torque in the air gap, for the set speed v(t) (:mod:`simcore.parts._set_speed`):

.. math:: T_s = K_p (v + K_v e - \omega) + I, \qquad T_l = \mathrm{clip}(T_s, -L, L), \qquad \tau\dot T = T_l - T

.. math:: \dot I = \frac{K_p}{T_i}(v + K_v e - \omega) - \frac{T_s - T_l}{T_t}, \qquad \dot e = v - \omega

Beyond the limit the integrator is drawn back with :math:`T_t = T_i/4`, so its rate has no jump where the limit is
met.  The limit falls above base speed, with the speed (constant power) and, where breakdown torque is less, with its
square.  It is a motor without power until its command; it loses torque at once with the permit.  Held at its limit
longer than ``stall`` it trips; so it does 1 ms after more is asked than ``trip`` and where e passes ``error``; then
it is off until its command goes or the reset comes.

Sources: PI control and back-calculation against wind-up: Astrom and Hagglund, PID Controllers (cited from memory);
field weakening: textbook.
"""

from __future__ import annotations

from math import inf, pi
from typing import Any

from simcore.contract import CLOCK, ENGAGED, OPEN, Mode, Q, RunUp, State
from simcore.parts import _set_speed as setting
from simcore.parts._command import commanded
from simcore.parts._set_speed import (
    LAW,
    MOVE,
    SPEED,
    UP,
    aim,
    goal_asked,
    goal_guard,
    pass_set_corner,
    set_clock,
    set_share,
)

KP, KI, KV, BACK, LIMIT, RATED, LAG, BASE, PULL, ERROR, STALL, TRIP = range(7, 19)
COLUMNS = (
    *setting.COLUMNS, "kp", "ki", "kv", "back", "limit", "rated", "lag", "base", "pull_out", "error", "stall", "trip",
)  # fmt: skip
OFF, FOLLOWS, AT_LIMIT, BRAKING, TRIPPED = range(5)
MODES = (Mode("off", ENGAGED), Mode("on its set speed", ENGAGED), Mode("at its limit", ENGAGED),
         Mode("braking at its limit", ENGAGED), Mode("tripped", OPEN))  # fmt: skip
TORQUE, INTEGRAL, BEHIND = range(3)
STATES = (
    State("air-gap torque", "1", 1.0, "torque over rated torque, behind the torque loop's lag", True),
    State("integral", "1", 1.0, "integral part of the speed controller over rated torque", True),
    State("following error", "rad", 0.01, "angle behind the set angle; 0 without position loop", True),
)
GUARDS = ("command", "set speed", "limit", "limit below", "field weakening", "trip")
STALL_AT, TRIP_AT, REGION = 9, 10, 11
MEMORY = (*setting.MEMORY, "trips for stall at", "trips for torque at", "region of field weakening")
READS = ("command", "permit", "slow", "reset")
TRIP_DELAY = 1e-3


def free_speed(p: Any) -> float:
    return p[SPEED]


def top_torque(p: Any) -> float:
    return p[LIMIT]


def run_up(p: Any) -> RunUp:
    """From standstill; the greatest acceleration of a cycloidal index is there after a quarter of it."""
    speed = abs(p[SPEED])
    if p[MOVE] > 0.0:
        a = (3.0 if p[LAW] > 1.5 else pi) * speed / p[MOVE]
        return RunUp(a, 0.25 * p[MOVE] if p[LAW] < 0.5 else 0.0, p[KP])
    return RunUp(speed / p[UP] if p[UP] > 0.0 else inf, 0.0, p[KP])


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else FOLLOWS


def _dead(q: Q) -> bool:
    return q.m == OFF or q.m == TRIPPED


def _speed_missing(q: Q) -> float:
    return q.p[SPEED] * set_share(q) + q.p[KV] * q.x[BEHIND] - q.wb


def _asked(q: Q) -> float:
    return q.p[KP] * _speed_missing(q) + q.p[RATED] * q.x[INTEGRAL]


def _edge(p: Any) -> float:
    """Speed over base speed beyond which breakdown torque is the limit."""
    return p[PULL] / p[LIMIT]


def _ceiling(p: Any, over: float, region: float) -> float:
    """Limit [N*m] at ``over`` times base speed."""
    if region < 0.5:
        return p[LIMIT]
    return p[LIMIT] / over if region < 1.5 else p[PULL] / (over * over)


def _region(p: Any, over: float) -> float:
    if over < 1.0:
        return 0.0
    return 1.0 if over < _edge(p) else 2.0


def _over(q: Q) -> float:
    return abs(q.wb) / q.p[BASE]


def _given(q: Q, asked: float) -> float:
    """Torque within the limit, by mode."""
    if q.m == FOLLOWS:
        return asked
    limit = _ceiling(q.p, _over(q), q.mem[REGION])
    return limit if q.m == AT_LIMIT else -limit


def torque(q: Q) -> float:
    if _dead(q):
        return 0.0
    if q.p[LAG] > 0.0:
        return q.p[RATED] * q.x[TORQUE]
    return _given(q, _asked(q))


def rate(q: Q, T: float) -> tuple[float, float, float]:
    if _dead(q):
        return 0.0, 0.0, 0.0
    asked = _asked(q)
    given = _given(q, asked)
    air = 0.0
    if q.p[LAG] > 0.0:
        air = (given / q.p[RATED] - q.x[TORQUE]) / q.p[LAG]
    integral = (q.p[KI] * _speed_missing(q) - q.p[BACK] * (asked - given)) / q.p[RATED]
    behind = 0.0
    if q.p[KV] > 0.0:
        behind = q.p[SPEED] * set_share(q) - q.wb
    return air, integral, behind


def guards(q: Q, T: float) -> tuple[float, float, float, float, float, float]:
    on = commanded(q.w[0]) * q.w[1] - 0.5
    if q.m == OFF:
        return -on, 1.0, 1.0, 1.0, 1.0, 1.0
    if q.m == TRIPPED:
        return on, 0.5 - q.w[3], 1.0, 1.0, 1.0, 1.0
    asked = _asked(q)
    trip = _trip_guard(q, asked)
    if q.m == FOLLOWS:
        top = _ceiling(q.p, _over(q), _region(q.p, _over(q)))
        return on, goal_guard(q), top - asked, top + asked, 1.0, trip
    side = 1.0 if q.m == AT_LIMIT else -1.0
    beyond = side * asked - _ceiling(q.p, _over(q), q.mem[REGION])
    return on, goal_guard(q), beyond, 1.0, _region_guard(q), trip


def _trip_guard(q: Q, asked: float) -> float:
    far = min(1.0 - q.x[BEHIND] / q.p[ERROR], 1.0 + q.x[BEHIND] / q.p[ERROR])
    if q.mem[TRIP_AT] != 0.0:
        return far
    return min(far, min(1.0 - asked / q.p[TRIP], 1.0 + asked / q.p[TRIP]))


def _region_guard(q: Q) -> float:
    over = _over(q)
    if q.mem[REGION] < 0.5:
        return min(1.0 - q.wb / q.p[BASE], 1.0 + q.wb / q.p[BASE])
    if q.mem[REGION] < 1.5:
        return min(over - 1.0, _edge(q.p) - over)
    return over - _edge(q.p)


def clock(q: Q) -> float:
    if _dead(q):
        return inf
    at = set_clock(q)
    if q.mem[STALL_AT] != 0.0:
        at = min(at, q.mem[STALL_AT])
    return min(at, q.mem[TRIP_AT]) if q.mem[TRIP_AT] != 0.0 else at


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        if set_clock(q) <= q.t:
            pass_set_corner(q, M)
            return q.m, 0.0
        return _stop(TRIPPED, X, M), 0.0
    if q.m == OFF:
        return _begin(q, M), 0.0
    if k == 0 or q.m == TRIPPED:
        return _stop(OFF, X, M), 0.0
    if k == 1:
        aim(q, set_share(q), goal_asked(q), M)
        return q.m, 0.0
    if k == 4:
        M[REGION] = _next_region(q)
        return q.m, 0.0
    if k == 5:
        if abs(q.x[BEHIND]) >= q.p[ERROR] * (1.0 - 1e-9):
            return _stop(TRIPPED, X, M), 0.0
        M[TRIP_AT] = q.t + TRIP_DELAY
        return q.m, 0.0
    M[STALL_AT] = 0.0
    if q.m != FOLLOWS:
        return FOLLOWS, 0.0
    M[REGION] = _region(q.p, _over(q))
    if q.p[STALL] < inf:
        M[STALL_AT] = q.t + q.p[STALL]
    return (AT_LIMIT if k == 2 else BRAKING), 0.0


def _next_region(q: Q) -> float:
    if q.mem[REGION] < 0.5 or q.mem[REGION] > 1.5:
        return 1.0
    return 0.0 if _over(q) < 0.5 * (1.0 + _edge(q.p)) else 2.0


def _begin(q: Q, M: Any) -> int:
    """On: the set speed begins at the speed it finds."""
    u = max(-1.0, min(1.0, q.wb / q.p[SPEED]))
    aim(q, u, goal_asked(q), M)
    return FOLLOWS


def _stop(mode: int, X: Any, M: Any) -> int:
    X[TORQUE] = 0.0
    X[INTEGRAL] = 0.0
    X[BEHIND] = 0.0
    M[STALL_AT] = 0.0
    M[TRIP_AT] = 0.0
    return mode


def loss(q: Q, T: float) -> float:
    return -T * q.wb
