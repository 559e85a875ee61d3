r"""Permanent-magnet synchronous disc: torque through the field, in step up to the pull-out torque.

.. math:: T = T_m\sin(p\varphi) + c\nu, \qquad T_m(g) = T_m(g_0)\,e^{-\pi(g-g_0)/\tau_p}

Pole pairs :math:`p`, gap :math:`g`, pole pitch :math:`\tau_p` (the exponential is exact for the fundamental
without back iron).  By geometry, iron behind both magnet rings:

.. math:: T_m = \frac{16 B_r^2 R_2^3}{3\pi\mu_0}\left(1-\frac{R_1^3}{R_2^3}\right)
          \sin^2\frac{\alpha\pi}{2}\,\frac{\sinh^2 a}{\sinh\left(2(1+\nu)a\right)},
          \quad a = \frac{p h}{R_m},\ \nu = \frac{g}{2h}

Past 90 degrees electrical it pulls out; past 180 it slips a pole.  It falls back into step when the
relative speed comes to zero inside a pole; with little damping :math:`c` it keeps slipping while
:math:`T/T_m > \frac{4}{\pi}\,c/\sqrt{J p T_m}`, :math:`J = J_1J_2/(J_1+J_2)`.  Nothing wears.

The magnets' rise :math:`\vartheta` is heated by slip and by a conductive wall between the halves, if there
is one: :math:`C\dot\vartheta = P - G\vartheta`; field and torque go with
:math:`T_m\,(1+\beta\vartheta)^2`, down to a tenth of the field.  Within a run a torque once lowered does
not come back while the magnets cool: the energy of the field would have to come out of their heat.  Magnets once
hotter than their limit :math:`\vartheta_l` lose field for good, :math:`\gamma(\vartheta_{max}-\vartheta_l)` of it;
that is told for the next run, it does not act in this one (a field that does not fade with the rise keeps no record of
the hottest instant: the rise at the end then counts).

.. math:: P = c\nu^2 + s\left(c_a\omega_a^2 + 2\sqrt{c_ac_b}\,\omega_a\omega_b\cos p\varphi
          + c_b\omega_b^2\right), \quad
          s = \frac{1}{1+(\omega/\omega_0)^2}

is the heat of slip and wall; in step and out of step the wall brakes the driving half against the ground by

.. math:: s\left(c_a\omega_a + \sqrt{c_ac_b}\,\omega_b\cos p\varphi\right)

and the driven half likewise.  By geometry (thickness t, radial length l, mean radius r, field B) both halves'
drag, in line, is :math:`\pi\sigma t l r^3B^2(1-(1-e^{-pl/r})r/(pl))` times the speed, largest near
:math:`\omega_0 = 2/(\mu_0\sigma t r)`.  At such speeds the wall also shields the halves from each other: followed
if ``wall_shields`` says so, with the wall's currents as own states, see :mod:`simcore.parts._wall`.  The torque
stated is then what is left between the halves; the wall's drag on each half comes on top.

Sources: Lubin, Mezani and Rezzoug, Simple analytical expressions for the force and torque of axial
magnetic couplings, IEEE Trans. Energy Conversion 27 (2012); wall, Russell and Norsworthy, Proc. IEE 105A
(1958), and Reitz, J. Applied Physics 41 (1970); remanence, IEC 60404-8-1 (all cited from memory).
"""

from __future__ import annotations

from math import cos, exp, isnan, nan, pi, sin, sinh, sqrt
from typing import Any

from simcore.contract import ENGAGED, SLIPPING, YIELDING, Kind, Left, Mode, Param, Q, State
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._given import narrower
from simcore.parts._powers import cube, square
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance
from simcore.parts._wall import (
    MU0,
    WALL,
    most_shielded,
    shield_pull,
    shield_slopes,
    wall_drag,
    wall_heat,
    wall_lag,
    wall_refuse,
    wall_row,
)

__all__ = ["KIND", "inertias"]

PEAK, PAIRS, C, WALL_A, WALL_B, WALL_Y, ALPHA, HEAT_CAP, COOLING, LIMIT, WARM, LOST, WALL_LAG = range(13)
IN_STEP, PAST_F, PAST_B, SLIP_F, SLIP_B = range(5)
POLE, SLIPS, HEATS, BURNT, AT_FLOOR = range(5)
RISE, HOTTEST, ACROSS, ALONG = range(4)
FLOOR = 0.1
"""Share of the cold field below which it is no longer followed."""

