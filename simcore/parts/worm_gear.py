r"""Worm gear: a gear that slides, so that its loss both ways and its self-locking follow from lead and friction.

.. math:: \eta_f = \frac{\tan\gamma}{\tan(\gamma+\rho')}, \quad \eta_b = \frac{\tan(\gamma-\rho')}{\tan\gamma},
          \quad \tan\rho' = \frac{\mu}{\cos\alpha_n}

with lead angle :math:`\gamma` and normal pressure angle :math:`\alpha_n`.  :math:`\gamma \le \rho'`, that is
:math:`\eta_b \le 0`, locks by itself.  By efficiency instead: :math:`\eta_b = 2 - 1/\eta_f`; left out, the loss ratio
:math:`1/\eta_f - 1` is taken as :math:`0.177\,(i/10)^{0.69}` (0.85 at 10:1, 0.78 at 20:1, 0.65 at 50:1).  Cold or
new it is less by ``cold_loss``, and :math:`1/\eta_f` grows by as much as :math:`\eta_b` falls.

Cut the motor and the rotor :math:`J_a` brakes the load :math:`J_b` through the mesh: where
:math:`-\eta_b J_b/i^2 > J_a` the worm jams, its mesh torque grows until everything stands.

Laws see :mod:`simcore.parts.gear`.  Source: Niemann and Winter, Maschinenelemente 3; efficiencies by ratio common
practice (both from memory).
"""

from __future__ import annotations

from math import atan, cos, degrees, isnan, radians, tan
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _contact as ct
from simcore.parts import _mesh as ms
from simcore.parts._elastic import RELATIVE_DAMPING, stiffness
from simcore.parts._mesh import (
    friction,
    guards,
    hint,
    inertias,
    loss,
    mesh_row,
    ratios,
    start_mode,
    store,
    switch,
    torque,
)

__all__ = [
    "KIND", "friction", "guards", "hint", "inertias", "loss", "ratios", "start_mode", "store", "switch", "torque",
]  # fmt: skip

LEAD, LOCKS = len(ms.ROW), len(ms.ROW) + 1
STEEPEST = radians(45.0)

