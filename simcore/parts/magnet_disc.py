r"""Permanent-magnet synchronous disc: torque through the field, in step up to the pull-out torque.

.. math:: T = T_m\sin(p\varphi) + c\nu, \qquad T_m(g) = T_m(g_0)\,e^{-\pi(g-g_0)/\tau_p}

Pole pairs :math:`p`, gap :math:`g`, pole pitch :math:`\tau_p` (the exponential is exact for the fundamental
without back iron).  By geometry, iron behind both magnet rings:

.. math:: T_m = \frac{16 B_r^2 R_2^3}{3\pi\mu_0}\left(1-\frac{R_1^3}{R_2^3}\right)
          \sin^2\frac{\alpha\pi}{2}\,\frac{\sinh^2 a}{\sinh\left(2(1+\nu)a\right)},
          \quad a = \frac{p h}{R_m},\ \nu = \frac{g}{2h}

Past 90 degrees electrical it pulls out; past 180 it slips a pole.  It falls back into step when the
relative speed comes to zero inside a pole.  Nothing wears.

Source: Lubin, Mezani and Rezzoug, Simple analytical expressions for the force and torque of axial
magnetic couplings, IEEE Trans. Energy Conversion 27 (2012) (cited from memory).
"""

from __future__ import annotations

from math import cos, exp, isnan, nan, pi, sin, sinh
from typing import Any

from simcore.contract import ENGAGED, SLIPPING, YIELDING, Kind, Mode, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

PEAK, PAIRS, C = range(3)
IN_STEP, PAST_F, PAST_B, SLIP_F, SLIP_B = range(5)
POLE, SLIPS = range(2)
MU0 = 4e-7 * pi

