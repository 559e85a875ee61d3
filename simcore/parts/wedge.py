r"""Wedge: something is drawn in between the load and the frame, ever harder the deeper; friction keeps it there.

.. math:: F = F_s\left(\frac{d}{d_s}\right)^n \text{ driven in}, \qquad
          u F_s\left(\frac{d}{d_s}\right)^n \text{ on the way out}

with :math:`d` the travel since it was caught.  The mean of both is elastic, half their difference is dry friction that
grows with depth; at standstill the wedge holds any force between the two.  For :math:`u < 0` it stays in when
the drive lets go and has to be pulled out.  Energy driven in: :math:`F d/(n + 1)`, of which the share
:math:`(1 + u)/2` is stored.  Nothing but friction damps it.

Source: wedge with friction, normal force a power of the depth: statics, textbook.
"""

from __future__ import annotations

from math import copysign, inf, isnan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, Kind, Mode, Param, Q
from simcore.parts._event import WHEN, first_at

RESISTANCE, DEPTH, EXPONENT, BACK, AT, UNTIL = range(6)
WAITING, WEDGED, OUT, GONE = range(4)
PLACE, SENSE = range(2)

KIND = Kind(
    name="wedge",
    family="event",
    domain="any",
    hubs=1,
    summary="something wedges the load ever harder the deeper it is drawn in, and holds it there",
    params=(
        Param("resistance", "effort", "torque (force on a travelling station) that drives it in to the stated depth",
              required=True, above=0),
        Param("depth", "travel", "travel since it was caught, at that torque", required=True, above=0),
        Param("exponent", "ratio", "power of the depth by which the resistance grows; 1: in proportion", default=1.5,
              low=1, high=4, usual=(1, 2.5), source="bundle of parts or crumbs pressed together; common practice, "
              "from memory"),
        Param("unloading", "ratio", "resistance on the way out over that on the way in; below 0: it holds and must "
              "be pulled out", default=-0.3, low=-1, high=1, usual=(-0.6, 0.6),
              source="wedge flatter than its angle of friction; common practice, from memory"),
        WHEN,
        Param("lasts", "time", "time until it is taken out; left out: it stays", above="0 s"),
    ),
    row=("resistance", "depth", "exponent", "unloading", "at", "until"),
    modes=(Mode("not there yet", ENGAGED, False), Mode("wedged", ENGAGED), Mode("out of it", ENGAGED, False),
           Mode("taken out", ENGAGED, False)),
    guards=("edge", "taken out by hand"),
    memory=("place", "sense"),
    reads=("clear",),
    expect="let go",
    cautions=("A wedged machine holds energy: secure it against springing back before anyone reaches in.",),
    sources=("wedge with friction: textbook",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    at = first_at(r)
    return r.resistance, r.depth, r.exponent, r.unloading, at, (inf if isnan(r.lasts) else at + r.lasts)


def _depth(q: Q) -> float:
    """Travel since it was caught."""
    return q.mem[SENSE] * (q.ta - q.mem[PLACE])


def _driven_in(q: Q) -> float:
    """Torque that drives it in at this depth."""
    d = _depth(q) / q.p[DEPTH]
    if q.m != WEDGED or d <= 0.0:
        return 0.0
    return float(q.p[RESISTANCE] * d ** q.p[EXPONENT])


def torque(q: Q) -> float:
    return 0.5 * (1.0 + q.p[BACK]) * q.mem[SENSE] * _driven_in(q)


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    f = 0.5 * (1.0 - q.p[BACK]) * _driven_in(q)
    return f, f, f, f


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m == WEDGED:
        return _depth(q), 0.5 - q.w[0]
    if q.m == OUT:
        return -_depth(q), 0.5 - q.w[0]
    return 1.0, 1.0


def clock(q: Q) -> float:
    if q.m == WAITING:
        return q.p[AT]
    return inf if q.m == GONE else q.p[UNTIL]


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == WAITING:
        M[PLACE] = q.ta
        M[SENSE] = copysign(1.0, q.wa)
        return WEDGED, 0.0
    if k == CLOCK or k == 1:
        return GONE, store(q)
    return (OUT if q.m == WEDGED else WEDGED), 0.0


def loss(q: Q, T: float) -> float:
    return 0.0


def store(q: Q) -> float:
    return 0.5 * (1.0 + q.p[BACK]) * _driven_in(q) * _depth(q) / (q.p[EXPONENT] + 1.0)
