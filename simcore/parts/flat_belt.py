r"""Flat belt between two pulleys: pulls by friction, slips at the largest pull its pretension and wrap hold.

.. math:: F_{max} = 2 F_0 \tanh\frac{\mu\beta}{2}

Law, slip and heat see :mod:`simcore.parts._belt_drive`.  Source: Euler and Eytelwein, textbook; Niemann and Winter,
Maschinenelemente 3 (cited from memory).
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _belt_drive as bd
from simcore.parts._belt_drive import belt_row, inertias, ratios, sheet
from simcore.parts.friction_disc import guards, hint, loss, rate, start_mode, store, switch, torque

__all__ = [
    "KIND", "guards", "hint", "inertias", "loss", "rate", "ratios", "sheet", "start_mode", "store", "switch", "torque",
]  # fmt: skip

KIND = Kind(
    name="flat belt",
    family="transmission",
    summary="flat belt between two pulleys: elastic strands under pretension, slips at its largest pull",
    params=(
        *bd.pulley_params(),
        Param("tensile_stiffness", "force", "force over strain of the belt (EA)", above="0 N",
              usual=("20 kN", "200 kN"), source="1 kN (0.5 to 2 kN) for each millimetre of width; common practice, "
              "from memory"),
        Param("friction", "ratio", "coefficient of friction on the pulley", default=0.3, above=0, high=2,
              usual=(0.25, 0.4), source="common practice, from memory"),
        *bd.heat_params(),
    ),
    row=bd.ROW,
    modes=bd.MODES,
    states=bd.STATES,
    guards=bd.GUARDS,
    memory=bd.MEMORY,
    character="twist",
    example={"radius_in": "60 mm", "radius_out": "120 mm", "centre_distance": "0.6 m", "tensile_stiffness": "50 kN"},
    cautions=bd.CAUTIONS,
    sources=bd.SOURCES,
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return bd.belt_faults(r, r.tensile_stiffness)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    return belt_row(r, w1, r.tensile_stiffness, r.friction)
