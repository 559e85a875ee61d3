r"""Load step: the ordinary load grows at once and stays so (a heavy batch).

Source: Coulomb friction, textbook.
"""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts._added_drag import MODES, ROW, drag_clock, drag_friction, drag_switch

KIND = Kind(
    name="load step",
    family="event",
    domain="any",
    hubs=1,
    summary="the ordinary load grows at once and stays",
    params=(
        Param("extra", "effort", "load that comes on top (torque, or force on a travelling station)",
              required=True, above=0),
    ),
    row=ROW,
    modes=MODES,
    sources=("Coulomb friction: textbook",),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float, float, float]:
    return r.extra, 0.0, inf


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return drag_friction(q)


def clock(q: Q) -> float:
    return drag_clock(q)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return drag_switch(q)
