r"""Moving mass: payload and carriers on a travelling station, :math:`E = \tfrac12 m v^2`.  Source: textbook."""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param

KIND = Kind(
    name="moving mass",
    family="body",
    domain="travel",
    hubs=1,
    summary="mass that travels: payload, carriers, belt",
    params=(Param("mass", "mass", "mass that travels", required=True, above="0 kg"),),
    sources=("rigid body: textbook",),
)


def inertias(r: Any) -> tuple[float, float]:
    return r.mass, 0.0
