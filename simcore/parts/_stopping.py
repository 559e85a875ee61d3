"""How a drive is taken off, by stop category of IEC 60204-1 (cited from memory), or reversed first.

0: power off at once.  1: controlled ramp down, then power off.  2: controlled ramp down, power stays on.
Writes ``permit``, ``slow``, ``brake``, ``vent``, ``coil``; a stop chain that reverses the ``command`` too.  Shared by
the stop chain and the emergency stop.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from simcore.contract import Param

ACTIONS = ("power off", "ramp, then off", "ramp and hold")
ACTIONS_OF_A_CHAIN = (*ACTIONS, "reverse, then off")
OFF_AT_ONCE, RAMP_THEN_OFF, RAMP_AND_HOLD, REVERSE_THEN_OFF = range(4)
WRITES = ("permit", "slow", "brake", "vent", "coil")
PERMIT, SLOW, BRAKE, VENT, COIL, COMMAND = range(6)
PAUSED = 0.25
"""Permit while a stop chain has the power off before it reverses, or before it goes forward again: less than a half
takes it off, and it can be told from a stop by anybody else, 0."""
CATEGORIES = "stop category 0 (power off), 1 (ramp, then off) or 2 (ramp and hold)"
ACTION = Param("action", "choice", CATEGORIES, default=ACTIONS[0], choices=ACTIONS, source="IEC 60204-1, category 0")
ACTION_OF_A_CHAIN = replace(ACTION, choices=ACTIONS_OF_A_CHAIN, meaning=CATEGORIES + "; or the drive first turns out "
                            "of the jam, the other way (reverse, then off; no stop category)")  # fmt: skip
REVERSING = (
    Param("reverse_for", "time", "time for which the drive is reversed, from the command to the power off",
          above="0 s", usual=("0.5 s", "5 s")),
    Param("reverse_speed", "ratio", "share of the set speed at which it is reversed; left out: full speed", low="0.1 %",
          high=1, usual=("10 %", "100 %")),
    Param("reverse_pause", "time", "time without power before it is reversed, and before it runs forward again: "
          "contactors change over, the line comes to rest; left out: none", low="0 s", usual=("0.1 s", "2 s")),
    Param("attempts", "count", "how often it is reversed if the same is noticed again: after each time but the last it "
          "runs forward and is watched as after a power-on; left out: once, then off", low=1, high=100, usual=(1, 5)),
)  # fmt: skip
STOPPING = (
    Param("ramp_time", "time", "time from the command to ramp down until power goes off", default="0.5 s", above="0 s",
          usual=("0.2 s", "5 s"), source="common practice, from memory"),
    Param("brakes", "flag", "whether service brakes go on with the power off", default="true"),
    Param("vents", "flag", "whether it lets out the air of protections held by air", default="false"),
    Param("cuts_coils", "flag", "whether it cuts the current of clutches held by a coil", default="false"),
)  # fmt: skip


def first_action(action: float, brakes: float, vents: float, cuts: float, O: Any) -> bool:
    """What happens when the command comes; True if more follows after the ramp."""
    O[VENT] = max(O[VENT], vents)
    O[COIL] = max(O[COIL], cuts)
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


def turn(command: float, O: Any) -> None:
    """The drive gets its power and runs as commanded: the other way, or forward again, at a share of its speed."""
    O[PERMIT] = 1.0
    O[COMMAND] = command
