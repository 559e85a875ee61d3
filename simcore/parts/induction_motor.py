r"""Induction motor from its plate: one smooth curve through rated, breakdown and locked-rotor point.

Kloss's formula holds for a rotor resistance that does not change.  Skin effect in the bars lets it grow with slip,
here :math:`R(s) = R\sqrt{1 + c s^2}` (with the square of slip at little slip, as the theory of deep bars has it, and
in proportion at much), so that the slip counts less,

.. math:: T = \frac{2 T_k}{u + 1/u} = \frac{2 T_k\, u}{1 + u^2}, \qquad
          u(s) = \frac{a s}{\sqrt{1 + c s^2}}, \qquad s = 1 - \frac{\omega}{\omega_s}

Rated point: :math:`u_r = m - \sqrt{m^2-1}` with :math:`m = T_k/T_r`; standstill, beyond the peak:
:math:`u_l = \lambda + \sqrt{\lambda^2-1}` with :math:`\lambda = T_k/T_l`.  Hence

.. math:: c = \frac{u_r^2 - u_l^2 s_r^2}{s_r^2 (u_l^2 - u_r^2)}, \qquad a = u_l\sqrt{1 + c}

Both points are met exactly, and the peak, where u = 1.  As :math:`u' = a (1 + c s^2)^{-3/2} > 0`, u rises
throughout, and T has one peak in u: so it has one in s, with no saddle before it.  :math:`c \ge 0` if and only if the
locked-rotor torque is not below that of Kloss's curve; less is refused, the rotor's resistance would have to fall
with slip.  Without locked-rotor torque c = 0: Kloss's curve.  T is odd in slip: the same curve brakes above
synchronous speed; in reverse (slip 1 to 2) it goes on smoothly.  A pull-up torque below the locked-rotor torque is
not on the plate and is not modelled.

Voltage: T ~ U^2.  Star: a third of it.  Star-delta has no torque while the contactors change over.  With ``lag`` the
air-gap torque follows the curve with one time constant, :math:`\tau\dot T_a = T - T_a`.

Sources: Kloss's formula and torque ~ U^2: Fischer, Elektrische Maschinen (cited from memory); skin effect of deep
bars: the same; the root is a smooth law of our own between its two limits.
"""

from __future__ import annotations

from math import inf, isnan, sqrt
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q, State
from simcore.parts._plate import INERTIA, PLATE, refuse_plate, synchronous
from simcore.parts._rampup import MEMORY, OFF, RAMP, READS, command_came, command_guard, ramp_clock, sense_asked, share

PEAK, SYNC, A, C, LAG, STAR_TIME, GAP, RAMP_TIME, RATED, RATED_SLIP, INERT = range(11)
ON, STAR, CHANGING = 1, 2, 3
NEXT = 3
AIR_GAP = 0

