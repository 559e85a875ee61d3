r"""Magnetic hysteresis clutch: a coil's poles drag a ring of hard magnetic alloy along, at any slip speed.

:math:`N = 8` elements of stiffness :math:`k = 2S/(N\varphi_s)` in parallel, each in series with friction that
gives way at the twist :math:`\varphi_s(i-\frac12)/N`; :math:`\varphi_s` is the lag angle over the pole pairs:

.. math:: T = \frac{T_c(i)}{S}\left(k\sum_j z_j + c\nu\right)

The virgin curve is then :math:`S(2x - x^2)`, :math:`x = \varphi/\varphi_s`, within 0.4 %; minor loops close and
are wiped out as in a real hysteretic body (Masing's and Madelung's rules).  Once all elements slide the torque
is :math:`T_c(i)`, whatever the slip speed, but for the small eddy part :math:`c\nu`.  By geometry

.. math:: S = p\,W\,V/(2\pi)

with the loop energy :math:`W` per volume and cycle and the ring's volume :math:`V = \pi d b h`.

Current scales all torques alike; the twists at which elements give way stay (the lag angle is the alloy's).
The energy :math:`\frac12 k \dot f\sum z^2` by which a change of :math:`f = T_c/S` alters the wind-up is work of
the electrical supply, not of the shafts.  It is kept in an own account, so that the stored energy is wind-up
less what the supply put in, and the heat is slip heat alone.

Torque goes with the current's size; a programme may reverse it (its first current is positive).  A current cut or
reversed at rest leaves the poles printed in the ring: a ripple on top of the torque, :math:`\pm A\sin
p(\varphi-\varphi_0)`, until slip wipes it out or a field against it overwrites it, see
:mod:`simcore.parts._imprint`.  Curve and coil: see
:mod:`simcore.parts._coil`.

Sources: Steinmetz's loss per cycle, textbook; parallel elements: Iwan, A distributed-element model for
hysteresis, J. Applied Mechanics 33 (1966) (cited from memory).
"""

from __future__ import annotations

from dataclasses import replace
from math import isnan, pi
from typing import Any

from simcore.contract import CLOCK, ENGAGED, SLIPPING, Kind, Mode, Param, Q, State
from simcore.parts import _coil as coil
from simcore.parts import _imprint as im
from simcore.parts._coil import (
    burn_guard,
    coil_clock,
    coil_row,
    coil_sheet,
    dial_coil,
    lag_slope,
    note_burn,
    pass_corner,
    refuse_coil,
    resistor_power,
    told_heat,
    working_torque,
)
from simcore.parts._imprint import (
    HOLDING,
    IMPRINT,
    PAIRS,
    PRINT,
    current_guard,
    current_switch,
    leave_pattern,
    print_slope,
    ripple_energy,
    ripple_torque,
    share,
    share_slope,
    wiping_heat,
)
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

K, C, TWIST, HEAT_CAP, COOLING, LIMIT = (len(coil.COLUMNS) + i for i in range(6))
SLIP_F, SLIP_B = 1, 2
RISE, LAG, SUPPLIED, RIPPLE, HEAT = range(5)
N = 8
ANCHOR, SLIDES, SENSE = 2, 10, 18
INSIDE = 1e-9
"""Share of the twist at full torque by which an element starts inside its limit."""
QUIET = 1e-6
"""Share of the running speed (and of 1 rad/s): slower twisting back is no reversal while some elements stick.
In steady running the two hubs' speeds differ by the errors of the solver only; the heat may then dip by some uJ."""

