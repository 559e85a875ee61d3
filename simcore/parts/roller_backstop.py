r"""Roller backstop: the roller freewheel with its second hub on the ground.

The shaft turns free in one sense, with drag, and is held in the other; law, capacity and source as in
:mod:`simcore.parts.roller_freewheel`.
"""

from __future__ import annotations

from typing import Any

from simcore.parts import roller_freewheel
from simcore.parts._one_way import Row, as_backstop, guards, hint, loss, sheet, start_mode, store, switch, torque
from simcore.parts._one_way import inertia_on_shaft as inertias
from simcore.parts.roller_freewheel import _row, refuse

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "refuse", "sheet", "start_mode", "store", "switch", "torque"]

KIND = as_backstop(
    roller_freewheel.KIND,
    name="roller backstop",
    summary="holds a shaft against turning back by wedged rollers; slips past its capacity",
    lets_go="the torque passes its capacity: the rollers slip",
    runs_again="at once; after an overload only once inspected",
)


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.blocks, 0.0, w1)
