"""What a look at every picture found: marks where they belong, words beside what is drawn, no axis without a word."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from chart_boxes import overlaps, words_of
from chart_samples import result_set

from simcore.charts import sweep_base as sb
from simcore.charts.draw import SIZES, figure
from simcore.charts.metrics import PAST
from simcore.charts.style import read_style
from simcore.charts.sweep_exceedance_data import Curve, marked, marks_told


@pytest.fixture(autouse=True)
def _styled() -> Iterator[None]:
    with read_style().active():
        yield


def curve(cases: int) -> Curve:
    share = 1.0 - np.arange(cases) / cases
    return Curve(sb.Named("pins", 0, ""), 300.0 + np.arange(cases), share, 0.5 * share, share, cases)


def test_the_mark_of_the_95_point_stands_on_it_and_not_a_case_below() -> None:
    """57 of 60 cases lie below the 58th; their share of 5 % is no round number in binary."""
    assert marked(curve(60)) == [30, 57]
    assert marked(curve(100)) == [50, 95]


def test_only_marks_that_are_drawn_are_told() -> None:
    assert marked(curve(8)) == [4]
    assert marks_told([curve(8)]) == "marks: median; "
    assert marks_told([curve(8), curve(60)]) == "marks: median, 95 % point; "
    assert marks_told([]) == ""


@pytest.mark.parametrize("size", SIZES)
def test_numbers_of_neighbouring_motion_panels_do_not_run_together(size: str) -> None:
    drawn = figure(result_set(3, horizon=1.0), "motion", size=size)
    assert "1000" in [text for text, _ in words_of(drawn)]
    assert overlaps(drawn) == []
    first = next(ax for ax in drawn.axes if "1000" in [t.get_text() for t in ax.get_xticklabels()])
    box = first.get_xticklabels()[-1].get_window_extent()
    assert box.x1 <= first.get_window_extent().x1 + drawn.dpi / 72.0 * PAST + 1.0
