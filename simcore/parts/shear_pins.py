r"""Shear pins: elastic, then plastic at their strength, broken once the plastic way is used up.

.. math:: T_i = k(\varphi - \varphi_{p,i} \mp \beta_i/2) + c\nu \le T_{u,i}, \qquad
          \sum T_{u,i} = n\,z\,\tau_B\,\frac{\pi d^2}{4}\,R

with pins :math:`n`, sections :math:`z`, shear strength :math:`\tau_B`, clearance :math:`\beta` and plastic
twist :math:`\varphi_p`.  Fracture when :math:`\int|\dot\varphi_p|\,dt = s/R`; the elastic energy left is
lost as heat there, so a pin takes :math:`T_u^2/(2k) + T_u s/R` to break.

Alike pins share evenly and are one spring.  Pins that differ in strength or clearance, listed or spread, are
followed one by one, each with the n-th part of stiffness and damping: those with little clearance carry first,
each breaks by itself and the rest take over.  Spread pins stand at the middle of the n equal parts of a normal
distribution, the weakest with the least clearance (the least favourable order); no chance is involved.

Strength grows with the twist speed as :math:`1 + (f-1)\log_2(1 + \nu/\nu_0)`, so that it is :math:`f` times the
static one at :math:`\nu_0`.  Fatigue: rainflow, Basquin and Miner without the influence of the mean torque, see
:mod:`simcore.parts._rainflow` and :mod:`simcore.parts._pin_fatigue`.  A reset fits new pins at a slip speed of at
most 10 rpm, see :mod:`simcore.parts._pin_renewal`.

Sources: shear of a round section, Budynas and Nisbett, Shigley's Mechanical Engineering Design; strength and
the logarithm of the rate, Johnson and Cook, 7th Int. Symp. on Ballistics 1983 (cited from memory; its corner at
the reference rate is rounded here); fatigue strength 1.5 times the tensile strength, Baeumel and Seeger,
Materials Data for Cyclic Loading 1990 (cited from memory).
"""

from __future__ import annotations

from math import isnan, nan, pi
from typing import Any

from simcore.contract import BROKEN, ENGAGED, YIELDING, Kind, Left, Mode, Param, Q, State
from simcore.parts import _contact as ct
from simcore.parts import _pins as pn
from simcore.parts._contact import flank_switch
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._given import either, narrower
from simcore.parts._pin_fatigue import begin_anew, break_set, start_damage, turn, turn_guard
from simcore.parts._pin_renewal import new_pins, new_pins_guard
from simcore.parts._pins import (
    GONE,
    STRETCH_B,
    STRETCH_F,
    held,
    least_guards,
    loss,
    most_torque,
    pin_guards,
    rate,
    rested,
    set_guards,
    spread,
    state_of,
    store,
    strength_of,
    switch_pin,
    together,
    torque,
    twist_under,
)
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias", "loss", "rate", "store", "torque"]

NONE = -1.0
LEAST_RATIO = 0.05
EACH = tuple(range(1, pn.MOST + 1))

