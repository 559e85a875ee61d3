r"""Cam: turns rotation into a lift by a law; its follower is a varying inertia, with a spring and forces against it.

With :math:`u` the share of the rise over its angle :math:`\beta`, and the return as its mirror:

.. math:: \text{cycloidal:}\ s = h\left(u - \frac{\sin 2\pi u}{2\pi}\right), \qquad
          \text{harmonic:}\ s = \frac{h}{2}(1 - \cos\pi u)

.. math:: T = m s'^2\dot\omega + m s' s''\omega^2 + (F_0 + k s)s' + F|s'|

exact for a rigid follower that keeps to the cam: in a groove, or pressed on.  A follower that is only pressed on floats
above the speed at which :math:`F_0 + k s + m s''\omega^2` first falls to nothing; that is not followed, so mind the
speed on its data sheet.  What :math:`F_0` and the spring take on the rise they give back on the return.

Running with a cam is a cycle, not a state: the solver of steady running takes it where it stands at the start, at the
foot of the rise by default.  Leave it a few turns before the event.  Source: laws of lift e.g. Norton, Design of
Machinery (cited from memory); Lagrange's equation, textbook.
"""

from __future__ import annotations

from math import cos, inf, pi, sin, sqrt
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._slider import stroke_forces, stroke_friction

MASS, LIFT, LAW, RISEN, LEAVES, BACK_DOWN, PLACE, PRELOAD, RATE, OUT_FORCE, BACK_FORCE = range(11)
RISE, TOP, RETURN, FOOT = range(4)
TURN = 0
WHOLE = 2.0 * pi
LAWS = ("cycloidal", "harmonic")
NOTHING = 1e-9
"""Angle [rad] below which a dwell is none."""

