"""Loads that grow with speed, on dry friction: shared by fans, pumps and stirrers.

Row begins: dry friction while moving, at standstill, torque per speed, torque per speed squared.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Param, Q

DRY, STICKS, LINEAR, SQUARE = range(4)
ROW = ("dry", "sticks", "linear", "square")


def at_speed() -> tuple[Param, Param]:
    """A point of the curve."""
    return (
        Param("torque", "torque", "torque it takes at that speed, bearings and seals counted in", required=True,
              above="0 N*m"),
        Param("speed", "speed", "speed at which it takes that torque", required=True, above="0 rpm"),
    )  # fmt: skip


def standstill(default: float, usual: tuple[float, float]) -> Param:
    return Param("breakaway", "ratio", "torque to break away over the torque at that speed", default=default, low=0,
                 high=1.5, usual=usual, source="common practice, from memory")  # fmt: skip


def breakaway_below(r: Any, dry: float, word: str) -> list[str]:
    """What is impossible in the share of dry friction ``dry`` and the breakaway."""
    if r.breakaway < dry:
        return [f"breakaway {r.breakaway:.4g} is below the {word} {dry:.4g}, which is there at any speed: give the "
                "larger one as breakaway"]  # fmt: skip
    return []


def torque(q: Q) -> float:
    return (q.p[LINEAR] + q.p[SQUARE] * abs(q.wa)) * q.wa


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return q.p[STICKS], q.p[STICKS], q.p[DRY], q.p[DRY]


def loss(q: Q, T: float) -> float:
    return T * q.wa


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {"torque to break away": (p[STICKS], "torque"), "dry friction while moving": (p[DRY], "torque")}
