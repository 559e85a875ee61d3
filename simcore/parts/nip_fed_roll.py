r"""Nip-fed roll: a web is wound up that a driven nip lets through at its own constant speed.

The nip sets the speed of the surface and whoever drives the roll sets the tension.  Between nip and roll the web is
drawn by as much as the roll's surface runs ahead:

.. math:: F = EA\left(\frac{\omega r}{v} - 1\right), \quad 0 \le F \le F_g, \qquad
          r = r_s + \frac{h}{2\pi}\theta, \qquad J = J_c + \frac{\pi\lambda}{2}(r^4 - r_c^4)

with web speed :math:`v`, tensile stiffness :math:`EA` and the grip :math:`F_g` of the nip, past which the web slips
through it.  Slower than the nip the roll leaves the web slack.  The lag of a length :math:`l` of free web,
:math:`l/v`, is left out, and the nip runs at :math:`v` from the first instant.  The work on the web is booked as loss;
what it brings, :math:`\tfrac12\dot J\omega^2`, as a negative one.  When it breaks, the tension is gone at once and the
roll keeps its size.

Sources: tension by draw between two driven rolls, textbook of web handling; balance of angular momentum with
arriving mass, textbook.
"""

from __future__ import annotations

from math import copysign, inf, pi
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._given import or_else
from simcore.parts.winding_roll import KIND as ROLL

WEB, STIFF, GRIP, START, GROWTH, FACE, _, _, BREAKS = range(9)
TAUT_F, SLACK_F, THROUGH_F, TAUT_B, SLACK_B, THROUGH_B, NO_WEB = range(7)
WOUND = 0
DRAW = 1e-12
"""Share of the web speed by which a limit that was just crossed is left behind."""

KIND = Kind(
    name="nip-fed roll",
    family="load",
    hubs=1,
    summary="web wound up behind a driven nip: the nip sets the speed, the drive's torque the tension",
    params=(
        Param("web_speed", "velocity", "speed at which the nip lets the web through", required=True, above="0 m/s"),
        Param("web_stiffness", "force", "tensile stiffness of the web: modulus times thickness times width",
              default="60 kN", above="0 N", usual=("5 kN", "1000 kN"),
              source="plastic film of 30 um and 0.6 m, from memory"),
        Param("tension", "force", "web tension the drive is set for; hand bounds and checks count with it, the run "
              "finds its own", required=True, above="0 N"),
        Param("grip", "force", "tension at which the web slips through the nip", required=True, above="0 N"),
        ROLL.param("core_diameter"),
        ROLL.param("start_diameter"),
        ROLL.param("thickness"),
        Param("grammage", "mass_per_area", "mass of the web per area", required=True, above="0 g/m^2",
              usual=("10 g/m^2", "1000 g/m^2"), source="film to board; common practice, from memory"),
        Param("width", "length", "width of the web", required=True, above="0 mm"),
        ROLL.param("core_inertia"),
        ROLL.param("breaks_at"),
    ),
    row=("web", "stiff", "grip", "start", "growth", "face", "asked", "breakaway", "breaks"),
    modes=(Mode("web taut, forward", ENGAGED), Mode("web slack, forward", ENGAGED),
           Mode("web slips through the nip, forward", ENGAGED), Mode("web taut, backward", ENGAGED),
           Mode("web slack, backward", ENGAGED), Mode("web slips through the nip, backward", ENGAGED),
           Mode("no web", ENGAGED)),
    guards=("slack", "more tension"),
    memory=("angle wound",),
    cautions=("A running nip and a winding roll draw in: guard them.",
              "If the web breaks nothing here holds the roll's speed: it runs up to the motor's."),
    sources=("tension by draw: textbook of web handling", "angular momentum with arriving mass: textbook"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if r.start_diameter < r.core_diameter:
        out.append("start_diameter below core_diameter: the core is the smallest a roll can be")
    if r.grip <= r.tension:
        out.append("grip must be above the tension: the web would slip through the nip in ordinary running")
    return out


def _wound(face: float, core: float, radius: float) -> float:
    """Inertia of the web on the roll."""
    return float(0.5 * pi * face * (radius * radius * radius * radius - core * core * core * core))


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    start = 0.5 * or_else(r.start_diameter, r.core_diameter)
    return (r.web_speed, r.web_stiffness, r.grip, start, r.thickness / (2.0 * pi), r.grammage * r.width / r.thickness,
            r.tension * start, 0.0, or_else(r.breaks_at, inf))  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    start = 0.5 * or_else(r.start_diameter, r.core_diameter)
    return r.core_inertia + _wound(r.grammage * r.width / r.thickness, 0.5 * r.core_diameter, start), 0.0


def start_mode(p: Any, sense: float) -> int:
    """Taut while it runs, slack at rest before a start."""
    if sense == 0.0:
        return SLACK_B if copysign(1.0, sense) < 0.0 else SLACK_F
    return TAUT_B if sense < 0.0 else TAUT_F


def _sense(q: Q) -> float:
    """Sense in which it winds."""
    return 1.0 if q.m < TAUT_B else -1.0


def _radius(q: Q) -> float:
    wound = q.mem[WOUND] if q.m == NO_WEB else _sense(q) * q.ta
    return float(q.p[START] + q.p[GROWTH] * wound)


def _ahead(q: Q) -> float:
    """Share by which the surface runs ahead of the nip."""
    return float(_sense(q) * q.wa * _radius(q) / q.p[WEB] - 1.0)


def inertia(q: Q) -> float:
    return _wound(q.p[FACE], q.p[START], _radius(q))


def torque(q: Q) -> float:
    pull = 0.0
    if q.m == TAUT_F or q.m == TAUT_B:
        pull = q.p[STIFF] * _ahead(q)
    elif q.m == THROUGH_F or q.m == THROUGH_B:
        pull = q.p[GRIP]
    return float(_sense(q) * pull * _radius(q))


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m == NO_WEB:
        return 1.0, 1.0
    ahead = _ahead(q)
    most = q.p[GRIP] / q.p[STIFF]
    if q.m == SLACK_F or q.m == SLACK_B:
        return 1.0, DRAW - ahead
    if q.m == THROUGH_F or q.m == THROUGH_B:
        return ahead - most + DRAW, 1.0
    return ahead + DRAW, most + DRAW - ahead


def clock(q: Q) -> float:
    return q.p[BREAKS] if q.m != NO_WEB else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[WOUND] = _sense(q) * q.ta
        return NO_WEB, 0.0
    first = TAUT_F if q.m < TAUT_B else TAUT_B
    if q.m != first:
        return first, 0.0
    return first + (SLACK_F if k == 0 else THROUGH_F), 0.0


def loss(q: Q, T: float) -> float:
    if q.m == NO_WEB:
        return 0.0
    r = _radius(q)
    return T * q.wa - pi * q.p[FACE] * r * r * r * q.p[GROWTH] * _sense(q) * q.wa * q.wa * q.wa


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "speed of the roll at the start": (p[WEB] / p[START], "speed"),
        "torque at which the web slips through the nip": (p[GRIP] * p[START], "torque"),
    }
