"""What it takes to run again: words, seconds, phase; by the part's own inputs, and as the run shows."""

from __future__ import annotations

from math import log, nan
from pathlib import Path

import pytest
from measure_texts import STEP, case_of, fit, sawmill
from test_measures_judge import GONE, QUIET

from simcore import api
from simcore.cli.jsonout import document
from simcore.contract import ENGAGED, SLIPPING, Again
from simcore.measures.judge import Triple, answer
from simcore.measures.restarting import to_run_again
from simcore.parts import REGISTRY
from simcore.results.columns import answer_columns
from simcore.results.model import ResultSet
from simcore.scenario.alter import kept

AGITATOR = Path(__file__).resolve().parents[2] / "scenarios" / "tank_agitator.toml"
SLIPS = {**GONE, "disconnect": nan, "end_class": float(SLIPPING), "rise": 0.0}


def again(part: str, measures: dict[str, float] = GONE, seen: tuple[bool | None, ...] = (), text: str = "",
          **inputs: object) -> Again:  # fmt: skip
    """Of a protection of 50 N*m after the crash of the sawmill."""
    case = case_of(sawmill(fit(part, setting="50 N*m", **inputs), text), part, "crash")
    return to_run_again(case, measures, seen)


AUTO = {"reset": "automatic"}


@pytest.mark.parametrize(("part", "inputs", "words", "seconds"), [
    ("ball detent", {}, "reset by hand", 180.0),
    ("roller detent", {"crawl_speed": "5 rpm", "pockets_every": "60 deg"}, "reset by hand", 180.0),
    ("ball detent", AUTO | {"pockets_every": "60 deg", "crawl_speed": "5 rpm"}, "next pocket", 2.0),  # 60/(6*5) s
    ("roller detent", AUTO | {"pockets_every": "360 deg", "crawl_speed": "5 rpm"}, "next pocket", 12.0),
    ("ball detent", AUTO | {"pockets_every": "90 deg", "seat_speed": "20 rpm"}, "next pocket", 0.75),  # 90/(6*20) s
    ("ball detent", AUTO | {"seat_speed": "0 rpm"}, "reset by hand", 180.0),
    ("ball detent", {"after_release": "ratchets", "pockets_every": "30 deg", "crawl_speed": "10 rpm"},
     "next pocket", 0.5),
    ("notched-wheel pawl", {}, "reset by hand", 120.0),
    ("notched-wheel pawl", {"notches": 6}, "reset by hand", 120.0),
    ("shear pins", {}, "new pins", 900.0),
    ("tipping sprag", {}, "take apart, inspect", 3600.0),
])  # fmt: skip
def test_words_and_seconds_fit_the_kind_of_reset(part, inputs, words, seconds):
    """Way over speed; by hand, the times that are common practice.  A time that is given always wins."""
    assert again(part, **inputs)[:2] == (words, pytest.approx(seconds))
    assert again(part, again_time="45 min", **inputs)[:2] == (words, 2700.0)


def test_listed_pockets_wait_as_long_as_the_widest_gap():
    """Pockets at 0, 90 and 120 degrees: 240 degrees at 10 rpm are 4 s, at 20 rpm 2 s; the only one takes a turn."""
    listed = sawmill(fit("ball detent", setting="50 N*m", reset="automatic", seat_speed="20 rpm") +
                     'pockets = ["0 deg", "90 deg", "120 deg"]\n')  # fmt: skip
    found = to_run_again(case_of(listed, "ball detent", "crash"), GONE, ())
    assert (found.seconds, found.phase_kept) == (pytest.approx(2.0), "no")
    crawls = sawmill(fit("ball detent", setting="50 N*m", reset="automatic", crawl_speed="10 rpm") +
                     'pockets = ["0 deg", "90 deg", "120 deg"]\n')  # fmt: skip
    assert to_run_again(case_of(crawls, "ball detent", "crash"), GONE, ()).seconds == pytest.approx(4.0)


@pytest.mark.parametrize(("notches", "way"), [(1, 1.0), (4, 0.25)])
def test_a_pawl_held_by_air_takes_the_way_to_its_notch_and_the_air(notches, way):
    """One or a quarter turn at 60 rpm, and a first-order lag of 0.5 s to half the pressure, closed form."""
    air = {"loading": "pneumatic", "notches": notches, "rearm_speed": "60 rpm", "vent_time_constant": "500 ms"}
    found = again("notched-wheel pawl", **air)
    assert found.words == "re-arm by pressure"
    assert found.seconds == pytest.approx(way + 0.5 * log(2.0), abs=5e-3)  # told to three digits
    assert again("notched-wheel pawl", again_time="1 min", **air).seconds == 60.0


def test_what_is_engaged_again_needs_nothing_unless_it_was_put_back():
    back = {**GONE, "reengage": 0.05, "end_class": float(ENGAGED)}
    assert again("ball detent", back, **AUTO)[:2] == ("nothing, re-engaged", 0.0)
    reset = '[[situations."crash".then]]\nevent = "reset"\nwhen = "{}"\n'
    assert again("ball detent", back, text=reset.format("40 ms"))[:2] == ("reset by hand", 180.0)
    assert again("ball detent", back, text=reset.format("60 ms"), **AUTO)[0] == "nothing, re-engaged"
    assert again("ball detent", {**back, "end_class": 3.0}, **AUTO)[0] == "next pocket"


