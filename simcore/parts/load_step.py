r"""Load step: the ordinary load grows at once, for good or for a while (a heavy batch, a bale).

Source: Coulomb friction, textbook.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._added_drag import (
    GUARDS,
    MEMORY,
    MODES,
    READS,
    ROW,
    clock,
    friction,
    guards,
    refused,
    resolved,
    rise,
    switch,
)
from simcore.parts._event import REPEATED

__all__ = ["KIND", "clock", "friction", "guards", "switch"]

KIND = Kind(
    name="load step",
    family="event",
    domain="any",
    hubs=1,
    summary="the ordinary load grows at once, for good or for a while",
    params=(
        Param("extra", "effort", "load that comes on top (torque, or force on a travelling station)",
              required=True, above=0),
        Param("lasts", "time", "time until it is over; left out: it stays", above="0 s"),
        rise(),
        *REPEATED,
    ),
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    guards=GUARDS,
    reads=READS,
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refused(r, "a load", "end")


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    return resolved(r, r.extra)