KIND = Kind(
    name="magnet disc",
    family="protection",
    summary="pulls by magnets across a gap; past its torque slips poles, may fall back into step",
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
        *WALL,
        Param("remanence_fade", "fade", "change of remanence with the magnets' rise; the torque goes with its square",
              default="0 %/K", low="-0.5 %/K", high=0, usual=("-0.2 %/K", "-0.04 %/K"),
              source="ferrite -0.2, neodymium-iron-boron -0.11, samarium-cobalt -0.04 %/K, from memory"),
        Param("magnet_rise", "temperature_difference", "rise of the magnets at the start, over the temperature at "
              "which the setting is stated", default="0 K", low="0 K", high="300 K", usual=("0 K", "80 K"),
              source="a cold coupling"),
        Param("heat_capacity", "heat_capacity", "heat capacity of magnets, iron and wall", default="900 J/K",
              above="0 J/K", usual=("60 J/K", "20000 J/K"), source="150 N*m size, 2 kg of steel, from memory",
              size=150),
        Param("cooling", "conductance", "heat given off per kelvin of rise", default="3 W/K", low="0 W/K",
              usual=("0.5 W/K", "30 W/K"), source="150 N*m size, turning, from memory", size=150),
        Param("heat_limit", "temperature_difference", "rise above which the magnets lose magnetism for good",
              default="60 K", above="0 K", usual=("60 K", "130 K"),
              source="plain neodymium-iron-boron at 80 degrees Celsius, from memory"),
        Param("lasting_loss", "fade", "share of the field lost for good for each kelvin that the magnets were hotter "
              "than heat_limit", default="0.3 %/K", low="0 %/K", high="5 %/K", usual=("0.1 %/K", "1 %/K"),
              source="depends on grade and working point, the magnets' curves tell; order of size, from memory"),
        again_time("0 s", ("0 s", "10 min")),
        *hub_params(),
    ),
    row=("peak", "pairs", "c", "wall_a", "wall_b", "wall_y", "alpha", "heat_cap", "cooling", "heat_limit", "warm",
         "lasting_loss", "wall_lag"),
    modes=(Mode("in step", ENGAGED), Mode("past its peak forward", YIELDING),
           Mode("past its peak backward", YIELDING), Mode("slipping poles forward", SLIPPING, False),
           Mode("slipping poles backward", SLIPPING, False)),
    states=(State("magnet rise", "K", 10.0, "temperature of magnets and wall above the setting's"),
            State("hottest rise", "K", 1.0, "highest rise so far; it sets the torque"),
            State("wall current across", "N*m", 0.1, "currents of a wall that shields, out of phase", steady=True),
            State("wall current along", "N*m", 0.1, "the same in phase with the driving half", steady=True)),
    guards=("forward", "backward", "hotter", "heat limit", "field floor"),
    memory=("pole", "pole slips", "getting hotter", "heat limit passed at", "field floor reached"),
    tally="pole slips",
    burns="heat limit passed at",
    left_behind=(Left("setting lost", "ratio", "share of the setting lost for good, the magnets having been too hot"),),
    character="twist",
    lets_go="the load passes 180 degrees electrical: first pole slip",
    leaves="pulsating torque and heat while it slips; drive not disconnected",
    runs_again="when the drive slows enough to fall back into step, at the latest at standstill",
    again="nothing",
    again_words="clear the jam, stop, restart",
    cautions=("Below the pull-out torque a slipping magnet coupling need not fall back into step.",
              "Long slipping heats and weakens the magnets, past their limit for good.",
              "A metal wall between the halves heats whenever they turn, in step as well.",
              "Strong magnets: pacemakers, crushed fingers."),
    sources=("Lubin, Mezani, Rezzoug 2012: axial magnetic coupling (cited from memory)",
             "Russell, Norsworthy 1958, and Reitz 1970: drag of a conductive wall (cited from memory)",
             "IEC 60404-8-1: temperature coefficients of remanence (from memory)"),
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Pull-out torque [N*m] between two rings with back iron; NaN if the geometry is incomplete."""
    if isnan(r.gap):
        return nan
    mean = 0.5 * (r.outer_radius + r.inner_radius)
    a = r.pole_pairs * r.magnet_thickness / mean
    ring = cube(r.outer_radius) - cube(r.inner_radius)
    shape = square(sinh(a)) / sinh(2.0 * (1.0 + 0.5 * r.gap / r.magnet_thickness) * a)
    cover = square(sin(0.5 * pi * r.cover))
    return float(16.0 * square(r.remanence) / (3.0 * pi * MU0) * ring * cover * shape)


def _by_gap(r: Any) -> float:
    """Stated pull-out torque brought to the actual gap."""
    if isnan(r.gap) or isnan(r.reference_gap) or isnan(r.pole_pitch):
        return float(r.setting)
    return float(r.setting * exp(-pi * (r.gap - r.reference_gap) / r.pole_pitch))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.inner_radius >= r.outer_radius:
        return narrower(r, "inner_radius", "outer_radius")
    out = wall_refuse(r, _setting(r))
    if r.magnet_rise >= r.heat_limit:
        out.append("the magnets start above their heat limit: magnet_rise must lie below heat_limit")
    lone = not isnan(r.gap) and isnan(_geometry(r)) and isnan(r.pole_pitch)
    if (isnan(r.reference_gap) != isnan(r.pole_pitch) or lone) and not isnan(r.setting):
        out.append("the gap law needs gap, reference_gap and pole_pitch together")
    geometry = _geometry(r)
    how = "gap, remanence, outer_radius, inner_radius and magnet_thickness"
    if isnan(r.setting):
        return out + setting_or(r, geometry, how)
    if not isnan(geometry) and abs(geometry - _by_gap(r)) > 0.02 * geometry:
        out.append(f"setting at this gap, {_by_gap(r):.4g} N*m, contradicts the geometry, which gives "
                   f"{geometry:.4g} N*m: leave one of them out")  # fmt: skip
    return out


def _setting(r: Any) -> float:
    return _geometry(r) if isnan(r.setting) else _by_gap(r)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    s = _setting(r)
    wall_a, wall_b, y = wall_row(r, s)
    return (
        s,
        r.pole_pairs,
        damping(r.relative_damping, s * r.pole_pairs, w1),
        wall_a,
        wall_b,
        y,
        r.remanence_fade,
        r.heat_capacity,
        r.cooling,
        r.heat_limit,
        r.magnet_rise,
        r.lasting_loss,
        wall_lag(r),
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The gap sets the field, hence peak, stiffness and wall drag; the damping stays."""
    root = sqrt(f)
    walls = p[WALL_A] * root, p[WALL_B] * root
    return (p[PEAK] * f, p[1], p[2], *walls, p[5], p[6], p[7], p[8], p[9], p[10], p[11])


