"""Reverse: the drives are asked to run the other way, with their own ramp.

What stopped them before (permit, ramp down, brakes, vent, coil) is taken back.  Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind
from simcore.parts._command import MEMORY, MODES, RESUMES, ROW, clock, command_row
from simcore.parts._command import resume as switch
from simcore.parts._event import REPEATED, refuse_repeats

__all__ = ["KIND", "clock", "switch"]

KIND = Kind(
    name="reverse",
    family="event",
    domain="any",
    hubs=0,
    summary="the drives are asked to run the other way",
    params=REPEATED,
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    writes=RESUMES,
    sources=("common practice",),
)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_repeats(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    return command_row(r, -1.0, 0.0)
