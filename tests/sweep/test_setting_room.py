"""A recommended setting leaves room for its tolerance and does not stand where the grid ends."""

from __future__ import annotations

import csv
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sweep_samples import TEXT, made

from simcore.charts.sweep_window_data import window_data
from simcore.screen.sweep import sweep_screen
from simcore.screen.words import plain
from simcore.sweep import wording
from simcore.sweep.answers import answers_table
from simcore.sweep.decide import _cautions, decide
from simcore.sweep.odds import Curve, Window, window
from simcore.sweep.result import SweepResult
from simcore.sweep.tolerance import settable, tolerance_besides, tolerance_that_fits

ACTS = "paths = ['candidates[*].setting']\ntimes = true\nscatter"
EXACT = TEXT.replace(ACTS, ACTS.replace("candidates[*].setting", 'line["rails"].running'))
"""The same sweep, in which nothing scatters the setting."""


def told(result: SweepResult) -> dict[str, str]:
    return next(csv.DictReader(answers_table(decide(result)).decode("utf-8").splitlines()))


def test_a_sure_window_whose_ends_have_passed_each_other_is_none() -> None:
    """Bounds cross between the likely ends: the target of tripping is surely kept from 140, of damage up to 120."""
    x = np.array([100.0, 200.0])

    def curve(share: list[float], high: list[float]) -> Curve:
        n = np.full(2, 50.0)
        return Curve(x, np.array(share), np.zeros(2), np.array(high), n, 0, "counted", n)

    found = window(curve([0.0, 0.2], [0.08, 0.18]), curve([0.2, 0.0], [0.14, 0.04]), 0.1, 0.1)
    assert (found.low, found.high) == pytest.approx((150.0, 150.0))
    assert found.likely
    assert np.isnan([found.sure_low, found.sure_high]).all()


def test_a_tolerance_that_is_no_band_any_more_leaves_no_window() -> None:
    result = replace(made(1, 64), scenario_text=EXACT)
    result = replace(result, tolerance=dict.fromkeys(result.candidates, 1.5))
    t = tolerance_besides(result, result.candidates[0])
    assert 0.0 < t < 1.0
    assert not settable(Window(100.0, 130.0, 110.0, 115.0, False, True), t).likely


def test_room_by_hand() -> None:
    """100 to 130 at 10 %: 100/0.9 to 130/1.1; the widest band that fits is (130 - 100)/(130 + 100)."""
    found = settable(Window(100.0, 130.0, 110.0, 115.0, False, True), 0.1)
    assert (found.low, found.high) == pytest.approx((111.1111, 118.1818), abs=1e-4)
    assert found.likely
    assert not found.sure
    assert tolerance_that_fits(Window(100.0, 130.0, 0.0, 0.0, False, True)) == pytest.approx(30.0 / 230.0)


@given(st.floats(1.0, 1e4), st.floats(1.0, 3.0), st.floats(0.0, 0.5))
def test_the_whole_band_lies_in_the_window(low: float, ratio: float, t: float) -> None:
    kept = Window(low, low * ratio, np.nan, np.nan, False, False)
    found = settable(kept, t)
    assert not found.sure
    if found.likely:
        assert found.low * (1.0 - t) >= low * (1.0 - 1e-12)
        assert found.high * (1.0 + t) <= low * ratio * (1.0 + 1e-12)
    else:
        assert tolerance_that_fits(kept) < t * (1.0 + 1e-12)


def test_a_scatter_of_the_setting_is_in_the_odds_already() -> None:
    result = made(1, 500)
    assert tolerance_besides(result, "friction disc") == 0.0
    assert tolerance_besides(replace(result, scenario_text=EXACT), "friction disc") == 0.1
    choice = decide(result).choices[0]
    assert choice.window == choice.kept
    assert "tolerance" not in choice.words


def test_the_setting_leaves_room_on_both_sides() -> None:
    result = made(1, 2000, allowable=400.0, nominal=210.0, scenario_text=EXACT)
    choice = decide(result).choices[0]
    assert choice.window.likely
    assert choice.tolerance == 0.1
    assert choice.setting * 0.9 >= choice.kept.low
    assert choice.setting * 1.1 <= choice.kept.high
    assert "which leaves room for 10 % of tolerance" in choice.words
    assert any("does not scatter" in c for c in decide(result).cautions)


