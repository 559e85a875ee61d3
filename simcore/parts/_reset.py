"""How a protection that stays out is put back: on the edge of the wire ``reset``, at nearly equal speed of its hubs.

The wire is watched while the part is out, and only there.  A memory cell tells whether its edge has been taken: a
reset that comes too fast, or that was there before the part let go, does nothing, however long it is held.
Source: common practice.
"""

from __future__ import annotations

from typing import Any

WATCHING, TAKEN = 0.0, 1.0
BY_HAND = 1.0471975511965976
"""Slip speed [rad/s] above which nothing is put back by hand: 10 rpm; common practice, from memory."""
NAME = "reset"
CELL = "reset taken"


def reset_guard(taken: float, wire: float) -> float:
    """Falls through zero as the wire comes; once that is taken, as it goes again."""
    return wire - 0.5 if taken > 0.5 else 0.5 - wire


def let_go_under(wire: float) -> float:
    """What the cell holds from letting go on: an edge that came before is no reset."""
    return TAKEN if wire > 0.5 else WATCHING


def edge(M: Any, cell: int) -> bool:
    """Turn the cell round; True as the wire comes."""
    M[cell] = WATCHING if M[cell] > 0.5 else TAKEN
    return bool(M[cell] > 0.5)


def slow_enough(nu: float, limit: float) -> bool:
    """Whether the hubs run at nearly equal speed."""
    return abs(nu) <= limit
