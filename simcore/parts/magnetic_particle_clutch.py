r"""Magnetic particle clutch: powder stiffened by a coil's field carries a torque that the current sets.

Stuck: :math:`T = kz + c\nu` with the wind-up :math:`z = \varphi - x` and slip angle :math:`x`.  It slides when
the whole torque reaches the capacity :math:`T_c(i)`, and slides at :math:`T = \pm T_c(i)` at any slip speed:
while the damper still bears a share of it the spring winds up on (:math:`\dot x = 0`); after that
:math:`z = \pm T_c/k` follows the current,

.. math:: \dot x = \nu \mp \dot T_c/k, \qquad P = T\dot x

and it sticks when :math:`\dot x` comes to zero.  So a clutch at rest unwinds through slip while its current
fades.  Curve and coil: see :mod:`simcore.parts._coil`.  The loop between rising and falling current, 4 to 8 % of rated
torque in practice, is not modelled: only the torque left at zero current is; count the loop into the tolerance.
Slip heat warms one body, :math:`C\dot\vartheta = P - G\vartheta`.

Sources: friction in series with a spring, Iwan, A distributed-element model for hysteresis, J. Applied
Mechanics 33 (1966) (cited from memory); torque in proportion to current and independent of slip speed, common
practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import CLOCK, ENGAGED, SLIPPING, Kind, Mode, Param, Q, State
from simcore.parts import _coil as coil
from simcore.parts._coil import (
    burn_guard,
    coil_clock,
    coil_row,
    coil_sheet,
    coil_torque,
    coil_torque_slope,
    dial_coil,
    lag_slope,
    note_burn,
    pass_corner,
    refuse_coil,
    resistor_power,
    told_heat,
    working_torque,
)
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._protection import again_time, hub_params, inertias, tolerance

__all__ = ["KIND", "inertias"]

K, C, HEAT_CAP, COOLING, LIMIT = range(12, 17)
STUCK, WINDING_F, WINDING_B, SLIDING_F, SLIDING_B = range(5)
SLIP, RISE, LAG, HEAT = range(4)
INSIDE = 1e-9
"""Share of the capacity by which it sticks inside it."""

KIND = Kind(
    name="magnetic particle clutch",
    family="protection",
    summary="slips in powder at the torque its coil's current sets, at any slip speed; sticks again",
    params=(
        Param("setting", "torque", "slip torque at rated current, warm and run in", required=True, above="0 N*m"),
        tolerance("6 %", ("5 %", "20 %")),
        *coil.coil_params("1.33 A", "18 ohm", "1.2 H", "2 %", ("1 %", "4 %"), "150 N*m size"),
        Param("stiffness", "stiffness", "torsional stiffness while stuck", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the torque of rated current", default="0.5 deg", above="0 deg",
              usual=("0.2 deg", "2 deg"), source="shaft and powder; common practice, from memory"),
        RELATIVE_DAMPING,
        Param("heat_capacity", "heat_capacity", "heat capacity of the clutch", default="3 kJ/K", above="0 J/K",
              usual=("500 J/K", "30 kJ/K"), source="150 N*m size, from memory", size=150),
        Param("cooling", "conductance", "heat given off per kelvin of rise", default="5 W/K", low="0 W/K",
              usual=("1 W/K", "40 W/K"), source="150 N*m size, from memory", size=150),
        Param("heat_limit", "temperature_difference", "rise the powder and the coil bear", default="70 K",
              above="0 K", usual=("60 K", "100 K"), source="350 W on end at 5 W/K, from memory"),
        again_time("0 s", ("0 s", "30 min")),
        *hub_params(),
    ),
    row=(*coil.COLUMNS, "k", "c", "heat_cap", "cooling", "heat_limit"),
    modes=(Mode("stuck", ENGAGED), Mode("winding up forward", SLIPPING, False),
           Mode("winding up backward", SLIPPING, False), Mode("sliding forward", SLIPPING, False),
           Mode("sliding backward", SLIPPING, False)),
    states=(State("slip angle", "rad", 0.01, "angle slipped through, signed"),
            State("clutch rise", "K", 1.0, "temperature of the clutch above ambient"), coil.LAG,
            coil.CUT_HEAT),
    guards=("forward", "backward", "heat limit"),
    memory=coil.MEMORY,
    reads=coil.READS,
    left_behind=coil.LEFT,
    burns="burnt at",
    slides=True,
    character="current",
    lets_go="the torque reaches the current's capacity; slides on at that torque",
    leaves="drive still connected at the slip torque; heat; nothing is released while the coil is fed",
    runs_again="at once when the jam is cleared and the clutch has cooled",
    again="nothing",
    cautions=("Never lets go by itself: cut the current on slip, or it burns.",
              "Without current it is open but for the residual torque: a hanging load needs a brake.",
              "Cold or after standing, the torque is up to 20 % off for some minutes; with wear the torque falls.",
              "Below some 5 to 15 rpm of slip it may stick and slip."),
    sources=("torque by current, independent of slip speed: common practice",
             "Iwan 1966: friction in series with a spring (cited from memory)"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_coil(r, r.setting)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    k = stiffness(r.stiffness, r.twist_at_setting, r.setting)
    c = damping(r.relative_damping, k, w1)
    return coil_row(r, r.setting) + (k, c, r.heat_capacity, r.cooling, r.heat_limit)  # noqa: RUF005


def dial(p: Any, f: float) -> tuple[float, float, float]:
    """Another current; a programme's currents all change alike."""
    return dial_coil(p, f)


