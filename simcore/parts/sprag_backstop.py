r"""Sprag backstop: the sprag freewheel with its second hub on the ground.

The shaft turns free in one sense, with drag, and is held in the other; law, capacity and source as in
:mod:`simcore.parts.sprag_freewheel`.
"""

from __future__ import annotations

from typing import Any

from simcore.parts import sprag_freewheel
from simcore.parts._one_way import Row, as_backstop, guards, hint, loss, sheet, start_mode, store, switch, torque
from simcore.parts._one_way import inertia_on_shaft as inertias
from simcore.parts.sprag_freewheel import _row, refuse

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "refuse", "sheet", "start_mode", "store", "switch", "torque"]

KIND = as_backstop(
    sprag_freewheel.KIND,
    name="sprag backstop",
    summary="holds a shaft against turning back by wedged cams; slips past its capacity",
    lets_go="the torque passes its capacity: the cams slip",
    runs_again="at once; after an overload only once inspected",
)


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.blocks, 0.0, w1)
