"""Weight that pulls back, and dry friction beside it.  Shared by the loads that go uphill.

Row begins: weight (positive where forward lifts), friction while moving, friction at standstill.  Work against gravity
is booked as loss, negative where the load comes down and drives: so it counts as turned over in the ledger.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Param, Q

WEIGHT, RUNS, STICKS = range(3)
G = 9.81
"""Standard fall acceleration, rounded as common in the trade [m/s^2]."""
LIFTS = Param("lifts", "choice", "sense of travel that lifts the load", default="forward",
              choices=("forward", "backward"), source="a line that runs forward and uphill")  # fmt: skip
FALLS = "Whatever lets go lets the load come down, unless a backstop or brake on the load side holds it."
MASS_PLACES = ("given elsewhere", "counted here")


def mass_moves(default: str, source: str) -> Param:
    return Param("mass_moves", "choice", "where the inertia of what travels is given: in a moving mass, or here with "
                 "the load", default=default, choices=MASS_PLACES, source=source)  # fmt: skip


def breakaway_too_low(breakaway: float, running: float) -> bool:
    return not isnan(breakaway) and breakaway < running


def signed(weight: float, lifts: float) -> float:
    """Weight [N] with its sign; ``lifts``: place in the list of choices."""
    return weight * (1.0 - 2.0 * lifts)


def torque(q: Q) -> float:
    return q.p[WEIGHT]


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return q.p[STICKS], q.p[STICKS], q.p[RUNS], q.p[RUNS]


def loss(q: Q, T: float) -> float:
    return T * q.wa


def pulls(p: Any) -> dict[str, tuple[float, str]]:
    """Forces for the data sheet: name -> (value in SI, kind of quantity)."""
    w = abs(p[WEIGHT])
    return {
        "pull back by gravity": (w, "force"),
        "friction while moving": (p[RUNS], "force"),
        "pull uphill": (w + p[RUNS], "force"),
        "pull to break away uphill": (w + p[STICKS], "force"),
        "runs back by itself with": (max(w - p[RUNS], 0.0) if w > p[STICKS] else 0.0, "force"),
    }
