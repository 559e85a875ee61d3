r"""Shear pins: elastic, then plastic at their strength, broken once the plastic way is used up.

.. math:: T = k(\varphi - \varphi_p \mp \beta/2) + c\nu \le T_u, \qquad T_u = n\,z\,\tau_B\,
          \frac{\pi d^2}{4}\,R

with pins :math:`n`, sections :math:`z`, shear strength :math:`\tau_B`, clearance :math:`\beta` and plastic
twist :math:`\varphi_p`.  Fracture when :math:`\int|\dot\varphi_p|\,dt = s/R`; the elastic energy left is
lost as heat there.  All pins alike and sharing evenly.  Source: shear of a round section, Budynas and
Nisbett, Shigley's Mechanical Engineering Design.
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import BROKEN, ENGAGED, Kind, Mode, Param, Q, State
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_guards, flank_loss, flank_store, flank_switch, flank_torque
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

STRENGTH, PLASTIC, K, C, HALF = range(5)
STRETCH_F, STRETCH_B, GONE = 7, 8, 9
SET, USED = range(2)
INSIDE = 1e-9

KIND = Kind(
    name="shear pins",
    family="protection",
    summary="break at their strength; both sides free until new pins are fitted",
    params=(
        Param("setting", "torque", "largest quasi-static torque of the set", above="0 N*m"),
        Param("pins", "count", "number of pins", default=2, low=1, high=24, source="balanced pair"),
        Param("pin_diameter", "length", "diameter at the notch", above="0 mm"),
        Param("radius", "length", "radius of the pin circle", above="0 mm"),
        Param("shear_strength", "stress", "shear strength of the pin's material", above="0 MPa",
              usual=("200 MPa", "700 MPa")),
        Param("sections", "count", "sections that shear: 1 single, 2 double shear", default=1, low=1,
              high=2, source="single shear"),
        tolerance("10 %", ("5 %", "25 %")),
        Param("clearance", "angle", "whole twist the pins can move freely in their holes",
              default="0.1 deg", low="0 deg", high="10 deg", usual=("0 deg", "0.2 deg"),
              source="0.05 to 0.15 mm at the pin circle; common practice, from memory"),
        Param("stiffness", "stiffness", "torsional stiffness of the pinned joint", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "elastic twist at the setting", default="0.1 deg",
              above="0 deg", usual=("0.05 deg", "0.2 deg"), source="common practice, from memory"),
        Param("slide_to_fracture", "ratio", "plastic way until fracture over pin diameter (by geometry)",
              default=0.25, low=0, high=2, usual=(0.15, 0.4), source="common practice, from memory"),
        Param("twist_to_fracture", "angle", "plastic twist until fracture; left out: from the geometry, "
              "else 1 deg", low="0 deg", high="45 deg", usual=("0.3 deg", "3 deg")),
        RELATIVE_DAMPING,
        again_time("15 min", ("5 min", "45 min")),
        *hub_params(),
    ),
    row=("strength", "plastic", "k", "c", "half"),
    modes=(*ct.MODES, Mode("stretching forward", ENGAGED), Mode("stretching backward", ENGAGED),
           Mode("broken", BROKEN, False)),
    states=(State("plastic twist", "rad", 0.01, "lasting twist of the pins, signed"),
            State("plastic way", "rad", 0.01, "plastic twist added up")),
    guards=("flank", "flank again", "strength", "strength backward"),
    memory=("sets broken",),
    tally="sets broken",
    lets_go="the pins shear off",
    leaves="both sides fully free; no drive through the jam; broken pieces to be caught",
    runs_again="with new pins of the same grade",
    again="replace",
    cautions=("Fit only pins of the stated grade: a stronger pin moves the break elsewhere.",
              "Pins tire: frequent heavy starts break them early."),
    sources=("Shigley's Mechanical Engineering Design: round section in shear",),
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Torque [N*m] of the set; NaN if the geometry is incomplete."""
    area = 0.25 * pi * r.pin_diameter * r.pin_diameter
    return r.pins * r.sections * r.shear_strength * area * r.radius


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = setting_or(r, _geometry(r), "pin_diameter, radius and shear_strength")
    if r.pin_diameter >= r.radius:
        out.append("the pin is as thick as its circle: radius must exceed the diameter")
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    s = _geometry(r) if isnan(r.setting) else r.setting
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    plastic = r.twist_to_fracture
    if isnan(plastic):
        plastic = r.slide_to_fracture * r.pin_diameter / r.radius
    if isnan(plastic):
        plastic = pi / 180.0
    return s, plastic, k, damping(r.relative_damping, k, w1), 0.5 * r.clearance


