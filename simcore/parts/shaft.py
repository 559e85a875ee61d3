r"""Shaft: a linear torsional spring with a small structural loss.

.. math:: T = k\varphi + c\nu, \quad k = \frac{G \pi (d^4 - d_i^4)}{32\, l}, \quad
          \frac{\tau}{T} = \frac{16 d}{\pi (d^4 - d_i^4)}

Source: torsion of a round bar, Budynas and Nisbett, Shigley's Mechanical Engineering Design.
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, both_or_neither, damping
from simcore.parts._given import narrower, or_else
from simcore.parts._powers import square

K, C, STRESS = range(3)

KIND = Kind(
    name="shaft",
    family="transmission",
    summary="elastic shaft, by stiffness or by diameter and length",
    params=(
        Param("stiffness", "stiffness", "torque for one radian of twist", above="0 N*m/rad"),
        Param("diameter", "length", "outer diameter of a round shaft", above="0 mm"),
        Param("bore", "length", "bore of a hollow shaft; left out: solid", above="0 mm"),
        Param("length", "length", "length between its ends", above="0 mm"),
        Param("shear_modulus", "stress", "shear modulus", default="80 GPa", above="0 GPa",
              usual=("78 GPa", "82 GPa"), source="steel, textbook value from memory"),
        Param("inertia", "inertia", "inertia of the shaft, half at each end", default="0 kg*m^2",
              low="0 kg*m^2", source="a plain shaft's own inertia is usually small"),
        RELATIVE_DAMPING,
    ),
    row=("k", "c", "stress"),
    sources=("Shigley's Mechanical Engineering Design: torsion of a round bar",),
)  # fmt: skip


def _polar(r: Any) -> float:
    """Polar moment of the section [m^4]; NaN if the diameter is not given."""
    outer, inner = square(square(r.diameter)), square(square(or_else(r.bore, 0.0)))
    return float(pi * (outer - inner) / 32.0)


def _bar(r: Any) -> float:
    """Stiffness by geometry [N*m/rad]; NaN if it is incomplete."""
    return float(r.shear_modulus * _polar(r) / r.length)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.bore >= r.diameter:
        return narrower(r, "bore", "diameter", ", the bore is as wide as the shaft")
    if isnan(r.stiffness) and (isnan(r.diameter) or isnan(r.length)):
        return ["give the stiffness, or diameter and length"]
    bar = _bar(r)
    return both_or_neither(
        r.stiffness, bar, f"stiffness {r.stiffness:.4g} N*m/rad contradicts the bar's {bar:.4g} N*m/rad"
    )


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    k = or_else(r.stiffness, _bar(r))
    stress = 0.5 * r.diameter / _polar(r)
    return k, damping(r.relative_damping, k, w1), or_else(stress, 0.0)


def inertias(r: Any) -> tuple[float, float]:
    return 0.5 * r.inertia, 0.5 * r.inertia


def torque(q: Q) -> float:
    return q.p[K] * q.phi + q.p[C] * q.nu


def loss(q: Q, T: float) -> float:
    return q.p[C] * q.nu * q.nu


def store(q: Q) -> float:
    return 0.5 * q.p[K] * q.phi * q.phi


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); shear at the surface, without notches, where a diameter is given."""
    out = {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping")}
    if p[STRESS] > 0.0:
        out["nominal shear stress at 100 N*m"] = (100.0 * p[STRESS], "stress")
    return out
