r"""Friction disc: holds by friction, slips on overload, sticks again.  It never disconnects.

Stuck: :math:`T = k(\varphi - x) + c\nu` with the slip angle :math:`x`.  It breaks away when the whole
torque reaches :math:`T_b = b\,S\,f(\vartheta)`.  Sliding:

.. math:: T = S f(\vartheta)\,\frac{g(\nu)}{g(\nu_0)}, \qquad
          g = 1 + (b-1)e^{-|\nu|/\nu_s} + a|\nu|, \qquad f = 1 + \kappa\vartheta

with setting :math:`S` at the reference slip speed :math:`\nu_0`, Stribeck speed :math:`\nu_s` and fade
:math:`\kappa` with the disc's rise :math:`\vartheta`, :math:`C\dot\vartheta = P - G\vartheta`.  Wind-up
above the sliding torque is lost at breakaway as heat; below it the spring first winds up while the disc
already slides.  By geometry :math:`S = n\mu F (D+d)/4` (uniform wear).

Sources: uniform-wear disc clutch, Budynas and Nisbett, Shigley's Mechanical Engineering Design;
Stribeck curve, Armstrong-Helouvry, Control of Machines with Friction (cited from memory).
"""

from __future__ import annotations

from math import exp, isnan
from typing import Any

from simcore.contract import ENGAGED, SLIPPING, Kind, Mode, Param, Q, State
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

S, BREAK, V_STRIBECK, RISE, V_REF, K, C, HEAT_CAP, COOLING, FADE = range(10)
STUCK, WINDING_F, WINDING_B, SLIDING_F, SLIDING_B = range(5)
SLIP, TEMP = range(2)
FLOOR = 0.1
"""Share of the cold torque below which fading stops: char and metal still drag."""
INSIDE = 1e-9
"""Share by which it sticks below its running torque, clear of rounding when that equals breakaway."""