KIND = Kind(
    name="worm gear",
    family="transmission",
    summary="worm and wheel: efficiency both ways by lead angle and friction, locks by itself when the lead is small",
    params=(
        Param("ratio", "ratio", "turns of the worm for one of the wheel", required=True, above=0, usual=(5, 80),
              source="common practice, from memory"),
        Param("lead_angle", "angle", "lead angle of the worm at its pitch cylinder", above="0 deg", high="45 deg",
              usual=("3 deg", "25 deg"), source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction in the mesh", default=0.06, low=0, high=0.5,
              usual=(0.02, 0.12), source="oil, running; at rest, cold or dry more; common practice, from memory"),
        Param("pressure_angle", "angle", "normal pressure angle", default="20 deg", low="0 deg", high="35 deg",
              source="ISO 53 basic rack, from memory"),
        Param("efficiency", "ratio", "efficiency when driving, warm; left out: from the lead angle, else by the ratio",
              above=0, high=1, usual=(0.4, 0.92), source="0.85 at 10:1, 0.78 at 20:1, 0.65 at 50:1; common practice, "
              "from memory"),
        Param("efficiency_back", "ratio", "efficiency when driven, warm; 0 or less: locks by itself; left out: same "
              "friction", low=-5, high=1, source="2 - 1/efficiency, or the lead angle"),
        Param("cold_loss", "ratio", "efficiency lost while cold or new", default=0, low=0, high=0.5,
              usual=(0.05, 0.15), source="run in and warm; usual range common practice, from memory"),
        Param("rated_torque", "torque", "rated torque at the wheel", above="0 N*m"),
        Param("stiffness", "stiffness", "torsional stiffness at the wheel; left out: from twist_at_rated",
              above="0 N*m/rad"),
        Param("twist_at_rated", "angle", "twist at the wheel at rated torque", default="0.23 deg", above="0 deg",
              usual=("0.1 deg", "0.9 deg"), source="foot-mounted; hollow shaft on a rubber torque arm 0.86 deg; "
              "common practice, from memory"),
        Param("lash", "angle", "whole play at the wheel", default="15 arcmin", low="0 arcmin", high="5 deg",
              usual=("8 arcmin", "30 arcmin"), source="common practice, from memory"),
        Param("inertia_in", "inertia", "inertia of the worm's side, at its shaft", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with the rotor"),
        Param("inertia_out", "inertia", "inertia of the wheel's side, at its shaft", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbour"),
        RELATIVE_DAMPING,
        ms.no_load_torque("4 % to 8 % of the rated torque there"),
    ),
    row=(*ms.ROW, "lead", "locks_below"),
    modes=ct.MODES,
    guards=ms.GUARDS,
    cautions=("Never rely on self-locking to hold a load: it runs back when warm, run in or shaken. Fit a brake.",
              "A worm that locks stops a heavy load dead when the motor is cut: the mesh sees the blow.",
              "Cold or new it is less efficient: less torque reaches the load at the same motor torque."),
    sources=("Niemann and Winter, Maschinenelemente 3 (cited from memory)",),
)  # fmt: skip


def _friction_angle(mu: float, pressure_angle: float) -> float:
    """Angle of friction [rad] on the inclined flank; lead angles up to it lock by themselves."""
    return atan(mu / cos(pressure_angle))


def _by_lead(lead: float, mu: float, pressure_angle: float) -> tuple[float, float]:
    """Efficiency when driving and when driven."""
    rho = _friction_angle(mu, pressure_angle)
    return tan(lead) / tan(lead + rho), tan(lead - rho) / tan(lead)


def _by_ratio(ratio: float) -> float:
    """Common efficiency when driving."""
    return float(1.0 / (1.0 + 0.177 * (max(ratio, 1.0) / 10.0) ** 0.69))


def _both_efficiencies(r: Any) -> tuple[float, float]:
    """Efficiency when driving and when driven, in the state stated."""
    if isnan(r.lead_angle):
        forward = _by_ratio(r.ratio) if isnan(r.efficiency) else r.efficiency
        back = 2.0 - 1.0 / forward
    else:
        forward, back = _by_lead(r.lead_angle, r.friction, r.pressure_angle)
    if not isnan(r.efficiency_back):
        back = r.efficiency_back
    cold = forward - r.cold_loss
    return cold, back - (1.0 / cold - 1.0 / forward)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if isnan(r.stiffness) and isnan(r.rated_torque):
        out.append("give the stiffness at the wheel, or the rated torque (and the twist at it)")
    if not isnan(r.lead_angle):
        if r.lead_angle + _friction_angle(r.friction, r.pressure_angle) >= 2.0 * STEEPEST:
            out.append("lead_angle and friction leave nothing to drive with: the worm would bind at any torque")
            return out
        for name, stated, lead in zip(
            ("efficiency", "efficiency_back"),
            (r.efficiency, r.efficiency_back),
            _by_lead(r.lead_angle, r.friction, r.pressure_angle),
            strict=True,
        ):
            if not isnan(stated) and abs(stated - lead) > 0.02:
                out.append(
                    f"{name} {stated:.3g} contradicts a lead angle of {degrees(r.lead_angle):.3g} deg with friction "
                    f"{r.friction:.3g}, which give {lead:.3g}: leave one of them out"
                )
    if r.cold_loss >= _both_efficiencies(r._replace(cold_loss=0.0))[0]:
        out.append(f"cold_loss {r.cold_loss:.3g} takes away the whole efficiency: the worm would not turn")
    return out


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque)
    forward, back = _both_efficiencies(r)
    lead = 0.0 if isnan(r.lead_angle) else r.lead_angle
    locks = 0.0 if isnan(r.lead_angle) else _friction_angle(r.friction, r.pressure_angle)
    m = mesh_row(r, w1, k, forward, back)
    return m[0], m[1], m[2], m[3], m[4], m[5], lead, locks


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); angles where the lead is known."""
    out = ms.sheet(p)
    if p[LEAD] > 0.0:
        out["lead angle"] = (p[LEAD], "angle")
        out["locks by itself below a lead angle of"] = (p[LOCKS], "angle")
    return out
