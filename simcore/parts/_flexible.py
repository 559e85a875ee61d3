r"""Law of an elastic coupling: linear or progressive, with a relative damping that may follow the amplitude.

.. math:: T = k d\left(1 + q\frac{d^2}{\varphi_r^2}\right)
          + \left(c + c_+\frac{d^2}{d^2 + \varphi_d^2}\right)\left(1 + 2q\frac{d^2}{\varphi_r^2}\right)\nu

with :math:`d` the twist past the play and :math:`\varphi_r` the twist at rated torque.  The tangent stiffness
there is :math:`1 + 3q` times the one at zero (input ``progression``).  Energy
:math:`\tfrac12 k d^2 (1 + q d^2/(2\varphi_r^2))`; a harmonic swing of any amplitude at :math:`\omega_1` loses the
share :math:`\psi` of it a cycle: the integral of :math:`(1 + 2q d^2/\varphi_r^2)\nu^2` grows with the amplitude just as
the energy does.

:math:`c_+ = 0` unless a relative damping of small swings :math:`\psi_0` is stated beside :math:`\psi_n` at the swing
:math:`\varphi_n`.  A harmonic swing of amplitude :math:`A` about no twist then loses, without progression,

.. math:: \psi(A) = \psi_0 + \frac{\psi_n - \psi_0}{h}\left(1 - 2\mu\left(\sqrt{1 + \mu^2} - \mu\right)\right),
          \quad \mu = \frac{\varphi_d}{A}, \quad \varphi_d = \frac{1 - h}{2\sqrt h}\,\varphi_n, \quad h = 0.8

so exactly :math:`\psi_0` when small and :math:`\psi_n` at :math:`\varphi_n`, and never more than a quarter of their
difference beyond; with progression the same two are met.  Smooth, and passive while :math:`c + c_+ \ge 0`.  The twist
counts, not the swing about a mean: ripple on a load's torque is damped nearly as a swing as large as the mean twist.

An elastomer is softer when warm and stiffer when cold: with :math:`\Delta` the coupling's temperature less the one its
stiffness is stated for, :math:`k \to k\,0.7^{\Delta/40\,\mathrm{K}}` above and
:math:`k\,1.6^{-\Delta/40\,\mathrm{K}}` below (common practice, from memory: 0.7 at 60 and 1.6 at -20 degrees Celsius
against 20).  The relative damping changes in the same manner by two factors to be stated, else not at all.

Source: cubic spring (Duffing), textbook; relative damping as in DIN 740-2 (cited from memory); the damper's growth
with the twist is our own, the simplest that is smooth, bounded and has a closed form.
"""

from __future__ import annotations

from math import exp, isnan, log, nan
from typing import Any

from simcore.contract import Param
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_loss, flank_store, flank_torque, play_guards, play_switch, start_flank
from simcore.parts._elastic import both_or_neither, damping, stiffness
from simcore.parts._given import or_else

