r"""Shaft: a linear torsional spring with a small structural loss.

.. math:: T = k\varphi + c\nu, \quad k = \frac{G \pi d^4}{32\, l}

Source: torsion of a round bar, Budynas and Nisbett, Shigley's Mechanical Engineering Design.
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, both_or_neither, damping

K, C = range(2)

KIND = Kind(
    name="shaft",
    family="transmission",
    summary="elastic shaft, by stiffness or by diameter and length",
    params=(
        Param("stiffness", "stiffness", "torque for one radian of twist", above="0 N*m/rad"),
        Param("diameter", "length", "diameter of a solid round shaft", above="0 mm"),
        Param("length", "length", "length between its ends", above="0 mm"),
        Param("shear_modulus", "stress", "shear modulus", default="80 GPa", above="0 GPa",
              usual=("78 GPa", "82 GPa"), source="steel, textbook value from memory"),
        Param("inertia", "inertia", "inertia of the shaft, half at each end", default="0 kg*m^2",
              low="0 kg*m^2", source="a plain shaft's own inertia is usually small"),
        RELATIVE_DAMPING,
    ),
    row=("k", "c"),
    sources=("Shigley's Mechanical Engineering Design: torsion of a round bar",),
)  # fmt: skip


def _k(r: Any) -> float:
    if not isnan(r.stiffness):
        return float(r.stiffness)
    return float(r.shear_modulus * pi * r.diameter**4 / (32.0 * r.length))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if isnan(r.stiffness) and (isnan(r.diameter) or isnan(r.length)):
        return ["give the stiffness, or diameter and length"]
    if isnan(r.diameter) or isnan(r.length) or isnan(r.stiffness):
        return []
    bar = r.shear_modulus * pi * r.diameter**4 / (32.0 * r.length)
    return both_or_neither(
        r.stiffness, bar, f"stiffness {r.stiffness:.4g} N*m/rad contradicts the bar's {bar:.4g} N*m/rad"
    )


def resolve(r: Any, w1: float) -> tuple[float, float]:
    k = _k(r)
    return k, damping(r.relative_damping, k, w1)


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
    """Name -> (value in SI, kind of quantity)."""
    return {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping")}
