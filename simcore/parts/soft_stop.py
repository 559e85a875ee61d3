r"""Soft stop: the load meets a yielding body (a buffer, a log, a bag), known by its stiffness and its rebound.

.. math:: F = k d\,(1 + g d^2) + c\dot d \ge 0, \qquad c = 2\zeta(e)\sqrt{k m}, \qquad g = \frac{p - 1}{3 s^2}

with :math:`d` the travel past first contact, restitution :math:`e` (speed after over speed before) of the effective
mass :math:`m` alone, and :math:`p` the stiffness at the stroke :math:`s` over that at first contact.  The restitution
is that of the linear contact; a progressive one throws back a little harder.

Sources: restitution see :mod:`simcore.parts._restitution`; contact see :mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import inf, isnan, sqrt
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._event import WHEN, first_at
from simcore.parts._given import or_else
from simcore.parts._restitution import damping_ratio
from simcore.parts.hard_stop import (
    AFTER,
    DISTANCE,
    GROWTH,
    GUARDS,
    LASTS,
    MEMORY,
    MODES,
    READS,
    ROW,
    C,
    K,
    clock,
    guards,
    loss,
    start_mode,
    store,
    switch,
    torque,
)

__all__ = ["KIND", "clock", "guards", "loss", "start_mode", "store", "switch", "torque"]

STROKE = len(ROW)

KIND = Kind(
    name="soft stop",
    family="event",
    domain="any",
    hubs=1,
    summary="the load meets a yielding body: stiffness, rebound (restitution), stiffening",
    params=(
        Param("stiffness", "any_stiffness", "contact stiffness (progressive: at first contact); at the point of "
              "contact timber 0.5 to 5 MN/m, filled carton 20 to 300 kN/m, bag or dough 2 to 50 kN/m (from memory)",
              required=True, above=0),
        Param("restitution", "ratio", "speed after over speed before the contact", default=0.3, low=0.01, high=1,
              usual=(0.1, 0.6), source="steel 0.3 to 0.6, timber 0.2 to 0.4, filled carton 0.1; common practice, from "
              "memory"),
        Param("effective_mass", "any_inertia", "inertia (mass on a travelling station) that strikes, for the "
              "restitution: of the load itself, not of the drive behind it", required=True, above=0),
        Param("progression", "ratio", "stiffness at the stroke over that at first contact; left out: 1, linear",
              low=1, high=50, usual=(1, 5), source="rubber buffer 2 to 5; common practice, from memory"),
        Param("stroke", "travel", "depth at which the progression is stated", above=0),
        AFTER,
        DISTANCE,
        WHEN,
        LASTS,
    ),
    row=(*ROW, "stroke"),
    modes=MODES,
    guards=GUARDS,
    memory=MEMORY,
    reads=READS,
    expect="let go",
    cautions=("Past the stroke the law grows on; a buffer that bottoms out there is far stiffer.",),
    sources=("restitution of a damped contact: textbook",
             "Kelvin-Voigt contact without adhesion (Flores and Lankarani, cited from memory)"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    if not isnan(r.after) and not isnan(r.distance):
        out.append("give the time or the distance before the contact, not both")
    if or_else(r.progression, 1.0) > 1.0 and isnan(r.stroke):
        out.append("progression is stated at a depth: give the stroke")
    return out


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    c = 2.0 * damping_ratio(r.restitution) * sqrt(r.stiffness * r.effective_mass)
    at = first_at(r)
    stroke = or_else(r.stroke, 0.0)
    growth = 0.0
    if stroke > 0.0:
        growth = (or_else(r.progression, 1.0) - 1.0) / (3.0 * stroke * stroke)
    return r.stiffness, c, at, (inf if isnan(r.lasts) else at + r.lasts), growth, stroke


def hint(p: Any) -> float:
    """Force over depth at the stroke."""
    return float(p[K] * (1.0 + p[GROWTH] * p[STROKE] * p[STROKE]))


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"contact stiffness": (p[K], "any_stiffness"), "contact damping": (p[C], "any_damping")}
