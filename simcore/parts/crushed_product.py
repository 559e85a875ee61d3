r"""Crushed product: it yields at a plateau force and stays crushed; past its crush length it breaks and is gone.

.. math:: F = k\,(d - x) \text{ below the plateau } P, \qquad \dot x = \dot d \text{ while } F = P

with travel :math:`d` since first contact and crushed length :math:`x`: a spring in series with a slider that goes one
way.  Let off, it springs back by :math:`P/k` and keeps its crushed length.  Heat: :math:`P x`, and what the spring
held when the product breaks or is taken out.  Nothing damps it but the crushing.

Source: elastic, perfectly plastic bar (Prandtl body), textbook.
"""

from __future__ import annotations

from math import copysign, inf, isnan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._event import WHEN, first_at

K, PLATEAU, LENGTH, AT, UNTIL = range(5)
WAITING, SQUEEZED, CRUSHING, CLEAR, GONE = range(5)
PLACE, SENSE, CRUSHED = range(3)
HAIR = 1e-9

KIND = Kind(
    name="crushed product",
    family="event",
    domain="any",
    hubs=1,
    summary="a product between load and frame: gives way at a plateau force, stays crushed, may break",
    params=(
        Param("plateau", "effort", "torque (force on a travelling station) at which it is crushed; as a force: filled "
              "carton 0.5 to 5 kN, thin bottle 0.2 to 0.6 kN, timber along the grain 10 to 60 kN (from memory)",
              required=True, above=0),
        Param("stiffness", "any_stiffness", "stiffness up to the plateau; filled carton 20 to 300 kN/m (from memory)",
              required=True, above=0),
        Param("crush_length", "travel", "length over which it is crushed before it breaks and is out of the way, "
              "filled carton 20 to 150 mm (from memory); left out: no end", above=0),
        WHEN,
        Param("lasts", "time", "time until it is taken out; left out: it stays", above="0 s"),
    ),
    row=("k", "plateau", "length", "at", "until"),
    modes=(Mode("not there yet", ENGAGED, False), Mode("squeezed", ENGAGED), Mode("crushing", ENGAGED, False),
           Mode("clear of it", ENGAGED, False), Mode("broken or taken out", ENGAGED, False)),
    guards=("plateau or turning back", "parting, contact or end", "taken out by hand"),
    memory=("place", "sense", "crushed length"),
    reads=("clear",),
    expect="let go",
    sources=("elastic, perfectly plastic bar: textbook",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    at = first_at(r)
    length = inf if isnan(r.crush_length) else r.crush_length
    return r.stiffness, r.plateau, length, at, (inf if isnan(r.lasts) else at + r.lasts)


def _squeeze(q: Q) -> float:
    """How far it is squeezed beyond its crushed length."""
    return q.mem[SENSE] * (q.ta - q.mem[PLACE]) - q.mem[CRUSHED]


def torque(q: Q) -> float:
    if q.m == SQUEEZED:
        return q.mem[SENSE] * q.p[K] * _squeeze(q)
    return q.mem[SENSE] * q.p[PLATEAU] if q.m == CRUSHING else 0.0


def guards(q: Q, T: float) -> tuple[float, float, float]:
    by_hand = 0.5 - q.w[0]
    d = _squeeze(q)
    if q.m == SQUEEZED:
        return q.p[PLATEAU] - q.p[K] * d, d, by_hand
    if q.m == CRUSHING:
        left = q.p[LENGTH] - q.mem[CRUSHED] - d + q.p[PLATEAU] / q.p[K] if q.p[LENGTH] < inf else 1.0
        return q.mem[SENSE] * q.wa, left, by_hand
    if q.m == CLEAR:
        return 1.0, -d, by_hand
    return 1.0, 1.0, 1.0


def clock(q: Q) -> float:
    if q.m == WAITING:
        return q.p[AT]
    return inf if q.m == GONE else q.p[UNTIL]


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING:
        M[PLACE] = q.ta
        M[SENSE] = copysign(1.0, q.wa)
        return SQUEEZED, 0.0
    if k == CLOCK or k == 2:
        return GONE, store(q)
    if q.m == SQUEEZED:
        return (CRUSHING if k == 0 else CLEAR), 0.0
    if q.m == CLEAR:
        return SQUEEZED, 0.0
    if k == 1:
        return GONE, store(q)
    M[CRUSHED] = q.mem[CRUSHED] + _squeeze(q) - (1.0 - HAIR) * q.p[PLATEAU] / q.p[K]
    return SQUEEZED, 0.0


def loss(q: Q, T: float) -> float:
    return T * q.wa if q.m == CRUSHING else 0.0


def store(q: Q) -> float:
    if q.m == CRUSHING:
        return 0.5 * q.p[PLATEAU] * q.p[PLATEAU] / q.p[K]
    return 0.5 * q.p[K] * _squeeze(q) * _squeeze(q) if q.m == SQUEEZED else 0.0
