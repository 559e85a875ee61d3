"""Runs that the solver gave up: left out of every count, named, and never told as what happens at the horizon."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan

import numpy as np
import pytest
from chart_boxes import outside, overlaps, words_of
from chart_samples import SITUATIONS, many_set, result_set
from chart_timed import timed_set

from simcore.charts import base
from simcore.charts.crash_data import crash_data
from simcore.charts.draw import SIZES, figure
from simcore.charts.energy_data import energy_data
from simcore.charts.instants_data import instants_data
from simcore.charts.limits_data import limits_data
from simcore.charts.motion_data import motion_data
from simcore.charts.temperature_data import temperature_data
from simcore.results.model import BARE, ResultSet, Run

CRASH = SITUATIONS[0][0]
AT = 0.05
"""Where the solver gave up [s]."""


def cut_short(run: Run, at: float = AT) -> Run:
    """The run up to ``at``, without measures."""
    keep = run.time <= at
    own = tuple(replace(o, values=o.values[keep]) for o in run.own)
    arrays = {k: getattr(run, k)[keep] for k in ("time", "angle", "speed", "torque", "mode", "heat", "twist", "slip",
                                                 "hub_speed")}  # fmt: skip
    measures = {**dict.fromkeys(run.measures, nan), "failed": 2.0}
    ledger = dict.fromkeys(run.ledger, nan)
    return replace(run, measures=measures, ledger=ledger, lost=np.full_like(run.lost, nan), own=own, **arrays)


def gave_up(result: ResultSet, *names: str, at: float = AT) -> ResultSet:
    runs = {k: cut_short(r, at) if k[0] in names and k[1] == CRASH else r for k, r in result.runs.items()}
    answers = tuple(
        replace(a, peak=nan, disconnects="not known", disconnect=nan, lets_go=nan, trigger=nan, passed=False)
        if a.name in names
        else a
        for a in result.answers
    )
    return replace(result, runs=runs, answers=answers)


FOUR = gave_up(result_set(4), "magnet disc", BARE)
CHARTS = {"crash": crash_data, "instants": instants_data, "motion": motion_data, "energy": energy_data}


def plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("\u2009", " ")


@pytest.mark.parametrize("data", CHARTS.values(), ids=CHARTS)
def test_every_chart_of_the_crash_names_who_has_no_answer(data):
    assert "no answer: magnet disc, without protection" in data(FOUR).frame.subtitle
    assert "no answer" not in data(result_set(4)).frame.subtitle


def test_the_crash_counts_only_who_has_an_answer():
    data = crash_data(FOUR)
    title = plain(data.frame.title)
    assert title == "Friction disc, ball detent and 1 more keep the head shaft below 600 N·m; no answer for 1 more"
    curve = next(c for c in data.curves if c.name == "magnet disc")
    assert (curve.note, curve.given_up) == ("no answer, given up at 50\u00a0ms", pytest.approx(1e3 * AT, rel=1e-3))
    assert isnan(curve.peak)
    assert data.top >= 1.08 * max(np.nanmax(c.long[1]) for c in data.curves)
    alone = crash_data(gave_up(result_set(2), "ball detent"))
    assert plain(alone.frame.title).startswith(
        "Friction disc keeps the head shaft below 600 N·m; no answer for 1 more;"
    )
    nobody = crash_data(gave_up(result_set(1), "friction disc", BARE))
    assert nobody.frame.title == "Torque at the head shaft"


@pytest.mark.parametrize("size", SIZES)
def test_no_line_leads_to_a_curve_that_does_not_come_to_the_end(size):
    def leaders(result):
        ends = [t for ax in figure(result, "crash", size=size).axes for t in ax.texts]
        return sum(t.get_text() == "" and getattr(t, "arrow_patch", None) is not None for t in ends)

    assert leaders(result_set(4)) - leaders(FOUR) == 2


def test_instants_and_energy_of_such_a_run_are_not_known():
    rows = instants_data(FOUR)
    assert rows.rows[3].words == "no answer"
    assert isnan(rows.rows[3].peak)
    assert rows.frame.title.endswith("; no answer for 1 more")
    assert instants_data(gave_up(result_set(1), "friction disc")).frame.title == "No answer"
    energy = energy_data(FOUR)
    assert isnan(energy.bars[3].total)
    assert "magnet disc" not in energy.frame.title
    assert energy.frame.title.endswith("; no answer for 1 more")


def test_motion_tells_no_end_of_a_run_that_does_not_reach_it():
    assert "magnet disc" in motion_data(result_set(4)).frame.title
    assert "magnet disc" not in motion_data(FOUR).frame.title
    assert motion_data(gave_up(result_set(1), "friction disc", at=1e-4)).panels[0].words != "no answer"


def test_limits_show_such_runs_as_the_least_and_leave_them_out_of_the_most():
    data = limits_data(FOUR)
    pins, disc, bare = data.lines[2:]
    assert (pins.lost, disc.lost, bare.lost) == (False, True, True)
    assert all(c.least and c.peak.startswith("\u2265") for c in (*disc.cells, *bare.cells))
    assert isnan(disc.worst)
    title = plain(data.frame.title)
    assert "without protection" not in title
    assert title.endswith("; no answer for 1 more")
    told = " ".join(plain(t) for t, _ in words_of(figure(FOUR, "limits")))
    assert "(\u2265: until given up)" in told


def hot(*names: str) -> ResultSet:
    """A run of ten minutes, those of ``names`` given up in its first seconds."""
    return gave_up(timed_set(4, 600.0), *names, at=3.5)


def test_a_rise_up_to_where_it_was_given_up_is_not_told_as_that_of_the_horizon():
    whole, short = temperature_data(hot()), temperature_data(hot("friction disc"))
    assert plain(whole.frame.title).startswith("After 4 times in 10 min friction disc")
    assert "friction disc" not in short.frame.title
    assert "no answer: friction disc" in short.frame.subtitle
    assert short.warm[0].given_up.startswith("no answer, given up at 3.4")
    said = [plain(t) for t, _ in words_of(figure(hot("friction disc"), "temperature"))]
    assert "given up at 3.43 s" in said
    assert "friction disc no answer" in said  # at the life used, where one line is all the room


def test_no_longer_rising_only_where_the_numbers_shown_say_so():
    def ending(slow: float) -> str:
        result = timed_set(1, 600.0)
        runs = {}
        for key, run in result.runs.items():
            own = tuple(
                replace(o, values=30.0 * -np.expm1(-np.clip(run.time, 0, None) / slow)) if o.unit == "K" else o
                for o in run.own[:1]
            )
            runs[key] = replace(run, own=own)
        return temperature_data(replace(result, runs=runs)).frame.title

    assert ending(150.0).endswith(", still rising")  # 28.5 K after three quarters, 29.5 K at the end
    assert ending(30.0).endswith(", no longer rising")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", ["crash", "instants", "motion", "energy", "limits"])
def test_words_keep_clear_of_each_other(kind, size):
    for result in (FOUR, gave_up(many_set(12), "ball detent", "pawl", BARE)):
        drawn = figure(result, kind, size=size)
        words = words_of(drawn)
        assert overlaps(drawn, words) == []
        assert outside(drawn, words) == []


def test_a_result_with_all_answers_names_nobody():
    assert base.told_unanswered(base.unanswered(result_set(4))) == ""
