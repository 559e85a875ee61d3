"""What one part may sense of another."""

from __future__ import annotations

from typing import Any

from simcore.contract import COL_RA, COL_RB, SIGNALS
from simcore.solver.arrays import ANGLE_A, ANGLE_B, SPEED_A, SPEED_B, X0

TORQUE, TWIST, SLIP, SPEED_IN, SPEED_OUT, CLASS = range(len(SIGNALS))


def sensed(e: int, code: int, y: Any, T: Any, line: Any, state: Any) -> float:
    """Signal ``code`` (see contract.SIGNALS) of part ``e``, at its own shaft; beyond them its own states."""
    row = line.parts[e]
    ra = line.p[e, COL_RA]
    rb = line.p[e, COL_RB]
    if code == TORQUE:
        return float(T[e])
    if code == TWIST:
        return float(ra * y[row[ANGLE_A]] - rb * y[row[ANGLE_B]])
    if code == SLIP:
        return float(ra * y[row[SPEED_A]] - rb * y[row[SPEED_B]])
    if code == SPEED_IN:
        return float(ra * y[row[SPEED_A]])
    if code == SPEED_OUT:
        return float(rb * y[row[SPEED_B]])
    if code == CLASS:
        return float(line.klass[e, state.mode[e]])
    return float(y[row[X0] + code - (CLASS + 1)])