KIND = Kind(
    name="magnet disc",
    family="protection",
    summary="permanent magnets across a gap: pulls out, slips poles, may fall back into step",
    params=(
        Param("setting", "torque", "pull-out torque at 90 degrees electrical, at the reference gap",
              above="0 N*m"),
        Param("pole_pairs", "count", "pole pairs", default=6, low=1, high=60, source="150 N*m size, from memory"),
        Param("reference_gap", "length", "gap at which the setting is stated", above="0 mm"),
        Param("gap", "length", "gap between the magnet faces", above="0 mm", usual=("2 mm", "8 mm")),
        Param("pole_pitch", "length", "pole pitch at the mean radius", above="0 mm",
              usual=("15 mm", "32 mm")),
        Param("remanence", "flux_density", "remanence of the magnets", above="0 T", usual=("0.4 T", "1.4 T")),
        Param("outer_radius", "length", "outer radius of the magnets", above="0 mm"),
        Param("inner_radius", "length", "inner radius of the magnets", above="0 mm"),
        Param("magnet_thickness", "length", "thickness of one magnet ring", above="0 mm"),
        Param("cover", "ratio", "share of the pole pitch covered by magnet", default=0.9, above=0, high=1,
              usual=(0.7, 1.0), source="common practice, from memory"),
        tolerance("6 %", ("5 %", "10 %")),
        RELATIVE_DAMPING,
        again_time("0 s", ("0 s", "10 min")),
        *hub_params(),
    ),
    row=("peak", "pairs", "c"),
    modes=(Mode("in step", ENGAGED), Mode("past its peak forward", YIELDING),
           Mode("past its peak backward", YIELDING), Mode("slipping poles forward", SLIPPING, False),
           Mode("slipping poles backward", SLIPPING, False)),
    guards=("forward", "backward"),
    memory=("pole", "pole slips"),
    tally="pole slips",
    lets_go="the load passes 180 degrees electrical: first pole slip",
    leaves="pulsating torque and heat while it slips; drive not disconnected",
    runs_again="when the drive slows enough to fall back into step, at the latest at standstill",
    again="nothing",
    cautions=("Below the pull-out torque a slipping magnet coupling need not fall back into step.",
              "Long slipping heats and weakens the magnets. Strong magnets: pacemakers, crushed fingers."),
    sources=("Lubin, Mezani, Rezzoug 2012: axial magnetic coupling (cited from memory)",),
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Pull-out torque [N*m] between two rings with back iron; NaN if the geometry is incomplete."""
    if isnan(r.gap):
        return nan
    mean = 0.5 * (r.outer_radius + r.inner_radius)
    a = r.pole_pairs * r.magnet_thickness / mean
    ring = r.outer_radius**3 - r.inner_radius**3
    shape = sinh(a) ** 2 / sinh(2.0 * (1.0 + 0.5 * r.gap / r.magnet_thickness) * a)
    cover = sin(0.5 * pi * r.cover) ** 2
    return float(16.0 * r.remanence**2 / (3.0 * pi * MU0) * ring * cover * shape)


def _by_gap(r: Any) -> float:
    """Stated pull-out torque brought to the actual gap."""
    if isnan(r.gap) or isnan(r.reference_gap) or isnan(r.pole_pitch):
        return float(r.setting)
    return float(r.setting * exp(-pi * (r.gap - r.reference_gap) / r.pole_pitch))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.inner_radius >= r.outer_radius:
        return ["the inner radius must be smaller than the outer one"]
    out = []
    if isnan(r.reference_gap) != isnan(r.pole_pitch) and not isnan(r.setting):
        out.append("the gap law needs gap, reference_gap and pole_pitch together")
    geometry = _geometry(r)
    how = "gap, remanence, outer_radius, inner_radius and magnet_thickness"
    if isnan(r.setting):
        return out + setting_or(r, geometry, how)
    if not isnan(geometry) and abs(geometry - _by_gap(r)) > 0.02 * geometry:
        out.append(f"setting at this gap, {_by_gap(r):.4g} N*m, contradicts the geometry, which gives "
                   f"{geometry:.4g} N*m: leave one of them out")  # fmt: skip
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    s = _geometry(r) if isnan(r.setting) else _by_gap(r)
    return s, r.pole_pairs, damping(r.relative_damping, s * r.pole_pairs, w1)


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The gap sets the peak, and the stiffness with it; the damping stays."""
    return p[PEAK] * f, p[PAIRS], p[C]


def start_mode(p: Any, sense: float) -> int:
    return IN_STEP


def _angle(q: Q) -> float:
    """Electrical angle within the present pole."""
    return q.p[PAIRS] * q.phi - 2.0 * pi * q.mem[POLE]


def torque(q: Q) -> float:
    return q.p[PEAK] * sin(_angle(q)) + q.p[C] * q.nu


def guards(q: Q, T: float) -> tuple[float, float]:
    x = _angle(q)
    if q.m == IN_STEP:
        return 0.5 * pi - x, 0.5 * pi + x
    side = 1.0 if (q.m == PAST_F or q.m == SLIP_F) else -1.0
    if q.m >= SLIP_F:
        return pi - side * x, side * q.nu
    return pi - side * x, side * x - 0.5 * pi


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == IN_STEP:
        return (PAST_F if k == 0 else PAST_B), 0.0
    side = 1.0 if (q.m == PAST_F or q.m == SLIP_F) else -1.0
    if k == 0:
        M[POLE] = q.mem[POLE] + side
        M[SLIPS] = q.mem[SLIPS] + 1.0
        return (SLIP_F if side > 0.0 else SLIP_B), 0.0
    if q.m < SLIP_F:
        return IN_STEP, 0.0
    x = _angle(q)
    if x > 0.5 * pi:
        return PAST_F, 0.0
    return (PAST_B if x < -0.5 * pi else IN_STEP), 0.0


def loss(q: Q, T: float) -> float:
    return q.p[C] * q.nu * q.nu


def store(q: Q) -> float:
    return q.p[PEAK] / q.p[PAIRS] * (1.0 - cos(_angle(q)))


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[PEAK] * p[PAIRS]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "setting": (p[PEAK], "torque"),
        "twist at pull-out": (0.5 * pi / p[PAIRS], "angle"),
        "stiffness at rest": (p[PEAK] * p[PAIRS], "stiffness"),
        "energy of a pole": (2 * p[PEAK] / p[PAIRS], "energy"),
    }
