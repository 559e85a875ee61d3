r"""Friction disc: holds by friction, slips on overload, sticks again.  It never disconnects.

Stuck: :math:`T = k(\varphi - x) + c\nu` with the slip angle :math:`x`.  It breaks away when the whole
torque reaches :math:`T_b = b\,S\,f(\vartheta)\,h(E)\,a(t_d)`.  Sliding:

.. math:: T = S f(\vartheta) h(E)\,\frac{g(\nu)}{g(\nu_0)}, \qquad
          g = 1 + (b-1)e^{-|\nu|/\nu_s} + a|\nu|, \quad f = 1 + \kappa\vartheta, \quad h = 1 - wE

with setting :math:`S` at the reference slip speed :math:`\nu_0`, Stribeck speed :math:`\nu_s`, fade
:math:`\kappa` with the disc's rise :math:`\vartheta` and wear :math:`w` with the slip energy :math:`E`.
Breakaway grows with the time :math:`t_d` that the faces have stuck, from a second on:
:math:`a = 1 + \beta\lg(t_d/1\,\mathrm{s})`.  Before it first slips that is ``dwell`` and the time since the
situation began, whether the line runs or not; after that the time since it last stuck.  Wind-up above the
sliding torque is lost at breakaway as heat; below it the spring first winds up while the disc already slides.

By geometry :math:`S = n\mu F r_m`, see :mod:`simcore.parts._disc_clamp`; the nut turns :math:`F`.  Wear by
geometry: a volume :math:`V` worn off per energy takes :math:`V/A` off every face of the total area
:math:`A`; with the share :math:`c` of the setting lost per depth, :math:`w = cV/A` (a spring pressed by
:math:`s` over :math:`n` faces: :math:`c = n/s`).  50 mm^3/MJ over 17000 mm^2 at 8 % per 0.1 mm: 0.24 %/MJ.

Heat: :math:`C\dot\vartheta = P - G\vartheta - G_h(\vartheta-\vartheta_h)` and
:math:`C_h\dot\vartheta_h = G_h(\vartheta-\vartheta_h)`; the face is hotter by two layers, see
:mod:`simcore.parts._disc_heat`, and burns when it passes the limit; the run goes on.

Sources: disc clutch, Budynas and Nisbett, Shigley's Mechanical Engineering Design; Stribeck curve and
growth of breakaway with the logarithm of the time at rest, Armstrong-Helouvry, Control of Machines with
Friction; wear by energy, Archard (all cited from memory).
"""

from __future__ import annotations

from math import exp, isnan, log10, nan
from typing import Any

from simcore.contract import ENGAGED, SLIPPING, Kind, Left, Mode, Param, Q, State
from simcore.parts._disc_clamp import (
    CLAMP,
    clamp_given,
    clamp_needs,
    clamp_of,
    clamp_refusals,
    nut_of,
    setting_of,
    top_pressure,
    torque_per_force,
)
from simcore.parts._disc_heat import HEAT, LAG_1, LAG_2, SHARE_1, SHARE_2, diffusion_time, layer_rate, lead_per_watt
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

S, BREAK, V_STRIBECK, RISE, V_REF, K, C, HEAT_CAP, COOLING, FADE = range(10)
WEAR, DWELL, LIMIT, R_1, TAU_1, R_2, TAU_2, TO_HUB, HUB_CAP, FORCE, NUT, PRESSURE, GROWTH = range(10, 23)
STUCK, WINDING_F, WINDING_B, SLIDING_F, SLIDING_B = range(5)
SLIP, TEMP, SKIN_1, SKIN_2, HUB, ENERGY = range(6)
FADED, SLIPPED, WORN, BURNT, SINCE = range(5)
FLOOR = 0.1
"""Share of the cold torque below which fading stops, and wear likewise: char and metal still drag."""
INSIDE = 1e-9
"""Share by which it sticks below its running torque, clear of rounding when that equals breakaway."""