KIND = Kind(
    name="cam",
    family="load",
    hubs=1,
    summary="cam with follower and spring: inertia and torque vary with the angle by the law of lift",
    params=(
        Param("lift", "length", "stroke of the follower", required=True, above="0 mm"),
        Param("mass", "mass", "mass of the follower and what it moves", required=True, low="0 kg"),
        Param("rise_angle", "angle", "angle of the cam over which it lifts", required=True, above="0 deg",
              high="360 deg"),
        Param("dwell_angle", "angle", "angle over which it stays up", default="0 deg", low="0 deg", high="360 deg",
              source="no dwell"),
        Param("return_angle", "angle", "angle over which it comes back; then it stays down", required=True,
              above="0 deg", high="360 deg"),
        Param("law", "choice", "law of lift of rise and return", default=LAWS[0], choices=LAWS,
              source="no jump of the acceleration"),
        Param("preload", "force", "force on the follower to the cam when it is down: spring, weight", default="0 N",
              low="0 N", source="in a groove, without a spring"),
        Param("spring_rate", "linear_stiffness", "rate of the follower's spring", default="0 N/m", low="0 N/m",
              source="in a groove, without a spring"),
        Param("phase", "angle", "angle past the foot of the rise at the start", default="0 deg", low="-360 deg",
              high="360 deg", source="foot of the rise: the quietest start"),
        *stroke_forces(),
        Param("inertia", "inertia", "inertia of the cam", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    ),
    starts_at="phase",
    row=("mass", "lift", "law", "risen", "leaves", "back down", "place", "preload", "rate", "out", "back"),
    modes=(Mode("rising", ENGAGED), Mode("up", ENGAGED), Mode("returning", ENGAGED), Mode("down", ENGAGED)),
    guards=("behind", "ahead"),
    memory=("turn",),
    cautions=("While it returns, a spring drives the line: a cam can run on after the power is off.",
              "Torque swings with every turn: peaks depend on where in its turn the jam finds it."),
    sources=("laws of lift: Norton, Design of Machinery (cited from memory)", "Lagrange's equation: textbook"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.rise_angle + r.dwell_angle + r.return_angle > WHOLE + NOTHING:
        return ["rise_angle, dwell_angle and return_angle are more than a whole turn together"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    leaves = r.rise_angle + r.dwell_angle
    return (r.mass, r.lift, r.law, r.rise_angle, leaves, leaves + r.return_angle, r.phase % WHOLE, r.preload,
            r.spring_rate, r.force_out + r.slide_friction, r.force_back + r.slide_friction)  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0


def start_mode(p: Any, sense: float) -> int:
    at = p[PLACE]
    if at < p[RISEN]:
        return RISE
    if at < p[LEAVES]:
        return TOP
    return RETURN if at < p[BACK_DOWN] else FOOT


def _begins(p: Any, m: int) -> float:
    """Angle of the cam at which the stretch ``m`` begins; of 4, the whole turn."""
    if m == RISE:
        return 0.0
    if m == TOP:
        return float(p[RISEN])
    if m == RETURN:
        return float(p[LEAVES])
    return float(p[BACK_DOWN]) if m == FOOT else WHOLE


def _at(q: Q) -> float:
    """Angle past the foot of the rise, in this turn."""
    return float(q.ta + q.p[PLACE] - WHOLE * q.mem[TURN])


def _law(p: Any, m: int, at: float) -> tuple[float, float, float]:
    """Lift [m], lift per angle [m/rad] and its change per angle [m/rad^2] on the stretch ``m``."""
    h = p[LIFT]
    if m == TOP or m == FOOT:
        return (h if m == TOP else 0.0), 0.0, 0.0
    side = 1.0 if m == RISE else -1.0
    b = p[RISEN] if m == RISE else p[BACK_DOWN] - p[LEAVES]
    u = (at - _begins(p, m)) / b
    if p[LAW] == 0.0:
        a = 2.0 * pi * u
        s, s1, s2 = h * (u - sin(a) / (2.0 * pi)), h / b * (1.0 - cos(a)), 2.0 * pi * h / (b * b) * sin(a)
    else:
        a = pi * u
        s, s1, s2 = 0.5 * h * (1.0 - cos(a)), 0.5 * pi * h / b * sin(a), 0.5 * pi * pi * h / (b * b) * cos(a)
    return (s if m == RISE else h - s), side * s1, side * s2


def inertia(q: Q) -> float:
    x = _law(q.p, q.m, _at(q))[1]
    return q.p[MASS] * x * x


def torque(q: Q) -> float:
    s, s1, s2 = _law(q.p, q.m, _at(q))
    return s1 * (q.p[MASS] * s2 * q.wa * q.wa + q.p[PRELOAD] + q.p[RATE] * s)


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return stroke_friction(_law(q.p, q.m, _at(q))[1], q.p[OUT_FORCE], q.p[BACK_FORCE])


def guards(q: Q, T: float) -> tuple[float, float]:
    at = _at(q)
    return at - _begins(q.p, q.m), _begins(q.p, q.m + 1) - at


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m, turn = q.m, q.mem[TURN]
    step = 1 if k == 1 else -1
    empty = True
    while empty:
        m += step
        if m > FOOT:
            m, turn = RISE, turn + 1.0
        elif m < RISE:
            m, turn = FOOT, turn - 1.0
        empty = _begins(q.p, m + 1) - _begins(q.p, m) < NOTHING
    M[TURN] = turn
    return m, 0.0


def loss(q: Q, T: float) -> float:
    return 0.0


def store(q: Q) -> float:
    s = _law(q.p, q.m, _at(q))[0]
    return s * (q.p[PRELOAD] + 0.5 * q.p[RATE] * s)


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    n = 2000
    steepest, pull, floats = 0.0, 0.0, inf
    for m in (RISE, RETURN):
        begins, span = _begins(p, m), _begins(p, m + 1) - _begins(p, m)
        for i in range(n + 1):
            s, s1, s2 = _law(p, m, begins + span * i / n)
            force = p[PRELOAD] + p[RATE] * s
            steepest, pull = max(steepest, abs(s1)), max(pull, abs(s1) * force)
            if p[MASS] * s2 < 0.0 < force:
                floats = min(floats, sqrt(-force / (p[MASS] * s2)))
    out = {
        "largest inertia at the cam": (p[MASS] * steepest * steepest, "inertia"),
        "largest torque of the spring": (pull, "torque"),
        "work a turn": (p[LIFT] * (p[OUT_FORCE] + p[BACK_FORCE]), "energy"),
    }
    if floats < inf:
        out["a follower pressed on floats above"] = (floats, "speed")
    return out