KIND = Kind(
    name="shear pins",
    family="protection",
    summary="break at their strength; both sides free until new pins are fitted",
    params=(
        Param("setting", "torque", "largest quasi-static torque of the set, shared evenly", above="0 N*m"),
        Param("pins", "count", "number of pins", default=2, low=1, high=24, source="balanced pair"),
        Param("pin_diameter", "length", "diameter at the notch", above="0 mm"),
        Param("radius", "length", "radius of the pin circle", above="0 mm"),
        Param("shear_strength", "stress", "shear strength of the pin's material", above="0 MPa",
              usual=("200 MPa", "700 MPa")),
        Param("tensile_strength", "stress", "tensile strength of the pin's material, in place of its shear "
              "strength", above="0 MPa", usual=("350 MPa", "1000 MPa")),
        Param("shear_ratio", "ratio", "shear strength over tensile strength: at fracture 0.6 (hard) to 0.8, "
              "0.577 of the yield point by von Mises", default=0.7, low=0.3, high=1, usual=(0.577, 0.8),
              source="mild steel; common practice, from memory"),
        Param("sections", "count", "sections that shear: 1 single, 2 double shear", default=1, low=1,
              high=2, source="single shear"),
        Param("pin_strengths", "ratio", "strength of each pin over its share of the setting", many=True,
              above=0, high=10, usual=(0.75, 1.25), source="common practice, from memory"),
        Param("scatter_strength", "ratio", "standard deviation of the pins' strength over its mean",
              default=0, low=0, high=0.5, usual=(0.02, 0.1), source="alike pins share evenly"),
        tolerance("10 %", ("5 %", "25 %")),
        Param("clearance", "angle", "whole twist the pins can move freely in their holes",
              default="0.1 deg", low="0 deg", high="10 deg", usual=("0 deg", "0.2 deg"),
              source="0.05 to 0.15 mm at the pin circle; common practice, from memory"),
        Param("clearances", "angle", "clearance of each pin, in place of one for all", many=True, low="0 deg",
              high="10 deg", usual=("0 deg", "0.2 deg"), source="common practice, from memory"),
        Param("scatter_clearance", "angle", "standard deviation of the pins' clearance", default="0 deg",
              low="0 deg", high="5 deg", usual=("0 deg", "0.05 deg"), source="alike pins share evenly"),
        Param("stiffness", "stiffness", "torsional stiffness of the pinned joint", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "elastic twist at the setting", default="0.1 deg",
              above="0 deg", usual=("0.05 deg", "0.2 deg"), source="common practice, from memory"),
        Param("slide_to_fracture", "ratio", "plastic way until fracture over pin diameter (by geometry)",
              default=0.25, low=0, high=2, usual=(0.15, 0.4), source="common practice, from memory"),
        Param("twist_to_fracture", "angle", "plastic twist until fracture; left out: from the geometry, "
              "else 1 deg", low="0 deg", high="45 deg", usual=("0.3 deg", "3 deg")),
        Param("rate_factor", "ratio", "strength at the reference twist speed over the static one", default=1,
              low=1, high=3, usual=(1, 1.3), source="off, the safer one for what comes after the pins' break"),
        Param("rate_reference", "speed", "twist speed of the rate factor", default="10 rad/s",
              above="0 rad/s", usual=("1 rad/s", "100 rad/s"), source="common practice, from memory"),
        Param("fatigue", "flag", "count cycles and let worn pins break", default=False),
        Param("fatigue_strength", "ratio", "torque amplitude that breaks within half a cycle over the strength",
              default=1.5, above=0, high=5, usual=(0.9, 1.5), source="Baeumel and Seeger, from memory"),
        Param("fatigue_exponent", "ratio", "Basquin's exponent b", default=-0.1, low=-0.5, high=-0.03,
              usual=(-0.14, -0.07), source="common practice, from memory"),
        Param("fatigue_knee", "ratio", "torque amplitude over the strength up to which nothing wears; 0: none",
              default=0, low=0, high=1, usual=(0, 0.45), source="no knee, the safer one"),
        Param("starts_done", "count", "ordinary starts since the pins were new", default=0, low=0,
              high=1e9, source="new pins"),
        Param("start_peak", "torque", "largest torque of an ordinary start, each one cycle from nothing",
              above="0 N*m"),
        RELATIVE_DAMPING,
        again_time("15 min", ("5 min", "45 min")),
        *hub_params(),
    ),
    row=("strength", "plastic", "k", "c", "half", "pins", "unequal", "pin_strengths", "clearances", "speed",
         "rate", "rate_reference", "fatigue", "fatigue_strength", "fatigue_exponent", "fatigue_knee", "starts",
         "start_peak", *(f"ratio of pin {i}" for i in EACH), *(f"half play of pin {i}" for i in EACH)),
    modes=(*ct.MODES, Mode("stretching forward", ENGAGED), Mode("stretching backward", ENGAGED),
           Mode("broken", BROKEN, False), Mode("carrying unevenly", ENGAGED), Mode("some stretching", ENGAGED),
           Mode("some broken, the rest in the play", YIELDING, False), Mode("some broken, the rest carry", YIELDING),
           Mode("some broken, some stretching", YIELDING)),
    states=(State("plastic twist", "rad", 0.01, "lasting twist of the pins, signed; mean of unequal pins"),
            State("plastic way", "rad", 0.01, "plastic twist added up; mean of unequal pins"),
            State("damage", "1", 1.0, "share of the life used up by the pin that is worn most; 1 breaks it")),
    guards=("flank", "flank again", "strength", "strength backward", "turn", "reset"),
    memory=("sets broken", "pins broken", "twisting way", "points on the stack",
            *(f"{what} of pin {i}" for what in ("state", "lasting twist", "plastic way", "twist at yield", "damage")
              for i in EACH), *(f"turning point {i}" for i in range(1, pn.DEPTH + 1))),
    reads=("reset",),
    tally="sets broken",
    stretches=("plastic way", "plastic"),
    left_behind=(Left("life used", "ratio", "Miner's sum of the pin worn most, wear before the run counted in"),),
    lets_go="the pins shear off, unequal ones one after the other",
    leaves="both sides fully free; no drive through the jam; broken pieces to be caught",
    runs_again="with new pins of the same grade",
    again="replace",
    again_words="new pins",
    phase_kept="by hand",
    character="twist",
    cautions=("Fit only pins of the stated grade: a stronger pin moves the break elsewhere.",
              "Pins tire: frequent heavy starts break them early.",
              "Renew all pins together: one that stayed whole is worn and stretched."),
    sources=("Shigley's Mechanical Engineering Design: round section in shear",
             "Johnson and Cook 1983: strength and rate (cited from memory)",
             "ASTM E1049-85: rainflow counting", "Basquin 1910, Miner 1945: life (cited from memory)"),
)  # fmt: skip


