r"""Flexible coupling between shafts out of line: cyclic angle error, restoring moment, bearing load.

.. math:: \varphi = \theta_a + e_1(\sin x - \sin\vartheta) + e_2(\sin 2x - \sin 2\vartheta) - \theta_b,
          \quad x = \theta_a + \vartheta, \quad r = 1 + e_1\cos x + 2 e_2\cos 2x

With the phase :math:`\vartheta`.  The spring acts on :math:`\varphi`, the damper on :math:`r\omega_a - \omega_b`; hub b
is driven by :math:`T`, hub a loaded by :math:`rT` (the bearings hold the rest and do no work).  By geometry: a parallel
offset :math:`\delta` with carrying elements on radius :math:`R` gives :math:`e_1 = u\,\delta/R` once a turn, where
:math:`u` is the share of the error of a single element that many uneven ones leave; a misalignment angle
:math:`\alpha` gives :math:`e_2 = \tan^2(\alpha/2)` twice a turn, as in a cross joint.  Moment :math:`k_a\alpha`, radial
force :math:`k_r\delta`.

Steady running is a cycle, not a state: leave a few turns before the event.

Source: crank and cross joint to first order, textbook kinematics; elastic law see :mod:`simcore.parts._flexible`.
"""

from __future__ import annotations

from math import cos, degrees, isnan, sin, tan
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts import _contact as ct
from simcore.parts import _flexible as fx
from simcore.parts._flexible import (
    elastic_faults,
    elastic_row,
    flexible_guards,
    flexible_hint,
    flexible_loss,
    flexible_params,
    flexible_sheet,
    flexible_start,
    flexible_store,
    flexible_switch,
    flexible_torque,
)
from simcore.parts._given import or_else
from simcore.parts._mounting import ALLOWABLE_LOAD

ONCE, TWICE, PHASE, LEAD, MOMENT, LOAD, SHARE = (len(fx.ROW) + i for i in range(7))

