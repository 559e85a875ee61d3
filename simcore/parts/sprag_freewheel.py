r"""Sprag (cam) freewheel: cams between two round races tilt and wedge in one sense, slide in the other.

.. math:: \tan\varepsilon < \mu \text{ locks by itself}, \qquad
          C = n r_i \tan\varepsilon\,\frac{\pi l R\,p_0^2}{E^*}, \qquad \frac1R = \frac1{r_s} + \frac1{r_i}

Strut angle :math:`\varepsilon` at the inner race of radius :math:`r_i`, :math:`n` sprags of length :math:`l`
and radius :math:`r_s` there, contact pressure :math:`p_0`.  The wind-up may stiffen: the share :math:`\rho`
of the capacity grows with its square, :math:`T = C((1-\rho)x + \rho x^2)`, :math:`x` twist over twist at
capacity.  Past its capacity it is overloaded: it slips at it, and its faces are damaged.  Motion in time: see
:mod:`simcore.parts._one_way`.  Source: sprag freewheels, Niemann and Winter, Maschinenelemente 3; line contact,
Johnson, Contact Mechanics (cited from memory).
"""

from __future__ import annotations

from math import isnan, tan
from typing import Any

from simcore.contract import Kind, Param
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
    name="sprag freewheel",
    family="overrunning clutch",
    summary="wedges cams between two round races in one sense, slides in the other; slips past its capacity",
    params=(
        capacity_param(),
        Param("sprags", "count", "number of sprags", low=1, high=400),
        Param("inner_radius", "length", "radius of the inner race", above="0 mm"),
        Param("sprag_radius", "length", "radius of a sprag where it stands on the inner race", above="0 mm"),
        Param("sprag_length", "length", "length of a sprag in contact", above="0 mm"),
        Param("strut_angle", "angle", "angle of the strut against the radius, at the inner race", default="3 deg",
              above="0 deg", high="45 deg", usual=("2 deg", "4 deg"), source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction on the races", default=0.09, above=0, high=1,
              usual=(0.06, 0.12), source="oiled hardened steel, from memory"),
        contact_stress(),
        engaging_angle("1 deg", ("0.3 deg", "3 deg")),
        *elastic_params("2 deg", ("1 deg", "3 deg")),
        Param("progressive", "ratio", "share of the capacity that comes from the stiffening part of the wind-up",
              default=0, low=0, high=0.9, usual=(0, 0.5), source="line contact is nearly linear, from memory"),
        drag_param(0.003, (0.001, 0.005)),
        *freewheel_params(),
    ),
    row=ROW,
    modes=slips("overloaded"),
    guards=GUARDS,
    memory=("face", "rest", "overloads"),
    tally="overloads",
    lets_go="the driven side turns faster",
    leaves="both sides apart but for the drag; races and sprags damaged after an overload",
    runs_again="as soon as it is driven again, after its engaging angle; after an overload only once inspected",
    again_words="inspect",
    cautions=(NO_BRAKING, "Grease with slip additives can cost the self-locking: it then slips without warning.",
              "An overload can tip the sprags over: inspect them before running on."),
    sources=("Niemann and Winter, Maschinenelemente 3 (cited from memory)",
             "Johnson, Contact Mechanics: line contact (cited from memory)"),
    character="twist",
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Capacity [N*m]; NaN if the geometry is incomplete."""
    curvature = r.sprag_radius * r.inner_radius / (r.sprag_radius + r.inner_radius)
    return wedged(r.sprags, r.inner_radius, tan(r.strut_angle), curvature, r.sprag_length, r.contact_stress)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = capacity_or(r, _geometry(r), "sprags, inner_radius, sprag_radius and sprag_length")
    wedge = tan(r.strut_angle)
    if wedge >= r.friction:
        out.append(f"the sprags do not lock by themselves: tan(strut_angle) = {wedge:.4g} must stay below the "
                   f"friction {r.friction:.4g}, else they slide")  # fmt: skip
    return out


def _row(r: Any, backward: float, overruns: float, w1: float) -> Row:
    capacity = _geometry(r) if isnan(r.capacity) else r.capacity
    return one_way_row(capacity, r.twist_at_capacity, r.progressive, r.relative_damping, r.drag, r.engaging_angle,
                       0.0, backward, overruns, w1)  # fmt: skip


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.drives, r.in_service, w1)
