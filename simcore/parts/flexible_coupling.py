r"""Flexible coupling: linear or progressive spring, relative damping, optional lash.

.. math:: T = k d\left(1 + q\frac{d^2}{\varphi_r^2}\right) + c\left(1 + 2q\frac{d^2}{\varphi_r^2}\right)\nu,
          \quad d = \varphi \mp \frac{\beta}{2} \text{ on a flank}, \quad c = \frac{\psi k}{2\pi\omega_1}

With ``small_swing_damping`` the damper follows the twist met: :math:`c \to c + c_+ d^2/(d^2 + \varphi_d^2)`.

Source: relative damping as defined in DIN 740-2 (cited from memory); law and energy see
:mod:`simcore.parts._flexible`, contact :mod:`simcore.parts._contact`, flange :mod:`simcore.parts._mounting`.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Q
from simcore.parts import _contact as ct
from simcore.parts import _flexible as fx
from simcore.parts._flexible import (
    elastic_faults,
    elastic_row,
    flexible_guards,
    flexible_hint,
    flexible_loss,
    flexible_params,
    flexible_sheet,
    flexible_start,
    flexible_store,
    flexible_switch,
    flexible_torque,
)
from simcore.parts._mounting import mounting_faults, mounting_params, mounting_sheet, overhung_load

OVERHUNG = len(fx.ROW)

KIND = Kind(
    name="flexible coupling",
    family="transmission",
    summary="elastic coupling, linear or progressive, with relative damping and lash",
    params=(*flexible_params(), *mounting_params()),
    row=(*fx.ROW, "overhung"),
    modes=ct.MODES,
    guards=fx.GUARDS,
    sources=("DIN 740-2: relative damping",),
    character="twist",
    example={"rated_torque": "90 N*m", "twist_at_rated": "1 deg", "progression": 2, "lash": "0.3 deg"},
)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return elastic_faults(r) + mounting_faults(r)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    return (*elastic_row(r, w1), overhung_load(r))


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    return flexible_start(p, sense)


def torque(q: Q) -> float:
    return flexible_torque(q.m, q.phi, q.nu, q.p)


def guards(q: Q, T: float) -> tuple[float, float]:
    return flexible_guards(q.m, q.phi, q.nu, q.p, T)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return flexible_switch(q.m, k, q.phi, q.p)


def loss(q: Q, T: float) -> float:
    return flexible_loss(q.m, q.phi, q.nu, q.p)


def store(q: Q) -> float:
    return flexible_store(q.m, q.phi, q.p)


def hint(p: Any) -> float:
    return flexible_hint(p)


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return flexible_sheet(p) | mounting_sheet(p[OVERHUNG])