def _shear_strength(r: Any) -> float:
    """Shear strength [Pa], stated or from the tensile strength; NaN if neither is."""
    return float(r.shear_ratio * r.tensile_strength if isnan(r.shear_strength) else r.shear_strength)


def _geometry(r: Any) -> float:
    """Torque [N*m] of the set; NaN if the geometry is incomplete."""
    area = 0.25 * pi * r.pin_diameter * r.pin_diameter
    return float(r.pins * r.sections * _shear_strength(r) * area * r.radius)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    needs = ("pin_diameter", "radius", *either(r, ("shear_strength",), ("tensile_strength",)))
    out = setting_or(r, _geometry(r), "pin_diameter, radius and shear_strength (or tensile_strength)", needs)
    out += narrower(r, "pin_diameter", "radius", ", the radius of its circle, else the pin is as thick as its circle")
    if not isnan(r.shear_strength) and not isnan(r.tensile_strength):
        out.append("shear_strength and tensile_strength both state the pin's material: leave one of them out")
    if r.pins != int(r.pins):
        out.append(f"pins = {r.pins:g}: a number of pins must be whole")
    return out + _unequal_faults(r) + _fatigue_faults(r)


def _unequal_faults(r: Any) -> list[str]:
    out = []
    uneven = r.scatter_strength > 0.0 or r.scatter_clearance > 0.0
    for name, scatter in (("pin_strengths", r.scatter_strength), ("clearances", r.scatter_clearance)):
        values = getattr(r, name)
        if not isinstance(values, tuple) or not values:
            continue
        uneven = True
        if len(values) != r.pins:
            out.append(f"{name} has {len(values)} values, but pins = {r.pins:g}: give one for each pin")
        if scatter > 0.0:
            out.append(f"{name} lists every pin, so there is nothing left to scatter: leave one of them out")
    if uneven and r.pins > pn.MOST:
        out.append(f"pins = {r.pins:g}: unequal pins are followed one by one, at most {pn.MOST} of them")
    if (r.scatter_strength > 0.0 or r.scatter_clearance > 0.0) and r.pins < 2.0:
        out.append("a single pin cannot scatter: leave scatter_strength and scatter_clearance out")
    return out


