"""Programmes in time that pressure, voltage and current share: straight interpolation, numpy's as the reference."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest

from simcore.parts._program import program_clock, program_slope, program_value, refuse_program

TIMES, VALUES = (0.1, 0.3, 0.3, 0.4), (2.0, 6.0, 1.0, 3.0)
TAB = np.array([0.0, 4.0, *TIMES, 4.0, *VALUES])
T0, V0 = 1.0, 6.0


@pytest.mark.parametrize("t", [0.0, 0.15, 0.29, 0.35, 0.4, 2.0])
def test_straight_between_corners(t: float) -> None:
    passed = float(sum(c <= t for c in TIMES))
    assert program_value(TAB, T0, V0, passed, t) == pytest.approx(np.interp(t, TIMES, VALUES), rel=1e-12)


def test_between_two_corners_at_one_instant_it_stands() -> None:
    """The clock is asked twice at a jump: in between, the span is nothing and the first side holds."""
    assert program_value(TAB, T0, V0, 2.0, 0.3) == 6.0
    assert program_slope(TAB, T0, V0, 2.0) == 0.0
    assert program_clock(TAB, T0, 2.0) == 0.3


def test_slope_and_end() -> None:
    assert [program_slope(TAB, T0, V0, float(n)) for n in (0, 1, 3, 4)] == pytest.approx([0.0, 20.0, 20.0, 0.0])
    assert program_clock(TAB, T0, 4.0) == inf
    assert program_clock(TAB, 0.0, 0.0) == inf


def test_lists_that_are_no_programme() -> None:
    assert "go in pairs" in refuse_program((0.0,), (), "current", "currents")[0]
    assert "must not fall" in refuse_program((1.0, 0.0), (1.0, 1.0), "current", "currents")[0]