@pytest.mark.parametrize(("seen", "words"), [
    ((), "clear the jam, stop, restart"),
    ((None, False), "clear the jam, stop, restart"),
    ((True, False), "clear the jam, stop, restart"),
    ((None, True), "clear the jam, holds again"),
])  # fmt: skip
def test_magnets_that_have_slipped_need_a_standstill_unless_the_runs_show_otherwise(seen, words):
    assert again("magnet disc", SLIPS, seen)[:2] == (words, 0.0)
    assert again("magnet disc", {**SLIPS, "lets_go": nan}, seen).words == "clear the jam"
    assert again("friction disc", SLIPS, seen).words == "clear the jam"


JAMMED, CLEARED, RESTARTED = "lump", "lump breaks up", "lump, stop, restart"


def agitator(damping: float, *situations: str) -> ResultSet:
    s = api.read(AGITATOR, {'candidates["magnet disc"].relative_damping': str(damping)})
    return api.run(kept(s, {"candidates": ["magnet disc"], "situations": list(situations)}), evidence=False)


@pytest.mark.parametrize(("damping", "words"), [
    (0.25, "clear the jam, stop, restart"), (2.0, "clear the jam, holds again"),
])  # fmt: skip
def test_magnets_of_the_agitator_as_the_run_shows(damping, words, kernel):
    """A slipping synchronous coupling falls back into step with damping enough only (textbook); a jam that stays shows
    nothing of that.  JSON and table have the answer too."""
    result = agitator(damping, JAMMED, CLEARED)
    ends = {s: result.run("magnet disc", s).measures["end_class"] for s in result.situations}
    assert ends == {JAMMED: SLIPPING, CLEARED: SLIPPING if damping < 1.0 else ENGAGED}
    assert [a.again for a in result.answers] == [words]
    (told,) = document(result)["candidates"]
    assert (told["again"], told["phase_kept"]) == (words, "no")
    columns = {c.name: list(c.values) for c in answer_columns(result)}
    assert (columns["again"], columns["phase_kept"]) == ([words], ["no"])


def test_what_holds_again_after_a_stop_has_not_come_back_by_itself(kernel):
    result = agitator(0.25, RESTARTED)
    assert result.run("magnet disc", RESTARTED).measures["end_class"] == ENGAGED
    assert [a.again for a in result.answers] == ["clear the jam, stop, restart"]


def test_what_was_warmed_past_half_its_limit_is_to_cool():
    """Newton's law of cooling: to half the rise C/G ln 2, of 700 J/K and 3.5 W/K 139 s; a detent has no such heat."""
    heat = {"heat_limit": "100 K", "heat_capacity": "700 J/K", "cooling": "3.5 W/K"}
    cool = again("friction disc", {**SLIPS, "rise": 49.0}, **heat)
    warm = again("friction disc", {**SLIPS, "rise": 51.0}, **heat)
    assert cool[:2] == ("clear the jam", 0.0)
    assert warm[:2] == ("clear the jam, let it cool", pytest.approx(200.0 * log(2.0), rel=5e-3))
    assert again("friction disc", {**SLIPS, "rise": 51.0}, again_time="5 s", **heat).seconds == 5.0
    assert again("friction disc", {**SLIPS, "rise": 51.0}, **heat | {"cooling": "0 W/K"}).words == "clear the jam"
    assert again("ball detent", {**GONE, "rise": 51.0}).words == "reset by hand"


@pytest.mark.parametrize(("part", "inputs", "kept_"), [
    ("ball detent", {}, "yes"),
    ("ball detent", {"pockets_every": "180 deg"}, "no"),
    ("roller detent", AUTO, "yes"),
    ("roller detent", AUTO | {"pockets_every": "30 deg"}, "no"),
    ("notched-wheel pawl", {}, "yes"),
    ("notched-wheel pawl", {"notches": 2}, "no"),
    ("notched-wheel pawl", {"loading": "pneumatic", "notches": 2}, "no"),
    ("shear pins", {}, "by hand"),
    ("tipping sprag", {}, "no"),
    ("friction disc", {}, "no"),
    ("magnet disc", {}, "no"),
    ("magnetic particle clutch", {}, "no"),
])  # fmt: skip
def test_whether_the_phase_is_kept(part, inputs, kept_):
    """Facts of the trade: the only pocket or notch of a turn finds the phase again, several lose it by a multiple, what
    slips or tips comes to stand anyhow, holes for pins are lined up by hand.  What has not let go has kept it."""
    assert again(part, SLIPS, **inputs).phase_kept == kept_
    assert again(part, {**SLIPS, "lets_go": nan}, **inputs).phase_kept == "yes"
    assert again(part, QUIET, **inputs) == ("did not let go", 0.0, "yes")


def test_every_protection_answers():
    """By its own words or its kind's; the answer of the verdict is this one."""
    for name, part in REGISTRY.items():
        if part.kind.family == "protection":
            assert part.kind.phase_kept in ("yes", "no", "by hand"), name
    case = case_of(sawmill(fit("shear pins", setting="50 N*m"), STEP), "shear pins", "crash")
    at = dict.fromkeys(("nominal", "high", "low"), [0.0] * len(case.assembly.parts))
    a = answer("shear pins", [Triple(case, GONE, GONE, GONE, at)])
    assert (a.again, a.again_seconds, a.phase_kept) == ("new pins", 900.0, "by hand")
