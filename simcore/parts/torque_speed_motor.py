r"""Three-phase motor by its torque-speed curve, with an optional torque ceiling (a converter's limit).

.. math:: T = \frac{2 T_k}{s/s_k + s_k/s}, \quad s = 1 - \frac{\omega}{\omega_s}, \quad
          s_k = s_r\left(m + \sqrt{m^2-1}\right), \quad m = T_k/T_r

With a ceiling below breakdown the torque is held at the ceiling from the slip where the stable branch
meets it down to standstill, as a converter does.  Source: Kloss's formula, textbook, e.g. Fischer,
Elektrische Maschinen (cited from memory).  One curve through rated and breakdown point misses the
locked-rotor point of most motors; the sheet shows what it gives there.
"""

from __future__ import annotations

from math import copysign, inf, isnan, sqrt
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._rampup import MEMORY, OFF, RAMP, READS, command_came, command_guard, ramp_clock, sense_asked, share

PEAK, SLIP_K, SYNC, CEILING, SLIP_C, RAMP_TIME, RATED = range(7)
ON_CURVE, AT_CEILING, BRAKING = 1, 2, 3

KIND = Kind(
    name="torque-speed motor",
    family="drive",
    hubs=1,
    summary="three-phase motor by data plate, direct or with a converter's torque limit",
    params=(
        Param("rated_power", "power", "rated power", required=True, above="0 W"),
        Param("rated_speed", "speed", "rated speed", required=True),
        Param("synchronous_speed", "speed", "speed without load at mains frequency",
              default="1500 rpm", source="four poles at 50 Hz"),
        Param("breakdown", "ratio", "breakdown torque over rated torque", default=2.8, above=1,
              high=10, usual=(2.2, 3.2), source="four-pole standard motors; from memory"),
        Param("limit", "ratio", "torque ceiling of the converter over rated torque; left out: direct "
              "on line", above=0, usual=(1.1, 2.0)),
        Param("inertia", "inertia", "rotor inertia, brake and fan counted in", required=True,
              above="0 kg*m^2"),
        RAMP,
    ),
    row=("peak", "slip_k", "sync", "ceiling", "slip_c", "ramp", "rated"),
    modes=(Mode("off", ENGAGED), Mode("on its curve", ENGAGED), Mode("at its ceiling", ENGAGED),
           Mode("braking at its ceiling", ENGAGED)),
    guards=("command", "ceiling", "ceiling below"),
    memory=MEMORY,
    reads=READS,
    cautions=("Direct-on-line starts have electrical transients above this curve.",),
    sources=("Kloss's formula: Fischer, Elektrische Maschinen (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if r.rated_speed * r.synchronous_speed <= 0.0 or abs(r.rated_speed) >= abs(r.synchronous_speed):
        out.append("the rated speed must lie below the synchronous speed, in the same direction")
    if not isnan(r.limit) and r.limit > r.breakdown:
        out.append("the converter's limit lies above the breakdown torque: the motor stalls before it")
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float]:
    rated = r.rated_power / abs(r.rated_speed)
    peak = r.breakdown * rated
    slip_k = (1.0 - r.rated_speed / r.synchronous_speed) * (r.breakdown + sqrt(r.breakdown * r.breakdown - 1.0))
    ceiling = inf
    slip_c = inf
    if not isnan(r.limit) and r.limit < r.breakdown:
        ceiling = r.limit * rated
        x = r.breakdown / r.limit
        slip_c = slip_k * (x - sqrt(x * x - 1.0))
    return peak, slip_k, r.synchronous_speed, ceiling, slip_c, r.ramp, rated


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def free_speed(p: Any) -> float:
    return p[SYNC]


def top_torque(p: Any) -> float:
    return min(p[PEAK], p[CEILING])


def rises(p: Any) -> bool:
    return bool(p[CEILING] == inf)


def start_mode(p: Any, sense: float) -> int:
    return OFF if sense == 0.0 else ON_CURVE


def _slip(q: Q) -> float:
    return 1.0 - sense_asked(q) * q.wb / q.p[SYNC]


def torque(q: Q) -> float:
    if q.m == OFF:
        return 0.0
    s = _slip(q)
    T = q.p[CEILING]
    if q.m == ON_CURVE:
        T = 2.0 * q.p[PEAK] * s * q.p[SLIP_K] / (s * s + q.p[SLIP_K] * q.p[SLIP_K])
    elif q.m == BRAKING:
        T = -T
    return share(q, q.p[RAMP_TIME]) * copysign(T, T * q.p[SYNC] * sense_asked(q))


def guards(q: Q, T: float) -> tuple[float, float, float]:
    on = command_guard(q)
    s = _slip(q)
    if q.m == OFF or q.p[SLIP_C] > 1e30:
        return on, 1.0, 1.0
    if q.m == ON_CURVE:
        return on, q.p[SLIP_C] - s, q.p[SLIP_C] + s
    if q.m == AT_CEILING:
        return on, s - q.p[SLIP_C], 1.0
    return on, -q.p[SLIP_C] - s, 1.0


def clock(q: Q) -> float:
    return ramp_clock(q, q.p[RAMP_TIME])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[1] = 0.0
        return q.m, 0.0
    if k == 0:
        if q.m != OFF:
            return OFF, 0.0
        command_came(q, q.p[RAMP_TIME], M)
        s = _slip(q)
        if s > q.p[SLIP_C]:
            return AT_CEILING, 0.0
        return (BRAKING if s < -q.p[SLIP_C] else ON_CURVE), 0.0
    if q.m == ON_CURVE:
        return (AT_CEILING if k == 1 else BRAKING), 0.0
    return ON_CURVE, 0.0


def loss(q: Q, T: float) -> float:
    return -T * q.wb


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    top = min(p[PEAK], p[CEILING])
    return {
        "rated torque": (p[RATED], "torque"),
        "breakdown torque": (p[PEAK], "torque"),
        "largest torque it gives": (top, "torque"),
        "slip at breakdown": (p[SLIP_K], "ratio"),
        "torque at standstill by this curve": (
            min(p[CEILING], 2 * p[PEAK] * p[SLIP_K] / (1 + p[SLIP_K] ** 2)), "torque"),
    }  # fmt: skip
