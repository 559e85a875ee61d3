r"""Rigid coupling: sleeve, clamp or flange, next to no twist, no play.

.. math:: T = k\varphi + c\nu, \quad k = \frac{T_r}{\varphi_r}, \quad c = \frac{\psi k}{2\pi\omega_1}

Source: linear spring, textbook; twist at rated torque common practice, from memory; overhung load see
:mod:`simcore.parts._mounting`.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._mounting import mounting_faults, mounting_params, mounting_sheet, overhung_load

K, C, OVERHUNG = range(3)

KIND = Kind(
    name="rigid coupling",
    family="transmission",
    summary="sleeve, clamp or flange: very stiff, no play, takes up no misalignment",
    params=(
        Param("rated_torque", "torque", "rated torque", above="0 N*m"),
        Param("stiffness", "stiffness", "torque for one radian of twist; left out: from twist_at_rated",
              above="0 N*m/rad"),
        Param("twist_at_rated", "angle", "twist at rated torque", default="0.03 deg", above="0 deg",
              usual=("0.02 deg", "0.05 deg"), source="sleeve or clamp; common practice, from memory"),
        Param("inertia_in", "inertia", "inertia of the driving hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        RELATIVE_DAMPING,
        *mounting_params(),
    ),
    row=("k", "c", "overhung"),
    cautions=("It takes up no misalignment: shafts out of line load the bearings and tire the shafts.",),
    sources=("linear spring: textbook", "Niemann and Winter, Maschinenelemente 3: strand forces (cited from memory)"),
    character="twist",
    example={"rated_torque": "120 N*m"},
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if isnan(r.stiffness) and isnan(r.rated_torque):
        out.append("give the stiffness, or the rated torque (and the twist at it)")
    return out + mounting_faults(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    return k, damping(r.relative_damping, k, w1), overhung_load(r)


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


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
    return {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping")} | mounting_sheet(p[OVERHUNG])
