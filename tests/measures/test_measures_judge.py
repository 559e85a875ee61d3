"""Verdicts, reasons, ranking and windows from measures put in by hand."""

from __future__ import annotations

from dataclasses import replace
from math import inf, log, nan

import numpy as np
import pytest
from measure_texts import STEP, case_of, fit, sawmill
from scipy.integrate import solve_ivp

from simcore.contract import BROKEN, OPEN, SLIPPING
from simcore.line.caution import Caution
from simcore.measures.cases import Bears
from simcore.measures.climb import Climb, motor_not_inertia
from simcore.measures.extract import let_through, time_to_limit, until
from simcore.measures.foremost import in_order
from simcore.measures.judge import (
    Triple,
    answer,
    burnt_after,
    disconnects,
    limits_over,
    margin_of,
    ranked,
    reasons_against,
    worse,
)
from simcore.measures.shown import Shown
from simcore.measures.words import no_limiter_helps, sentence
from simcore.parts import REGISTRY
from simcore.solver import arrays as ar

PINS = fit("shear pins", setting="50 N*m", tolerance=0.2)
DISC = fit("friction disc", setting="50 N*m", tolerance=0.1, heat_limit="100 K", breakaway=1.1)
SCENARIO = sawmill(PINS, DISC, STEP)
QUIET = {
    "trigger": nan, "lets_go": nan, "disconnect": nan, "reengage": nan, "standstill": nan, "impulse": nan,
    "energy": nan, "heat": 0.0, "rise": nan, "burns_at": nan, "slip_angle": 0.0, "tally": 0.0, "end_class": 0.0,
    "speed_kept": 1.0,
    "peak": 30.0, "peak_time": 0.1,
}  # fmt: skip
GONE = {**QUIET, "trigger": 1e-3, "lets_go": 2e-3, "disconnect": 3e-3, "peak": 130.0, "end_class": float(BROKEN)}


def triple(situation, nominal, high=None, low=None, peaks=(100.0, 100.0, 100.0), asks=nan, name="shear pins"):
    """Peaks at the protected shaft: nominal, high, low."""
    case = case_of(SCENARIO, name, situation)
    at = np.zeros((3, len(case.assembly.parts)))
    at[:, case.protected] = peaks
    ends = dict(zip(("nominal", "high", "low"), at, strict=True))
    return Triple(case, nominal, high or nominal, low or nominal, ends, asks)


CRASH = triple("crash", GONE)
HOLDS = triple("thick log", QUIET, asks=25.0)


def test_worse_end_of_the_band():
    """High for a crash, low for service."""
    a, b = {**GONE, "peak": 1.0}, {**GONE, "peak": 2.0}
    assert worse(triple("crash", GONE, a, b)) == ("high", a)
    assert worse(triple("thick log", QUIET, a, b)) == ("low", b)


@pytest.mark.parametrize("situation", ["crash", "thick log"])
def test_limits_count_nominal_and_both_ends(situation):
    """What may slip in service is slipped through at the high end too, and higher there."""
    for peaks in ((150.0, 300.0, 200.0), (150.0, 200.0, 300.0), (300.0, 150.0, 200.0)):
        assert limits_over(triple(situation, GONE, peaks=peaks)) == [("shaft", 300.0, 0.75)]
    assert limits_over(triple(situation, GONE, peaks=(399.0, 1.0, 1.0)))[0][2] == pytest.approx(399 / 400)


def test_margin_at_the_low_end():
    """0.8 of 50 is 40; 25 is asked: 15 are left, 60 %."""
    m = margin_of(HOLDS, 50.0)
    assert (m.met, m.holds, m.margin, m.percent) == (True, 40.0, 15.0, pytest.approx(60.0))


def test_margin_is_met_only_if_both_ends_meet_it():
    trips = {**QUIET, "trigger": 0.01}
    assert not margin_of(triple("thick log", QUIET, low=trips, asks=25.0), 50.0).met
    assert not margin_of(triple("thick log", trips, low=QUIET, asks=25.0), 50.0).met
    assert margin_of(triple("thick log", QUIET, high=trips, asks=25.0), 50.0).met
    stays = {**GONE, "lets_go": nan}
    assert not margin_of(triple("crash", GONE, high=stays), 50.0).met
    assert margin_of(triple("crash", GONE, low=stays), 50.0).met


