"""A part that exists in tests only: a hardening spring, T = k*phi + k3*phi^3, undamped."""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param, Q

KIND = Kind(
    name="toy spring",
    family="transmission",
    summary="hardening spring",
    params=(
        Param("k", "stiffness", "slope at rest", required=True),
        Param("k3", "ratio", "growth", required=True),
    ),
    row=("k", "k3"),
    sources=("Duffing's spring: textbook",),
)


def resolve(r: Any, w1: float) -> tuple[float, float]:
    return r.k, r.k3


def torque(q: Q) -> float:
    return q.p[0] * q.phi + q.p[1] * q.phi * q.phi * q.phi


def loss(q: Q, T: float) -> float:
    return 0.0


def store(q: Q) -> float:
    return 0.5 * q.p[0] * q.phi**2 + 0.25 * q.p[1] * q.phi**4


def hint(p: Any) -> float:
    return p[0]
