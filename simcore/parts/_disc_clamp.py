r"""Clamping of a friction disc: faces, diameters, force on them, and the nut and spring that give it.

Torque :math:`T = n\mu F r_m` of :math:`n` faces, with the mean radius and the largest face pressure

- uniform wear: :math:`r_m = (D+d)/4`, :math:`p = 2F/(\pi d(D-d))` at the inner edge,
- uniform pressure: :math:`r_m = (D^3-d^3)/(3(D^2-d^2))`, :math:`p = 4F/(\pi(D^2-d^2))`.

A nut of pitch :math:`P`, turned by :math:`a` [rad] from where it just touches, clamps with
:math:`F = N k P a/2\pi` through :math:`N` springs side by side of rate :math:`k`.

Source: Budynas and Nisbett, Shigley's Mechanical Engineering Design, clutches (cited from memory);
helical motion and linear spring, textbook.
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import Param
from simcore.parts._elastic import both_or_neither
from simcore.parts._given import either, narrower

CLAMP = (
    Param("faces", "count", "friction faces", low=1, high=64),
    Param("outer_diameter", "length", "outer diameter of the friction face", above="0 mm"),
    Param("inner_diameter", "length", "inner diameter of the friction face", above="0 mm"),
    Param("pressure_law", "choice", "run-in facings wear evenly, new stiff ones press evenly",
          default="uniform wear", choices=("uniform wear", "uniform pressure"),
          source="the smaller torque; run-in facings"),
    Param("clamp_force", "force", "axial force on the faces", above="0 N"),
    Param("spring_rate", "linear_stiffness", "rate of one spring, or of a whole disc-spring stack", above="0 N/mm",
          usual=("50 N/mm", "20 kN/mm"), source="common practice, from memory"),
    Param("springs", "count", "springs side by side; a stack counts as one", default=1, low=1, high=64,
          source="one stack in the middle"),
    Param("nut_pitch", "length", "travel of the adjusting nut in one turn", above="0 mm",
          usual=("1 mm", "3 mm"), source="fine threads, from memory"),
    Param("nut_turns", "angle", "turning of the nut from where it just touches the spring", above="0 rev",
          usual=("0.3 rev", "6 rev"), source="common practice, from memory"),
    Param("solid_travel", "length", "travel of the spring from free to solid", above="0 mm"),
    Param("allowable_pressure", "stress", "face pressure that the facing bears", above="0 MPa",
          usual=("0.1 MPa", "0.8 MPa"), source="dry organic facing, from memory"),
    Param("friction", "ratio", "running coefficient of friction", default=0.36, above=0, high=1.2,
          usual=(0.3, 0.45), source="dry organic facing, from memory"),
)  # fmt: skip
"""Inputs that make the setting by geometry."""


def mean_radius(outer: float, inner: float, even_pressure: float) -> float:
    """Radius [m] at which the friction force acts, from the diameters [m]; NaN if one is missing."""
    if even_pressure > 0.5:
        return (outer * outer + outer * inner + inner * inner) / (3.0 * (outer + inner))
    return 0.25 * (outer + inner)


def top_pressure(force: float, outer: float, inner: float, even_pressure: float) -> float:
    """Largest pressure [Pa] on the face; NaN if an input is missing."""
    if even_pressure > 0.5:
        return 4.0 * force / (pi * (outer * outer - inner * inner))
    return 2.0 * force / (pi * inner * (outer - inner))


def force_per_angle(r: Any) -> float:
    """Clamp force for one radian of the nut [N/rad]; NaN if the nut or its spring is incomplete."""
    return r.springs * r.spring_rate * r.nut_pitch / (2.0 * pi)


def clamp_given(r: Any) -> float:
    """Clamp force [N] as given or by the nut; NaN if neither is complete."""
    if isnan(r.clamp_force):
        return force_per_angle(r) * r.nut_turns
    return r.clamp_force


def clamp_needs(r: Any) -> tuple[str, ...]:
    """Names of the inputs that make the clamp force, the way it was begun."""
    if not isnan(r.clamp_force):
        return ("clamp_force",)
    return either(r, ("clamp_force",), ("nut_pitch", "nut_turns", "spring_rate"))


def torque_per_force(r: Any) -> float:
    """Running torque for one newton of clamp force [m]; NaN if the faces are incomplete."""
    return r.faces * r.friction * mean_radius(r.outer_diameter, r.inner_diameter, r.pressure_law)


def setting_of(r: Any) -> float:
    """Setting [N*m] as given or by geometry; NaN if neither is complete."""
    if isnan(r.setting):
        return torque_per_force(r) * clamp_given(r)
    return r.setting


def clamp_of(r: Any, setting: float) -> float:
    """Clamp force [N] as given, by the nut, or as the setting [N*m] needs it; NaN if unknown."""
    force = clamp_given(r)
    if isnan(force):
        return setting / torque_per_force(r)
    return force


def nut_of(r: Any, force: float) -> float:
    """Turning of the nut [rad] as given or as the force [N] needs it; NaN if unknown."""
    if isnan(r.nut_turns):
        return force / force_per_angle(r)
    return r.nut_turns


def clamp_refusals(r: Any) -> list[str]:
    """What is impossible about faces, nut and spring."""
    if r.inner_diameter >= r.outer_diameter:
        return narrower(r, "inner_diameter", "outer_diameter")
    by_nut = force_per_angle(r) * r.nut_turns
    out = both_or_neither(r.clamp_force, by_nut, f"clamp force {r.clamp_force:.4g} N contradicts nut and spring, "
                          f"which give {by_nut:.4g} N: leave one of them out")  # fmt: skip
    force = clamp_of(r, setting_of(r))
    angle = nut_of(r, force)
    travel = r.nut_pitch * angle / (2.0 * pi)
    if travel > r.solid_travel:
        out.append(f"the nut at {angle / (2.0 * pi):.4g} turns presses the spring by {1e3 * travel:.4g} mm, but it "
                   f"is solid at {1e3 * r.solid_travel:.4g} mm: a solid spring limits nothing")  # fmt: skip
    pressure = top_pressure(force, r.outer_diameter, r.inner_diameter, r.pressure_law)
    if pressure > r.allowable_pressure:
        out.append(f"the face pressure of {1e-6 * pressure:.4g} MPa is above the allowable "
                   f"{1e-6 * r.allowable_pressure:.4g} MPa: more faces or larger ones are needed")  # fmt: skip
    return out
