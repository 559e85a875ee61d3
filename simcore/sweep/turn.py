"""The rows of the protection under trial when only its own inputs differ, of many draws at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import fill_row
from simcore.line.graph import Element
from simcore.line.laws import Num, alike
from simcore.line.relative_damping import damped

Floats = NDArray[np.float64]


class Turning(NamedTuple):
    """A protection in many cases, and what its relative damping goes by."""

    element: Element
    """Its inputs may be arrays (cases,)."""
    w1: Num
    """Lowest frequency of the bare line [rad/s]."""
    soft: Num
    """One over the inertia between its hubs [1/(kg*m^2)]."""


def turned_rows(turning: Turning, rows: Floats, changed: Mapping[str, Any]) -> Floats:
    """Rows (cases, N_ROW) of the protection with the inputs ``changed``: by name, a number or an array (cases,)."""
    e = replace(turning.element, raw={**turning.element.raw, **{n: alike(np.asarray(v)) for n, v in changed.items()}})
    out = rows.copy()
    fill_row(out, e, damped(e, turning.w1, turning.soft))
    return out