def start_mode(p: Any, sense: float) -> int:
    return STUCK


def _side(m: int) -> float:
    return 1.0 if (m == WINDING_F or m == SLIDING_F) else -1.0


def _wind_up(q: Q) -> float:
    """Torque of the spring [N*m]."""
    return q.p[K] * (q.phi - q.x[SLIP])


def _slip_speed(q: Q) -> float:
    """Slip in the powder [rad/s], signed, while sliding."""
    return q.nu - _side(q.m) * coil_torque_slope(q, q.x[LAG], q.x[RISE]) / q.p[K]


def torque(q: Q) -> float:
    if q.m == STUCK:
        return _wind_up(q) + q.p[C] * q.nu
    return _side(q.m) * coil_torque(q, q.x[LAG])


def loss(q: Q, T: float) -> float:
    if q.m == STUCK:
        return q.p[C] * q.nu * q.nu
    if q.m < SLIDING_F:
        return (T - _wind_up(q)) * q.nu
    return T * _slip_speed(q)


def rate(q: Q, T: float) -> tuple[float, float, float, float]:
    slip = 0.0
    heat = 0.0
    if q.m != STUCK:
        heat = loss(q, T)
    if q.m >= SLIDING_F:
        slip = _slip_speed(q)
    rise = (heat - q.p[COOLING] * q.x[RISE]) / q.p[HEAT_CAP]
    return slip, rise, lag_slope(q, q.x[LAG], q.x[RISE]), resistor_power(q, q.x[LAG])


def guards(q: Q, T: float) -> tuple[float, float, float]:
    hot = burn_guard(q, q.x[RISE], q.p[LIMIT])
    if q.m == STUCK:
        top = coil_torque(q, q.x[LAG])
        return top - T, top + T, hot
    side = _side(q.m)
    if q.m >= SLIDING_F:
        return side * _slip_speed(q), 1.0, hot
    held = _wind_up(q)
    return side * (held + q.p[C] * q.nu - T), side * (T - held), hot


def clock(q: Q) -> float:
    return coil_clock(q)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        X[LAG] = q.x[LAG] - pass_corner(q, M)
        return q.m, 0.0
    if k == 2:
        note_burn(q, M)
        return q.m, 0.0
    if q.m == STUCK:
        return _slide(q, 1.0 if k == 0 else -1.0, X)
    side = _side(q.m)
    if q.m < SLIDING_F:
        if k == 0:
            return STUCK, 0.0
        return _slide(q, side, X)
    # wound up to a hair inside the capacity, clear of rounding
    heat = _drop(q, side, (1.0 - INSIDE) * coil_torque(q, q.x[LAG]) / q.p[K], X)
    if side * q.nu > 0.0 and q.p[C] > 0.0:
        return (WINDING_F if side > 0.0 else WINDING_B), heat
    return STUCK, heat


def _slide(q: Q, side: float, X: Any) -> tuple[int, float]:
    """Winds up on below the capacity; above it the wind-up falls to it, its energy becomes heat [J]."""
    held = coil_torque(q, q.x[LAG]) / q.p[K]
    if side * (q.phi - q.x[SLIP]) < held and q.m == STUCK:
        return (WINDING_F if side > 0.0 else WINDING_B), 0.0
    return (SLIDING_F if side > 0.0 else SLIDING_B), _drop(q, side, held, X)


def _drop(q: Q, side: float, held: float, X: Any) -> float:
    """Let the wind-up fall to ``held``; its energy becomes heat [J]."""
    z = side * (q.phi - q.x[SLIP])
    if z <= held:
        return 0.0
    heat = 0.5 * q.p[K] * (z * z - held * held)
    X[SLIP] = q.phi - side * held
    X[RISE] = q.x[RISE] + heat / q.p[HEAT_CAP]
    return heat


def store(q: Q) -> float:
    z = q.phi - q.x[SLIP]
    return 0.5 * q.p[K] * z * z


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (told_heat(x[HEAT]),)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        **coil_sheet(p),
        "stiffness": (p[K], "stiffness"),
        "twist at the setting": (working_torque(p) / p[K], "angle"),
        "slip power borne continuously": (p[COOLING] * p[LIMIT], "power"),
    }