def start_mode(p: Any, sense: float) -> int:
    return IN_STEP


def start_state(p: Any, sense: float, tab: Any) -> tuple[float, float, float, float]:
    return p[WARM], p[WARM], 0.0, 0.0


def _angle(q: Q) -> float:
    """Electrical angle within the present pole."""
    return q.p[PAIRS] * q.phi - 2.0 * pi * q.mem[POLE]


def _field(q: Q) -> float:
    """Field over the cold field."""
    return FLOOR if q.mem[AT_FLOOR] > 0.5 else 1.0 + q.p[ALPHA] * q.x[HOTTEST]


def _peak(q: Q) -> float:
    b = _field(q)
    return q.p[PEAK] * (b * b)


def _side(q: Q) -> float:
    """Share of the field in the wall that is the driving half's."""
    return float(q.p[WALL_A] / (q.p[WALL_A] + q.p[WALL_B]))


def _wall(q: Q) -> float:
    """Drag of the wall in step over speed [N*m*s/rad]."""
    return float((q.p[WALL_A] + q.p[WALL_B]) * (q.p[WALL_A] + q.p[WALL_B]))


def _pulls(q: Q) -> tuple[float, float, float]:
    """Of a wall that shields: its pull on both hubs, and what of that goes from one to the other."""
    h = _field(q) * _side(q)
    pull_a, pull_b = shield_pull(h, _field(q) - h, q.x[ACROSS], q.x[ALONG], _angle(q))
    return pull_a, pull_b, _side(q) * pull_b - (1.0 - _side(q)) * pull_a


def torque(q: Q) -> float:
    T = _peak(q) * sin(_angle(q)) + q.p[C] * q.nu
    return T + _pulls(q)[2] if q.p[WALL_LAG] > 0.0 else T


def ground(q: Q, T: float) -> tuple[float, float]:
    """Drag of the wall; its roots go with the field."""
    if q.p[WALL_A] + q.p[WALL_B] == 0.0:
        return 0.0, 0.0
    if q.p[WALL_LAG] > 0.0:
        pull_a, pull_b, through = _pulls(q)
        return pull_a + through, pull_b - through
    b = _field(q)
    return wall_drag(b * q.p[WALL_A], b * q.p[WALL_B], q.p[WALL_Y], q.wa, q.wb, cos(_angle(q)))


def _heat(q: Q) -> float:
    """Heat of slip and wall [W]."""
    heat = q.p[C] * q.nu * q.nu
    if q.p[WALL_A] + q.p[WALL_B] == 0.0:
        return heat
    if q.p[WALL_LAG] > 0.0:
        return heat + (q.x[ACROSS] * q.x[ACROSS] + q.x[ALONG] * q.x[ALONG]) / _wall(q)
    b = _field(q)
    x = _angle(q)
    return heat + wall_heat(b * q.p[WALL_A], b * q.p[WALL_B], q.p[WALL_Y], q.wa, q.wb, x, cos(x))