KIND = Kind(
    name="friction disc",
    family="protection",
    summary="slips at its torque, sticks again; heats until the drive stops",
    params=(
        Param("setting", "torque", "running slip torque at the reference slip speed, cold",
              above="0 N*m"),
        *CLAMP,
        tolerance("10 %", ("6 %", "25 %")),
        Param("breakaway", "ratio", "breakaway torque over running torque", default=1.15, low=1, high=3,
              usual=(1.02, 1.4), source="common practice, from memory"),
        Param("dwell", "time", "time it has stuck before the situation; counts on until it first slips",
              default="0 s", low="0 s", source="just used"),
        Param("dwell_growth", "ratio", "growth of breakaway per tenfold time it has stuck, from 1 s on", default="5 %",
              low=0, high=0.5, usual=("2 %", "8 %"), source="common practice, from memory"),
        Param("stribeck_speed", "speed", "slip speed over which breakaway falls to running torque",
              default="1 rad/s", low="0 rad/s", usual=("0.4 rad/s", "4 rad/s"),
              source="0.05 m/s at 50 mm; common practice, from memory"),
        Param("rise", "inverse_speed", "rise of the running torque with slip speed", default="0.05 %/(rad/s)",
              low="0 %/(rad/s)", usual=("0 %/(rad/s)", "0.2 %/(rad/s)"),
              source="common practice, from memory"),
        Param("reference_slip", "speed", "slip speed at which the setting is stated", default="5 rad/s",
              low="0 rad/s", source="a common test speed"),
        Param("wear", "inverse_energy", "share of the setting lost per slip energy", default="0 %/MJ",
              low="0 %/MJ", usual=("0.003 %/MJ", "5 %/MJ"),
              source="none: the setting is kept up; usual range from 10 to 120 mm^3/MJ on 87000 to 3600 mm^2 of "
              "faces at 3 to 15 % per 0.1 mm, from memory"),
        Param("stiffness", "stiffness", "torsional stiffness while stuck", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting", default="0.43 deg", above="0 deg",
              usual=("0.2 deg", "0.6 deg"), source="common practice, from memory"),
        RELATIVE_DAMPING,
        *HEAT,
        again_time("0 s", ("0 s", "30 min")),
        *hub_params(),
    ),
    row=("setting", "breakaway", "stribeck", "rise", "reference", "k", "c", "heat_cap", "cooling", "fade", "wear",
         "dwell", "heat_limit", "layer_1", "lag_1", "layer_2", "lag_2", "to_hub", "hub_cap", "clamp_force",
         "nut", "face_pressure", "dwell_growth"),
    modes=(Mode("stuck", ENGAGED), Mode("winding up forward", SLIPPING, False),
           Mode("winding up backward", SLIPPING, False), Mode("sliding forward", SLIPPING, False),
           Mode("sliding backward", SLIPPING, False)),
    states=(State("slip angle", "rad", 0.01, "angle slipped through, signed"),
            State("disc rise", "K", 1.0, "temperature of the disc above ambient"),
            State("skin lead", "K", 1e4, "lead of the face over the disc, fast part"),
            State("depth lead", "K", 1e4, "lead of the face over the disc, slow part"),
            State("hub rise", "K", 1e2, "temperature of the hub above ambient"),
            State("slip energy", "J", 1e5, "energy rubbed off since the start")),
    guards=("forward", "backward", "fade floor", "wear floor", "heat limit"),
    memory=("fade floor reached", "has slipped", "wear floor reached", "burnt", "stuck since"),
    burns="burnt",
    left_behind=(Left("setting lost", "ratio", "share of the setting worn away since the start of the run"),),
    slides=True,
    character="slip speed",
    lets_go="torque reaches breakaway; slides on at its running torque",
    leaves="drive still connected at the slip torque; heat and wear; nothing is released",
    runs_again="at once when the jam is cleared and the disc has cooled",
    again="nothing",
    cautions=("Never lets go by itself: without a stop it burns.",
              "Breakaway grows the longer it has stuck, in running too, and when damp.",
              "Oil cuts the torque by half and more."),
    sources=("Shigley's Mechanical Engineering Design: uniform wear, uniform pressure (cited from memory)",
             "Armstrong-Helouvry: Stribeck curve, growth with time at rest (cited from memory)",
             "Carslaw and Jaeger: slab with constant flux (cited from memory)"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    geometry = torque_per_force(r) * clamp_given(r)
    how = "faces, outer_diameter, inner_diameter and clamp_force, or nut_pitch, nut_turns and spring_rate"
    needs = ("faces", "outer_diameter", "inner_diameter", *clamp_needs(r))
    return setting_or(r, geometry, how, needs) + clamp_refusals(r)


def _known(x: float) -> float:
    """0 for what is not known, so that a row holds numbers only."""
    return 0.0 if isnan(x) else x


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    s = setting_of(r)
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    lead = lead_per_watt(r, s)
    lag = diffusion_time(r.half_thickness)
    force = clamp_of(r, s)
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
        r.wear,
        r.dwell,
        r.heat_limit,
        SHARE_1 * lead,
        LAG_1 * lag,
        SHARE_2 * lead,
        LAG_2 * lag,
        r.hub_conductance,
        r.hub_capacity,
        _known(force),
        _known(nut_of(r, force)),
        _known(top_pressure(force, r.outer_diameter, r.inner_diameter, r.pressure_law)),
        r.dwell_growth,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The nut turns the force; stiffness and damping stay, and what wear takes off the force."""
    return (
        p[S] * f, p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9], p[WEAR] / f, p[11], p[12], p[13], p[14],
        p[15], p[16], p[17], p[18], p[FORCE] * f, p[NUT] * f, p[PRESSURE] * f, p[GROWTH],
    )  # fmt: skip


def _shape(p: Any, v: float) -> float:
    """Running torque over its value far from breakaway, without rise."""
    g = 1.0 + p[RISE] * v
    if p[V_STRIBECK] > 0.0:
        g += (p[BREAK] - 1.0) * exp(-v / p[V_STRIBECK])
    return g


def _left(q: Q) -> float:
    """Share of the setting that fading and wear leave."""
    share = FLOOR
    if q.mem[FADED] < 0.5:
        share = 1.0 + q.p[FADE] * q.x[TEMP]
    if q.p[WEAR] > 0.0:
        share *= _unworn(q)
    return share


def _unworn(q: Q) -> float:
    if q.mem[WORN] > 0.5:
        return FLOOR
    return 1.0 - q.p[WEAR] * q.x[ENERGY]


def _running(q: Q, v: float) -> float:
    return q.p[S] * _left(q) * _shape(q.p, v) / _shape(q.p, q.p[V_REF])


def _grown(p: Any, stuck: float) -> float:
    """Breakaway after so long a time stuck [s] over that of one that has just stuck."""
    return 1.0 + p[GROWTH] * log10(stuck) if stuck > 1.0 else 1.0


def _stuck_for(q: Q) -> float:
    """Time [s] that the faces have stuck."""
    if q.mem[SLIPPED] < 0.5:
        return q.p[DWELL] + max(q.t, 0.0)
    return q.t - q.mem[SINCE]


def _surface(q: Q) -> float:
    """Rise [K] of the face above ambient."""
    return q.x[TEMP] + q.x[SKIN_1] + q.x[SKIN_2]


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


def rate(q: Q, T: float) -> tuple[float, float, float, float, float, float]:
    slip = 0.0
    heat = 0.0
    if q.m != STUCK:
        heat = loss(q, T)
    if q.m >= SLIDING_F:
        slip = q.nu
    p = q.p
    on = p[TO_HUB] * (q.x[TEMP] - q.x[HUB])
    return (
        slip,
        (heat - p[COOLING] * q.x[TEMP] - on) / p[HEAT_CAP],
        layer_rate(heat, q.x[SKIN_1], p[R_1], p[TAU_1]),
        layer_rate(heat, q.x[SKIN_2], p[R_2], p[TAU_2]),
        on / p[HUB_CAP],
        heat,
    )


def guards(q: Q, T: float) -> tuple[float, float, float, float, float]:
    floor = 1.0
    if q.mem[FADED] < 0.5:
        floor = 1.0 + q.p[FADE] * q.x[TEMP] - FLOOR
    worn = 1.0
    if q.p[WEAR] > 0.0 and q.mem[WORN] < 0.5:
        worn = _unworn(q) - FLOOR
    cool = 1.0
    if q.mem[BURNT] == 0.0:
        cool = q.p[LIMIT] - _surface(q)
    if q.m == STUCK:
        top = q.p[S] * q.p[BREAK] * _left(q) * _grown(q.p, _stuck_for(q))
        return top - T, top + T, floor, worn, cool
    side = 1.0 if (q.m == WINDING_F or q.m == SLIDING_F) else -1.0
    if q.m >= SLIDING_F:
        return side * q.nu, 1.0, floor, worn, cool
    return side * q.nu, side * (T - q.p[K] * (q.phi - q.x[SLIP])), floor, worn, cool


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == 2:
        M[FADED] = 1.0
        return q.m, 0.0
    if k == 3:
        M[WORN] = 1.0
        return q.m, 0.0
    if k == 4:
        M[BURNT] = max(q.t, 1e-9)
        return q.m, 0.0
    if q.m == STUCK:
        M[SLIPPED] = 1.0
        return _break_away(q, 1.0 if k == 0 else -1.0, X)
    side = 1.0 if (q.m == WINDING_F or q.m == SLIDING_F) else -1.0
    if k == 0:
        M[SINCE] = q.t
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
    X[SKIN_1] = q.x[SKIN_1] + q.p[R_1] * heat / q.p[TAU_1]
    X[SKIN_2] = q.x[SKIN_2] + q.p[R_2] * heat / q.p[TAU_2]
    X[ENERGY] = q.x[ENERGY] + heat
    return heat


def store(q: Q) -> float:
    z = q.phi - q.x[SLIP]
    return 0.5 * q.p[K] * z * z


def band(p: Any) -> float:
    return p[BREAK] * _grown(p, p[DWELL])


def hint(p: Any) -> float:
    return p[K]


def slip_scale(p: Any) -> float:
    return p[V_STRIBECK]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); force, nut and pressure where they are known."""
    out = {
        "setting": (p[S], "torque"),
        "breakaway": (p[S] * p[BREAK], "torque"),
        "first breakaway": (p[S] * p[BREAK] * _grown(p, p[DWELL]), "torque"),
        "stiffness": (p[K], "stiffness"),
        "twist at the setting": (p[S] / p[K], "angle"),
        "lead of the face per watt": (p[R_1] + p[R_2], "thermal_resistance"),
    }
    for name, i, kind in (
        ("clamp force", FORCE, "force"),
        ("nut from free", NUT, "angle"),
        ("largest face pressure", PRESSURE, "stress"),
        ("setting lost per slip energy", WEAR, "inverse_energy"),
    ):
        if p[i] > 0.0:
            out[name] = (p[i], kind)
    return out


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (min(p[WEAR] * x[ENERGY], 1.0 - FLOOR) if p[WEAR] > 0.0 else nan,)
