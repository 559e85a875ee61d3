r"""Winding roll: a web is wound up under tension; radius and inertia grow turn by turn.

.. math:: r = r_s + \frac{h}{2\pi}\theta, \qquad J = J_c + \frac{\pi\lambda}{2}(r^4 - r_c^4), \qquad
          J\dot\omega = \sum T - F r, \qquad F = F_c\left(1 - \tau\left(1 - \frac{r_c}{r}\right)\right)

with web thickness :math:`h`, angle wound :math:`\theta`, core :math:`r_c`, mass of the roll per area of its face
:math:`\lambda`, taper :math:`\tau` (0: constant tension, 1: constant torque).  No :math:`\dot J\omega`: the web arrives
at the speed of the surface and brings just that.  It also brings :math:`\tfrac12\dot m v^2 = \tfrac12\dot J\omega^2`,
booked as a negative loss; the work :math:`F v` on the web is booked as loss.

The web is braked upstream, so it resists and never drives: at standstill it holds any pull up to :math:`F`, and turned
back the roll leaves it slack, without tension, until the slack is taken up again.  When it breaks, or the roll is full
and it is cut, the tension is gone at once and the roll keeps its size.

Sources: balance of angular momentum with arriving mass, textbook; taper law, common practice of winding, from memory.
"""

from __future__ import annotations

from math import copysign, inf, isnan, pi
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._given import or_else

TENSION, TAPER, CORE, START, FULL, GROWTH, FACE, BREAKS = range(8)
FORWARD, BACKWARD, SLACK_F, SLACK_B, NO_WEB = range(5)
WOUND = 0
HAIR = 1e-6
"""Speed [rad/s] past which it counts as turned back: the web's hold at standstill is settled before."""

