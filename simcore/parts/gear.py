r"""Gear: ratio, mesh stiffness and lash at the output, loss as dry friction of the housing on the input.

.. math:: T = k(\theta_1/i - \theta_2 \mp \beta/2) + c\nu

Friction capacity at the input, following the mesh torque: :math:`|T|(1/\eta_f - 1)/i` against motion
that drives, :math:`|T|(1-\eta_b)/i` against motion that is driven.  At standstill it holds anything
between :math:`\eta_b T/i` and :math:`T/(\eta_f i)`; :math:`\eta_b \le 0` locks by itself.  A no-load torque at the
input comes on top.

Without lash the mesh torque has no kink of its own, only the loss has one where the torque changes sign.  It is
located as long as it matters, see :mod:`simcore.parts._mesh`.

Source: efficiency of driving and driven gears, Niemann and Winter, Maschinenelemente 2;
:math:`\eta_b = 2 - 1/\eta_f` is one coefficient of friction both ways.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _contact as ct
from simcore.parts._elastic import RELATIVE_DAMPING, stiffness
from simcore.parts._mesh import (
    GUARDS,
    ROW,
    friction,
    guards,
    hint,
    inertias,
    loss,
    mesh_row,
    no_load_torque,
    ratios,
    sheet,
    start_mode,
    store,
    switch,
    torque,
)

__all__ = [
    "KIND", "friction", "guards", "hint", "inertias", "loss", "ratios", "sheet", "start_mode", "store", "switch",
    "torque",
]  # fmt: skip

KIND = Kind(
    name="gear",
    family="transmission",
    summary="gear stage or gearbox: ratio, stiffness and lash at the output, efficiency both ways",
    params=(
        Param("ratio", "ratio", "turns of the input for one of the output", required=True, above=0,
              usual=(1, 300)),
        Param("rated_torque", "torque", "rated torque at the output", above="0 N*m"),
        Param("stiffness", "stiffness", "torsional stiffness at the output", above="0 N*m/rad"),
        Param("twist_at_rated", "angle", "twist at the output at rated torque", default="0.23 deg",
              above="0 deg", usual=("0.1 deg", "0.9 deg"), source="foot-mounted; on a rubber torque arm "
              "about four times as much; common practice, from memory"),
        Param("lash", "angle", "whole play at the output", default="0 arcmin", low="0 arcmin",
              high="5 deg", usual=("5 arcmin", "30 arcmin"), source="left out unless given"),
        Param("efficiency", "ratio", "efficiency when driving", default=0.95, above=0, high=1,
              usual=(0.5, 0.98), source="two or three helical stages; common practice, from memory"),
        Param("efficiency_back", "ratio", "efficiency when driven; 0 or less: locks by itself; left out: 2 - "
              "1/efficiency, one coefficient of friction", high=1, low=-5),
        Param("inertia_in", "inertia", "inertia of the input side, at the input shaft",
              default="0 kg*m^2", low="0 kg*m^2", source="counted with the rotor"),
        Param("inertia_out", "inertia", "inertia of the output side, at the output shaft",
              default="0 kg*m^2", low="0 kg*m^2", source="counted with its neighbour"),
        RELATIVE_DAMPING,
        no_load_torque("2 % to 4 % of the rated torque there"),
    ),
    row=ROW,
    modes=ct.MODES,
    guards=GUARDS,
    cautions=("A gear that locks by itself when cold may run back when warm: not a brake.",),
    sources=("Niemann and Winter, Maschinenelemente 2 (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if isnan(r.stiffness) and isnan(r.rated_torque):
        out.append("give the stiffness at the output, or the rated torque (and the twist at it)")
    if not isnan(r.efficiency_back) and r.efficiency_back > 2.0 - r.efficiency:
        out.append("efficiency_back is out of reach for this efficiency: no friction would be left")
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    back = r.efficiency_back
    if isnan(back):
        back = 2.0 - 1.0 / r.efficiency
    return mesh_row(r, w1, k, r.efficiency, back)