K, C, HALF, GROW, Q_RATED, MORE, WIDE = range(7)
ROW = ("k", "c", "half", "growth", "growth at rated", "damping added", "its twist squared")
GUARDS = ("flank", "flank again")
WHEN_WARM, WHEN_COLD, BY = 0.7, 1.6, 40.0
"""Stiffness of an elastomer that much [K] warmer and colder, over the stated one; common practice, from memory."""
AT_SWING = 0.8
"""Share of the whole change of the relative damping that is there at the swing it is stated for."""


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
        Param("small_swing_damping", "ratio", "relative damping of very small swings; the damping then follows the "
              "twist met; left out: as relative_damping", low=0, high=3, usual=(0.3, 0.8),
              source="elastomer: less at small swings; common practice, from memory: ask the maker"),
        Param("damping_swing", "angle", "amplitude for which relative_damping is stated; left out: the twist at rated "
              "torque", above="0 deg", usual=("0.1 deg", "15 deg")),
        Param("damping_when_warm", "ratio", "relative damping 40 K warmer over the stated one, in between as a power; "
              "left out: 1", low=0.1, high=5, usual=(0.7, 1.0), source="elastomer: less when warm; from memory"),
        Param("damping_when_cold", "ratio", "relative damping 40 K colder over the stated one, in between as a power; "
              "left out: 1", low=0.1, high=5, usual=(1.0, 1.5), source="elastomer: more when cold; from memory"),
        Param("damping_factor", "ratio", "relative damping as it is met over the stated one, whatever the cause; left "
              "out: 1", low=0, high=3, usual=(0.5, 1.0), source="elastomer: less when hot or at "
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
    wrong = _damping_faults(r)
    if wrong:
        return wrong
    if r.progression > 1.0 and isnan(r.rated_torque) and isnan(r.twist_at_rated):
        return ["progression is stated at rated torque: give rated_torque or twist_at_rated"]
    return both_or_neither(
        r.stiffness, k, f"stiffness {r.stiffness:.4g} N*m/rad contradicts rated torque over twist, {k:.4g}"
    )


def _damping_faults(r: Any) -> list[str]:
    """Sentences on a damping that follows amplitude or temperature and cannot."""
    out = []
    stated = not isnan(r.damping_when_warm) or not isnan(r.damping_when_cold)
    if stated and not isnan(r.temperature_factor):
        out.append("damping_when_warm and damping_when_cold need warmer_by in place of temperature_factor; or state "
                   "damping_factor")  # fmt: skip
    if stated and not isnan(r.damping_factor):
        out.append("give damping_factor, or damping_when_warm and damping_when_cold, not both: one sets the other")
    if isnan(r.small_swing_damping):
        if not isnan(r.damping_swing):
            out.append("damping_swing needs small_swing_damping beside it: without, the damping follows no amplitude")
        return out
    if isnan(r.damping_swing) and isnan(r.rated_torque) and isnan(r.twist_at_rated):
        out.append("relative_damping is stated at a swing: give damping_swing, rated_torque or twist_at_rated")
    elif _added(r, _swing(r)) + r.small_swing_damping < 0.0:
        out.append(f"small_swing_damping {r.small_swing_damping:.4g} is too much for relative_damping "
                   f"{r.relative_damping:.4g}: the damper would push at large twists; five times is the most without "
                   "progression")  # fmt: skip
    return out


def by_warmth(warm: float, cold: float, by: float) -> float:
    """Factor at ``by`` [K] warmer, from the ones at 40 K warmer and colder."""
    of = warm if by > 0.0 else 1.0 / cold
    return float(exp(log(of) * by / BY))


def warmth_factor(r: Any) -> float:
    """Stiffness at the coupling's temperature over the stated one."""
    if isnan(r.warmer_by):
        return or_else(r.temperature_factor, 1.0)
    return by_warmth(WHEN_WARM, WHEN_COLD, r.warmer_by)


def damping_change(r: Any) -> float:
    """Relative damping as it is met over the stated one, the amplitude left aside."""
    if isnan(r.warmer_by):
        return or_else(r.damping_factor, 1.0)
    warmth = by_warmth(or_else(r.damping_when_warm, 1.0), or_else(r.damping_when_cold, 1.0), r.warmer_by)
    return or_else(r.damping_factor, 1.0) * warmth


def _stated_stiffness(r: Any) -> float:
    """Stiffness at zero twist [N*m/rad] as stated."""
    return stiffness(r.stiffness, r.twist_at_rated, r.rated_torque * (1.0 / (1.0 + growth_at_rated(r))))


def _rated_twist(r: Any) -> float:
    """Twist [rad] at rated torque."""
    return or_else(r.twist_at_rated, r.rated_torque / (_stated_stiffness(r) * (1.0 + growth_at_rated(r))))


def _swing(r: Any) -> float:
    """Amplitude [rad] for which the relative damping is stated."""
    return or_else(r.damping_swing, _rated_twist(r))


def _added(r: Any, swing: float) -> float:
    """Relative damping that very large swings lose beyond very small ones."""
    if isnan(r.small_swing_damping):
        return 0.0
    q = growth_at_rated(r)
    g = 0.0
    if q > 0.0:
        over = swing / _rated_twist(r)
        g = q * over * over
    lost = AT_SWING + g * (0.5 - 2.0 * _bend() * AT_SWING)
    return float((r.relative_damping - r.small_swing_damping) * (1.0 + 0.5 * g) / lost)


def _bend() -> float:
    """Square of the twist where the added damping is half there, over the one for which it is stated."""
    return 0.25 * (1.0 - AT_SWING) * (1.0 - AT_SWING) / AT_SWING


def elastic_row(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float]:
    """The columns of ROW."""
    q = growth_at_rated(r)
    twist = _rated_twist(r)
    grow = 0.0
    if q > 0.0:
        grow = q / (twist * twist)
    k = _stated_stiffness(r) * or_else(r.dynamic_ratio, 1.0) * warmth_factor(r)
    change = damping_change(r)
    psi = or_else(r.small_swing_damping, r.relative_damping) * change
    wide = 1.0
    if not isnan(r.small_swing_damping):
        wide = _bend() * _swing(r) * _swing(r)
    c = damping(psi, k, w1)
    more = max(damping(_added(r, _swing(r)) * change, k, w1), -c)  # by no rounding below nothing
    return k, c, 0.5 * r.lash, grow, q, more, wide


def flexible_start(p: Any, sense: float) -> int:
    """Mode to begin in; without play the coupling is always tight."""
    if p[HALF] <= 0.0:
        return ct.TIGHT_F
    return start_flank(p[HALF], sense)


def _past_play(m: int, phi: float, p: Any) -> float:
    """Twist [rad] past the play."""
    if m == ct.FORWARD or m == ct.PARTED_F:
        return phi - p[HALF]
    if m == ct.BACKWARD or m == ct.PARTED_B:
        return phi + p[HALF]
    return phi


def _grown(m: int, phi: float, p: Any, share: float) -> float:
    """How much stiffness or damping has grown at this twist; exactly 1 for a linear coupling."""
    d = _past_play(m, phi, p)
    return float(1.0 + share * p[GROW] * d * d)


def _damper(m: int, phi: float, p: Any) -> float:
    """Viscous damping [N*m*s/rad] at this twist."""
    d = _past_play(m, phi, p)
    return float((p[C] + p[MORE] * (d * d / (d * d + p[WIDE]))) * _grown(m, phi, p, 2.0))


def flexible_torque(m: int, phi: float, nu: float, p: Any) -> float:
    """Torque [N*m]."""
    return flank_torque(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), _damper(m, phi, p), p[HALF])


