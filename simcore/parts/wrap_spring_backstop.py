r"""Wrap spring backstop: the wrap spring freewheel with its second hub on the ground.

The shaft turns free in one sense, with drag, and is held in the other; law, capacity and source as in
:mod:`simcore.parts.wrap_spring_freewheel`.
"""

from __future__ import annotations

from typing import Any

from simcore.parts import wrap_spring_freewheel
from simcore.parts._one_way import Row, as_backstop, guards, hint, loss, sheet, start_mode, store, switch, torque
from simcore.parts._one_way import inertia_on_shaft as inertias
from simcore.parts.wrap_spring_freewheel import _row, refuse

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "refuse", "sheet", "start_mode", "store", "switch", "torque"]

KIND = as_backstop(
    wrap_spring_freewheel.KIND,
    name="wrap spring backstop",
    summary="holds a shaft against turning back by a coil spring; slips past its capacity",
    lets_go="the torque passes its capacity: the spring slips",
    runs_again="at once: the shaft turns on whenever it is driven",
)


def resolve(r: Any, w1: float) -> Row:
    return _row(r, r.blocks, 0.0, w1)
