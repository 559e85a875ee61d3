"""Reset: a protection that stays out is put back, by hand or by air.

By air means that the air comes back as well: what a stop has vented is filled again.  Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind
from simcore.parts._command import INSTANT, MEMORY, MODES, ROW, clock, command_row
from simcore.parts._command import air_back as switch
from simcore.parts._event import REPEATED, refuse_repeats

__all__ = ["KIND", "clock", "switch"]

KIND = Kind(
    name="reset",
    family="event",
    domain="any",
    hubs=0,
    summary="protections that have let go are put back: re-engaged, re-armed, new pins fitted",
    params=REPEATED,
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    writes=("reset", "vent"),
    sources=("common practice",),
)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_repeats(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    return command_row(r, 1.0, INSTANT)