def test_too_narrow_is_no_window_and_says_what_opens_one() -> None:
    result = made(1, 2000, allowable=300.0, scenario_text=EXACT)
    answer = decide(result)
    choice = answer.choices[0]
    assert choice.kept.likely
    assert not choice.window.likely
    assert "over its tolerance of 10 % to either side" in choice.words
    assert answer.sentence.startswith("No candidate keeps both targets")
    said = " ".join(choice.opens)
    fits = tolerance_that_fits(choice.kept)
    assert "A tolerance of at most" in said
    assert "Parts that bear" in said or "extend it to" in said
    assert decide(replace(result, tolerance={"friction disc": 0.99 * fits})).choices[0].window.likely
    assert not decide(replace(result, tolerance={"friction disc": 1.01 * fits})).choices[0].window.likely
    row = told(result)
    assert row["window"] == "too narrow"
    assert row["what would open one"] == said
    assert float(row["both targets kept from, likely [N m]"]) == choice.kept.low
    text = " ".join(plain(sweep_screen(result, 100, decision=answer)).split())
    assert "too narrow" in text
    assert "A tolerance of at most" in text


def test_stronger_parts_open_it() -> None:
    result = made(1, 2000, allowable=290.0, nominal=200.0, scenario_text=EXACT, tolerance={"friction disc": 0.08})
    choice = decide(result).choices[0]
    assert choice.kept.likely
    assert not choice.window.likely
    (text,) = [t for t in choice.opens if "Parts that bear" in t]
    bears = float(text.split("N*m more, ")[1].split(" ")[0])
    use = result.measures["use"] * 290.0 / (1.03 * bears)
    stronger = replace(result, measures={**result.measures, "use": use}, allowable=1.03 * bears)
    assert decide(stronger).choices[0].window.likely


def test_a_window_that_ends_with_the_grid_says_so() -> None:
    result = made(1, 1000, allowable=1e4, nominal=210.0)
    choice = decide(result).choices[0]
    assert choice.kept.open_above
    assert choice.kept.high == pytest.approx(1.2 * 210.0)
    assert choice.words.endswith("above 252: the grid ends, extend it")
    assert told(result)["grid ends there"] == "to"
    text = " ".join(plain(sweep_screen(result, 100)).split())
    assert "ends inside the window of friction disc (252 N*m): extend it" in text


def test_the_end_of_the_grid_is_not_recommended() -> None:
    """Only the last setting of the grid keeps both targets: the middle of the window, not that end, is told."""
    result = made(1, 1000, steps=3, allowable=1e4, nominal=185.0, asks=(185.0, 3.0))
    choice = decide(result).choices[0]
    assert choice.window.likely
    assert 185.0 < choice.kept.low < choice.setting < 0.999 * choice.kept.high
    assert choice.ran_at == pytest.approx(1.2 * 185.0)


def test_one_setting_alone_is_no_window_for_a_tolerance() -> None:
    result = made(1, 300, steps=1, allowable=1e4, nominal=250.0, scenario_text=EXACT)
    choice = decide(result).choices[0]
    assert not choice.window.likely
    assert "the only setting tried" in choice.words
    assert any("extend it to" in t for t in choice.opens)


def stepped(first: int, last: int, tolerance: float, steps: int = 5) -> SweepResult:
    """Settings of 160 to 240 N*m: those below place ``first`` trip in service, those past ``last`` damage."""
    result = made(1, 200, steps=steps, nominal=200.0, scenario_text=EXACT, tolerance={"friction disc": tolerance})
    measures = {n: v.copy() for n, v in result.measures.items()}
    for i in range(steps):
        measures["met"][0, i, :, 1:] = float(i >= first)
        measures["use"][0, i, :, 0] = 0.8 if i <= last else 1.2
    return replace(result, measures=measures)


def test_a_window_of_one_point_asks_for_a_finer_grid_and_not_for_a_tighter_part() -> None:
    choice = decide(stepped(2, 2, 0.05)).choices[0]
    assert choice.kept.likely
    assert not choice.window.likely
    assert choice.coarse
    assert choice.opens == ("The grid is too coarse here: refine it between 180 and 220 N*m (steps of 20 N*m now).",)


