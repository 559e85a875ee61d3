"""Creep speed: the drives are asked for a share of their full set speed, along their own ramp.

It is a command like any other, and the last one counts: a restart asks for full speed again, power off takes it
away, reverse asks for full speed the other way.  What stopped the drives before (permit, ramp down, brakes, vent,
coil) is taken back, and a drive that is off begins at the speed it finds.  An indexing axis turns steadily meanwhile;
asked for full speed again it stops and goes on with whole indexes.

Only a converter-fed motor and a servo motor have a speed loop; any other motor is refused.  Source: common practice.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._command import MEMORY, MODES, RESUMES, ROW, clock, command_row
from simcore.parts._command import resume as switch
from simcore.parts._event import REPEATED, refuse_repeats

__all__ = ["KIND", "clock", "switch"]

WAYS = ("forward", "backward")

KIND = Kind(
    name="creep speed",
    family="event",
    domain="any",
    hubs=0,
    summary="drives with a speed loop are asked for a share of their set speed, with their own ramp",
    params=(
        *REPEATED,
        Param("share", "ratio", "share of the full set speed; full speed again: restart", default="10 %",
              low="0.1 %", high=1, usual=("3 %", "25 %"), source="common practice, from memory"),
        Param("direction", "choice", "which way; forward: that of the set speed", default=WAYS[0], choices=WAYS,
              source="on to the next pocket"),
    ),
    row=ROW,
    modes=MODES,
    memory=MEMORY,
    writes=RESUMES,
    keeps_speed=True,
    cautions=("A creeping drive still gives its full torque: nobody reaches into it.",),
    sources=("common practice",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refuse_repeats(r)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    return command_row(r, -r.share if r.direction > 0.5 else r.share, 0.0)