def _fatigue_faults(r: Any) -> list[str]:
    out = []
    setting = _geometry(r) if isnan(r.setting) else r.setting
    if r.start_peak >= setting:
        out.append(f"start_peak {r.start_peak:.4g} N*m reaches the setting {setting:.4g} N*m: the first start "
                   "breaks the pins")  # fmt: skip
    if r.starts_done > 0.0 and isnan(r.start_peak):
        out.append("starts_done wear the pins by the torque of a start: give start_peak too")
    if r.starts_done > 0.0 and r.fatigue < 0.5:
        out.append("starts_done count only with fatigue = true: say so, or leave them out")
    return out


def _ratio(r: Any, i: int) -> float:
    """Strength of pin ``i`` over its share of the setting."""
    if r.scatter_strength <= 0.0:
        return 1.0
    return max(LEAST_RATIO, 1.0 + r.scatter_strength * spread(r.pins, i)) if i < r.pins else 0.0


def _half(r: Any, i: int) -> float:
    """Half the play of pin ``i`` [rad]."""
    if r.scatter_clearance <= 0.0:
        return 0.5 * r.clearance
    return max(0.0, 0.5 * (r.clearance + r.scatter_clearance * spread(r.pins, i))) if i < r.pins else 0.0


def resolve(
    r: Any, w1: float
) -> tuple[
    float, float, float, float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float, float, float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float,
]:  # fmt: skip
    s = _geometry(r) if isnan(r.setting) else r.setting
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    plastic = r.twist_to_fracture
    if isnan(plastic):
        plastic = r.slide_to_fracture * r.pin_diameter / r.radius
    if isnan(plastic):
        plastic = pi / 180.0
    strengths = NONE if isnan(r.pin_strengths) else r.pin_strengths
    clearances = NONE if isnan(r.clearances) else r.clearances
    unequal = strengths >= 0.0 or clearances >= 0.0 or r.scatter_strength > 0.0 or r.scatter_clearance > 0.0
    peak = 0.0 if isnan(r.start_peak) else r.start_peak
    tires = 1.0 if r.fatigue > 0.5 or peak > 0.0 else 0.0
    # in two pieces: beyond 30 entries Python builds a tuple by way of a list, which does not compile
    law = (
        s, plastic, k, damping(r.relative_damping, k, w1), 0.5 * r.clearance, r.pins, 1.0 if unequal else 0.0,
        strengths, clearances, s / k * w1, r.rate_factor - 1.0, r.rate_reference if r.rate_factor > 1.0 else 0.0,
        r.fatigue, tires * r.fatigue_strength, -tires / r.fatigue_exponent, tires * r.fatigue_knee,
        r.starts_done if peak > 0.0 else 0.0, peak,
    )  # fmt: skip
    each = (
        _ratio(r, 0), _ratio(r, 1), _ratio(r, 2), _ratio(r, 3), _ratio(r, 4), _ratio(r, 5), _ratio(r, 6), _ratio(r, 7),
        _half(r, 0), _half(r, 1), _half(r, 2), _half(r, 3), _half(r, 4), _half(r, 5), _half(r, 6), _half(r, 7),
    )  # fmt: skip
    return law + each


def dial(
    p: Any, f: float
) -> tuple[
    float, float, float, float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float, float, float, float, float, float, float, float, float, float, float, float, float, float, float,
    float, float,
]:  # fmt: skip
    """Another section: strength and stiffness grow alike, the way to fracture stays."""
    law = (
        p[pn.STRENGTH] * f, p[1], p[pn.K] * f, p[pn.C] * f, p[4], p[5], p[6], p[7], p[8], p[9], p[10], p[11], p[12],
        p[13], p[14], p[15], p[16], p[17],
    )  # fmt: skip
    each = (
        p[18], p[19], p[20], p[21], p[22], p[23], p[24], p[25], p[26], p[27], p[28], p[29], p[30], p[31], p[32],
        p[33],
    )  # fmt: skip
    return law + each


def start_mode(p: Any, sense: float) -> int:
    return ct.start_flank(1.0 if p[pn.UNEQUAL] > 0.5 else p[pn.HALF], sense)