KIND = Kind(
    name="misaligned coupling",
    family="transmission",
    summary="flexible coupling between shafts out of line: uneven once and twice a turn, loads its bearings",
    params=(
        Param("angular_misalignment", "angle", "angle between the two shafts", default="0 deg", low="0 deg",
              high="10 deg", usual=("0.1 deg", "1 deg"), source="in line unless given"),
        Param("parallel_offset", "length", "distance between the two shafts' axes", default="0 mm", low="0 mm",
              usual=("0.05 mm", "0.5 mm"), source="in line unless given"),
        Param("pitch_radius", "length", "radius on which the flexible elements carry", above="0 mm"),
        Param("uneven_share", "ratio", "share of a single element's error that all of them together leave; 1: one "
              "element", default=0.1, low=0, high=1, usual=(0.05, 0.2),
              source="six or more elements; common practice, from memory"),
        Param("error_once", "angle", "amplitude of the angle error once a turn; left out: from the offset",
              low="0 deg", high="20 deg"),
        Param("error_twice", "angle", "amplitude of the angle error twice a turn; left out: from the angle",
              low="0 deg", high="10 deg"),
        Param("phase", "angle", "place in its turn at the start", default="90 deg", low="-360 deg", high="360 deg",
              source="both sides run nearly alike there"),
        Param("allowed_angle", "angle", "largest angle the coupling allows", above="0 deg",
              usual=("0.5 deg", "2 deg")),
        Param("allowed_offset", "length", "largest offset the coupling allows", above="0 mm",
              usual=("0.2 mm", "3 mm")),
        Param("angular_stiffness", "stiffness", "restoring moment for one radian of misalignment",
              above="0 N*m/rad"),
        Param("radial_stiffness", "linear_stiffness", "radial force for one metre of offset", above="0 N/m"),
        ALLOWABLE_LOAD,
        *flexible_params(),
    ),
    row=(*fx.ROW, "once", "twice", "phase", "lead", "moment", "load", "share"),
    modes=ct.MODES,
    guards=fx.GUARDS,
    cautions=("Angle and offset share one allowance: their shares of it should add up to at most 1.",
              "Bearing load and moment turn with the shaft or stand still: check both bearings."),
    sources=("DIN 740-2: relative damping; kinematics: textbook",),
    character="twist",
    example={"rated_torque": "90 N*m", "twist_at_rated": "1 deg", "angular_misalignment": "0.5 deg"},
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = elastic_faults(r)
    if r.angular_misalignment > r.allowed_angle:
        out.append(f"angular_misalignment {degrees(r.angular_misalignment):.4g} deg is more than the allowed_angle "
                   f"{degrees(r.allowed_angle):.4g} deg: align the shafts or take another coupling")  # fmt: skip
    if r.parallel_offset > r.allowed_offset:
        out.append(f"parallel_offset {1e3 * r.parallel_offset:.4g} mm is more than the allowed_offset "
                   f"{1e3 * r.allowed_offset:.4g} mm: align the shafts or take another coupling")  # fmt: skip
    if not isnan(r.allowable_load) and not r.radial_stiffness * r.parallel_offset > 0.0:
        out.append("allowable_load judges the load of an offset: give radial_stiffness and parallel_offset")
    if not isnan(r.error_once):
        return out
    if r.parallel_offset > 0.0 and isnan(r.pitch_radius):
        out.append("a parallel offset needs pitch_radius, or error_once in its place")
    if r.uneven_share * r.parallel_offset > 0.35 * r.pitch_radius:
        out.append(f"parallel_offset {1e3 * r.parallel_offset:.4g} mm is too much for pitch_radius "
                   f"{1e3 * r.pitch_radius:.4g} mm: the angle error would pass 20 deg")  # fmt: skip
    return out


def _once(r: Any) -> float:
    if not isnan(r.error_once):
        return float(r.error_once)
    if r.parallel_offset <= 0.0:
        return 0.0
    return float(r.uneven_share * r.parallel_offset / r.pitch_radius)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    once = _once(r)
    t = tan(0.5 * r.angular_misalignment)
    twice = or_else(r.error_twice, t * t)
    lead = once * sin(r.phase) + twice * sin(2.0 * r.phase)
    moment = or_else(r.angular_stiffness * r.angular_misalignment, 0.0)
    load = or_else(r.radial_stiffness * r.parallel_offset, 0.0)
    share = or_else(r.angular_misalignment / r.allowed_angle, 0.0) + or_else(r.parallel_offset / r.allowed_offset, 0.0)
    return (*elastic_row(r, w1), once, twice, r.phase, lead, moment, load, share)


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    return flexible_start(p, sense)


def _twist(q: Q) -> float:
    x = q.ta + q.p[PHASE]
    s = sin(x)
    return float(q.ta + q.p[ONCE] * s + 2.0 * q.p[TWICE] * s * cos(x) - q.p[LEAD] - q.tb)


def _ratio(q: Q) -> float:
    """Speed of the driven side over that of the driving one."""
    c = cos(q.ta + q.p[PHASE])
    return float(1.0 + q.p[ONCE] * c + 2.0 * q.p[TWICE] * (2.0 * c * c - 1.0))


def _slip(q: Q) -> float:
    return _ratio(q) * q.wa - q.wb


def torque(q: Q) -> float:
    return flexible_torque(q.m, _twist(q), _slip(q), q.p)


def ground(q: Q, T: float) -> tuple[float, float]:
    return T * (1.0 - _ratio(q)), 0.0


def guards(q: Q, T: float) -> tuple[float, float]:
    return flexible_guards(q.m, _twist(q), _slip(q), q.p, T)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return flexible_switch(q.m, k, _twist(q), q.p)


def loss(q: Q, T: float) -> float:
    return flexible_loss(q.m, _twist(q), _slip(q), q.p)


def store(q: Q) -> float:
    return flexible_store(q.m, _twist(q), q.p)


def hint(p: Any) -> float:
    return flexible_hint(p)


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    out = flexible_sheet(p) | {
        "angle error once a turn": (p[ONCE], "angle"),
        "angle error twice a turn": (p[TWICE], "angle"),
        "speed ripple at most": (p[ONCE] + 2.0 * p[TWICE], "ratio"),
    }
    for name, column, kind in (
        ("restoring moment", MOMENT, "torque"),
        ("radial bearing load", LOAD, "force"),
        ("share of the allowed misalignment", SHARE, "ratio"),
    ):
        if p[column] > 0.0:
            out[name] = (p[column], kind)
    return out
