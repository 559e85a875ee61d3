"""What a look at every picture found: marks where they belong, words beside what is drawn, no axis without a word."""

from __future__ import annotations

from collections.abc import Iterator
from math import nan

import numpy as np
import pytest
from chart_boxes import overlaps, words_of
from chart_hand import hand_run, hand_set
from chart_samples import many_set, result_set
from matplotlib.patches import Rectangle

from simcore.charts import sweep_base as sb
from simcore.charts.draw import SIZES, figure
from simcore.charts.instants import LATER, narrow_notes
from simcore.charts.instants_data import instants_data, told
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


def test_a_late_peak_does_not_press_the_other_instants_to_the_edge() -> None:
    """Trigger and let-go at 10 ms; a peak at 90 ms, nine times as late, stands beyond the axis, its number beside."""
    late = hand_run(torque=(100, 100, 350, 300, 400))
    data = instants_data(hand_set({("disc", "tray jams"): late}))
    assert (data.rows[0].trigger, data.rows[0].peak) == pytest.approx((10.0, 100.0))
    assert data.stop == pytest.approx(12.5)
    assert data.frame.subtitle.endswith("; arrow: a later peak")
    assert "arrow" not in instants_data(hand_set()).frame.subtitle
    drawn = figure(hand_set({("disc", "tray jams"): late}), "instants")
    (sign,) = (x for ax in drawn.axes for x in ax.lines if x.get_marker() == LATER)
    assert sign.get_xdata()[0] == pytest.approx(12.5)
    assert "100" in [text for text, _ in words_of(drawn)]


def test_what_slipped_before_the_contact_is_not_told_to_trigger_at_0_ms() -> None:
    slips = hand_run(measures={"trigger": 0.0, "lets_go": 0.0, "disconnect": nan})
    data = instants_data(hand_set({("disc", "tray jams"): slips}))
    assert [told(data.rows[0], k) for k in ("trigger", "lets_go", "disconnect")] == ["before", "before", "never"]
    assert narrow_notes(data) == ["trigger before, lets go before"]
    assert narrow_notes(instants_data(hand_set())) == ["trigger 10, lets go 10 ms"]


@pytest.mark.parametrize("count", [4, 8, 16, 20])
def test_words_under_a_bar_do_not_run_into_it(count: int) -> None:
    drawn = figure(many_set(count), "instants")
    drawn.draw_without_rendering()
    bars = [p.get_window_extent() for ax in drawn.axes for p in ax.patches if isinstance(p, Rectangle)]
    notes = [t.get_window_extent() for ax in drawn.axes for t in ax.texts if t.get_style() == "italic"]
    assert bars
    assert notes
    for note in notes:
        assert not any(note.overlaps(b.padded(-0.5)) for b in bars)
