r"""Universal joint: two shafts at an angle, joined by a cross; the driven side runs unevenly, twice a turn.

.. math:: \varphi = g(\theta_a) - \theta_b, \quad
          g = \theta + \arctan\frac{q\sin 2\theta}{1 - q\cos 2\theta}, \quad
          r = \frac{dg}{d\theta} = \frac{1 - q^2}{1 - 2q\cos 2\theta + q^2}, \quad q = \tan^2\frac{\beta}{2}

which is :math:`\tan g = \tan\theta/\cos\beta`.  The spring and its play act on :math:`\varphi`, the damper on
:math:`r\omega_a - \omega_b`; hub b is driven by :math:`T`, hub a loaded by :math:`rT` (the bearings hold the rest and
do no work).  Largest bending couple :math:`T\tan\beta`, on the driven shaft.

``phase`` is the mean of both yokes' places in the cycle when the line starts: the driving yoke stands at
:math:`\arctan(\sqrt{\cos\beta}\tan\psi)`, the driven one at :math:`\arctan(\tan\psi/\sqrt{\cos\beta})`.  At 0 the
driven side is fastest, at 45 degrees both run alike, at 90 degrees it is slowest.  A second joint at the same angle
and 90 degrees more undoes the first.

Steady running is a cycle, not a state.  The solver of steady running takes the joint where it stands at the start
with equal speeds on both sides: exact at 45 degrees, so a line started there takes up its ripple with the least
shock.  Leave it a few turns before the event.

Source: kinematics of the Cardan joint, Budynas and Nisbett, Shigley's Mechanical Engineering Design, and any text on
mechanisms (cited from memory).
"""

from __future__ import annotations

from math import asin, atan, cos, degrees, isnan, radians, sin, sqrt, tan
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_loss, flank_store, flank_torque, play_guards, play_switch
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._flexible import flexible_start
from simcore.parts._given import or_else

K, C, HALF, TAN2, PLACE, LEAD, ANGLE, RATED = range(8)
STEEPEST = radians(45.0)

KIND = Kind(
    name="universal joint",
    family="transmission",
    summary="cross joint between shafts at an angle: uneven speed twice a turn, play, bending couple",
    params=(
        Param("joint_angle", "angle", "angle between the two shafts; below 45 deg", required=True, low="0 deg",
              high="89 deg", usual=("5 deg", "25 deg"), source="common practice, from memory"),
        Param("phase", "angle", "place in its cycle at the start: 0 driven side fastest, 45 deg both alike, 90 deg "
              "slowest; a second joint that evens out the first: 90 deg more", default="45 deg",
              low="-360 deg", high="360 deg", source="the quietest start"),
        Param("rated_torque", "torque", "rated torque", above="0 N*m"),
        Param("stiffness", "stiffness", "torque for one radian of twist; left out: from twist_at_rated",
              above="0 N*m/rad"),
        Param("twist_at_rated", "angle", "twist at rated torque", default="0.2 deg", above="0 deg",
              usual=("0.1 deg", "0.5 deg"), source="common practice, from memory"),
        Param("lash", "angle", "whole play of the cross in its bearings", default="0 deg", low="0 deg",
              high="10 deg", usual=("0.1 deg", "0.5 deg"), source="left out unless given"),
        Param("inertia_in", "inertia", "inertia of the driving yoke", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven yoke", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        RELATIVE_DAMPING,
    ),
    starts_at="phase",
    row=("k", "c", "half", "tan2", "place", "lead", "angle", "rated"),
    modes=ct.MODES,
    guards=("flank", "flank again"),
    cautions=("Steady running with a joint is a cycle: peaks depend on where in its turn the jam finds it.",
              "A joint that runs at more than a few degrees shakes what is stiffly coupled to it.",
              "Guard it: a joint that breaks lets its shaft whip."),
    sources=("Cardan joint: Shigley's Mechanical Engineering Design (cited from memory)",),
    character="twist",
    example={"rated_torque": "120 N*m", "joint_angle": "15 deg"},
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if r.joint_angle >= STEEPEST:
        c = cos(r.joint_angle)
        out.append(
            f"joint_angle {degrees(r.joint_angle):.4g} deg is not below 45 deg: the driven speed would swing by "
            f"{100.0 * (1.0 / c - c):.0f} % of its mean each half turn; share the angle between two joints"
        )
    if isnan(r.stiffness) and isnan(r.rated_torque):
        out.append("give the stiffness, or the rated torque (and the twist at it)")
    return out


def _shift(q: float, theta: float) -> float:
    """How far the driven yoke is ahead of the driving one at ``theta`` [rad]."""
    return atan(q * sin(2.0 * theta) / (1.0 - q * cos(2.0 * theta)))


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float, float]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    root = sqrt(cos(r.joint_angle))
    half_way = (1.0 - root) / (1.0 + root)
    place = r.phase + _shift(-half_way, r.phase)
    lead = r.phase + _shift(half_way, r.phase)
    t = tan(0.5 * r.joint_angle)
    rated = or_else(r.rated_torque, 0.0)
    return k, damping(r.relative_damping, k, w1), 0.5 * r.lash, t * t, place, lead, r.joint_angle, rated


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    return flexible_start(p, sense)


def _twist(q: Q) -> float:
    theta = q.ta + q.p[PLACE]
    return theta + _shift(q.p[TAN2], theta) - q.p[LEAD] - q.tb


def _ratio(q: Q) -> float:
    """Speed of the driven side over that of the driving one."""
    s = q.p[TAN2]
    return float((1.0 - s * s) / (1.0 - 2.0 * s * cos(2.0 * (q.ta + q.p[PLACE])) + s * s))


def _slip(q: Q) -> float:
    return _ratio(q) * q.wa - q.wb


def torque(q: Q) -> float:
    return flank_torque(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF])


def ground(q: Q, T: float) -> tuple[float, float]:
    return T * (1.0 - _ratio(q)), 0.0


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m >= ct.TIGHT_F:
        return 1.0, 1.0
    return play_guards(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF], T)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return play_switch(q.m, k, _twist(q), q.p[K], q.p[HALF])


def loss(q: Q, T: float) -> float:
    return flank_loss(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF])


def store(q: Q) -> float:
    return flank_store(q.m, _twist(q), q.p[K], q.p[HALF])


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    c = cos(p[ANGLE])
    out = {
        "stiffness": (p[K], "stiffness"),
        "damping": (p[C], "damping"),
        "lash": (2 * p[HALF], "angle"),
        "speed ripple": (1.0 / c - c, "ratio"),
        "highest speed ratio": (1.0 / c, "ratio"),
        "lowest speed ratio": (c, "ratio"),
        "largest angle error": (asin(p[TAN2]), "angle"),
    }
    if p[RATED] > 0.0:
        out["largest bending couple at rated torque"] = (p[RATED] * tan(p[ANGLE]), "torque")
    return out
