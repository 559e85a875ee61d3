"""What spares most steps the search for crossings, and what must not be lost in a step's error."""

from __future__ import annotations

from math import isnan, nan

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from simcore.solver.locate import NEAR, all_clear
from simcore.solver.step import error_norm
from simcore.solver.tableau import ERROR, STAGES

values = st.floats(-1.0, 1e3)


@given(values, values, values)
@example(1.0, 0.2, 1.0)
@example(1.0, 0.21, 0.2)
@example(0.0, 0.0, 0.0)
def test_a_guard_that_is_clear_has_no_dip_that_would_be_looked_at(first, middle, last):
    clear = all_clear(*(np.array([1.0, g]) for g in (first, middle, last)))
    assert clear == all_clear(*(np.array([g, 1.0]) for g in (first, middle, last)))
    if clear:
        s = np.linspace(0.0, 1.0, 501)
        parabola = np.polyval(np.polyfit([0.0, 0.5, 1.0], [first, middle, last], 2), s)
        assert parabola.min() > NEAR * max(first, last)


def test_guards_far_from_zero_are_clear_and_those_at_it_are_not():
    ones = np.ones(3)
    assert all_clear(ones, ones, ones)
    for place in range(3):
        three = [ones.copy() for _ in range(3)]
        three[place][1] = 0.0
        assert not all_clear(*three)


@pytest.mark.parametrize("place", range(3))
def test_an_error_that_is_no_number_is_not_lost_among_the_others(place):
    k = np.zeros((STAGES, 3))
    k[0] = 1.0
    worst = error_norm(1.0, k, np.array([1.0, 2.0, 3.0]), 3, np.empty(3))
    assert worst == pytest.approx(3.0 * abs(ERROR[0]), rel=1e-15)
    k[0, place] = nan
    assert isnan(error_norm(1.0, k, np.ones(3), 3, np.empty(3)))
