r"""Hoisted mass: hangs on a rope, with its inertia; :math:`F = m g`, and :math:`m` moves with the line.

Let go, it falls: freely, but for what still turns with it.  The rope is taken as taut: where it would go slack (the
line brakes downward harder than the mass falls), a belt or rope of its own in the line shows it.  Work
against gravity is booked as taken by the load, and given back as it comes down.  Source: Newton's law, textbook.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._gravity import FALLS, LIFTS, WEIGHT, G, loss, signed, torque

__all__ = ["KIND", "loss", "torque"]

KIND = Kind(
    name="hoisted mass",
    family="load",
    domain="travel",
    hubs=1,
    summary="mass that hangs: its weight pulls and its inertia moves with the line; falls when let go",
    params=(
        Param("mass", "mass", "mass that hangs, hook and cage counted in", required=True, above="0 kg"),
        LIFTS,
    ),
    row=("weight",),
    cautions=(FALLS, "Lifting above or of people is ruled by local codes and needs licensed practice: it is not proved "
              "here."),
    sources=("Newton's law: textbook",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float]:
    return (signed(r.mass * G, r.lifts),)


def inertias(r: Any) -> tuple[float, float]:
    return r.mass, 0.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"weight": (abs(p[WEIGHT]), "force")}