def dial(p: Any, f: float) -> tuple[float, ...]:
    """Another section: strength and stiffness grow alike, the way to fracture stays."""
    return p[STRENGTH] * f, p[PLASTIC], p[K] * f, p[C] * f, p[HALF]


def start_mode(p: Any, sense: float) -> int:
    return ct.start_flank(p[HALF], sense)


def torque(q: Q) -> float:
    if q.m == GONE:
        return 0.0
    if q.m == STRETCH_F:
        return q.p[STRENGTH]
    if q.m == STRETCH_B:
        return -q.p[STRENGTH]
    return flank_torque(q.m, q.phi - q.x[SET], q.nu, q.p[K], q.p[C], q.p[HALF])


def rate(q: Q, T: float) -> tuple[float, float]:
    if q.m == STRETCH_F or q.m == STRETCH_B:
        return q.nu, (q.nu if q.m == STRETCH_F else -q.nu)
    return 0.0, 0.0


def loss(q: Q, T: float) -> float:
    if q.m == GONE:
        return 0.0
    if q.m >= STRETCH_F:
        return T * q.nu
    return flank_loss(q.m, q.phi - q.x[SET], q.nu, q.p[K], q.p[C], q.p[HALF])


def guards(q: Q, T: float) -> tuple[float, float, float, float]:
    m = q.m
    if m == GONE:
        return 1.0, 1.0, 1.0, 1.0
    if m >= STRETCH_F:
        side = 1.0 if m == STRETCH_F else -1.0
        return side * q.nu, 1.0, q.p[PLASTIC] - q.x[USED], 1.0
    g0, g1 = flank_guards(m, q.phi - q.x[SET], q.nu, q.p[K], q.p[C], q.p[HALF], T)
    if m >= ct.TIGHT_F:
        g0 = 1.0
    return g0, g1, q.p[STRENGTH] - T, q.p[STRENGTH] + T


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m = q.m
    if m >= STRETCH_F:
        if k == 2:
            return _break(q, M)
        return _hold(q, X)
    if k < 2:
        return flank_switch(m, k, q.phi - q.x[SET], q.p[HALF]), 0.0
    if q.p[PLASTIC] <= q.x[USED]:
        return _break(q, M)
    return (STRETCH_F if k == 2 else STRETCH_B), 0.0


def _hold(q: Q, X: Any) -> tuple[int, float]:
    """Stretching stops; the pins hold a hair below their strength, clear of rounding."""
    side = 1.0 if q.m == STRETCH_F else -1.0
    z = side * (q.phi - q.x[SET]) - q.p[HALF]
    held = (1.0 - INSIDE) * q.p[STRENGTH] / q.p[K]
    heat = 0.0
    if z > held:
        X[SET] = q.x[SET] + side * (z - held)
        heat = 0.5 * q.p[K] * (z * z - held * held)
    if q.p[HALF] <= 0.0:
        return ct.TIGHT_F, heat
    return (ct.FORWARD if side > 0.0 else ct.BACKWARD), heat


def _break(q: Q, M: Any) -> tuple[int, float]:
    """The pins go; the elastic energy left in them becomes heat [J]."""
    M[0] = q.mem[0] + 1.0
    return GONE, _elastic(q)


def _elastic(q: Q) -> float:
    """Elastic energy [J], stretching or not."""
    m = q.m
    if m == GONE:
        return 0.0
    if m >= STRETCH_F:
        if q.p[HALF] <= 0.0:
            m = ct.TIGHT_F
        else:
            m = ct.FORWARD if m == STRETCH_F else ct.BACKWARD
    return flank_store(m, q.phi - q.x[SET], q.p[K], q.p[HALF])


def store(q: Q) -> float:
    return _elastic(q)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "setting": (p[STRENGTH], "torque"),
        "stiffness": (p[K], "stiffness"),
        "plastic twist to fracture": (p[PLASTIC], "angle"),
        "clearance": (2 * p[HALF], "angle"),
        "energy to break": (0.5 * p[STRENGTH] ** 2 / p[K] + p[STRENGTH] * p[PLASTIC], "energy"),
    }
