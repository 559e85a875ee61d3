r"""Law of an elastic coupling: linear or progressive, with a relative damping that holds at every amplitude.

.. math:: T = k d\left(1 + q\frac{d^2}{\varphi_r^2}\right) + c\left(1 + 2q\frac{d^2}{\varphi_r^2}\right)\nu

with :math:`d` the twist past the play and :math:`\varphi_r` the twist at rated torque.  The tangent stiffness
there is :math:`1 + 3q` times the one at zero (input ``progression``).  Energy
:math:`\tfrac12 k d^2 (1 + q d^2/(2\varphi_r^2))`; a harmonic swing of any amplitude at :math:`\omega_1` loses the
share :math:`\psi` of it a cycle: the integral of :math:`(1 + 2q d^2/\varphi_r^2)\nu^2` grows with the amplitude just as
the energy does.

An elastomer is softer when warm and stiffer when cold: with :math:`\Delta` the coupling's temperature less the one its
stiffness is stated for, :math:`k \to k\,0.7^{\Delta/40\,\mathrm{K}}` above and
:math:`k\,1.6^{-\Delta/40\,\mathrm{K}}` below (common practice, from memory: 0.7 at 60 and 1.6 at -20 degrees Celsius
against 20).  What temperature and amplitude do to the damping is a factor to be stated.

Source: cubic spring (Duffing), textbook; relative damping as in DIN 740-2 (cited from memory).
"""

from __future__ import annotations

from math import exp, isnan, log, nan
from typing import Any

from simcore.contract import Param
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_loss, flank_store, flank_torque, play_guards, play_switch, start_flank
from simcore.parts._elastic import both_or_neither, damping, stiffness
from simcore.parts._given import or_else

K, C, HALF, GROW, Q_RATED = range(5)
ROW = ("k", "c", "half", "growth", "growth at rated")
GUARDS = ("flank", "flank again")
WHEN_WARM, WHEN_COLD, BY = 0.7, 1.6, 40.0
"""Stiffness of an elastomer that much [K] warmer and colder, over the stated one; common practice, from memory."""


