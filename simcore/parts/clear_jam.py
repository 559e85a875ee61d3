"""Clear: what jams the load is taken away.

Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind
from simcore.parts._command import INSTANT, MEMORY, MODES, ROW, clock, command_row, switch
from simcore.parts._event import REPEATED, refuse_repeats

__all__ = ["KIND", "clock", "switch"]

KIND = Kind(
    name="clear",
    family="event",
    domain="any",
    hubs=0,
    summary="stops and jams are taken away",
    params=REPEATED,
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    writes=("clear",),
    sources=("common practice",),
)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_repeats(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    return command_row(r, 1.0, INSTANT)
