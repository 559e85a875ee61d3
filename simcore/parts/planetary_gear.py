r"""Planetary gear: a gear of one to three coaxial stages, efficient both ways, stiff, with little play.

.. math:: \eta_f = \eta_s^{\,n}, \qquad k = T_r / 2\,\mathrm{mrad}

with the efficiency :math:`\eta_s` of one of :math:`n` stages; left out, there is one stage up to 10:1, two up to
100:1, else three.  :math:`\eta_b = 2 - 1/\eta_f` unless stated.  Laws see :mod:`simcore.parts.gear`.  Source:
efficiencies of stages in series multiply, Niemann and Winter, Maschinenelemente 2; values common practice (both
from memory).
"""

from __future__ import annotations

from math import isnan, sqrt
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _contact as ct
from simcore.parts import _mesh as ms
from simcore.parts._elastic import RELATIVE_DAMPING, stiffness
from simcore.parts._given import or_else
from simcore.parts._mesh import (
    friction,
    guards,
    hint,
    inertias,
    loss,
    mesh_row,
    ratios,
    sheet,
    start_mode,
    store,
    switch,
    torque,
)
from simcore.parts._powers import whole_power
from simcore.parts._stages import stages_of

__all__ = [
    "KIND", "friction", "guards", "hint", "inertias", "loss", "ratios", "sheet", "start_mode", "store", "switch",
    "torque",
]  # fmt: skip

MOST_A_STAGE = 2.0 / (1.0 - sqrt(0.75))
"""Three equal planets between sun and ring touch each other: ``1 + (1 + sin 60)/(1 - sin 60)``."""

KIND = Kind(
    name="planetary gear",
    family="transmission",
    summary="coaxial gear of one to three stages: stiff, little play, efficient both ways",
    params=(
        Param("ratio", "ratio", "turns of the sun for one of the carrier, all stages", required=True, above=1,
              usual=(3, 100), source="common practice, from memory"),
        Param("stages", "count", "number of stages; left out: by the ratio", low=1, high=6, usual=(1, 3),
              source="one up to 10:1, two up to 100:1, else three; common practice, from memory"),
        Param("stage_efficiency", "ratio", "efficiency of one stage when driving", default=0.97, above=0, high=1,
              usual=(0.95, 0.98), source="common practice, from memory"),
        Param("efficiency", "ratio", "efficiency of all stages when driving; left out: that of one to the power of "
              "their number", above=0, high=1, usual=(0.85, 0.98), source="common practice, from memory"),
        Param("efficiency_back", "ratio", "efficiency when driven; left out: 2 - 1/efficiency", high=1, low=-5,
              source="one coefficient of friction both ways"),
        Param("rated_torque", "torque", "rated torque at the output", above="0 N*m"),
        Param("stiffness", "stiffness", "torsional stiffness at the output; left out: from twist_at_rated",
              above="0 N*m/rad"),
        Param("twist_at_rated", "angle", "twist at the output at rated torque", default="0.115 deg", above="0 deg",
              usual=("0.05 deg", "0.3 deg"), source="2 mrad; common practice, from memory"),
        Param("lash", "angle", "whole play at the output", default="5 arcmin", low="0 arcmin", high="5 deg",
              usual=("2 arcmin", "8 arcmin"), source="common practice, from memory"),
        Param("inertia_in", "inertia", "inertia of the input side, at the input shaft", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with the rotor"),
        Param("inertia_out", "inertia", "inertia of the output side, at the output shaft", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbour"),
        RELATIVE_DAMPING,
        ms.no_load_torque("1 % to 3 % of the rated torque there"),
    ),
    row=ms.ROW,
    modes=ct.MODES,
    guards=ms.GUARDS,
    cautions=("It runs back nearly as easily as forward: a load that can fall needs a brake.",),
    sources=("Niemann and Winter, Maschinenelemente 2 (cited from memory)",),
)  # fmt: skip


def _all_stages(r: Any) -> float:
    """Efficiency of all stages when driving."""
    if not isnan(r.efficiency):
        return float(r.efficiency)
    return float(whole_power(r.stage_efficiency, stages_of(r)))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if isnan(r.stiffness) and isnan(r.rated_torque):
        out.append("give the stiffness at the output, or the rated torque (and the twist at it)")
    n = stages_of(r)
    one = r.ratio ** (1.0 / n)
    if one >= MOST_A_STAGE:
        out.append(
            f"a ratio of {r.ratio:.4g} in {n:.0f} stage(s) is {one:.3g}:1 a stage: from {MOST_A_STAGE:.3g}:1 on three "
            "planets touch each other; give more stages"
        )
    if one <= 2.0:
        out.append(
            f"a ratio of {r.ratio:.4g} in {n:.0f} stage(s) is {one:.3g}:1 a stage: with the sun driving and the ring "
            "held it must be above 2, else the planets vanish; give fewer stages, or use a gear"
        )
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    forward = _all_stages(r)
    return mesh_row(r, w1, k, forward, or_else(r.efficiency_back, 2.0 - 1.0 / forward))