def reasons(*triples):
    return [r.text for r in reasons_against(triples, [margin_of(t, 50.0) for t in triples])]


def test_no_reason_against_a_sound_one():
    assert reasons(CRASH, HOLDS) == []


@pytest.mark.parametrize(("triples", "words"), [
    ((triple("crash", QUIET), HOLDS), "does not let go in 'crash'"),
    ((CRASH, triple("thick log", {**QUIET, "trigger": 0.1})), "trips in 'thick log'"),
    ((triple("crash", GONE, peaks=(1.0, 500.0, 1.0)), HOLDS), "'shaft' sees 125 % of its allowable in 'crash'"),
    ((triple("crash", {**GONE, "rise": 99.0}, {**GONE, "rise": 101.0}, name="friction disc"),),
     "heats past its limit in 'crash'"),
])  # fmt: skip
def test_reasons(triples, words):
    assert reasons(*triples) == [words]


def test_a_part_that_sees_just_what_it_bears_keeps_its_limit():
    assert reasons(triple("crash", GONE, peaks=(400.0, 400.0, 400.0)), HOLDS) == []
    assert "what protects in the crash trips" in first_sentence(some("pins", passed=False, use=1.0))


def test_who_has_no_answer_is_behind_those_that_fail():
    lost = replace(some("lost", passed=False, percent=90.0), peak=nan)
    given = [lost, some("fails", passed=False, percent=10.0)]
    assert {a.name: a.rank for a in ranked(given)} == {"fails": 1, "lost": 2}


def test_facing_at_its_limit_is_not_past_it():
    assert reasons(triple("crash", {**GONE, "rise": 100.0}, name="friction disc")) == []


@pytest.mark.parametrize(
    ("own", "end", "words"),
    [
        (nan, nan, ""),
        (12.0, 15.0, "after 12 s"),
        (12.0, nan, "after 12 s"),
        (12.0, 9.0, "after 9 s at the high end of its band, 12 s as set"),
        (nan, 9.0, "after 9 s at the high end of its band"),
    ],
)
def test_when_it_burns_as_set_and_at_the_end_of_its_band(own, end, words):
    assert burnt_after(triple("crash", {**GONE, "burns_at": own}, high={**GONE, "burns_at": end})) == words


def test_answer_by_hand():
    """Pins of 50 N*m, 20 %: window from 25/0.8 to (400 - (130 - 50))/1.2; the hotter peak of 400 is 325/400."""
    a = answer("shear pins", [triple("crash", GONE, peaks=(130.0, 325.0, 0.0)), HOLDS])
    assert (a.setting, a.tolerance, a.breakaway, a.to_protected) == pytest.approx((50.0, 0.2, 50.0, 1.0))
    assert (a.overshoot, a.use, a.worst_limit) == (pytest.approx(80.0), pytest.approx(325 / 400), "shaft")
    assert (a.window_low, a.window_high) == pytest.approx((31.25, 320 / 1.2))
    assert (a.passed, a.reasons, a.slot, a.crash) == (True, (), "slot", "crash")
    assert (a.again, a.disconnects, a.again_seconds) == ("new pins", "disconnects", 900.0)


def test_a_part_that_a_crash_leaves_alone_sets_no_upper_end():
    a = answer("shear pins", [triple("crash", {**GONE, "peak": 0.0}, high={**GONE, "peak": 0.0}), HOLDS])
    assert a.window_high == inf


def test_window_is_empty_if_a_situation_fails_at_every_setting():
    """The search gives no number there: no setting of the window would hold it."""
    a = answer("shear pins", [CRASH, HOLDS, triple("thick log", {**QUIET, "trigger": 0.1}, asks=nan)])
    assert a.window_low == inf
    assert np.isnan(answer("shear pins", [CRASH]).window_low)


def test_breakaway_of_a_disc_is_above_its_setting():
    """1.1 of 50 N*m; the setting itself is the running torque."""
    a = answer("friction disc", [triple("crash", GONE, name="friction disc")])
    assert (a.setting, a.breakaway) == pytest.approx((50.0, 55.0))


