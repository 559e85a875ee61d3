"""What a look at every picture found: marks where they belong, words beside what is drawn, no axis without a word."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import nan
from typing import Any

import numpy as np
import pytest
from chart_boxes import overlaps, words_of
from chart_hand import hand_run, hand_set
from chart_samples import many_set, result_set
from matplotlib.patches import Rectangle
from test_chart_given_up import gave_up, plain
from test_chart_words import band_elsewhere, service_of

from simcore.charts import base, crash, limits
from simcore.charts import sweep_base as sb
from simcore.charts.base import Frame
from simcore.charts.crash_data import crash_data
from simcore.charts.draw import SIZES, figure
from simcore.charts.energy_data import energy_data
from simcore.charts.instants import LATER, narrow_notes
from simcore.charts.instants_data import instants_data, told
from simcore.charts.limits_data import limits_data
from simcore.charts.metrics import PAST
from simcore.charts.service_data import service_data
from simcore.charts.style import read_style
from simcore.charts.sweep_exceedance_data import Curve, marked, marks_told
from simcore.charts.sweep_map import map_page
from simcore.charts.sweep_map_data import Map, MapData
from simcore.charts.sweep_matters import STILL, TOO_FEW, draw_shares
from simcore.charts.sweep_matters_data import Bar, Effects
from simcore.charts.sweep_times import draw_times
from simcore.charts.sweep_times_data import Row, TimesData
from simcore.results.model import BARE, ResultSet, Run
from simcore.sweep.statistics import Estimate


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


def map_of(peak: float) -> MapData:
    cells = np.full((2, 2), peak)
    middles = np.array([1.0, 2.0])
    panel = Map(sb.Heading(sb.Named("pins", 0, ""), ""), middles, middles, cells, np.zeros((2, 2), dtype=bool))
    frame = Frame("Map", "sub", "corner")
    return MapData(frame, (panel,), "x", "y", False, False, True, True, "peak (N m)", 600.0, "allowable 600", 0.0, 1.0)


def test_a_map_without_a_value_has_no_scale_and_no_contour_in_its_key() -> None:
    full, empty = (" ".join(t for t, _ in words_of(map_page(map_of(x), read_style()))) for x in (0.5, nan))
    assert "peak (N m)" in full
    assert "allowable 600" in full
    assert "peak (N m)" not in empty
    assert "allowable" not in empty
    assert "no data" in empty


@pytest.mark.parametrize(("high", "words"), [(2.0, TOO_FEW), (1.0, STILL)])
def test_an_axis_without_shares_says_why(high: float, words: str) -> None:
    from matplotlib.figure import Figure

    unknown, known = Estimate(nan, nan, nan), Estimate(0.5, 0.4, 0.6)
    ax = Figure().add_subplot()
    draw_shares(ax, Effects("peak", "%", (Bar("mass", unknown, unknown, unknown, 1.0, high),), 1.5, 8, 0, False))
    assert [t.get_text() for t in ax.texts] == [words]
    ax = Figure().add_subplot()
    draw_shares(ax, Effects("peak", "%", (Bar("mass", known, unknown, known, 1.0, high),), 1.5, 80, 0, False))
    assert not ax.texts


def test_the_crash_explains_only_signs_that_are_drawn() -> None:
    assert crash.reading(crash_data(result_set(4))) == "marker: trigger    bar across: disconnected"
    assert crash.reading(crash_data(result_set(1))) == "marker: trigger"


def test_a_situation_of_the_worse_end_goes_on_a_second_line_before_it_is_cut() -> None:
    first = limits_data(band_elsewhere()).lines[0]
    style = read_style()
    whole = limits.worst_words(first, (60.0, 60.0), style)[1]
    assert whole == ["tray chain", "in \u201cstart with full", "trays\u201d"]
    assert limits.worst_words(first, (60.0, 36.0), style)[1][1].endswith("\u2026")


def test_the_corner_says_where_settings_stand_on_shafts_of_their_own() -> None:
    assert "10 % (own shaft)" in plain(base.corner(result_set(4, to_protected=20.0)))
    assert "own shaft" not in base.corner(result_set(4))


def test_without_any_answer_the_energy_chart_says_so() -> None:
    nobody = energy_data(gave_up(result_set(2), "friction disc", "ball detent", BARE))
    assert nobody.frame.title == "No answer on where the energy went"


@pytest.mark.parametrize(("cases", "size"), [(8, 3.2), (400, 1.6)])
def test_few_cases_have_dots_that_can_be_seen(cases: int, size: float) -> None:
    from matplotlib.figure import Figure

    times, edges, middle = np.linspace(10.0, 20.0, cases), np.linspace(9.0, 21.0, 5), Estimate(15.0, 14.0, 16.0)
    row = Row(sb.Named("pins", 0, ""), times, edges, np.ones(4), middle, (10.0, 20.0), ("", "", "", ""))
    ax = draw_times(Figure().add_subplot(), TimesData(Frame("", "", ""), (row,), False, 9.0, 21.0))
    (dots,) = (x for x in ax.lines if x.get_marker() == ".")
    assert dots.get_markersize() == size
    assert len(dots.get_xdata()) == cases


def test_where_every_candidate_fails_the_title_says_all() -> None:
    title = service_data(service_of(("full start", (False,) * 4))).frame.title
    assert title == "Not fit for \u201cfull start\u201d: all 4"
    four = result_set(4)

    def weak(run: Run) -> Run:
        return replace(run, connections=tuple(replace(c, allowable=200.0) for c in run.connections))

    over = replace(four, allowable=200.0, runs={k: weak(r) for k, r in four.runs.items()})
    assert limits_data(over).frame.title.startswith("All 4 exceed a limit: up to ")


@pytest.mark.parametrize("data", [crash_data, instants_data, limits_data])
def test_a_case_of_a_sweep_is_told_and_its_setting_is_not_called_nominal(data: Callable[[ResultSet], Any]) -> None:
    own = result_set(1)
    case = {"candidate": "friction disc", "place": 0, "cell": 9, "draw": 1, "number": 73}
    again = data(replace(own, provenance={**own.provenance, "replay": case})).frame.subtitle
    assert "case 73 of a sweep" in again
    assert "its own setting" in again
    assert "nominal" not in again
    assert "nominal setting" in data(own).frame.subtitle
    assert "sweep" not in data(own).frame.subtitle