KIND = Kind(
    name="magnetic hysteresis clutch",
    family="protection",
    summary="drags a hard magnetic ring at the torque its coil's current sets, at any slip speed",
    params=(
        Param("setting", "torque", "torque at rated current once the whole ring slips", above="0 N*m"),
        Param("pole_pairs", "count", "pole pairs", default=6, low=1, high=60, source="common practice, from memory"),
        Param("loop_energy", "energy_density", "energy of the ring's magnetic loop per volume and cycle at rated "
              "current", above="0 J/m^3", usual=("10 kJ/m^3", "150 kJ/m^3")),
        Param("ring_diameter", "length", "mean diameter of the hysteresis ring", above="0 mm"),
        Param("ring_width", "length", "width of the hysteresis ring", above="0 mm"),
        Param("ring_thickness", "length", "thickness of the hysteresis ring", above="0 mm"),
        Param("lag_angle", "angle", "electrical angle by which the ring lags when all of it slips", default="60 deg",
              above="0 deg", high="180 deg", usual=("30 deg", "90 deg"), source="common practice, from memory"),
        Param("eddy", "inverse_speed", "rise of the torque with slip speed (eddy currents)",
              default="0.05 %/(rad/s)", low="0 %/(rad/s)", usual=("0.02 %/(rad/s)", "0.08 %/(rad/s)"),
              source="5 % per 1000 rpm, from memory"),
        tolerance("4 %", ("3 %", "5 %")),
        *(replace(q, low="-100 A", meaning=q.meaning + "; negative: reversed") if q.name == "currents" else q
          for q in coil.coil_params("0.27 A", "90 ohm", "0.5 H", "1.5 %", ("1 %", "2 %"), "10 N*m size")),
        *IMPRINT,
        Param("heat_capacity", "heat_capacity", "heat capacity of the clutch", default="400 J/K", above="0 J/K",
              usual=("200 J/K", "800 J/K"), source="10 N*m size, from memory", size=10),
        Param("cooling", "conductance", "heat given off per kelvin of rise", default="0.8 W/K", low="0 W/K",
              usual=("0.4 W/K", "1.6 W/K"), source="10 N*m size, from memory", size=10),
        Param("heat_limit", "temperature_difference", "rise the coil and the bearings bear", default="75 K",
              above="0 K", usual=("60 K", "100 K"), source="60 W on end at 0.8 W/K, from memory"),
        again_time("0 s", ("0 s", "10 min")),
        *hub_params(),
    ),
    row=(*coil.COLUMNS, "k", "c", "twist", "heat_cap", "cooling", "heat_limit", *im.COLUMNS),
    modes=(Mode("holding", ENGAGED), Mode("slipping forward", SLIPPING, False),
           Mode("slipping backward", SLIPPING, False)),
    states=(State("clutch rise", "K", 1.0, "temperature of the clutch above ambient"), coil.LAG,
            State("supplied", "J", 0.01, "work of the supply on the ring when the current changes"),
            im.STATE, coil.CUT_HEAT),
    guards=("next forward", "next backward", "reversal", "heat limit", "current"),
    memory=(*coil.MEMORY, *(f"anchor {i}" for i in range(1, N + 1)), *(f"slides {i}" for i in range(1, N + 1)),
            "sense of sliding", *im.MEMORY),
    reads=coil.READS,
    left_behind=coil.LEFT,
    burns="burnt at",
    slides=True,
    character="loop",
    example={"setting": "10 N*m"},
    lets_go="the ring lags by its full angle; slips on at the current's torque",
    leaves="drive still connected at the slip torque; heat in the ring; nothing wears",
    runs_again="at once when the jam is cleared",
    again="nothing",
    cautions=("Never lets go by itself: cut the current on slip, or it overheats.",
              "Without current it is open but for the residual torque: a hanging load needs a brake.",
              "Current cut or reversed at rest prints poles into the ring, which then cogs: bring it down in slip, "
              "or reversed to and fro, each time less.",
              "Seldom built above some tens of N*m (common practice, from memory): state coil and heat of a larger "
              "one, the defaults are those of 10 N*m."),
    sources=("Steinmetz's loss per cycle: textbook", "Iwan 1966: parallel elements (cited from memory)"),
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Torque [N*m] from the loop's energy; NaN if the geometry is incomplete."""
    volume = pi * r.ring_diameter * r.ring_width * r.ring_thickness
    return r.pole_pairs * r.loop_energy * volume / (2.0 * pi)


def _full(r: Any) -> float:
    return _geometry(r) if isnan(r.setting) else r.setting


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = setting_or(r, _geometry(r), "loop_energy, ring_diameter, ring_width and ring_thickness")
    if r.ring_thickness >= r.ring_diameter:
        out.append("the ring is as thick as its mean diameter: it would have no bore")
    if isinstance(r.currents, tuple) and r.currents and r.currents[0] < 0.0:
        out.append("the first of currents is negative: torque goes with their size, so turn the signs of all round")
    return out + refuse_coil(r, _full(r))


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    full = _full(r)
    twist = r.lag_angle / r.pole_pairs
    heat = r.heat_capacity, r.cooling, r.heat_limit
    own = (2.0 * full / (N * twist), r.eddy * full, twist, *heat, r.ripple, r.pole_pairs, r.wiped_over / r.pole_pairs)
    return coil_row(r, full) + own


def dial(p: Any, f: float) -> tuple[float, float, float]:
    """Another current; a programme's currents all change alike."""
    return dial_coil(p, f)


def start_mode(p: Any, sense: float) -> int:
    return HOLDING


def _give(q: Q, i: int) -> float:
    """Twist [rad] at which element ``i`` gives way."""
    return q.p[TWIST] * (i + 0.5) / N


def _sense(q: Q, i: int) -> float:
    """Direction in which element ``i`` slides, 0 while it sticks."""
    if q.m == HOLDING:
        return q.mem[SLIDES + i]
    return 1.0 if q.m == SLIP_F else -1.0


def _wound(q: Q, i: int) -> float:
    """Wind-up [rad] of element ``i``."""
    s = _sense(q, i)
    return s * _give(q, i) if s != 0.0 else q.phi - q.mem[ANCHOR + i]


def _squares(q: Q) -> float:
    """Sum of the squared wind-ups [rad^2]."""
    total = 0.0
    for i in range(N):
        z = _wound(q, i)
        total += z * z
    return total


def torque(q: Q) -> float:
    total = 0.0
    for i in range(N):
        total += _wound(q, i)
    T = share(q) * (q.p[K] * total + q.p[C] * q.nu)
    return T if q.x[RIPPLE] == 0.0 else T + ripple_torque(q)


def loss(q: Q, T: float) -> float:
    slid = 0.0
    for i in range(N):
        slid += _sense(q, i) * _give(q, i)
    heat = share(q) * (q.p[K] * slid + q.p[C] * q.nu) * q.nu
    return heat if q.x[RIPPLE] == 0.0 else heat + wiping_heat(q)


def rate(q: Q, T: float) -> tuple[float, float, float, float, float]:
    rise = (loss(q, T) - q.p[COOLING] * q.x[RISE]) / q.p[HEAT_CAP]
    change = share_slope(q)
    supply = 0.5 * q.p[K] * change * _squares(q)
    grows, charged = print_slope(q, change)
    return rise, lag_slope(q, q.x[LAG], q.x[RISE]), supply + charged, grows, resistor_power(q, q.x[LAG])


def guards(q: Q, T: float) -> tuple[float, float, float, float, float]:
    hot = burn_guard(q, q.x[RISE], q.p[LIMIT])
    current = current_guard(q)
    if q.m != HOLDING:
        return 1.0, 1.0, (q.nu if q.m == SLIP_F else -q.nu), hot, current
    ahead = q.p[TWIST]
    behind = q.p[TWIST]
    for i in range(N):
        if q.mem[SLIDES + i] == 0.0:
            z = q.phi - q.mem[ANCHOR + i]
            ahead = min(ahead, _give(q, i) - z)
            behind = min(behind, _give(q, i) + z)
    turn = 1.0
    if q.mem[SENSE] != 0.0:
        turn = q.mem[SENSE] * q.nu + QUIET * (1.0 + abs(q.wa))
    return ahead, behind, turn, hot, current


def clock(q: Q) -> float:
    return coil_clock(q)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        X[LAG] = q.x[LAG] - pass_corner(q, M)
        return q.m, 0.0
    if k == 3:
        note_burn(q, M)
        return q.m, 0.0
    if k == 4:
        heat = current_switch(q, X, M)
        X[RISE] = q.x[RISE] + heat / q.p[HEAT_CAP]
        return q.m, heat
    side = 1.0 if k == 0 else -1.0
    if k == 2 or q.mem[SENSE] == -side:
        return HOLDING, _stick_all(q, M)
    return _slide_next(q, side, X, M)


def _stick_all(q: Q, M: Any) -> float:
    """Sliding elements stick a hair inside their limits; gives the heat of that hair [J]."""
    hair = INSIDE * q.p[TWIST]
    freed = 0.0
    for i in range(N):
        s = _sense(q, i)
        if s != 0.0:
            z = _give(q, i) - hair
            freed += _give(q, i) * _give(q, i) - z * z
            M[ANCHOR + i] = q.phi - s * z
            M[SLIDES + i] = 0.0
    M[SENSE] = 0.0
    return 0.5 * share(q) * q.p[K] * freed


def _slide_next(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    """The element nearest its limit gives way; wind-up beyond the limit becomes heat [J]."""
    nearest = 0
    least = 1e300
    stuck = 0
    for i in range(N):
        if q.mem[SLIDES + i] == 0.0:
            stuck += 1
            left = _give(q, i) - side * (q.phi - q.mem[ANCHOR + i])
            if left < least:
                least = left
                nearest = i
    z = _give(q, nearest)
    heat = 0.5 * share(q) * q.p[K] * max(0.0, (z - least) * (z - least) - z * z)
    X[RISE] = q.x[RISE] + heat / q.p[HEAT_CAP]
    M[SLIDES + nearest] = side
    M[SENSE] = side
    if stuck > 1:
        return HOLDING, heat
    leave_pattern(q, M)
    return (SLIP_F if side > 0.0 else SLIP_B), heat


def store(q: Q) -> float:
    return 0.5 * share(q) * q.p[K] * _squares(q) + ripple_energy(q) - q.x[SUPPLIED]


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (told_heat(x[HEAT]),)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return 2.0 * working_torque(p) / p[TWIST]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        **coil_sheet(p),
        "stiffness at rest": (2.0 * working_torque(p) / p[TWIST], "stiffness"),
        "twist at the setting": (p[TWIST], "angle"),
        "energy lost in a turn of slip": (2.0 * pi * working_torque(p), "energy"),
        "slip power borne continuously": (p[COOLING] * p[LIMIT], "power"),
        "ripple after rated current is cut at rest": (p[PRINT] * (1.0 - p[coil.REST]) * p[coil.FULL], "torque"),
        "twist from ripple to ripple": (2.0 * pi / p[PAIRS], "angle"),
    }