def test_worst_crash_decides():
    """The situation with the largest nominal peak among those that must let go."""
    service = triple("thick log", {**QUIET, "peak": 900.0}, asks=25.0)
    a = answer("shear pins", [service, CRASH])
    assert (a.crash, a.peak) == ("crash", 130.0)


def test_nothing_overloaded_needs_nothing():
    a = answer("shear pins", [triple("crash", QUIET), HOLDS])
    assert (a.again, a.disconnects, a.passed) == ("did not let go", "does not let go", False)


@pytest.mark.parametrize(("part", "measures", "words"), [
    ("shear pins", QUIET, "does not let go"),
    ("shear pins", GONE, "disconnects"),
    ("ball detent", {**GONE, "reengage": 0.1}, "disconnects, then re-engages"),
    ("ball detent", {**GONE, "disconnect": nan}, "lets go, does not disconnect"),
    ("friction disc", {**GONE, "disconnect": nan}, "slips, does not disconnect"),
])  # fmt: skip
def test_disconnects_in_words(part, measures, words):
    assert disconnects(REGISTRY[part], measures) == words
    assert SLIPPING < OPEN


def some(name, rank=1, passed=True, use=0.5, lets_go=1e-3, percent=60.0, again=0.0):
    a = answer("shear pins", [CRASH, HOLDS])
    service = a.margins[1]._replace(percent=percent)
    return replace(a, name=name, rank=rank, passed=passed, use=use, lets_go=lets_go, again_seconds=again,
                   margins=(a.margins[0], service))  # fmt: skip


def test_ranking():
    """Passing first; then the smaller of service margin and room to the allowable (100/use - 100); then time."""
    given = [
        some("fails", passed=False, percent=500.0),
        some("tight service", percent=10.0),
        some("tight room", use=0.8, percent=90.0),  # 25 %
        some("slow", percent=60.0, again=900.0),
        some("quick", percent=60.0, again=1.0),
    ]
    ranks = {a.name: a.rank for a in ranked(given)}
    assert ranks == {"quick": 1, "slow": 2, "tight room": 3, "tight service": 4, "fails": 5}
    assert [a.name for a in ranked(given)] == [a.name for a in given]


@pytest.mark.parametrize(("slow", "first"), [(60.04, "quick"), (60.06, "slow")])
def test_what_differs_past_the_digits_told_is_no_reason_to_rank(slow, first):
    """60.04 % is told as 60 %, as is the other's: the shorter time to run again decides; 60.1 % is more."""
    given = [some("slow", percent=slow, again=900.0), some("quick", percent=60.0, again=1.0)]
    assert next(a.name for a in ranked(given) if a.rank == 1) == first


def first_sentence(*answers):
    """Of candidates of which the margins and figures alone are known."""
    return sentence(answers, {a.name: () for a in answers})


@pytest.mark.parametrize(("answers", "words"), [
    ([some("pins")], "Fit the pins: it lets go in the crash and holds in service."),
    ([some("disc", 2, percent=40.0), some("pins")], "Fit the pins: it lets go in the crash and holds in service; one"),
    ([some("disc", 2, percent=40.0), some("pins", 1), some("detent", 3, percent=9.0)], "; 2 others pass too."),
    # alike to the three digits told, in margin and in time
    ([some("disc", 2, percent=59.96), some("pins", 1), some("detent", 3, percent=40.0)],
     "Fit the pins or the disc, alike by the numbers: each lets go in the crash and holds in service; one other"),
    ([some("disc", 2, percent=59.9), some("pins")], "Fit the pins: it lets go in the crash and holds in service; one"),
    ([some("disc", 2, again=9.0), some("pins", 1)],
     "Fit the pins: it lets go in the crash and holds in service; the disc alike, but slower to run again."),
    ([], "No candidates were given: this is the bare line."),
    ([some("pins", passed=False, lets_go=nan)], "No candidate lets go in the crash"),
    ([some("pins", passed=False, use=1.1)], "still sees more than it may"),
    ([some("pins", passed=False, use=1.1), some("disc", passed=False)], "trips in ordinary service"),
])  # fmt: skip
def test_first_sentence(answers, words):
    assert words in first_sentence(*answers)


