r"""Partial jam: extra dry drag on the load from an instant on; it stays, or clears after a while.

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
    name="partial jam",
    family="event",
    domain="any",
    hubs=1,
    summary="extra drag holds the load from an instant on, for good or until it clears",
    params=(
        Param("drag", "effort", "extra dry friction (torque, or force on a travelling station)",
              required=True, above=0),
        Param("lasts", "time", "time until it clears; left out: it stays", above="0 s",
              usual=("0.1 s", "2 s")),
        rise(),
        *REPEATED,
    ),
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    guards=GUARDS,
    reads=READS,
    expect="let go",
    expect_cleared="carry",
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refused(r, "a jam", "clear")


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    return resolved(r, r.drag)