def flexible_guards(m: int, phi: float, nu: float, p: Any, T: float) -> tuple[float, float]:
    """Two values, > 0 while the mode holds; without play the flanks never part."""
    if m >= ct.TIGHT_F:
        return 1.0, 1.0
    return play_guards(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), _damper(m, phi, p), p[HALF], T)


def flexible_switch(m: int, which: int, phi: float, p: Any) -> tuple[int, float]:
    """Next mode and heat [J]."""
    return play_switch(m, which, phi, p[K] * _grown(m, phi, p, 0.5), p[HALF])


def flexible_loss(m: int, phi: float, nu: float, p: Any) -> float:
    """Power lost [W]."""
    return flank_loss(m, phi, nu, p[K] * _grown(m, phi, p, 1.0), _damper(m, phi, p), p[HALF])


def flexible_store(m: int, phi: float, p: Any) -> float:
    """Energy stored [J]."""
    return flank_store(m, phi, p[K] * _grown(m, phi, p, 0.5), p[HALF])


def flexible_hint(p: Any) -> float:
    """Stiffness [N*m/rad] up to rated torque: torque over twist there."""
    return float(p[K] * (1.0 + p[Q_RATED]))


def flexible_sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Stiffness, damping and lash; of a progressive coupling the stiffness at rated torque too."""
    out = {"stiffness": (p[K], "stiffness"), "damping": (p[C], "damping"), "lash": (2 * p[HALF], "angle")}
    if p[MORE] != 0.0:
        out["damping at large twists"] = (p[C] + p[MORE], "damping")
    if p[Q_RATED] > 0.0:
        out["stiffness at rated torque"] = (p[K] * (1.0 + 3.0 * p[Q_RATED]), "stiffness")
    return out