def test_a_finer_grid_is_asked_for_only_where_it_may_do() -> None:
    """At 15 % even 180 to 220 is too narrow (180 * 1.15 > 220 * 0.85), whatever lies between the points."""
    choice = decide(stepped(2, 2, 0.15)).choices[0]
    assert not choice.coarse
    said = " ".join(choice.opens)
    assert "too coarse" not in said
    assert "softer start" in said


def test_a_window_of_two_points_says_what_fits_for_certain_too() -> None:
    first, fits = decide(stepped(2, 3, 0.06)).choices[0].opens
    assert first == "The grid is too coarse here: refine it between 180 and 240 N*m (steps of 20 N*m now)."
    assert fits.startswith("A tolerance of at most 4.")


def test_edges_that_cross_between_two_points_are_a_matter_of_the_grid() -> None:
    choice = decide(stepped(3, 2, 0.0)).choices[0]
    assert not choice.kept.likely
    said = " ".join(choice.opens)
    assert "refine it between 200 and 220 N*m (steps of 20 N*m now)" in said
    assert "softer start" not in said


def test_chart_and_sentence_put_it_down_to_the_grid() -> None:
    result = stepped(2, 2, 0.05)
    answer = decide(result)
    assert answer.sentence.startswith("No candidate keeps both targets on this grid; nearest: friction disc at 200 N*m")
    data = window_data(result, answer)
    assert data.frame.title.startswith("The grid is too coarse to show a window as wide as the tolerance")
    assert data.panels[0].brief[0] == "grid too coarse for \u00b15 %"
    narrow = stepped(2, 2, 0.15)
    assert window_data(narrow, decide(narrow)).frame.title.startswith("No window as wide as the tolerance")


@pytest.mark.parametrize(("first", "last", "end"), [(4, 4, "240"), (0, 0, "160"), (3, 4, "240"), (0, 1, "160")])
def test_a_window_that_the_grid_cuts_off_is_not_called_too_narrow(first: int, last: int, end: str) -> None:
    """Nobody knows what lies past the end of the grid: it, not the tolerance of the part, is to be changed."""
    result = stepped(first, last, 0.15)
    answer = decide(result)
    choice = answer.choices[0]
    assert choice.kept.likely
    assert not choice.window.likely
    said = " ".join(choice.opens)
    assert f"The grid ends at {end} N*m: extend it to" in said
    assert "A tolerance of at most" not in said
    assert f"the grid ends at {end} N*m, too soon to show room for its tolerance of 15 %" in answer.sentence
    assert answer.sentence.startswith("No candidate keeps both targets on this grid")
    text = " ".join(plain(sweep_screen(result, 100, decision=answer)).split())
    assert "too narrow" not in text
    assert "grid ends: before there is room for that tolerance" in text
    assert told(result)["window"] == "grid ends"
    data = window_data(result, answer)
    assert "too narrow" not in " ".join(data.panels[0].brief)
    assert data.frame.title.startswith("The grid ends before it shows a window as wide as the tolerance")


def test_odds_say_what_they_count() -> None:
    """A draw counts once, however many ordinary events are run in it."""
    result = stepped(0, 4, 0.0)
    assert wording.service(result) == "draws of 2 ordinary events"
    assert wording.crashes(result) == "crashes"
    text = " ".join(plain(sweep_screen(result, 100)).split())
    assert "Nuisance none in 200 draws of 2 ordinary events" in text
    assert "Damage none in 200 crashes" in text
    one = replace(result, expects=("let go", "hold", "let go"))
    assert wording.service(one) == f"'{result.situations[1]}' cases"
    assert wording.crashes(one) == "draws of 2 crashes"


@pytest.mark.parametrize(("ran_at", "lower"), [(200.0, True), (220.0, False)])
def test_a_peak_run_at_a_lower_setting_than_the_recommended_one_is_said_to_be_too_low(ran_at, lower) -> None:
    """200 to 220 N*m leave 208.3 to 211.5 for a tolerance of 4 %."""
    result = stepped(2, 3, 0.04)
    choice = decide(result).choices[0]._replace(ran_at=ran_at)
    (told,) = [t for t in _cautions(result, [choice], 1, 0) if "nearest setting that was run" in t]
    assert told.endswith("at its own, higher one, the peak is higher too.") is lower
