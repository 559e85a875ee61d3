"""Power off: the drives lose their command at an instant.

Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind
from simcore.parts._command import MEMORY, MODES, ROW, clock, command_row, switch
from simcore.parts._event import REPEATED, refuse_repeats

__all__ = ["KIND", "clock", "switch"]

KIND = Kind(
    name="power off",
    family="event",
    domain="any",
    hubs=0,
    summary="the drives are switched off",
    params=REPEATED,
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    writes=("command",),
    sources=("common practice",),
)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_repeats(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    return command_row(r, 0.0, 0.0)