def guards(q: Q, T: float) -> tuple[float, float, float, float, float, float]:
    reset = new_pins_guard(q)
    if q.m == GONE:
        return 1.0, 1.0, 1.0, 1.0, 1.0, reset
    a, b, c, d = least_guards(q) if q.p[pn.UNEQUAL] > 0.5 else set_guards(q, T)
    return a, b, c, d, turn_guard(q), reset


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == 5:
        return new_pins(q, X, M)
    if k == 4:
        return turn(q, X, M)
    if q.p[pn.UNEQUAL] > 0.5:
        return _switch_pins(k, q, X, M)
    m = q.m
    if m >= STRETCH_F:
        if k == 2:
            return break_set(q, M)
        return _hold(q, X, M)
    if k < 2:
        return flank_switch(m, k, q.phi - q.x[pn.SET], q.p[pn.HALF]), 0.0
    if q.p[pn.PLASTIC] <= q.x[pn.USED]:
        return break_set(q, M)
    return (STRETCH_F if k == 2 else STRETCH_B), 0.0


def _hold(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Stretching stops; the pins hold on."""
    p = q.p
    side = 1.0 if q.m == STRETCH_F else -1.0
    if p[pn.FATIGUE] > 0.5:
        begin_anew(q, M)
    rest, heat = held(side, q.phi - q.x[pn.SET], p[pn.HALF], p[pn.K], p[pn.STRENGTH])
    X[pn.SET] = q.x[pn.SET] + side * rest
    M[pn.LASTING] = X[pn.SET]
    return rested(side, p[pn.HALF]), heat


def _switch_pins(k: int, q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Switch the pin whose guard ``k`` is lowest, with it those that stand equal or clearly below zero."""
    n = int(q.p[pn.PINS])
    lowest = 1e300
    first = 0
    for i in range(n):
        g = pin_guards(q, i)[k]
        if g < lowest:
            lowest = g
            first = i
    if q.p[pn.FATIGUE] > 0.5 and k == 0 and state_of(q, first) >= STRETCH_F:
        begin_anew(q, M)
    heat = 0.0
    for i in range(n):
        g = pin_guards(q, i)[k]
        s = state_of(q, i)
        M[pn.STATE + i] = s
        if g <= lowest or g < -pn.CLEAR:
            heat += switch_pin(k, q, i, X, M)
    return together(M, n), heat


def band(p: Any, tab: Any = ()) -> float:
    """Torque that the pins reach together over the setting."""
    return _most(p, tab) / p[pn.STRENGTH]


def _unknown(p: Any, tab: Any) -> bool:
    """Whether the pins are listed, but not here: they then count as alike."""
    return bool(p[pn.LIST_S] >= 0.0 or p[pn.LIST_H] >= 0.0) and len(tab) == 0


def _most(p: Any, tab: Any) -> float:
    if p[pn.UNEQUAL] < 0.5 or _unknown(p, tab):
        return float(p[pn.STRENGTH])
    return most_torque(p, tab)


def _energy(p: Any, tab: Any) -> float:
    """Energy to break all pins from rest, slowly [J]."""
    n = 1 if _unknown(p, tab) else pn.followed(p)
    total = 0.0
    for i in range(n):
        s = p[pn.STRENGTH] / n if _unknown(p, tab) else strength_of(p, tab, i)
        total += 0.5 * s * s * n / p[pn.K] + s * p[pn.PLASTIC]
    return total


def hint(p: Any) -> float:
    return p[pn.K]


def sheet(p: Any, tab: Any = ()) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    out = {
        "setting": (p[pn.STRENGTH], "torque"),
        "stiffness": (p[pn.K], "stiffness"),
        "plastic twist to fracture": (p[pn.PLASTIC], "angle"),
        "clearance": (2 * p[pn.HALF], "angle"),
        "energy to break": (_energy(p, tab), "energy"),
    }
    known = not _unknown(p, tab)
    if p[pn.UNEQUAL] > 0.5 and known:
        out["largest torque of these unequal pins"] = (_most(p, tab), "torque")
    if p[pn.START_PEAK] > 0.0 and known:
        twist = twist_under(p, tab, p[pn.START_PEAK])
        worst = max(start_damage(p, tab, i, twist) for i in range(pn.followed(p)))
        if worst > 0.0:
            out["starts until it breaks"] = (1.0 / worst, "count")
    return out


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (x[pn.WORN] if p[pn.FATIGUE] > 0.5 else nan,)