def test_no_limiter_helps_only_if_every_candidate_fails_at_its_lowest_setting():
    def said(*peaks):
        seen = [{"shaft": Bears(p, 400.0, "rotation")} for p in peaks]
        return no_limiter_helps(seen, "shaft", lambda domain: lambda si: f"{si:g} {domain}")

    assert "'shaft' sees 500 rotation, past its 400 rotation" in said(500.0, 600.0)
    assert said(500.0, 400.0) is None
    assert said(nan, 500.0) is None
    assert said() is None
    assert no_limiter_helps([{}, {"shaft": Bears(500.0, 400.0, "rotation")}], "shaft", str) is None


def test_no_limiter_helps_tells_the_protected_part_first_else_the_worst():
    def said(**shares):
        return no_limiter_helps([{n: Bears(s, 1.0, n) for n, s in shares.items()}], "shaft", lambda d: str)

    assert "'shaft' sees 1.1, past" in said(shaft=1.1, tray=3.0)
    assert "'tray' sees 3.0, past" in said(shaft=0.9, holder=2.0, tray=3.0)


def test_first_sentence_claims_what_was_tried_only():
    a = some("pins")
    assert first_sentence(replace(a, margins=a.margins[:1])) == (
        "Fit the pins: it lets go wherever it ought to; no situation asks it to hold.")  # fmt: skip
    assert first_sentence(replace(a, margins=a.margins[1:])) == "Fit the pins: it holds in service; no crash was tried."


def test_first_sentence_names_what_all_of_them_overload():
    a = some("pins", passed=False, use=1.1)
    told = first_sentence(replace(a, worst_limit="tray"), replace(a, name="disc", worst_limit="tray"))
    assert told == "No candidate passes: each lets go, but 'tray' still sees more than it may."
    told = first_sentence(replace(a, worst_limit="tray"), replace(a, name="disc", lets_go=nan))
    assert told == "No candidate passes: 1 of 2 lets go, but 'tray' still sees more than it may."


BURNS, STALLS, STARTS = "Burns: disc (likewise pins).", "Stalls: disc.", "Starts: disc."


@pytest.mark.parametrize(("failing", "grave", "order"), [
    (set(), False, [BURNS, STALLS, "Tires.", STARTS]),
    (set(), True, [BURNS, "Tires.", STALLS, STARTS]),
    ({"pins"}, True, [BURNS, STALLS, STARTS, "Tires."]),
    ({"pins", "disc"}, False, [BURNS, "Tires.", STALLS, STARTS]),
    ({"pins", "disc"}, True, ["Tires.", BURNS, STALLS, STARTS]),
])  # fmt: skip
def test_what_can_hurt_comes_first_remarks_last(failing, grave, order):
    """Within that the recommended candidate, the failing ones at the end; one for several speaks of the best."""
    at = {n: f'candidates["{n}"]' for n in ("pins", "disc")}
    seen = Shown([Caution("tired pins", at["pins"], "tires", grave)], [])
    known = [
        Caution("start above setting", f"{at['disc']}.setting", "starts: disc"),
        Caution("motor below setting", f"{at['disc']}.setting", "stalls: disc"),
        Caution("slips without a stop", at["pins"], "burns: pins", grave=True),
        Caution("slips without a stop", at["disc"], "burns: disc", grave=True),
    ]
    answers = [some("pins", 2, "pins" not in failing), some("disc", 1, "disc" not in failing)]
    assert in_order(seen, known, answers) == order


def test_warnings_are_sentences():
    assert Caution("a", "line", "the hubs look too heavy?").sentence() == "The hubs look too heavy?"
    assert Caution("a", "line", "it stalls").sentence(" (likewise pins)") == "It stalls (likewise pins)."


@pytest.mark.parametrize(("seen", "said"), [
    (Climb(338.0, 266.0, 139.0, 98.0), True),
    # 266 - 139 = 127 to spare, times the root of 2 is 179.6
    (Climb(338.0, 266.0, 139.0, 126.9), True),
    (Climb(338.0, 266.0, 139.0, 127.1), False),
    (Climb(445.5, 266.0, 139.0, 98.0), True),
    (Climb(445.7, 266.0, 139.0, 98.0), False),
    # a load that drives gives the motor nothing to spare
    (Climb(338.0, 266.0, -139.0, 267.0), False),
    (Climb(338.0, 10.0, 139.0, 0.0), False),
])  # fmt: skip
def test_motor_not_inertia_where_its_part_is_the_larger(seen, said):
    assert (motor_not_inertia(seen, "shaft", str) is not None) is said


