"""Kinds that exist in tests only: three systems of rates without torque, stiff or not."""

from __future__ import annotations

from math import cos, sin
from types import ModuleType
from typing import Any

from simcore.contract import Kind, Q, State


def _kind(name: str, rate: Any, *scales: float) -> ModuleType:
    module: Any = ModuleType(name.replace(" ", "_"))
    own = tuple(State(f"x{i}", "1", scale, "toy") for i, scale in enumerate(scales))
    module.KIND = Kind(name, "command", name, (), hubs=0, domain="any", states=own)
    module.rate = rate
    return module  # type: ignore[no-any-return]


def van_der_pol(q: Q, T: float) -> tuple[float, float]:
    return q.x[1], ((1.0 - q.x[0] * q.x[0]) * q.x[1] - q.x[0]) / 1e-6


def robertson(q: Q, T: float) -> tuple[float, float, float]:
    a = 0.04 * q.x[0] - 1e4 * q.x[1] * q.x[2]
    b = 3e7 * q.x[1] * q.x[1]
    return -a, a - b, b


def follower(q: Q, T: float) -> tuple[float, float]:
    """Follows (sin t, cos t) exactly if it begins there: Prothero and Robinson's sort of problem, coupled."""
    return (-5.0 * (q.x[0] - sin(q.t)) * (1.0 + q.x[1] * q.x[1]) + cos(q.t),
            -3.0 * (q.x[1] - cos(q.t)) * (1.5 + q.x[0]) - sin(q.t))  # fmt: skip


MODULES = [
    _kind("van der Pol", van_der_pol, 1.0, 1e3),
    _kind("Robertson", robertson, 1.0, 1e-4, 1.0),
    _kind("follower", follower, 1.0, 1.0),
]
