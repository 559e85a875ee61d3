r"""Converter-fed motor: set speed by ramps, torque limit, trips, field weakening.

The speed loop is proportional: the droop is the motor's own slip, or what slip compensation leaves of it,

.. math:: T_s = \frac{T_r}{\delta}(v - \omega), \qquad \tau\dot T = \mathrm{clip}(T_s, -L, L) - T

with the set speed v(t), straight from corner to corner.  ``slow`` ramps it to zero and holds there; the command
alone, or the permit, takes the torque away and the line coasts; a command the other way ramps through zero.  On, the
set speed begins at the speed it finds.  In steady running before the event it stands at full speed.  It brakes as
strongly as it drives: a brake resistor is taken as there.  Above base speed the limit falls, the droop stays; flux
follows the speed at once.  See :mod:`simcore.parts._speed_loop`.

Sources: slip in proportion to torque at constant flux, field weakening: textbook; limits, lags: common practice.
"""

from __future__ import annotations

from math import inf, isnan, sqrt
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._plate import INERTIA, PLATE, refuse_plate, synchronous
from simcore.parts._set_speed import SPEED
from simcore.parts._speed_loop import (
    BASE,
    COLUMNS,
    GUARDS,
    KP,
    LAG,
    LIMIT,
    MEMORY,
    MODES,
    PULL,
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

INERT = 19

KIND = Kind(
    name="converter-fed motor",
    family="drive",
    hubs=1,
    summary="three-phase motor on a converter: set speed by ramps, torque limit, trips, field weakening",
    params=(
        *PLATE,
        Param("speed", "speed", "speed set, without load; left out: synchronous speed"),
        Param("breakdown", "ratio", "breakdown torque over rated torque", default=2.8, above=1, high=10,
              usual=(2.2, 3.2), source="four-pole standard motors, from memory"),
        INERTIA,
        Param("limit", "ratio", "torque limit over rated torque", default=1.5, above=0, high=10, usual=(1.1, 2.0),
              source="common practice, from memory"),
        Param("ramp_up_time", "time", "time from standstill to the speed set", default="2 s", low="0 s",
              usual=("0.5 s", "5 s"), source="common practice, from memory"),
        Param("ramp_down_time", "time", "time from the speed set to standstill", default="2 s", low="0 s",
              usual=("0.5 s", "5 s"), source="common practice, from memory"),
        Param("droop", "ratio", "speed lost at rated torque over synchronous speed; left out: the motor's own slip, "
              "no compensation", above=0, high=0.5, usual=(0.002, 0.06)),
        Param("lag", "time", "time constant of the torque", default="5 ms", low="0 s", usual=("3 ms", "50 ms"),
              source="field-oriented control; 20 ms to 50 ms without; from memory"),
        Param("stall_time", "time", "time at the limit after which it trips; left out: never", above="0 s",
              usual=("1 s", "60 s")),
        Param("trip", "ratio", "torque asked for over rated torque at which it trips 1 ms later, where the limiter "
              "is too slow; left out: it is in time", above=0, usual=(2.0, 2.5)),
    ),
    row=(*COLUMNS, "inert"),
    modes=MODES,
    states=STATES,
    guards=GUARDS,
    memory=MEMORY,
    reads=READS,
    keeps_speed=True,
    cautions=("Taking the torque off lets the line coast: a hanging load needs a brake.",
              "Its own trip tells no brake here: a real holding brake must drop in when the drive trips.",
              "Without a brake resistor a converter brakes far less than it drives; the ramp down then takes longer."),
    sources=("slip in proportion to torque at constant flux, field weakening: textbook",
             "limits, trips, lags: common practice, from memory"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = refuse_plate(r)
    if r.limit > r.breakdown:
        out.append("the converter's limit lies above the breakdown torque: the motor stalls before it")
    if r.speed == 0.0:
        out.append("a set speed of 0 leaves nothing to drive")
    if r.trip <= r.limit:
        out.append("trip lies below the limit: it would trip whenever the limit is needed")
    return out


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    sync = synchronous(r)
    rated = r.rated_power / abs(r.rated_speed)
    lost = abs(sync - r.rated_speed) if isnan(r.droop) else r.droop * abs(sync)
    speed = sync if isnan(r.speed) else r.speed
    stall = inf if isnan(r.stall_time) else r.stall_time
    trip = inf if isnan(r.trip) else r.trip * rated
    return (
        speed, r.ramp_up_time, r.ramp_down_time, 0.0, 0.0, 0.0, 0.0, rated / lost, 0.0, 0.0, 0.0, r.limit * rated,
        rated, r.lag, abs(sync), r.breakdown * rated, inf, stall, trip, r.inertia,
    )  # fmt: skip


def inertias(r: Any) -> tuple[float, float]:
    return 0.0, r.inertia


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    over = abs(p[SPEED]) / p[BASE]
    at_speed = min(p[LIMIT], p[LIMIT] / over, p[PULL] / (over * over))
    out = {
        "rated torque": (p[RATED], "torque"),
        "largest torque it gives": (p[LIMIT], "torque"),
        "largest torque at the speed set": (at_speed, "torque"),
        "rated torque at the speed set": (min(1.0, 1.0 / over) * p[RATED], "torque"),
        "breakdown torque": (p[PULL], "torque"),
        "base speed": (p[BASE], "speed"),
        "speed lost at rated torque": (p[RATED] / p[KP], "speed"),
    }
    if p[LAG] > 0.0:
        out["damping ratio of its loop, rotor alone"] = (0.5 * sqrt(p[INERT] / (p[KP] * p[LAG])), "ratio")
    return out