def flexible_params() -> tuple[Param, ...]:
    """Inputs of the elastic law and of both hubs."""
    return (
        Param("stiffness", "stiffness", "torque for one radian of twist (progressive: at zero)", above="0 N*m/rad"),
        Param("rated_torque", "torque", "rated torque", above="0 N*m"),
        Param("twist_at_rated", "angle", "twist at rated torque", above="0 deg",
              usual=("0.1 deg", "15 deg")),
        Param("progression", "ratio", "stiffness at rated torque over stiffness at zero; left out: 1, linear",
              low=1, high=20, usual=(1, 3), source="hard elastomer star 2 to 3; common practice, from memory"),
        Param("dynamic_ratio", "ratio", "dynamic over stated stiffness; left out: 1, the stated one is dynamic",
              low=0.5, high=4, usual=(1.3, 2.0), source="elastomer with a static value about 1.5; common practice, "
              "from memory"),
        Param("temperature_factor", "ratio", "stiffness at the coupling's temperature over the stated one; left "
              "out: 1", low=0.1, high=5, usual=(0.7, 1.6), source="elastomer 0.7 at 60 degrees, 1 at 20 degrees, "
              "1.6 at -20 degrees Celsius; common practice, from memory"),
        Param("warmer_by", "temperature_difference", "an elastomer's temperature less the one its stiffness is stated "
              "for, negative when colder; sets the temperature factor", low="-60 K", high="80 K",
              usual=("-40 K", "40 K"), source="0.7 at 40 K warmer, 1.6 at 40 K colder; common practice, from memory"),
        Param("lash", "angle", "whole play between the flanks", default="0 deg", low="0 deg",
              high="20 deg", usual=("0 deg", "2 deg"), source="most new couplings have none"),
        Param("relative_damping", "ratio", "energy lost in one cycle over the elastic energy",
              default=0.8, low=0, high=3, usual=(0.6, 1.0),
              source="hard elastomer star; common practice, from memory; definition as in DIN 740-2"),
        Param("damping_factor", "ratio", "relative damping at the amplitude and temperature met over the stated "
              "one; left out: 1", low=0, high=3, usual=(0.5, 1.0), source="elastomer: less when hot or at "
              "small swings; common practice, from memory"),
        Param("inertia_in", "inertia", "inertia of the driving hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven hub", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
    )  # fmt: skip


def growth_at_rated(r: Any) -> float:
    """``q``: cubic over linear part of the torque at rated twist."""
    return (or_else(r.progression, 1.0) - 1.0) / 3.0


def elastic_faults(r: Any) -> list[str]:
    """Sentences on what is missing or contradictory in the elastic inputs."""
    k = stiffness(nan, r.twist_at_rated, r.rated_torque) / (1.0 + growth_at_rated(r))
    if isnan(r.stiffness) and isnan(k):
        return ["give the stiffness, or the rated torque and the twist at it"]
    if not isnan(r.temperature_factor) and not isnan(r.warmer_by):
        return ["give temperature_factor or warmer_by, not both: one sets the other"]
    if r.progression > 1.0 and isnan(r.rated_torque) and isnan(r.twist_at_rated):
        return ["progression is stated at rated torque: give rated_torque or twist_at_rated"]
    return both_or_neither(
        r.stiffness, k, f"stiffness {r.stiffness:.4g} N*m/rad contradicts rated torque over twist, {k:.4g}"
    )


def warmth_factor(r: Any) -> float:
    """Stiffness at the coupling's temperature over the stated one."""
    if isnan(r.warmer_by):
        return or_else(r.temperature_factor, 1.0)
    of = WHEN_WARM if r.warmer_by > 0.0 else 1.0 / WHEN_COLD
    return float(exp(log(of) * r.warmer_by / BY))


def elastic_row(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    """The columns of ROW."""
    q = growth_at_rated(r)
    k = stiffness(r.stiffness, r.twist_at_rated, r.rated_torque * (1.0 / (1.0 + q)))
    twist = r.twist_at_rated
    if isnan(twist):
        twist = r.rated_torque / (k * (1.0 + q))
    grow = 0.0
    if q > 0.0:
        grow = q / (twist * twist)
    k = k * or_else(r.dynamic_ratio, 1.0) * warmth_factor(r)
    psi = r.relative_damping * or_else(r.damping_factor, 1.0)
    return k, damping(psi, k, w1), 0.5 * r.lash, grow, q


def flexible_start(p: Any, sense: float) -> int:
    """Mode to begin in; without play the coupling is always tight."""
    if p[HALF] <= 0.0:
        return ct.TIGHT_F
    return start_flank(p[HALF], sense)


def _grown(m: int, phi: float, p: Any, share: float) -> float:
    """How much stiffness or damping has grown at this twist; exactly 1 for a linear coupling."""
    d = phi
    if m == ct.FORWARD or m == ct.PARTED_F:
        d = phi - p[HALF]
    elif m == ct.BACKWARD or m == ct.PARTED_B:
        d = phi + p[HALF]
    return float(1.0 + share * p[GROW] * d * d)


def flexible_torque(m: int, phi: float, nu: float, p: Any) -> float:
    """Torque [N*m]."""
    return flank_torque(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), p[C] * _grown(m, phi, p, 2.0), p[HALF])


def flexible_guards(m: int, phi: float, nu: float, p: Any, T: float) -> tuple[float, float]:
    """Two values, > 0 while the mode holds; without play the flanks never part."""
    if m >= ct.TIGHT_F:
        return 1.0, 1.0
    return play_guards(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), p[C] * _grown(m, phi, p, 2.0), p[HALF], T)


def flexible_switch(m: int, which: int, phi: float, p: Any) -> tuple[int, float]:
    """Next mode and heat [J]."""
    return play_switch(m, which, phi, p[K], p[HALF])


def flexible_loss(m: int, phi: float, nu: float, p: Any) -> float:
    """Power lost [W]."""
    return flank_loss(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), p[C] * _grown(m, phi, p, 2.0), p[HALF])


def flexible_store(m: int, phi: float, p: Any) -> float:
    """Energy stored [J]."""
    return flank_store(m, phi, p[K] * _grown(m, phi, p, 0.5), p[HALF])


def flexible_hint(p: Any) -> float:
    """Stiffness [N*m/rad] up to rated torque: torque over twist there."""
    return float(p[K] * (1.0 + p[Q_RATED]))


def flexible_sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Stiffness, damping and lash; of a progressive coupling the stiffness at rated torque too."""
    out = {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping"), "lash": (2 * p[HALF], "angle")}
    if p[Q_RATED] > 0.0:
        out["stiffness at rated torque"] = (p[K] * (1.0 + 3.0 * p[Q_RATED]), "stiffness")
    return out
