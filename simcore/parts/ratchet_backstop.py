r"""Ratchet backstop: the ratchet freewheel with its second hub on the ground.

The shaft turns free in one sense, with drag, and is held in the other; law, capacity and source as in
:mod:`simcore.parts.ratchet_freewheel`.
"""

from __future__ import annotations

from typing import Any

from simcore.parts import ratchet_freewheel
from simcore.parts._one_way import Row, as_backstop, guards, hint, loss, sheet, start_mode, store, switch, torque
from simcore.parts._one_way import inertia_on_shaft as inertias
from simcore.parts.ratchet_freewheel import _row, refuse

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "refuse", "sheet", "start_mode", "store", "switch", "torque"]

KIND = as_backstop(
    ratchet_freewheel.KIND,
    name="ratchet backstop",
    summary="holds a shaft against turning back by a pawl at the next tooth; breaks past its capacity",
    lets_go="the torque passes its capacity: pawl or tooth breaks",
    runs_again="at once; broken only with new parts",
)


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.blocks, 0.0, w1)
