r"""Drum, sprocket or pulley: turns rotation into travel (or travel into rotation), :math:`x = r\theta`.

Rigid; its inertia joins the station it stands on.  Source: rolling without slip, textbook.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param

KIND = Kind(
    name="drum",
    family="body",
    domain="any",
    hubs=1,
    summary="drum, sprocket or pulley between rotation and travel, with its inertia",
    params=(
        Param("radius", "length", "effective (pitch) radius", required=True, above="0 mm"),
        Param("inertia", "inertia", "inertia about its axis", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    ),
    sources=("rolling without slip: textbook",),
)  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0


def scale(r: Any) -> float:
    return float(r.radius)