def _warming(q: Q) -> float:
    """Change of the rise [K/s]."""
    return (_heat(q) - q.p[COOLING] * q.x[RISE]) / q.p[HEAT_CAP]


def rate(q: Q, T: float) -> tuple[float, float, float, float]:
    warming = _warming(q)
    hotter = warming if q.mem[HEATS] > 0.5 else 0.0
    if q.p[WALL_LAG] == 0.0:
        return warming, hotter, 0.0, 0.0
    h = _side(q)
    across, along = shield_slopes(
        _field(q) * _wall(q), h, 1.0 - h, q.p[WALL_LAG], q.p[PAIRS], q.wa, q.wb, _angle(q), q.x[ACROSS], q.x[ALONG]
    )
    return warming, hotter, across, along


def guards(q: Q, T: float) -> tuple[float, float, float, float, float]:
    hotter = 1.0
    floor = 1.0
    if q.p[ALPHA] != 0.0:
        hotter = _warming(q) if q.mem[HEATS] > 0.5 else q.x[HOTTEST] - q.x[RISE]
        if q.mem[AT_FLOOR] < 0.5:
            floor = _field(q) - FLOOR
    limit = q.p[LIMIT] - q.x[RISE] if q.mem[BURNT] == 0.0 else 1.0
    x = _angle(q)
    if q.m == IN_STEP:
        return 0.5 * pi - x, 0.5 * pi + x, hotter, limit, floor
    side = 1.0 if (q.m == PAST_F or q.m == SLIP_F) else -1.0
    if q.m >= SLIP_F:
        return pi - side * x, side * q.nu, hotter, limit, floor
    return pi - side * x, side * x - 0.5 * pi, hotter, limit, floor


def _note_heat(k: int, q: Q, X: Any, M: Any) -> None:
    if k == 3:
        M[BURNT] = max(q.t, 1e-9)
    elif k == 4:
        M[AT_FLOOR] = 1.0
    else:
        M[HEATS] = 0.0 if q.mem[HEATS] > 0.5 else 1.0
        X[HOTTEST] = max(q.x[RISE], q.x[HOTTEST])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k >= 2:
        _note_heat(k, q, X, M)
        return q.m, 0.0
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
    """Heat of slip and wall, and the energy of the field that weakens."""
    heat = _heat(q)
    if q.mem[HEATS] < 0.5 or q.mem[AT_FLOOR] > 0.5:
        return heat
    falls = -2.0 * q.p[PEAK] * q.p[ALPHA] * _field(q) * _warming(q)
    return heat + falls / q.p[PAIRS] * (1.0 - cos(_angle(q)))


def store(q: Q) -> float:
    field = _peak(q) / q.p[PAIRS] * (1.0 - cos(_angle(q)))
    if q.p[WALL_LAG] == 0.0:
        return field
    return field + 0.5 * q.p[WALL_LAG] * (q.x[ACROSS] * q.x[ACROSS] + q.x[ALONG] * q.x[ALONG]) / _wall(q)


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    hottest = max(x[HOTTEST], x[RISE])
    if hottest <= p[LIMIT]:
        return (nan,)
    return (1.0 - square(max(1.0 - p[LOST] * (hottest - p[LIMIT]), 0.0)),)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[PEAK] * p[PAIRS]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    out = {
        "setting": (p[PEAK], "torque"),
        "twist at pull-out": (0.5 * pi / p[PAIRS], "angle"),
        "stiffness at rest": (p[PEAK] * p[PAIRS], "stiffness"),
        "energy of a pole": (2 * p[PEAK] / p[PAIRS], "energy"),
    }
    if p[ALPHA] * p[WARM] != 0.0:
        out["pull-out torque at the starting rise"] = (p[PEAK] * (1.0 + p[ALPHA] * p[WARM]) ** 2, "torque")
    if p[WALL_A] + p[WALL_B] > 0.0:
        out["drag of the wall in step over speed"] = ((p[WALL_A] + p[WALL_B]) ** 2, "damping")
        if p[WALL_Y] > 0.0:
            out["speed at which the wall drags most"] = (1.0 / sqrt(p[WALL_Y]), "speed")
    if p[WALL_LAG] > 0.0:
        shielded = most_shielded(p[WALL_A], p[WALL_B], 1.0 / sqrt(p[WALL_Y]), p[PEAK])
        out["pull-out torque at that speed"] = (p[PEAK] * (1.0 - 0.5 * shielded), "torque")
        out["share of the torque that the wall shields at most"] = (shielded, "ratio")
    return out
