r"""Partial jam: extra dry drag on the load from an instant on; it stays, or clears after a while.

Source: Coulomb friction, textbook.
"""

from __future__ import annotations

from math import inf, isnan
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts._added_drag import MODES, ROW, drag_clock, drag_friction, drag_switch

KIND = Kind(
    name="partial jam",
    family="event",
    domain="any",
    hubs=1,
    summary="extra drag holds the load from an instant on, for good or until it clears",
    params=(
        Param("drag", "effort", "extra dry friction (torque, or force on a travelling station)",
              required=True, above=0),
        Param("lasts", "time", "time until it clears; left out: it stays", above="0 s",
              usual=("0.1 s", "2 s")),
    ),
    row=ROW,
    modes=MODES,
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    return r.drag, 0.0, (inf if isnan(r.lasts) else r.lasts)


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return drag_friction(q)


def clock(q: Q) -> float:
    return drag_clock(q)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return drag_switch(q)
