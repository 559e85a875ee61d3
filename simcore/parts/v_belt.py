r"""V-belt: a belt that wedges into its groove, so that it holds as a flat one with more friction.

.. math:: F_{max} = 2 F_0 \tanh\frac{\mu'\beta}{2}, \qquad \mu' = \frac{\mu}{\sin(\alpha/2)}

with the groove angle :math:`\alpha`; pretension and pull are those of all belts together.  Law, slip and heat see
:mod:`simcore.parts._belt_drive`.  Source: Niemann and Winter, Maschinenelemente 3 (cited from memory); wedge,
textbook.
"""

from __future__ import annotations

from math import sin
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _belt_drive as bd
from simcore.parts._belt_drive import belt_row, inertias, ratios, sheet
from simcore.parts.friction_disc import guards, hint, loss, rate, start_mode, store, switch, torque

__all__ = [
    "KIND", "guards", "hint", "inertias", "loss", "rate", "ratios", "sheet", "start_mode", "store", "switch", "torque",
]  # fmt: skip

KIND = Kind(
    name="V-belt",
    family="transmission",
    summary="V-belts between two grooved pulleys: elastic strands under pretension, slip at their largest pull",
    params=(
        *bd.pulley_params(),
        Param("belts", "count", "number of belts side by side", default=1, low=1, high=20, source="one belt"),
        Param("tensile_stiffness", "force", "force over strain of one belt (EA)", default="25 kN", above="0 N",
              usual=("15 kN", "40 kN"), source="common practice, from memory"),
        Param("groove_angle", "angle", "whole angle of the groove", default="36 deg", low="20 deg", high="120 deg",
              usual=("34 deg", "38 deg"), source="34 to 38 degrees as in ISO 4183, from memory"),
        Param("friction", "ratio", "coefficient of friction on the flanks", default=0.3, above=0, high=2,
              usual=(0.2, 0.5), source="common practice, from memory"),
        *bd.heat_params(),
    ),
    row=bd.ROW,
    modes=bd.MODES,
    states=bd.STATES,
    guards=bd.GUARDS,
    memory=bd.MEMORY,
    character="twist",
    example={"radius_in": "60 mm", "radius_out": "120 mm", "centre_distance": "0.6 m"},
    cautions=(*bd.CAUTIONS, "Renew all belts together: an old one beside new ones carries little."),
    sources=(*bd.SOURCES, "ISO 4183: grooves (cited from memory)"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return bd.belt_faults(r, r.belts * r.tensile_stiffness)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    return belt_row(r, w1, r.belts * r.tensile_stiffness, r.friction / sin(0.5 * r.groove_angle))
