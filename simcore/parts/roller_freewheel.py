r"""Roller freewheel: rollers wedge between ramps and a round race in one sense, roll free in the other.

.. math:: \tan\frac{\alpha}{2} < \mu \text{ locks by itself}, \qquad
          C = n R_r \tan\frac{\alpha}{2}\,\frac{\pi l R\,p_0^2}{E^*}

Ramp angle :math:`\alpha` between the two tangents at a roller, :math:`n` rollers of radius :math:`R` and
length :math:`l` on a race of radius :math:`R_r`, contact pressure :math:`p_0` on the flat ramp, where it is
largest.  Past its capacity it is overloaded: it slips at it, and its faces are damaged.  Motion in time: see
:mod:`simcore.parts._one_way`.  Source: roller freewheels, Niemann and Winter, Maschinenelemente 3; line
contact, Johnson, Contact Mechanics (cited from memory).
"""

from __future__ import annotations

from math import isnan, tan
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._given import narrower
from simcore.parts._one_way import (
    GUARDS,
    NO_BRAKING,
    ROW,
    Row,
    capacity_or,
    capacity_param,
    contact_stress,
    drag_param,
    elastic_params,
    engaging_angle,
    freewheel_params,
    guards,
    hint,
    loss,
    one_way_row,
    sheet,
    slips,
    start_mode,
    store,
    switch,
    torque,
    wedged,
)
from simcore.parts._one_way import inertias_of_hubs as inertias

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "sheet", "start_mode", "store", "switch", "torque"]

KIND = Kind(
    name="roller freewheel",
    family="overrunning clutch",
    summary="wedges rollers on ramps in one sense, rolls free in the other; slips past its capacity",
    params=(
        capacity_param(),
        Param("rollers", "count", "number of rollers", low=1, high=200),
        Param("race_radius", "length", "radius of the round race", above="0 mm"),
        Param("roller_diameter", "length", "diameter of a roller", above="0 mm"),
        Param("roller_length", "length", "length of a roller in contact", above="0 mm"),
        Param("ramp_angle", "angle", "angle between the two tangents at a roller", default="7 deg", above="0 deg",
              high="60 deg", usual=("5 deg", "9 deg"), source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction at both contacts", default=0.09, above=0, high=1,
              usual=(0.06, 0.12), source="oiled hardened steel, from memory"),
        contact_stress(),
        engaging_angle("2 deg", ("0.5 deg", "4 deg")),
        *elastic_params("1.5 deg", ("1 deg", "3 deg")),
        drag_param(0.005, (0.002, 0.01)),
        *freewheel_params(),
    ),
    row=ROW,
    modes=slips("overloaded"),
    guards=GUARDS,
    memory=("face", "rest", "overloads"),
    tally="overloads",
    lets_go="the driven side turns faster",
    leaves="both sides apart but for the drag; rollers and ramps damaged after an overload",
    runs_again="as soon as it is driven again, after its engaging angle; after an overload only once inspected",
    again_words="inspect",
    cautions=(NO_BRAKING, "Grease with slip additives can cost the self-locking: it then slips without warning.",
              "An overload leaves marks: inspect the rollers before running on."),
    sources=("Niemann and Winter, Maschinenelemente 3 (cited from memory)",
             "Johnson, Contact Mechanics: line contact (cited from memory)"),
    character="twist",
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Capacity [N*m]; NaN if the geometry is incomplete."""
    return wedged(r.rollers, r.race_radius, tan(0.5 * r.ramp_angle), 0.5 * r.roller_diameter, r.roller_length,
                  r.contact_stress)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = capacity_or(r, _geometry(r), "rollers, race_radius, roller_diameter and roller_length")
    wedge = tan(0.5 * r.ramp_angle)
    if wedge >= r.friction:
        out.append(f"the rollers do not lock by themselves: tan(ramp_angle/2) = {wedge:.4g} must stay below the "
                   f"friction {r.friction:.4g}, else they are squeezed out")  # fmt: skip
    out += narrower(r, "roller_diameter", "race_radius", ", else the rollers are as thick as the race's radius")
    return out


def _row(r: Any, backward: float, overruns: float, w1: float) -> Row:
    capacity = _geometry(r) if isnan(r.capacity) else r.capacity
    return one_way_row(capacity, r.twist_at_capacity, 0.0, r.relative_damping, r.drag, r.engaging_angle, 0.0,
                       backward, overruns, w1)  # fmt: skip


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.drives, r.in_service, w1)
