r"""Wrap spring freewheel: a coil spring grips both hubs and winds tight in one sense, loose in the other.

.. math:: C = T_0\left(e^{\mu\beta} - 1\right), \qquad D = T_0\left(1 - e^{-\mu\beta}\right)

with energising moment :math:`T_0` of the interference fit and wrap angle :math:`\beta` on one hub.  Past its
capacity :math:`C` it slips; overrunning it drags with :math:`D`.  Motion in time: see
:mod:`simcore.parts._one_way`.  Source: rope on a drum, Euler and Eytelwein; spring on a hub, Wiebusch, The
spring clutch, J. Applied Mechanics 6 (1939) (cited from memory).
"""

from __future__ import annotations

from math import exp, isnan
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._one_way import (
    GUARDS,
    NO_BRAKING,
    ROW,
    Row,
    capacity_or,
    capacity_param,
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
)
from simcore.parts._one_way import inertias_of_hubs as inertias

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "sheet", "start_mode", "store", "switch", "torque"]

DRAG_SHARE = 0.015
"""Drag over capacity where neither drag nor geometry is given."""

KIND = Kind(
    name="wrap spring freewheel",
    family="overrunning clutch",
    summary="grips by a coil spring in one sense, slides with drag in the other; slips past its capacity",
    params=(
        capacity_param(),
        Param("energising_moment", "torque", "moment by which the interference of the spring grips one hub",
              above="0 N*m"),
        Param("wrap_angle", "angle", "angle over which the spring lies on one hub; 4 rev is four turns",
              above="0 rev", high="20 rev", usual=("3 rev", "8 rev")),
        Param("friction", "ratio", "coefficient of friction between spring and hub", default=0.12, above=0, high=1,
              usual=(0.08, 0.15), source="oiled steel, from memory"),
        engaging_angle("12 deg", ("5 deg", "25 deg")),
        *elastic_params("3 deg", ("2 deg", "6 deg")),
        drag_param(None, (0.005, 0.03), "; left out: from the geometry, else 1.5 %"),
        *freewheel_params(),
    ),
    row=ROW,
    modes=slips("slipping"),
    guards=GUARDS,
    memory=("face", "rest", "slips"),
    tally="slips",
    lets_go="the driven side turns faster; past its capacity the spring slips",
    leaves="both sides apart but for the drag",
    runs_again="as soon as it is driven again, after its engaging angle",
    cautions=(NO_BRAKING, "Grease for oil, or oil in a dry spring, changes the capacity by an exponential.",
              "Overrunning without end wears and heats the spring."),
    sources=("Euler and Eytelwein: rope friction", "Wiebusch 1939: the spring clutch (cited from memory)"),
    character="twist",
)  # fmt: skip


def _geometry(r: Any) -> float:
    """Capacity [N*m]; NaN if the geometry is incomplete."""
    return r.energising_moment * (exp(r.friction * r.wrap_angle) - 1.0)


def _drag(r: Any) -> float:
    """Drag over capacity."""
    if not isnan(r.drag):
        return r.drag
    if isnan(r.energising_moment) or isnan(r.wrap_angle):
        return DRAG_SHARE
    return exp(-r.friction * r.wrap_angle)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = capacity_or(r, _geometry(r), "energising_moment and wrap_angle")
    if _drag(r) > 0.5:
        out.append("the drag exceeds half the capacity: more friction or turns make it a one-way clutch")
    return out


def _row(r: Any, backward: float, overruns: float, w1: float) -> Row:
    capacity = _geometry(r) if isnan(r.capacity) else r.capacity
    return one_way_row(capacity, r.twist_at_capacity, 0.0, r.relative_damping, _drag(r), r.engaging_angle, 0.0,
                       backward, overruns, w1)  # fmt: skip


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.drives, r.in_service, w1)
