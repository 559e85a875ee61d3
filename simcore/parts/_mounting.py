r"""What the driven side of a coupling carries: another shaft, or a sprocket or pulley on its flange.

Overhung load of a sprocket or pulley of pitch radius :math:`R`: :math:`F = f\,T/R`, where :math:`f` is the sum of
the strand forces over the useful pull.  Source: Niemann and Winter, Maschinenelemente 3 (cited from memory).
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Param
from simcore.parts._given import or_else

TOOTHED_BELT = 1.5
ALLOWABLE_LOAD = Param("allowable_load", "force", "radial load that shaft and bearing beside the coupling bear; left "
                       "out: the load is told, not judged", above="0 N")  # fmt: skip


def mounting_params() -> tuple[Param, ...]:
    """Inputs of a coupling that may carry a sprocket or pulley."""
    return (
        Param("mounting", "choice", "what the driven side is fixed to", default="shaft to shaft",
              choices=("shaft to shaft", "flange for a sprocket or pulley"), source="the plain case"),
        Param("pulley_radius", "length", "pitch radius of the sprocket or pulley on the flange", above="0 mm"),
        Param("belt_pull_factor", "ratio", "sum of the strand forces over the useful pull; left out: 1.5",
              low=1, high=5, usual=(1.0, 2.5),
              source="chain 1, toothed belt 1.5, V-belt 2 to 2.5; common practice, from memory"),
        ALLOWABLE_LOAD,
    )  # fmt: skip


def mounting_faults(r: Any) -> list[str]:
    """Sentences on a flange without what its load follows from."""
    if r.mounting < 0.5:
        if not isnan(r.allowable_load):
            return ['allowable_load belongs to a flange: write mounting = "flange for a sprocket or pulley"']
        if isnan(r.pulley_radius):
            return []
        return ['pulley_radius belongs to a flange: write mounting = "flange for a sprocket or pulley"']
    out = []
    if isnan(r.pulley_radius):
        out.append("a flange for a sprocket or pulley needs pulley_radius, its pitch radius")
    if isnan(r.rated_torque):
        out.append("the overhung load of a sprocket or pulley is stated at rated_torque: give it")
    return out


def overhung_load(r: Any) -> float:
    """Radial force [N] on the flange at rated torque; 0 from shaft to shaft."""
    if r.mounting < 0.5:
        return 0.0
    return float(or_else(r.belt_pull_factor, TOOTHED_BELT) * r.rated_torque / r.pulley_radius)


def mounting_sheet(load: float) -> dict[str, tuple[float, str]]:
    """The overhung load, if there is any."""
    return {"overhung load at rated torque": (load, "force")} if load > 0.0 else {}
