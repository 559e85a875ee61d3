"""Thinning of curves and placing of labels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcore.charts.decimate import thin
from simcore.charts.metrics import ELLIPSIS, cut, spread, width, wrap


def test_thin_keeps_every_extreme_and_the_ends():
    t = np.linspace(0, 1, 100_001)
    y = np.sin(40 * t)
    y[12_345], y[77_777] = 9.0, -8.0
    a, b = thin(t, y, 0.0, 1.0, 200)
    assert len(a) <= 4 * 202
    assert (b.max(), b.min()) == (9.0, -8.0)
    assert (a[0], a[-1]) == (0.0, 1.0)
    assert np.all(np.diff(a) > 0)


def test_thin_leaves_short_curves_alone_and_keeps_gaps():
    t, y = np.arange(5.0), np.array([0, 1, np.nan, 3, 4.0])
    _, b = thin(t, y, 0.0, 4.0, 10)
    assert np.array_equal(b, y, equal_nan=True)
    t = np.arange(10_000.0)
    y = np.where(t == 5000, np.nan, t)
    _, b = thin(t, y, 0.0, 9999.0, 50)
    assert np.isnan(b).sum() == 1
    assert len(thin(t[:0], t[:0], 0.0, 1.0, 50)[0]) == 0


@given(
    st.lists(st.floats(-50, 250), min_size=1, max_size=9),
    st.floats(5, 20),
)
def test_spread_keeps_labels_apart_inside_and_in_order(wanted, height):
    placed = spread(wanted, [height] * len(wanted), 0.0, 200.0)
    order = np.argsort(wanted, kind="stable")
    gaps = np.diff(np.array(placed)[order])
    assert np.all(gaps >= height - 1e-9)
    assert min(placed) >= 0.5 * height - 1e-9
    assert max(placed) <= 200.0 - 0.5 * height + 1e-9


def test_spread_leaves_labels_that_have_room_where_they_are():
    assert spread([10.0, 50.0, 90.0], [10.0] * 3, 0.0, 100.0) == pytest.approx([10.0, 50.0, 90.0])


def test_wrap_and_cut_fit_their_room():
    lines = wrap("Überlastkupplung mit großer Tellerfeder am Ofeneinlauf", 60.0, 7.0, most=2)
    assert len(lines) == 2
    assert lines[1].endswith(ELLIPSIS)
    assert all(width(x, 7.0) <= 60.0 for x in lines)
    assert cut("short", 100.0, 7.0) == "short"