KIND = Kind(
    name="induction motor",
    family="drive",
    hubs=1,
    summary="three-phase motor on the mains, by its plate: rated, breakdown and locked-rotor torque; star-delta",
    params=(
        *PLATE,
        Param("breakdown", "ratio", "breakdown torque over rated torque", default=2.8, above=1, high=10,
              usual=(2.2, 3.2), source="four-pole standard motors, from memory"),
        Param("locked_rotor", "ratio", "locked-rotor torque over rated torque; left out: by Kloss's curve, which is "
              "mostly far too low", above=0, high=10, usual=(1.8, 2.6)),
        INERTIA,
        Param("voltage", "ratio", "voltage over rated voltage", default=1, above=0, high=1.5, usual=(0.8, 1.1),
              source="as on the plate"),
        Param("starting", "choice", "on the mains at once, or in star first", default="direct",
              choices=("direct", "star-delta"), source="the usual start up to some kilowatts"),
        Param("changeover", "time", "time in star (star-delta)", default="3 s", above="0 s", usual=("1 s", "10 s"),
              source="common practice, from memory"),
        Param("gap", "time", "time without torque while the contactors change over (star-delta)", default="50 ms",
              low="0 s", usual=("30 ms", "100 ms"), source="common practice, from memory"),
        Param("lag", "time", "time constant with which the torque follows its curve; 0: at once", default="0 s",
              low="0 s", usual=("0 ms", "20 ms"), source="no lag; a few milliseconds shape a crash"),
        RAMP,
    ),
    row=("peak", "sync", "a", "c", "lag", "star_time", "gap", "ramp", "rated", "rated_slip", "inert"),
    modes=(Mode("off", ENGAGED), Mode("on", ENGAGED), Mode("in star", ENGAGED), Mode("changing over", ENGAGED)),
    states=(State("air-gap torque", "1", 1.0, "torque over breakdown torque; follows the curve", True),),
    guards=("command",),
    memory=(*MEMORY, "next contactor at"),
    reads=READS,
    cautions=("Direct-on-line starts and changeovers have electrical transients above this curve, some 1.5 to 2.5 "
              "times locked-rotor torque for a few mains cycles; onto a residual field several times more.",
              "Plate torques have wide tolerances: locked-rotor torque -15 to +25 %, breakdown torque -10 % "
              "(IEC 60034-1, cited from memory)."),
    sources=("Kloss's formula, torque ~ U^2, deep bars: Fischer, Elektrische Maschinen (cited from memory)",
             "a third of the torque in star: textbook"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = refuse_plate(r)
    if r.starting > 0.5 and r.ramp > 0.0:
        out.append("a torque ramp and star-delta are two ways to start: leave one of the two out")
    if out or isnan(r.locked_rotor):
        return out
    slip = 1.0 - r.rated_speed / synchronous(r)
    x = slip / (r.breakdown - sqrt(r.breakdown * r.breakdown - 1.0))
    least = 2.0 * r.breakdown * x / (1.0 + x * x)
    if x > 1.0:
        return [f"breakdown {r.breakdown:.4g} at this rated slip lies beyond standstill: check the rated speed"]
    if r.locked_rotor > r.breakdown:
        out.append(f"locked_rotor {r.locked_rotor:.4g} lies above breakdown {r.breakdown:.4g}, the largest torque: no "
                   "curve with one peak meets both")  # fmt: skip
    elif r.locked_rotor < least * (1.0 - 1e-9):
        out.append(f"locked_rotor {r.locked_rotor:.4g} lies below {least:.4g}, what rated and breakdown point give at "
                   "standstill: the rotor's resistance would have to fall with slip; check the plate")  # fmt: skip
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    sync = synchronous(r)
    slip = 1.0 - r.rated_speed / sync
    rated = r.rated_power / abs(r.rated_speed)
    ur = r.breakdown - sqrt(r.breakdown * r.breakdown - 1.0)
    a = ur / slip
    c = 0.0
    if not isnan(r.locked_rotor):
        y = r.breakdown / r.locked_rotor
        ul = y + sqrt(max(y * y - 1.0, 0.0))
        c = max(0.0, (ur * ur - ul * ul * slip * slip) / (slip * slip * (ul * ul - ur * ur)))
        a = ul * sqrt(1.0 + c)
    star = r.changeover if r.starting > 0.5 else 0.0
    peak = r.breakdown * rated * r.voltage * r.voltage
    return peak, sync, a, c, r.lag, star, r.gap, r.ramp, rated, slip, r.inertia


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def free_speed(p: Any) -> float:
    return p[SYNC]


def top_torque(p: Any) -> float:
    return p[PEAK]


def rises(p: Any) -> bool:
    return True


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else ON


def _share(p: Any, s: float) -> float:
    """Torque of the curve over breakdown torque at the slip ``s``."""
    d = 1.0 + p[C] * s * s
    return 2.0 * p[A] * s * sqrt(d) / (d + p[A] * p[A] * s * s)


def _curve(q: Q) -> float:
    """Torque over breakdown torque that the curve gives now, signed by the way round."""
    if q.m == OFF or q.m == CHANGING:
        return 0.0
    side = sense_asked(q)
    f = _share(q.p, 1.0 - side * q.wb / q.p[SYNC]) * share(q, q.p[RAMP_TIME])
    if q.m == STAR:
        f /= 3.0
    return f * side if q.p[SYNC] > 0.0 else -f * side


def torque(q: Q) -> float:
    return q.p[PEAK] * (q.x[AIR_GAP] if q.p[LAG] > 0.0 else _curve(q))


def rate(q: Q, T: float) -> tuple[float]:
    if q.p[LAG] <= 0.0 or q.m == OFF or q.m == CHANGING:
        return (0.0,)
    return ((_curve(q) - q.x[AIR_GAP]) / q.p[LAG],)


def guards(q: Q, T: float) -> tuple[float]:
    return (command_guard(q),)


def clock(q: Q) -> float:
    contactor = q.mem[NEXT] if q.m == STAR or q.m == CHANGING else inf
    return min(ramp_clock(q, q.p[RAMP_TIME]), contactor)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        if q.m == STAR and q.t >= q.mem[NEXT]:
            X[AIR_GAP] = 0.0
            M[NEXT] = q.t + q.p[GAP]
            return CHANGING, 0.0
        if q.m == CHANGING:
            return ON, 0.0
        M[1] = 0.0
        return q.m, 0.0
    if q.m != OFF:
        X[AIR_GAP] = 0.0
        M[1] = 0.0
        return OFF, 0.0
    command_came(q, q.p[RAMP_TIME], M)
    if q.p[STAR_TIME] > 0.0:
        M[NEXT] = q.t + q.p[STAR_TIME]
        return STAR, 0.0
    return ON, 0.0


def loss(q: Q, T: float) -> float:
    return -T * q.wb


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    still = p[PEAK] * _share(p, 1.0)
    out = {
        "rated torque": (p[RATED], "torque"),
        "breakdown torque": (p[PEAK], "torque"),
        "torque at standstill": (still, "torque"),
        "synchronous speed": (p[SYNC], "speed"),
        "rated slip": (p[RATED_SLIP], "ratio"),
        "slip at breakdown": (1.0 / sqrt(max(p[A] * p[A] - p[C], 1e-30)), "ratio"),
        "rotor resistance at standstill over that at speed": (sqrt(1.0 + p[C]), "ratio"),
        "heat in the rotor, one start without load": (0.5 * p[INERT] * p[SYNC] * p[SYNC], "energy"),
    }
    if p[STAR_TIME] > 0.0:
        out["torque at standstill in star"] = (still / 3.0, "torque")
    return out
