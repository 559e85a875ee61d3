r"""Flexible coupling: linear spring, relative damping, optional lash.

.. math:: T = k(\varphi \mp \beta/2) + c\nu \text{ on a flank}, \quad c = \frac{\psi k}{2\pi\omega_1}

Source: relative damping as defined in DIN 740-2 (cited from memory); contact see
:mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_guards, flank_loss, flank_store, flank_switch, flank_torque
from simcore.parts._elastic import both_or_neither, damping, stiffness

K, C, HALF = range(3)

KIND = Kind(
    name="flexible coupling",
    family="transmission",
    summary="elastic coupling with relative damping and lash",
    params=(
        Param("stiffness", "stiffness", "torque for one radian of twist", above="0 N*m/rad"),
        Param("rated_torque", "torque", "rated torque", above="0 N*m"),
        Param("twist_at_rated", "angle", "twist at rated torque", above="0 deg",
              usual=("0.1 deg", "15 deg")),
        Param("lash", "angle", "whole play between the flanks", default="0 deg", low="0 deg",
              high="20 deg", usual=("0 deg", "2 deg"), source="most new couplings have none"),
        Param("relative_damping", "ratio", "energy lost in one cycle over the elastic energy",
              default=0.8, low=0, high=3, usual=(0.6, 1.0),
              source="hard elastomer star; common practice, from memory; definition as in DIN 740-2"),
        Param("inertia_in", "inertia", "inertia of the driving hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
    ),
    row=("k", "c", "half"),
    modes=ct.MODES,
    guards=("flank", "flank again"),
    sources=("DIN 740-2: relative damping",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    k = stiffness(float("nan"), r.twist_at_rated, r.rated_torque)
    if isnan(r.stiffness) and isnan(k):
        return ["give the stiffness, or the rated torque and the twist at it"]
    return both_or_neither(
        r.stiffness, k, f"stiffness {r.stiffness:.4g} N*m/rad contradicts rated torque over twist, {k:.4g}"
    )


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    return k, damping(r.relative_damping, k, w1), 0.5 * r.lash


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    if p[HALF] <= 0.0:
        return ct.TIGHT_F
    return ct.start_flank(p[HALF], sense)


def torque(q: Q) -> float:
    return flank_torque(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF])


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m >= ct.TIGHT_F:
        return 1.0, 1.0
    return flank_guards(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF], T)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return flank_switch(q.m, k, q.phi, q.p[HALF]), 0.0


def loss(q: Q, T: float) -> float:
    return flank_loss(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF])


def store(q: Q) -> float:
    return flank_store(q.m, q.phi, q.p[K], q.p[HALF])


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping"), "lash": (2 * p[HALF], "angle")}