KIND = Kind(
    name="winding roll",
    family="load",
    hubs=1,
    summary="web wound up under tension: radius, inertia and torque grow; slack when turned back, web break",
    params=(
        Param("tension", "force", "web tension at the core", required=True, low="0 N"),
        Param("taper", "ratio", "share of the tension taken off as the roll grows without end; 0: constant tension, 1: "
              "constant torque", default=0, low=0, high=1, usual=(0, 0.5), source="constant tension; common practice, "
              "from memory"),
        Param("core_diameter", "length", "outer diameter of the core", required=True, above="0 mm"),
        Param("start_diameter", "length", "diameter when the run begins; left out: the bare core", above="0 mm"),
        Param("full_diameter", "length", "diameter at which the web is cut; left out: never", above="0 mm"),
        Param("thickness", "length", "web thickness, air between the turns counted in", required=True, above="0 mm",
              usual=("0.01 mm", "2 mm"), source="film to board; common practice, from memory"),
        Param("web_mass", "mass", "mass of the web on the full roll", above="0 kg"),
        Param("grammage", "mass_per_area", "mass of the web per area, with its width", above="0 g/m^2",
              usual=("10 g/m^2", "1000 g/m^2"), source="film to board; common practice, from memory"),
        Param("width", "length", "width of the web", above="0 mm"),
        Param("core_inertia", "inertia", "inertia of core, shaft and chucks", required=True, above="0 kg*m^2"),
        Param("breaks_at", "time", "instant after the situation's event at which the web breaks; left out: never",
              low="0 s"),
    ),
    row=("tension", "taper", "core", "start", "full", "growth", "face", "breaks", "running", "breakaway", "viscous"),
    modes=(Mode("winding forward", ENGAGED), Mode("winding backward", ENGAGED),
           Mode("slack, turned back", ENGAGED), Mode("slack, turned forward", ENGAGED), Mode("no web", ENGAGED)),
    guards=("turned back, or slack taken up", "full"),
    memory=("angle wound",),
    cautions=("A running nip and a winding roll draw in: guard them.",),
    sources=("angular momentum with arriving mass: textbook", "taper law: common practice, from memory"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if r.start_diameter < r.core_diameter:
        out.append("start_diameter below core_diameter: the core is the smallest a roll can be")
    if r.full_diameter <= or_else(r.start_diameter, r.core_diameter):
        out.append("full_diameter must be larger than the diameter at the start")
    if isnan(r.grammage) != isnan(r.width):
        out.append("grammage and width belong together: give both or neither")
    if isnan(r.web_mass) == isnan(r.grammage):
        out.append("give the mass of the web one way: web_mass with full_diameter, or grammage with width")
    if not isnan(r.web_mass) and isnan(r.full_diameter):
        out.append("web_mass is that of the full roll: give full_diameter with it")
    return out


def _mass_per_face(r: Any) -> float:
    """Mass of the roll per area of its face [kg/m^2]."""
    if isnan(r.web_mass):
        return float(r.grammage * r.width / r.thickness)
    return float(4.0 * r.web_mass / (pi * (r.full_diameter * r.full_diameter - r.core_diameter * r.core_diameter)))


def _wound_inertia(face: float, core: float, radius: float) -> float:
    """Inertia of the web on the roll."""
    return float(0.5 * pi * face * (radius * radius * radius * radius - core * core * core * core))


def _pull(p: Any, radius: float) -> float:
    """Tension times radius."""
    return float(p[TENSION] * (radius * (1.0 - p[TAPER]) + p[TAPER] * p[CORE]))


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    core = 0.5 * r.core_diameter
    start = 0.5 * or_else(r.start_diameter, r.core_diameter)
    pull = _pull((r.tension, r.taper, core), start)
    return (r.tension, r.taper, core, start, 0.5 * or_else(r.full_diameter, inf), r.thickness / (2.0 * pi),
            _mass_per_face(r), or_else(r.breaks_at, inf), pull, pull, 0.0)  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    start = 0.5 * or_else(r.start_diameter, r.core_diameter)
    return r.core_inertia + _wound_inertia(_mass_per_face(r), 0.5 * r.core_diameter, start), 0.0


def start_mode(p: Any, sense: float) -> int:
    return BACKWARD if copysign(1.0, sense) < 0.0 else FORWARD


def _sense(q: Q) -> float:
    """Sense in which it winds."""
    return -1.0 if q.m == BACKWARD or q.m == SLACK_B else 1.0


def _radius(q: Q) -> float:
    wound = _sense(q) * q.ta if q.m <= BACKWARD else q.mem[WOUND]
    return float(q.p[START] + q.p[GROWTH] * wound)


def inertia(q: Q) -> float:
    return _wound_inertia(q.p[FACE], q.p[START], _radius(q))


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    if q.m > BACKWARD:
        return 0.0, 0.0, 0.0, 0.0
    f = _pull(q.p, _radius(q))
    return (0.0, f, 0.0, f) if q.m == FORWARD else (f, 0.0, f, 0.0)


def guards(q: Q, T: float) -> tuple[float, float]:
    s = _sense(q)
    if q.m == NO_WEB:
        return 1.0, 1.0
    if q.m > BACKWARD:
        return q.mem[WOUND] - s * q.ta, 1.0
    return s * q.wa + HAIR, (q.p[FULL] - _radius(q) if q.p[FULL] < inf else 1.0)


def clock(q: Q) -> float:
    return q.p[BREAKS] if q.m != NO_WEB else inf


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m <= BACKWARD:
        M[WOUND] = _sense(q) * q.ta
    if k == CLOCK or k == 1:
        return NO_WEB, 0.0
    return (q.m + SLACK_F if q.m <= BACKWARD else q.m - SLACK_F), 0.0


def loss(q: Q, T: float) -> float:
    if q.m > BACKWARD:
        return 0.0
    r = _radius(q)
    return -pi * q.p[FACE] * r * r * r * q.p[GROWTH] * _sense(q) * q.wa * q.wa * q.wa


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    out = {"torque at the start": (_pull(p, p[START]), "torque"), "torque at the core": (_pull(p, p[CORE]), "torque")}
    if p[FULL] < inf:
        out["torque when full"] = (_pull(p, p[FULL]), "torque")
        out["web inertia when full"] = (_wound_inertia(p[FACE], p[CORE], p[FULL]), "inertia")
        out["web on the full roll"] = (0.5 * (p[FULL] * p[FULL] - p[CORE] * p[CORE]) / p[GROWTH], "length")
    return out