KIND = Kind(
    name="friction disc",
    family="protection",
    summary="slips at its torque, sticks again; heats until the drive stops",
    params=(
        Param("setting", "torque", "running slip torque at the reference slip speed, cold",
              above="0 N*m"),
        Param("faces", "count", "friction faces", low=1, high=64),
        Param("outer_diameter", "length", "outer diameter of the friction face", above="0 mm"),
        Param("inner_diameter", "length", "inner diameter of the friction face", above="0 mm"),
        Param("clamp_force", "force", "axial force on the faces", above="0 N"),
        Param("friction", "ratio", "running coefficient of friction", default=0.36, above=0, high=1.2,
              usual=(0.3, 0.45), source="dry organic facing, from memory"),
        tolerance("10 %", ("6 %", "25 %")),
        Param("breakaway", "ratio", "breakaway torque over running torque", default=1.15, low=1, high=3,
              usual=(1.02, 1.4), source="common practice, from memory"),
        Param("stribeck_speed", "speed", "slip speed over which breakaway falls to running torque",
              default="1 rad/s", low="0 rad/s", usual=("0.4 rad/s", "4 rad/s"),
              source="0.05 m/s at 50 mm; common practice, from memory"),
        Param("rise", "inverse_speed", "rise of the running torque with slip speed", default="0.05 %/(rad/s)",
              low="0 %/(rad/s)", usual=("0 %/(rad/s)", "0.2 %/(rad/s)"),
              source="common practice, from memory"),
        Param("reference_slip", "speed", "slip speed at which the setting is stated", default="5 rad/s",
              low="0 rad/s", source="a common test speed"),
        Param("stiffness", "stiffness", "torsional stiffness while stuck", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting", default="0.43 deg", above="0 deg",
              usual=("0.2 deg", "0.6 deg"), source="common practice, from memory"),
        RELATIVE_DAMPING,
        Param("heat_capacity", "heat_capacity", "heat capacity of disc and plates", default="700 J/K",
              above="0 J/K", usual=("120 J/K", "7000 J/K"), source="150 N*m size, from memory"),
        Param("cooling", "conductance", "heat given off per kelvin of rise", default="3.5 W/K",
              low="0 W/K", usual=("0.8 W/K", "15 W/K"), source="150 N*m size, turning, from memory"),
        Param("fade", "fade", "change of torque with the disc's rise", default="-0.1 %/K", high=0,
              low="-1 %/K", usual=("-0.15 %/K", "-0.05 %/K"), source="common practice, from memory"),
        Param("heat_limit", "temperature_difference", "rise the facing bears", default="150 K",
              above="0 K", usual=("130 K", "380 K"), source="organic facing, from memory"),
        again_time("0 s", ("0 s", "30 min")),
        *hub_params(),
    ),
    row=("setting", "breakaway", "stribeck", "rise", "reference", "k", "c", "heat_cap", "cooling", "fade"),
    modes=(Mode("stuck", ENGAGED), Mode("winding up forward", SLIPPING, False),
           Mode("winding up backward", SLIPPING, False), Mode("sliding forward", SLIPPING, False),
           Mode("sliding backward", SLIPPING, False)),
    states=(State("slip angle", "rad", 0.01, "angle slipped through, signed"),
            State("disc rise", "K", 1.0, "temperature of the disc above ambient")),
    guards=("forward", "backward", "fade floor"),
    memory=("fade floor reached",),
    lets_go="torque reaches breakaway; slides on at its running torque",
    leaves="drive still connected at the slip torque; heat and wear; nothing is released",
    runs_again="at once when the jam is cleared and the disc has cooled",
    again="nothing",
    cautions=("Never lets go by itself: without a stop it burns.",
              "Breakaway grows when idle or damp; oil cuts the torque by half and more."),
    sources=("Shigley's Mechanical Engineering Design: uniform wear",
             "Armstrong-Helouvry: Stribeck curve (cited from memory)"),
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Torque [N*m] by uniform wear; NaN if the geometry is incomplete."""
    return r.faces * r.friction * r.clamp_force * (r.outer_diameter + r.inner_diameter) / 4.0


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    geometry = _geometry(r)
    out = setting_or(r, geometry, "faces, outer_diameter, inner_diameter and clamp_force")
    if r.inner_diameter >= r.outer_diameter:
        out.append("the inner diameter must be smaller than the outer one")
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float, float, float, float]:
    s = _geometry(r) if isnan(r.setting) else r.setting
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    return (
        s,
        r.breakaway,
        r.stribeck_speed,
        r.rise,
        r.reference_slip,
        k,
        damping(r.relative_damping, k, w1),
        r.heat_capacity,
        r.cooling,
        r.fade,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The nut turns the force; stiffness and damping stay."""
    return (p[S] * f, *[p[i] for i in range(1, 10)])


def _shape(p: Any, v: float) -> float:
    """Running torque over its value far from breakaway, without rise."""
    g = 1.0 + p[RISE] * v
    if p[V_STRIBECK] > 0.0:
        g += (p[BREAK] - 1.0) * exp(-v / p[V_STRIBECK])
    return g


def _fade(q: Q) -> float:
    if q.mem[0] > 0.5:
        return FLOOR
    return 1.0 + q.p[FADE] * q.x[TEMP]


def _running(q: Q, v: float) -> float:
    return q.p[S] * _fade(q) * _shape(q.p, v) / _shape(q.p, q.p[V_REF])


def start_mode(p: Any, sense: float) -> int:
    return STUCK


def torque(q: Q) -> float:
    if q.m == STUCK:
        return q.p[K] * (q.phi - q.x[SLIP]) + q.p[C] * q.nu
    side = 1.0 if (q.m == WINDING_F or q.m == SLIDING_F) else -1.0
    # continued smoothly past standstill: the step that finds it must see no kink
    return side * _running(q, max(side * q.nu, -q.p[V_STRIBECK]))


def loss(q: Q, T: float) -> float:
    if q.m == STUCK:
        return q.p[C] * q.nu * q.nu
    if q.m < SLIDING_F:
        return (T - q.p[K] * (q.phi - q.x[SLIP])) * q.nu
    return T * q.nu


def rate(q: Q, T: float) -> tuple[float, float]:
    slip = 0.0
    heat = 0.0
    if q.m != STUCK:
        heat = loss(q, T)
    if q.m >= SLIDING_F:
        slip = q.nu
    return slip, (heat - q.p[COOLING] * q.x[TEMP]) / q.p[HEAT_CAP]


def guards(q: Q, T: float) -> tuple[float, float, float]:
    floor = 1.0
    if q.mem[0] < 0.5:
        floor = 1.0 + q.p[FADE] * q.x[TEMP] - FLOOR
    if q.m == STUCK:
        top = q.p[S] * q.p[BREAK] * _fade(q)
        return top - T, top + T, floor
    side = 1.0 if (q.m == WINDING_F or q.m == SLIDING_F) else -1.0
    if q.m >= SLIDING_F:
        return side * q.nu, 1.0, floor
    return side * q.nu, side * (T - q.p[K] * (q.phi - q.x[SLIP])), floor


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == 2:
        M[0] = 1.0
        return q.m, 0.0
    if q.m == STUCK:
        return _break_away(q, 1.0 if k == 0 else -1.0, X)
    side = 1.0 if (q.m == WINDING_F or q.m == SLIDING_F) else -1.0
    if q.m < SLIDING_F:
        if k == 0:
            return STUCK, 0.0
        return (SLIDING_F if side > 0.0 else SLIDING_B), 0.0
    return STUCK, _unwind(q, side, (1.0 - INSIDE) * _running(q, 0.0), X)


def _break_away(q: Q, side: float, X: Any) -> tuple[int, float]:
    top = _running(q, abs(q.nu))
    if side * q.p[K] * (q.phi - q.x[SLIP]) < top:
        return (WINDING_F if side > 0.0 else WINDING_B), 0.0
    heat = _unwind(q, side, top, X)
    return (SLIDING_F if side > 0.0 else SLIDING_B), heat


def _unwind(q: Q, side: float, top: float, X: Any) -> float:
    """Let the wind-up fall to what ``top`` holds; its energy becomes heat [J]."""
    z = side * (q.phi - q.x[SLIP])
    z_top = top / q.p[K]
    if z <= z_top:
        return 0.0
    heat = 0.5 * q.p[K] * (z * z - z_top * z_top)
    X[SLIP] = q.phi - side * z_top
    X[TEMP] = q.x[TEMP] + heat / q.p[HEAT_CAP]
    return heat


def store(q: Q) -> float:
    z = q.phi - q.x[SLIP]
    return 0.5 * q.p[K] * z * z


def band(p: Any) -> float:
    return p[BREAK]


def hint(p: Any) -> float:
    return p[K]


def slip_scale(p: Any) -> float:
    return p[V_STRIBECK]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "setting": (p[S], "torque"),
        "breakaway": (p[S] * p[BREAK], "torque"),
        "stiffness": (p[K], "stiffness"),
        "twist at the setting": (p[S] / p[K], "angle"),
    }
