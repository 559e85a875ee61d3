"""What the generated module supplies: the part functions behind one call each.

The functions here only say what the generated ones do; :mod:`simcore.solver.generate` writes them and
:mod:`simcore.solver.compile` puts them in their place.
"""

from __future__ import annotations

from typing import Any


def evaluate(t: float, full: float, y: Any, dy: Any, T: Any, G: Any, line: Any, state: Any) -> None:
    """Slopes ``dy`` of all states and quadratures, torques ``T``; guards ``G`` too if ``full``."""
    raise NotImplementedError


def switch_part(e: int, k: int, t: float, y: Any, T: Any, line: Any, state: Any) -> tuple[int, float]:
    """Switch part ``e`` by its guard ``k`` (-1: its clock); new mode and heat booked [J]."""
    raise NotImplementedError


def part_torque(e: int, t: float, y: Any, line: Any, state: Any) -> float:
    """Torque of part ``e``, as ``evaluate`` gives it; of ``y`` only the part's own entries are read."""
    raise NotImplementedError


def part_clock(e: int, t: float, y: Any, line: Any, state: Any) -> float:
    """Next instant part ``e`` knows of."""
    raise NotImplementedError


def part_store(e: int, t: float, y: Any, line: Any, state: Any) -> float:
    """Energy stored in part ``e`` [J]."""
    raise NotImplementedError
