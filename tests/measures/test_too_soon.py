"""A jam that follows a start: who trips in the start already has not met it."""

from __future__ import annotations

from math import isnan

import numpy as np
import pytest
from measure_texts import DEMO

from simcore import api
from simcore.scenario.read import read_text
from simcore.sweep.blocks import tally
from simcore.sweep.plan import Plan
from simcore.sweep.trial import Trial

LINE = DEMO.read_text().split("[candidates.")[0]
LOW, HIGH = (f'[candidates.{n}]\npart = "ball detent"\nsetting = "{s} N*m"\n' for n, s in (("low", 170), ("high", 340)))
JAM = 'event = "hard stop", at = "sprocket", stiffness = "2 MN/m"'
START = '[situations."jams behind the start"]\nevent = "start"\nhorizon = "2 s"\nthen = [{{{}}}]\n'
SWEEP = """
[sweep]
seed = 3
draws = 6
design = "random"
[[sweep.factor]]
name = "mass"
path = 'line["trays"].mass'
scatter = { triangular = ["170 kg", "180 kg", "190 kg"] }
"""


@pytest.mark.parametrize("jam", [JAM, 'event = "partial jam", drag = "20 kN"'])
def test_who_trips_before_the_jam_comes_does_not_pass(jam):
    result = api.run(read_text(LINE + LOW + HIGH + START.format(f'{jam}, when = "1.2 s"'), "t.toml"), evidence=False)
    low, high = (next(a for a in result.answers if a.name == n) for n in ("low", "high"))
    soon = {n: result.runs[n, "jams behind the start"].measures["too_soon"] for n in ("low", "high")}
    assert soon == {"low": 1.0, "high": 0.0}
    assert low.trigger < 1.0 < 1.2 < high.trigger
    assert (low.passed, high.passed) == (False, True)
    assert low.reasons == ("trips in 'jams behind the start' before the jam comes",)
    assert result.sentence.startswith("Fit the high: ")


def test_who_trips_before_the_jam_at_the_low_end_of_its_band_does_not_pass_either():
    """The start asks some 246 N*m of it (245 trip, 250 do not): 252 hold as set, 95 % of that do not."""
    text = LINE + HIGH.replace("340", "252") + START.format(f'{JAM}, when = "1.2 s"')
    result = api.run(read_text(text, "t.toml"), evidence=False)
    run, (a,) = result.runs["high", "jams behind the start"], result.answers
    assert (run.measures["too_soon"], run.low["too_soon"]) == (0.0, 1.0)
    assert a.reasons == ("trips in 'jams behind the start' before the jam comes",)


def test_where_all_trip_before_the_jam_the_setting_is_what_is_told():
    text = LINE + LOW + START.format(f'{JAM}, when = "1.2 s"')
    told = api.run(read_text(text, "t.toml"), evidence=False).sentence
    assert told == (
        "No candidate passes: they trip before the jam comes; set them higher, or soften what comes before it."
    )


def test_a_jam_that_comes_first_is_never_too_late():
    text = (
        LINE + LOW + '[situations.jam]\nevent = "hard stop"\nat = "sprocket"\nstiffness = "2 MN/m"\nhorizon = "1 s"\n'
    )
    assert isnan(api.run(read_text(text, "t.toml"), evidence=False).runs["low", "jam"].measures["too_soon"])


def test_sweeps_count_it_among_what_trips_in_service():
    scenario = read_text(LINE + LOW + HIGH + START.format(f'{JAM}, when = "1.2 s"') + SWEEP, "t.toml")
    plan = Plan.of(scenario)
    for name, tripped in (("low", 6), ("high", 0)):
        block = Trial(scenario, plan, name).run(plan.cells()[0], 0, 6)
        assert np.array_equal(block.measures["too_soon"][:, 0], np.full(6, float(tripped > 0)))
        assert np.array_equal(block.measures["met"][:, 0], np.full(6, float(tripped == 0)))
        kept = tally(block, ["let go"])
        assert (kept.tripped, kept.damaged) == (tripped, 0)


@pytest.mark.parametrize("when", ["", ', when = "0 s"'])
def test_a_jam_that_is_there_from_the_first_instant_comes_before_every_trip(when):
    """The contact closes with the load step: who lets go has met it."""
    jam = f"then = [{{{JAM}{when}}}]"
    text = LINE + HIGH + f'[situations.both]\nevent = "load step"\nextra = "20 N"\nhorizon = "0.5 s"\n{jam}\n'
    result = api.run(read_text(text, "t.toml"), evidence=False)
    m = result.runs["high", "both"].measures
    assert m["trigger"] > 0.0
    assert m["too_soon"] == 0.0
    assert result.answers[0].passed
