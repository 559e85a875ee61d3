r"""Hard stop: the load meets something that does not move.

.. math:: F = k d + c\dot d \ge 0, \quad d = \text{travel past first contact}

Source: contact see :mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import copysign, inf, isnan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._event import WHEN, first_at

K, C, AT, UNTIL, GROWTH = range(5)
CLEAR, TOUCHING, EASED, WAITING, GONE = range(5)
PLACE, SENSE = range(2)
ROW = ("k", "c", "at", "until", "growth")
MODES = (
    Mode("clear", ENGAGED, False),
    Mode("touching", ENGAGED),
    Mode("eased", ENGAGED, False),
    Mode("not there yet", ENGAGED, False),
    Mode("taken away", ENGAGED, False),
)
GUARDS = ("contact", "contact again", "taken away by hand")
MEMORY = ("place", "sense")
READS = ("clear",)
AFTER = Param("after", "time", "steady running before the contact", above="0 s")
DISTANCE = Param("distance", "travel", "travel in steady running before the contact", above=0)
LASTS = Param("lasts", "time", "time until it is taken away; left out: it stays", above="0 s")

KIND = Kind(
    name="hard stop",
    family="event",
    domain="any",
    hubs=1,
    summary="the load meets a stop: contact stiffness, damping, opening and closing",
    params=(
        Param("stiffness", "any_stiffness", "contact stiffness, machine frame behind it counted in; steel "
              "on a welded frame 2 to 50 MN/m (from memory)",
              required=True, above=0),
        Param("damping", "any_damping", "contact damping; left out: from the relative damping", low=0),
        RELATIVE_DAMPING,
        AFTER,
        DISTANCE,
        WHEN,
        LASTS,
    ),
    row=ROW,
    modes=MODES,
    guards=GUARDS,
    memory=MEMORY,
    reads=READS,
    expect="let go",
    sources=("Kelvin-Voigt contact without adhesion (Flores and Lankarani, cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if not isnan(r.after) and not isnan(r.distance):
        return ["give the time or the distance before the contact, not both"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    c = damping(r.relative_damping, r.stiffness, w1) if isnan(r.damping) else r.damping
    at = first_at(r)
    return r.stiffness, c, at, (inf if isnan(r.lasts) else at + r.lasts), 0.0


def start_mode(p: Any, sense: float) -> int:
    return WAITING


def _depth(q: Q) -> float:
    """Travel past first contact; the stop stands where the load was when it came."""
    return q.mem[SENSE] * (q.ta - q.mem[PLACE])


def _spring(q: Q, d: float) -> float:
    """Spring force at depth ``d``; the growth is 0 for a hard stop."""
    return q.p[K] * d * (1.0 + q.p[GROWTH] * d * d)


def torque(q: Q) -> float:
    if q.m != TOUCHING:
        return 0.0
    return q.mem[SENSE] * _spring(q, _depth(q)) + q.p[C] * q.wa


def guards(q: Q, T: float) -> tuple[float, float, float]:
    d = _depth(q)
    if q.m == CLEAR:
        return -d, 1.0, 0.5 - q.w[0]
    if q.m == TOUCHING:
        return q.mem[SENSE] * T, 1.0, 0.5 - q.w[0]
    if q.m == EASED:
        return d, -(_spring(q, d) + q.p[C] * q.mem[SENSE] * q.wa), 0.5 - q.w[0]
    return 1.0, 1.0, 1.0


def clock(q: Q) -> float:
    if q.m == WAITING:
        return q.p[AT]
    return inf if q.m == GONE else q.p[UNTIL]


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING:
        M[PLACE] = q.ta
        M[SENSE] = copysign(1.0, q.wa)
        return TOUCHING, 0.0
    if k == CLOCK or k == 2:
        return GONE, store(q)
    if q.m == CLEAR:
        return TOUCHING, 0.0
    if q.m == TOUCHING:
        return (EASED if _depth(q) > 0.0 else CLEAR), 0.0
    return (CLEAR if k == 0 else TOUCHING), 0.0


def loss(q: Q, T: float) -> float:
    if q.m == TOUCHING:
        return q.p[C] * q.wa * q.wa
    if q.m == EASED:
        return -_spring(q, _depth(q)) * q.mem[SENSE] * q.wa
    return 0.0


def store(q: Q) -> float:
    d = _depth(q)
    return 0.5 * q.p[K] * d * d * (1.0 + 0.5 * q.p[GROWTH] * d * d) if q.m == TOUCHING or q.m == EASED else 0.0


def hint(p: Any) -> float:
    return p[K]
