r"""Flywheel: inertia on a turning station, :math:`E = \tfrac12 J\omega^2`.  Source: textbook."""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param

KIND = Kind(
    name="flywheel",
    family="body",
    hubs=1,
    summary="inertia on a turning station: flywheel, rotor, table",
    params=(Param("inertia", "inertia", "inertia about its axis", required=True, above="0 kg*m^2"),),
    sources=("rigid body: textbook",),
)


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0
