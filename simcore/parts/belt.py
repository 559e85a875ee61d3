r"""Belt or chain: it pulls, it never pushes.

One strand: a contact that closes in the driving sense only, slack otherwise.  Two strands with
pretension :math:`F_0` each: :math:`F = 2k\varphi` until the loose strand goes slack at
:math:`k|\varphi| = F_0`, from there :math:`F = F_0 + k\varphi`.  Source: statics of two pretensioned
strands, Niemann and Winter, Maschinenelemente 3 (cited from memory); slack see
:mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import copysign
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._contact import flank_guards, flank_loss, flank_store, flank_torque
from simcore.parts._elastic import BELT_DAMPING, damping

K, C, PRETENSION, TWO = range(4)
SLACK, TAUT_F, TAUT_B, EASED_F, EASED_B, BOTH, UPPER, LOWER, SLACK_B = range(9)

KIND = Kind(
    name="belt or chain",
    family="transmission",
    domain="travel",
    summary="belt, chain or rope between travelling stations: pulls, never pushes",
    params=(
        Param("stiffness", "linear_stiffness", "stiffness of one strand", required=True, above="0 N/m"),
        Param("strands", "choice", "strands that can pull: one (slack when driven back) or two "
              "(pretensioned loop)", default="one", choices=("one", "two"),
              source="conveying strand only"),
        Param("pretension", "force", "pull in each of two strands at rest", default="0 N", low="0 N",
              source="left out unless given"),
        BELT_DAMPING,
    ),
    row=("k", "c", "pretension", "two"),
    modes=(Mode("slack", ENGAGED, False), Mode("taut", ENGAGED), Mode("taut backward", ENGAGED),
           Mode("eased", ENGAGED, False), Mode("eased backward", ENGAGED, False),
           Mode("both strands", ENGAGED), Mode("driving strand", ENGAGED),
           Mode("return strand", ENGAGED), Mode("slack backward", ENGAGED, False)),
    guards=("strand", "strand again"),
    sources=("Niemann and Winter, Maschinenelemente 3 (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.strands < 0.5 and r.pretension > 0.0:
        return ['pretension needs two strands: write strands = "two"']
    if r.strands > 0.5 and r.pretension <= 0.0:
        return ["two strands need a pretension"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float]:
    both = r.stiffness * (1.0 + r.strands)
    return r.stiffness, damping(r.relative_damping, both, w1), r.pretension, r.strands


def start_mode(p: Any, sense: float) -> int:
    if p[TWO] > 0.5:
        return BOTH
    if sense == 0.0:
        return SLACK_B if copysign(1.0, sense) < 0.0 else SLACK
    return TAUT_F if sense > 0.0 else TAUT_B


def torque(q: Q) -> float:
    if q.m < BOTH:
        return flank_torque(q.m, q.phi, q.nu, q.p[K], q.p[C], 0.0)
    if q.m == BOTH:
        return 2.0 * q.p[K] * q.phi + q.p[C] * q.nu
    if q.m == UPPER:
        return q.p[PRETENSION] + q.p[K] * q.phi + q.p[C] * q.nu
    if q.m == LOWER:
        return -q.p[PRETENSION] + q.p[K] * q.phi + q.p[C] * q.nu
    return 0.0


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m == SLACK:
        return -q.phi, 1.0
    if q.m == SLACK_B:
        return q.phi, 1.0
    if q.m < BOTH:
        return flank_guards(q.m, q.phi, q.nu, q.p[K], q.p[C], 0.0, T)
    pull = q.p[K] * q.phi
    if q.m == BOTH:
        return q.p[PRETENSION] - pull, q.p[PRETENSION] + pull
    if q.m == UPPER:
        return pull - q.p[PRETENSION], 1.0
    return -pull - q.p[PRETENSION], 1.0


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if q.m == SLACK:
        return TAUT_F, 0.0
    if q.m == SLACK_B:
        return TAUT_B, 0.0
    if q.m == TAUT_F:
        return (EASED_F if q.phi > 0.0 else SLACK), 0.0
    if q.m == TAUT_B:
        return (EASED_B if q.phi < 0.0 else SLACK_B), 0.0
    if q.m == EASED_F:
        return (SLACK if k == 0 else TAUT_F), 0.0
    if q.m == EASED_B:
        return (SLACK_B if k == 0 else TAUT_B), 0.0
    if q.m == BOTH:
        return (UPPER if k == 0 else LOWER), 0.0
    return BOTH, 0.0


def loss(q: Q, T: float) -> float:
    if q.m == SLACK_B:
        return 0.0
    if q.m < BOTH:
        return flank_loss(q.m, q.phi, q.nu, q.p[K], q.p[C], 0.0)
    return q.p[C] * q.nu * q.nu


def store(q: Q) -> float:
    """Against the pretensioned rest, for two strands."""
    k = q.p[K]
    f0 = q.p[PRETENSION]
    if q.m == SLACK_B:
        return 0.0
    if q.m < BOTH:
        return flank_store(q.m, q.phi, k, 0.0)
    if q.m == BOTH:
        return k * q.phi * q.phi
    return f0 * abs(q.phi) + 0.5 * k * q.phi * q.phi - 0.5 * f0 * f0 / k


def hint(p: Any) -> float:
    return p[K] * (1.0 + p[TWO])


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"stiffness of one strand": (p[K], "linear_stiffness"), "pretension": (p[PRETENSION], "force")}
