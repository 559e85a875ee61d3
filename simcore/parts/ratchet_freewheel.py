r"""Ratchet freewheel: a pawl falls behind the teeth of a wheel; it drives at the next tooth, clicks over the others.

.. math:: \text{pitch } \tau = \frac{360^\circ}{z\,n}, \qquad C = F_z r

Teeth :math:`z`, pawls :math:`n` staggered evenly over a tooth, load of one tooth :math:`F_z` on the pitch
radius :math:`r`.  It takes load at the next tooth ahead, so up to one pitch is lost, from wherever it overran
to; it begins half a pitch away.  Each tooth passed counts as a click; their energy is spread as the drag
:math:`D`, :math:`D\tau` a click.  Past its capacity pawl or tooth breaks: nothing holds any more.  Motion in
time: see :mod:`simcore.parts._one_way`.  Source: ratchet wheels, Niemann and Winter, Maschinenelemente 3
(cited from memory).
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._one_way import (
    BREAKS,
    GUARDS,
    NO_BRAKING,
    ROW,
    Row,
    capacity_or,
    capacity_param,
    drag_param,
    elastic_params,
    freewheel_params,
    guards,
    hint,
    loss,
    one_way_row,
    sheet,
    start_mode,
    store,
    switch,
    torque,
)
from simcore.parts._one_way import inertias_of_hubs as inertias

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "sheet", "start_mode", "store", "switch", "torque"]

KIND = Kind(
    name="ratchet freewheel",
    family="overrunning clutch",
    summary="drives by a pawl at the next tooth, clicks over the others; breaks past its capacity",
    params=(
        capacity_param(),
        Param("tooth_load", "force", "largest load of one tooth and pawl", above="0 N"),
        Param("pitch_radius", "length", "radius at which the pawl presses", above="0 mm"),
        Param("teeth", "count", "teeth of the wheel", required=True, low=3, high=360, usual=(24, 120)),
        Param("pawls", "count", "pawls, staggered evenly over one tooth", default=1, low=1, high=12,
              source="one pawl, or several in step"),
        *elastic_params("0.2 deg", ("0.1 deg", "0.3 deg")),
        drag_param(0.003, (0.001, 0.005)),
        *freewheel_params(),
    ),
    example={"capacity": "150 N*m", "teeth": 30},
    row=ROW,
    modes=BREAKS,
    guards=GUARDS,
    memory=("tooth", "rest", "clicks"),
    tally="clicks",
    lets_go="the driven side turns faster; past its capacity pawl or tooth breaks",
    leaves="both sides apart but for the clicking; both fully free once broken",
    runs_again="as soon as it is driven again, at the next tooth; broken only with new parts",
    again="replace",
    cautions=(NO_BRAKING, "The blow grows with the pitch run through: more teeth or staggered pawls soften it.",
              "Turned fast the pawls bounce and can miss a tooth: for slow shafts only.",
              "A pawl held up by dirt or a weak spring holds nothing."),
    sources=("Niemann and Winter, Maschinenelemente 3 (cited from memory)",),
    character="twist",
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = capacity_or(r, r.tooth_load * r.pitch_radius, "tooth_load and pitch_radius")
    if r.drag * r.twist_at_capacity >= 0.5 * _pitch(r):
        out.append("the drag winds up over half a pitch: give fewer teeth, less drag or a stiffer wheel")
    return out


def _pitch(r: Any) -> float:
    return 2.0 * pi / (r.teeth * r.pawls)


def _row(r: Any, backward: float, overruns: float, w1: float) -> Row:
    capacity = r.tooth_load * r.pitch_radius if isnan(r.capacity) else r.capacity
    return one_way_row(capacity, r.twist_at_capacity, 0.0, r.relative_damping, r.drag, 0.5 * _pitch(r), _pitch(r),
                       backward, overruns, w1)  # fmt: skip


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.drives, r.in_service, w1)