def test_time_to_limit_with_cooling():
    """C x' = P - G x from 20 to 100 K; closed form and scipy."""
    t = float(time_to_limit(*map(np.float64, (100.0, 20.0, 500.0, 100.0, 3.5))))
    assert t == pytest.approx(100 / 3.5 * log((500 / 3.5 - 20) / (500 / 3.5 - 100)), rel=1e-12)

    def hot(_, x):
        return x[0] - 100.0

    run = solve_ivp(lambda _, x: [(500.0 - 3.5 * x[0]) / 100.0], (0, 60), [20.0], events=hot, rtol=1e-10, atol=1e-10)
    assert t == pytest.approx(run.t_events[0][0], rel=1e-7)


@pytest.mark.parametrize(("given", "seconds"), [
    ((100.0, 20.0, 500.0, 100.0, 0.0), 16.0),  # C (limit - rise)/P
    ((100.0, 100.0, 500.0, 100.0, 3.5), 0.0),
    ((100.0, 20.0, 350.0, 100.0, 3.5), inf),  # ends at 100 K exactly
    ((100.0, 20.0, 500.0, 700.0, 3.5), 200 * log((500 / 3.5 - 20) / (500 / 3.5 - 100))),
    ((100.0, 20.0, 100.0, 4501.0, 0.0), inf),  # more than an hour
    ((100.0, 20.0, 100.0, 4499.0, 0.0), 3599.2),
    ((100.0, 20.0, 100.0, 74.9, 0.0), 59.92),
    ((100.0, 20.0, 0.0, 100.0, 3.5), nan),
    ((nan, 20.0, 500.0, 100.0, 3.5), nan),
    ((100.0, nan, 500.0, 100.0, 3.5), nan),
])  # fmt: skip
def test_time_to_limit(given, seconds):
    assert float(time_to_limit(*map(np.float64, given))) == pytest.approx(seconds, nan_ok=True)


def measured(**columns: float):
    m = np.full(ar.N_MEAS, nan)
    m[[ar.IMP_TRIGGER, ar.EN_TRIGGER]] = 1.0, 10.0
    m[[ar.IMP_LOW, ar.EN_LOW]] = 3.0, 17.0
    m[[ar.IMP_STAND, ar.EN_STAND]] = 5.0, 25.0
    m[[ar.IMP_END, ar.EN_END]] = 9.0, 44.0
    for name, v in columns.items():
        m[getattr(ar, name)] = v
    return m


@pytest.mark.parametrize(("columns", "impulse", "energy", "end"), [
    ({"TRIGGER": 1e-3, "DISCONNECT": 2e-3, "STAND": 3e-3}, 2.0, 7.0, "disconnect"),
    ({"TRIGGER": 1e-3, "STAND": 3e-3}, 4.0, 15.0, "motor side stands"),
    ({"TRIGGER": 1e-3}, 8.0, 34.0, "horizon"),
    ({}, nan, nan, "horizon"),
])  # fmt: skip
def test_let_through(columns, impulse, energy, end):
    m = measured(**columns)
    found = [float(v[0]) for v in let_through(m[None])]
    assert found == pytest.approx([impulse, energy], nan_ok=True)
    assert until({"disconnect": m[ar.DISCONNECT], "standstill": m[ar.STAND]}) == end


def test_the_rise_told_is_the_one_that_is_judged():
    """80 K as set, 120 K at the upper end of the band, which passes the limit of 100 K: 120 K stand in the table."""
    own, end = {**GONE, "rise": 80.0}, {**GONE, "rise": 120.0}
    found = answer("friction disc", [triple("crash", own, high=end, name="friction disc")])
    assert "heats past its limit in 'crash'" in found.reasons
    assert (found.rise, found.rise_limit) == (120.0, 100.0)
    assert answer("friction disc", [triple("crash", end, high=own, name="friction disc")]).rise == 120.0
