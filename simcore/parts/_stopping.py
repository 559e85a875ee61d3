"""How a drive is taken off, by stop category of IEC 60204-1 (cited from memory).

0: power off at once.  1: controlled ramp down, then power off.  2: controlled ramp down, power stays on.
Writes ``permit``, ``slow``, ``brake``, ``vent``.  Shared by the stop chain and the emergency stop.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Param

ACTIONS = ("power off", "ramp, then off", "ramp and hold")
OFF_AT_ONCE, RAMP_THEN_OFF, RAMP_AND_HOLD = range(3)
WRITES = ("permit", "slow", "brake", "vent")
PERMIT, SLOW, BRAKE, VENT = range(4)
STOPPING = (
    Param("action", "choice", "stop category 0 (power off), 1 (ramp, then off) or 2 (ramp and hold)",
          default=ACTIONS[0], choices=ACTIONS, source="IEC 60204-1, category 0"),
    Param("ramp_time", "time", "time from the command to ramp down until power goes off", default="0.5 s", above="0 s",
          usual=("0.2 s", "5 s"), source="common practice, from memory"),
    Param("brakes", "flag", "whether service brakes go on with the power off", default="true"),
    Param("vents", "flag", "whether it lets out the air of protections held by air", default="false"),
)  # fmt: skip


def first_action(action: float, brakes: float, vents: float, O: Any) -> bool:
    """What happens when the command comes; True if more follows after the ramp."""
    O[VENT] = max(O[VENT], vents)
    if action == OFF_AT_ONCE:
        last_action(brakes, O)
        return False
    O[SLOW] = 1.0
    return action == RAMP_THEN_OFF


def end_of_ramp(brakes: float, O: Any) -> None:
    """The last action, unless a restart has called the ramp down off."""
    if O[SLOW] > 0.5:
        last_action(brakes, O)


def last_action(brakes: float, O: Any) -> None:
    """Power off, brakes on."""
    O[PERMIT] = 0.0
    O[BRAKE] = max(O[BRAKE], brakes)
