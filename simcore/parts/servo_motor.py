r"""Servo motor: PI speed loop with torque limit and lag, ramps or an indexing motion, position loop, following error.

.. math:: K_p = J\,\omega_b, \qquad T_i = 4/\omega_b \quad\text{(both poles at } \omega_b/2 \text{ without lag)}

for the inertia J the loop is tuned to.  Everything else: :mod:`simcore.parts._speed_loop`; laws of motion:
:mod:`simcore.parts._set_speed`.

An indexing axis begins its first index ``starts`` after its command, then dwells and moves in turn.  There is no
steady running with that: set up a crash within an index with ``start`` as the situation's first event and a hard
stop with ``when`` as a second.  Where another event comes first, the axis runs on steadily at the top speed of its
index before it, the worst instant of an index but without its acceleration.

Sources: PI speed control by pole placement: textbook; figures: common practice, from memory.
"""

from __future__ import annotations

from math import inf, isnan, pi
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._set_speed import LAWS, SPEED, top_speed
from simcore.parts._speed_loop import (
    COLUMNS,
    GUARDS,
    KI,
    KP,
    KV,
    LAG,
    LIMIT,
    MEMORY,
    MODES,
    RATED,
    READS,
    STATES,
    clock,
    free_speed,
    guards,
    loss,
    rate,
    run_up,
    start_mode,
    switch,
    top_torque,
    torque,
)

__all__ = ["KIND", "clock", "free_speed", "guards", "loss", "rate", "run_up", "start_mode", "switch", "top_torque",
           "torque"]  # fmt: skip

INDEX = ("index_angle", "move_time", "dwell_time")

KIND = Kind(
    name="servo motor",
    family="drive",
    hubs=1,
    summary="speed loop with torque limit; constant speed by ramps, or index after index with a position loop",
    params=(
        Param("rated_torque", "torque", "rated torque", required=True, above="0 N*m"),
        Param("peak", "ratio", "torque limit over rated torque", default=3, above=0, high=10, usual=(2.5, 4),
              source="common practice, from memory"),
        Param("inertia", "inertia", "rotor inertia, brake counted in", required=True, above="0 kg*m^2"),
        Param("speed", "speed", "speed set, without an index; negative: the other way round"),
        Param("index_angle", "angle", "angle of one index at the motor; negative: the other way round",
              low="-1000 rev", high="1000 rev"),
        Param("move_time", "time", "time of one index", above="0 s", usual=("50 ms", "2 s")),
        Param("dwell_time", "time", "time it stands between two", low="0 s", usual=("50 ms", "5 s")),
        Param("motion", "choice", "law of motion of an index", default=LAWS[0], choices=LAWS,
              source="cycloidal: no jump of the acceleration"),
        Param("starts", "time", "time from the command to the first index", default="0 s", low="0 s",
              source="at once"),
        Param("bandwidth", "frequency", "speed loop: gain over inertia and 2 pi", default="30 Hz", above="0 Hz",
              usual=("15 Hz", "80 Hz"), source="common practice, from memory"),
        Param("tuned_inertia", "inertia", "inertia the loop is tuned to, at the motor; left out: the rotor's own",
              above="0 kg*m^2"),
        Param("integral_time", "time", "reset time of the controller; left out: both poles equal", above="0 s",
              usual=("5 ms", "0.1 s")),
        Param("controller", "choice", "with or without integral part", default="proportional and integral",
              choices=("proportional and integral", "proportional"), source="the usual speed controller"),
        Param("lag", "time", "time constant of the torque loop", default="1 ms", low="0 s", usual=("0.5 ms", "2 ms"),
              source="common practice, from memory"),
        Param("ramp_up_time", "time", "time from standstill to the speed set", default="0.1 s", low="0 s",
              usual=("0 s", "2 s"), source="common practice, from memory"),
        Param("ramp_down_time", "time", "time from the speed set to standstill", default="0.1 s", low="0 s",
              usual=("0 s", "2 s"), source="common practice, from memory"),
        Param("position_time", "time", "time constant of the position loop, 1/Kv; left out: none", above="0 s",
              usual=("10 ms", "0.1 s")),
        Param("following_error", "angle", "angle behind the set angle at which it trips, at the motor; left out: "
              "never", above="0 deg", usual=("1 deg", "90 deg")),
        Param("stall_time", "time", "time at the limit after which it trips; left out: never", above="0 s",
              usual=("0.1 s", "5 s")),
    ),
    row=COLUMNS,
    modes=MODES,
    states=STATES,
    guards=GUARDS,
    memory=MEMORY,
    reads=READS,
    keeps_speed=True,
    cautions=("Taking the torque off lets the axis coast: a hanging load needs a brake.",
              "The loop sees what it is tuned to: with an elastic load far heavier than that it may hunt."),
    sources=("PI speed control by pole placement: textbook", "laws of motion: VDI 2143 (cited from memory)"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    given = [n for n in INDEX if not isnan(getattr(r, n))]
    missing = [n for n in INDEX if n not in given]
    if not given and isnan(r.speed):
        out.append(f"give the speed, or {', '.join(INDEX)} of an indexing axis")
    elif given and missing:
        out.append(f"an indexing axis needs {' and '.join(missing)} too")
    if given and not isnan(r.speed):
        out.append("give the speed or an index, not both: an index has its own speed")
    if r.speed == 0.0 or r.index_angle == 0.0:
        out.append("a motion of 0 leaves nothing to drive")
    if not isnan(r.following_error) and isnan(r.position_time):
        out.append("following_error needs position_time: without a position loop there is no set angle")
    if r.controller > 0.5 and not isnan(r.integral_time):
        out.append("integral_time belongs to the controller with an integral part")
    return out


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    speed = r.speed
    move = 0.0
    dwell = 0.0
    if not isnan(r.index_angle):
        speed = top_speed(r.motion, r.index_angle, r.move_time)
        move = r.move_time
        dwell = r.dwell_time
    band = 2.0 * pi * r.bandwidth
    kp = band * (r.inertia if isnan(r.tuned_inertia) else r.tuned_inertia)
    ti = 4.0 / band if isnan(r.integral_time) else r.integral_time
    ki = 0.0
    back = 0.0
    if r.controller < 0.5:
        ki = kp / ti
        back = 4.0 / ti
    kv = 0.0 if isnan(r.position_time) else 1.0 / r.position_time
    error = inf if isnan(r.following_error) else r.following_error
    stall = inf if isnan(r.stall_time) else r.stall_time
    limit = r.peak * r.rated_torque
    return (
        speed, r.ramp_up_time, r.ramp_down_time, move, dwell, r.motion, r.starts, kp, ki, kv, back, limit,
        r.rated_torque, r.lag, inf, limit, error, stall, inf,
    )  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    out = {
        "rated torque": (p[RATED], "torque"),
        "largest torque it gives": (p[LIMIT], "torque"),
        "speed set, or top speed of an index": (p[SPEED], "speed"),
        "gain of the speed loop": (p[KP], "damping"),
    }
    if p[LAG] > 0.0:
        out["lag of the torque loop"] = (p[LAG], "time")
    if p[KI] > 0.0:
        out["reset time"] = (p[KP] / p[KI], "time")
    else:
        out["speed lost at rated torque"] = (p[RATED] / p[KP], "speed")
    if p[KV] > 0.0:
        out["time constant of the position loop"] = (1.0 / p[KV], "time")
    return out
