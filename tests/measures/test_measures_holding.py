"""The smallest setting that holds, and what 'met' means."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest
from measure_texts import STEP, case_of, fit, measures_at, sawmill

from simcore.measures import holding
from simcore.measures.cases import met
from simcore.measures.holding import HIGH, LOW, Smallest, smallest_setting
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many, run_one

DETENT = fit("ball detent", setting="60 N*m")
PINS = fit("shear pins", setting="60 N*m", clearance="0 deg")


@pytest.mark.parametrize(("name", "text"), [("ball detent", DETENT), ("shear pins", PINS)])
def test_smallest_setting_is_the_peak_the_situation_asks_for(name, text):
    """A load step: the largest torque of a run far from letting go is what the setting must be (0.2 %)."""
    case = case_of(sawmill(text, STEP), name, "thick log")
    far = run_one(replace(case.assembly, rows=case.assembly.dialled(1.0)), trace=False)
    asked = float(far.meas[case.assembly.candidate, 0])
    assert asked == pytest.approx(12.0 + 8.0, rel=1e-3)  # the drive damps the step out, nothing overshoots
    found = smallest_setting(case)
    assert found.note == ""
    if name == "ball detent":  # its seat stays as stiff whatever the setting
        assert found.setting == pytest.approx(asked, rel=2e-3)
    for f, holds in ((1.002, True), (0.998, False)):
        assert met("hold", measures_at(case, f * found.setting / 60.0), nan) is holds


def test_start_asks_the_same_of_a_detent():
    case = case_of(sawmill(DETENT, '[situations."go"]\nevent = "start"\n'), "ball detent", "go")
    far = run_one(replace(case.assembly, rows=case.assembly.dialled(3.0)), trace=False)
    assert smallest_setting(case).setting == pytest.approx(float(far.meas[case.assembly.candidate, 0]), rel=2e-3)


def test_fails_even_at_four_times():
    """12 + 8 N*m are asked; four times 3 N*m is 12."""
    case = case_of(sawmill(fit("shear pins", setting="3 N*m"), STEP), "shear pins", "thick log")
    found = smallest_setting(case)
    assert np.isnan(found.setting)
    assert found.note == "fails even at 4 times the setting"


def test_holds_even_at_a_twentieth():
    case = case_of(sawmill(fit("ball detent", setting="2 kN*m"), STEP), "ball detent", "thick log")
    assert smallest_setting(case) == Smallest(pytest.approx(100.0), "holds even at 0.05 times the setting")


@pytest.mark.parametrize(("holds", "edge", "note"), [
    (lambda f: f > 0.7, 0.7, False),
    (lambda f: 0.1 < f < 0.3 or f > 0.7, 0.7, True),
    (lambda f: f > 3.9, 3.9, False),
])  # fmt: skip
def test_largest_failing_setting_counts(monkeypatch, holds, edge, note):
    """Holding may come and go with the setting: the note says so."""
    case = case_of(sawmill(DETENT, STEP), "ball detent", "thick log")
    monkeypatch.setattr(holding, "_holding", lambda _, factors: [bool(holds(f)) for f in factors])
    found = smallest_setting(case)
    assert 60.0 * edge <= found.setting <= 60.0 * edge * (1 + holding.PRECISE)
    assert ("not monotone" in found.note) is note


def test_scan_is_as_documented():
    assert (LOW, HIGH, holding.SCAN, holding.PRECISE) == (0.05, 4.0, 8, 1e-3)


QUIET = {
    "trigger": nan,
    "lets_go": nan,
    "disconnect": nan,
    "rise": nan,
    "burns_at": nan,
    "end_class": 0.0,
    "speed_kept": 1.0,
}
SLIPPED = {**QUIET, "trigger": 0.01, "lets_go": 0.01, "rise": 40.0}
YIELDED = {**QUIET, "trigger": 0.01}


@pytest.mark.parametrize(("measures", "let_go", "hold", "carry"), [
    (QUIET, False, True, True),
    (YIELDED, False, False, True),
    (SLIPPED, True, False, True),
    ({**SLIPPED, "end_class": 2.0}, True, False, False),
    ({**SLIPPED, "disconnect": 0.02}, True, False, False),
    ({**SLIPPED, "speed_kept": 0.979}, True, False, False),
    ({**SLIPPED, "speed_kept": 0.981}, True, False, True),
    ({**SLIPPED, "speed_kept": 1.021}, True, False, False),
    ({**SLIPPED, "rise": 50.1}, True, False, False),
    ({**SLIPPED, "rise": 50.0}, True, False, True),
    ({**SLIPPED, "failed": 2.0}, False, False, False),
    ({**QUIET, "failed": 2.0}, False, False, False),
    ({**SLIPPED, "speed_kept": nan}, True, False, False),
    ({**SLIPPED, "speed_kept": inf}, True, False, False),
])  # fmt: skip
def test_met(measures, let_go, hold, carry):
    """Truth table; the facing bears 50 K."""
    assert (met("let go", measures, 50.0), met("hold", measures, 50.0), met("carry", measures, 50.0)) == (
        let_go, hold, carry,
    )  # fmt: skip


def test_a_search_ends_a_run_where_its_own_protection_triggers():
    """Whatever else in the line switches before: the motor's ramp ends long before."""
    a = case_of(sawmill(STEP, fit("disc", part="friction disc", setting="15 N*m")), "disc", "thick log").assembly
    whole, cut, other = (
        run_many(a.with_setup(first_trigger=float(place)), a.rows[None])
        for place in (0, 1 + a.candidate, 1 + a.index("log"))
    )
    ended = [float(meas[0, -1, ar.L_T_END]) for meas, _, _ in (whole, cut, other)]
    triggered = float(whole[0][0, a.candidate, ar.TRIGGER])
    assert 0.0 < triggered < 0.1
    assert ended == [0.4, triggered, 0.4]
    assert [int(status[0]) for _, _, status in (whole, cut, other)] == [ar.DONE, ar.STOPPED, ar.DONE]
