"""Charts that are drawn where they show something: timeline, temperature, placement."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan

import numpy as np
import pytest
from chart_boxes import outside, overlaps, words_of
from chart_hand import hand_set
from chart_samples import result_set
from chart_timed import HEAT, JAM, LIMIT, OFF, TRIGGER, candidate_run, placed, steps, timed_set
from test_chart_drawing import LONG, TITLE

from simcore.charts import base, crash
from simcore.charts.crash_data import crash_data
from simcore.charts.draw import KINDS, SIZES, draw_all, figure, telling
from simcore.charts.metrics import width
from simcore.charts.placement_data import placement_data
from simcore.charts.stops_data import heat_between, power_off, stopped
from simcore.charts.style import read_style
from simcore.charts.temperature_data import repeats, temperature_data
from simcore.charts.timeline import named, stop_lines
from simcore.charts.timeline_data import Bar, Instant, merged, timeline_data

MORE = [name for name, kind in KINDS.items() if kind.shows is not None and name != "service"]
FOUR = timed_set(4)
SETS = {
    "one": timed_set(1),
    "four": FOUR,
    "eight minutes long": timed_set(8, 600.0),
    "long names": timed_set(8, names=LONG, title=TITLE),
    "twenty": timed_set(20),
    "nothing to show": result_set(4),
    "no answers": replace(FOUR, answers=()),
    "no inputs": replace(FOUR, provenance={}),
}


@pytest.fixture(autouse=True)
def _styled():
    with read_style().active():
        yield


def test_the_delays_of_a_stop_and_the_heat_in_each():
    """1000 W from 30 ms on: 20, 100, 30 and 20 J in noticing, sensor, scan and output, 170 J in all."""
    s = stopped(FOUR, candidate_run(FOUR))
    assert [leg.what for leg in s.legs] == ["to the trigger", "noticing", "sensor", "scan", "output"]
    assert [leg.stop - leg.start for leg in s.legs] == pytest.approx([0.03, 0.02, 0.1, 0.03, 0.02])
    assert [leg.heat for leg in s.legs] == pytest.approx([0.0, 20.0, 100.0, 30.0, 20.0], abs=1e-5)
    assert (s.by, s.off, s.heat) == ("slip watch", pytest.approx(OFF), pytest.approx(HEAT * (OFF - TRIGGER)))


def test_without_the_chains_inputs_its_time_stays_in_one_piece():
    s = stopped(SETS["no inputs"], candidate_run(FOUR))
    assert [leg.what for leg in s.legs] == ["to the trigger", "noticing", "sensor"]
    assert s.legs[-1].stop == pytest.approx(OFF)


def test_a_kind_that_only_slips_is_told_with_the_stop_that_takes_the_drive_off():
    """On the crash chart too: what slips and is stopped is not said to slip on."""
    slips = tuple(replace(a, disconnects="slips, does not disconnect") for a in FOUR.answers)
    runs = {k: replace(r, measures={**r.measures, "disconnect": nan}) for k, r in FOUR.runs.items()}
    data = crash_data(replace(FOUR, answers=slips, runs=runs))
    tails = [c.note.replace("\u00a0", " ").partition(", ")[2] for c in sorted(data.curves, key=lambda c: c.place)]
    assert tails == ["", "drive off 200 ms", "drive off 200 ms", "only slips", "drive off 200 ms"]
    long = data.curves[0]._replace(note="peak 1500, drive off 455 ms")
    rooms = [width(t, 8.0) for t in (long.note, "1500, drive off 455 ms", "1500, stop 455 ms")]
    assert [crash._note(long, room + 0.1, 8.0) for room in rooms] == [
        "peak 1500, drive off 455 ms", "1500, drive off 455 ms", "1500, stop 455 ms"]  # fmt: skip


def test_a_drive_that_stays_on_has_no_power_off():
    run = candidate_run(FOUR, 2)
    assert isnan(power_off(run))
    s = stopped(FOUR, run)
    assert (s.by, s.legs) == ("", ())
    assert s.heat == pytest.approx(heat_between(run, 0.0, 1.0)) == pytest.approx(970.0)
    assert stop_lines(s, 9) == [("drive stays on", "", "970\u00a0J")]


def test_lines_that_do_not_fit_are_those_with_least_heat():
    s = stopped(FOUR, candidate_run(FOUR))
    assert [x[0] for x in stop_lines(s, 9)] == [*(leg.what for leg in s.legs), "power off at"]
    assert [x[0] for x in stop_lines(s, 4)] == ["sensor", "scan", "3 others", "power off at"]
    assert stop_lines(s, 3)[1] == ("4 others", "100\u00a0ms", "70\u00a0J")
    assert stop_lines(s, 2) == stop_lines(s, 1)
    assert stop_lines(s, 1) == [("power off at", "200\u00a0ms", "170\u00a0J")]


def test_the_delays_shown_add_up_to_the_instant_of_power_off_and_the_heat():
    s = stopped(FOUR, candidate_run(FOUR))
    for most in range(3, 9):
        lines = [[float(x.split("\u00a0")[0]) for x in line[1:]] for line in stop_lines(s, most)]
        assert np.sum(lines[:-1], axis=0) == pytest.approx(lines[-1], rel=2e-3)


def test_timeline_rows_instants_and_views():
    data = timeline_data(FOUR)
    lane = data.lanes[0]
    assert [r.who for r in lane.rows] == ["motor", "stop chain", "protection"]
    watch = [(b.words, b.meaning) for b in lane.rows[1].bars]
    assert watch == [("watching", "works"), ("sensor", "delay"), ("scan", "delay"), ("output", "delay"),
                     ("drive off", "rest"), ("watching", "works")]  # fmt: skip
    assert [r.who for r in data.lanes[2].rows] == ["motor", "protection"]
    assert [(b.words, b.meaning) for b in data.jams.bars] == [("dragging", "strained")] * 3 + [("cleared", "rest")]
    assert [i.words for i in data.instants] == ["restart"]
    assert data.instants[0].time == pytest.approx(0.8, abs=1e-3)
    assert data.views == (pytest.approx((-0.01, 0.25)), pytest.approx((-0.02, 1.0)))
    assert lane.running == pytest.approx(7.43 * 30 / np.pi)
    assert data.frame.title.replace("\u00a0", " ") == (
        "Friction disc: power off at 200 ms, 170 J of heat by then, 59 % of it in the sensor\u2019s delay"
    )


def test_an_emergency_stop_is_an_instant_and_no_jam():
    """At its contacts, not before, and once whatever follows its ramp."""
    run = candidate_run(FOUR)
    button = placed("3: emergency stop", "emergency stop", "event", ("waiting", "ramping down", "done"))
    mode = np.column_stack([run.mode, steps(run.time, (0.45, 1), (0.55, 2))])
    none = np.zeros((len(run.time), 1))
    pressed = replace(run, connections=(*run.connections, button), mode=mode, heat=np.column_stack([run.heat, none]),
                      torque=np.column_stack([run.torque, none]),
                      **{k: np.append(getattr(run, k), 0.0) for k in ("peak", "peak_time", "first_peak", "lost")},
    )  # fmt: skip
    key = next(k for k, r in FOUR.runs.items() if r is run)
    data = timeline_data(replace(FOUR, runs={**FOUR.runs, key: pressed}))
    assert [i.words for i in data.instants] == ["emergency stop", "restart"]
    assert data.instants[0].time == pytest.approx(0.45, abs=1e-3)
    assert {b.words for b in data.jams.bars} == {"dragging", "cleared"}


def with_brake(result, second=False):
    """The same with a brake that closes after power off, a stop that ramps down first, and a start by ramp."""
    runs = {}
    for key, run in result.runs.items():
        if key[1] == JAM and any(c.role == "stop" for c in run.connections):
            mode = run.mode.copy()
            chain = next(i for i, c in enumerate(run.connections) if c.role == "stop")
            mode[(run.time >= 0.15) & (run.time < OFF), chain] = 4
            extra = [placed("holding brake", "brake", "line", ("open", "closing", "closed", "opening"))]
            extra += [placed("parking brake", "brake", "line", extra[0].modes)] if second else []
            shut = np.column_stack([steps(run.time, (OFF, 1), (OFF + 0.1, 2)) for _ in extra])
            m, none = len(extra), np.zeros((len(run.time), len(extra)))
            run = replace(run, connections=(*run.connections, *extra), mode=np.column_stack([mode, shut]),
                          heat=np.column_stack([run.heat, none]), torque=np.column_stack([run.torque, none]),
                          **{k: np.append(getattr(run, k), np.zeros(m))
                             for k in ("peak", "peak_time", "first_peak", "lost")})  # fmt: skip
        runs[key] = run
    resolved = {**result.provenance["resolved"], 'line["motor"].ramp': 0.1}
    return replace(result, runs=runs, provenance={**result.provenance, "resolved": resolved})


def test_ramps_of_the_drive_and_brakes_stand_as_bars():
    """The motor is at its ceiling when the stop ramps it down; the restart's ramp takes its 100 ms."""
    lane = timeline_data(with_brake(FOUR)).lanes[0]
    assert [r.who for r in lane.rows] == ["motor", "stop chain", "brake", "protection"]
    motor, brake = lane.rows[0].bars, lane.rows[2].bars
    assert [(b.words, b.meaning) for b in motor] == [
        ("on its curve", "works"), ("at its ceiling", "strained"), ("off", "rest"), ("ramping up", "ramp"),
        ("on its curve", "works"),
    ]  # fmt: skip
    assert motor[3][:2] == pytest.approx((0.8, 0.9), abs=1e-3)
    assert [(b.words, b.meaning) for b in brake] == [("open", "rest"), ("closing", "strained"), ("closed", "strained")]
    assert brake[1][:2] == pytest.approx((OFF, OFF + 0.1), abs=1e-6)
    two = timeline_data(with_brake(FOUR, second=True)).lanes[0]
    assert [r.who for r in two.rows][2:4] == ["holding brake", "parking brake"]


def test_a_drive_that_works_is_seen_to_ramp_down():
    run = candidate_run(with_brake(FOUR))
    calm = replace(run, mode=np.where(run.mode == 2, [c.name == "motor" for c in run.connections], run.mode))
    key = next(k for k, r in with_brake(FOUR).runs.items() if r.candidate == run.candidate and k[1] == JAM)
    data = timeline_data(replace(with_brake(FOUR), runs={**with_brake(FOUR).runs, key: calm}))
    words = [b.words for b in data.lanes[0].rows[0].bars]
    assert words == ["on its curve", "ramping down", "off", "ramping up", "on its curve"]
    assert "ramp" in data.meanings


def test_slivers_become_one_bar_and_neighbours_of_one_meaning_join():
    bars = [Bar(0, 50, "in step", "works")]
    bars += [Bar(50 + 0.1 * i, 50.1 + 0.1 * i, "slips" if i % 2 else "in step", "gives" if i % 2 else "works")
             for i in range(50)]  # fmt: skip
    bars += [Bar(55, 70, "in step", "works"), Bar(70, 70.1, "scan", "delay"), Bar(70.1, 100, "off", "rest")]
    out = merged(bars, (0.0, 100.0))
    assert [(b.words, b.meaning) for b in out] == [
        ("in step", "works"), ("slips", "gives"), ("in step", "works"), ("scan", "delay"), ("off", "rest"),
    ]  # fmt: skip
    assert out[1][:2] == pytest.approx((50, 55))
    assert merged(bars, (10.0, 20.0)) == [Bar(10, 20, "in step", "works")]


def test_of_many_instants_of_one_name_the_first_is_named_with_their_number():
    many = [Instant(float(i), "reset") for i in range(5)]
    assert named([*many, Instant(2.5, "restart")]) == [Instant(0.0, "reset \u00d75"), Instant(2.5, "restart")]


def test_temperature_counts_events_and_names_the_face():
    run = candidate_run(FOUR)
    assert repeats(run) == pytest.approx((0.0, 0.4, 0.6, 0.8), abs=1e-3)
    data = temperature_data(FOUR)
    w = data.warm[0]
    assert (w.highest, w.hottest_face, w.limit, w.climbing) == (30.0, 31.0, LIMIT, True)
    assert data.top == pytest.approx(1.1 * LIMIT)
    assert data.wear[0].share[1].max() == pytest.approx(0.3)
    assert data.frame.title.replace("\u00a0", " ") == (
        "After 4 times in 1000 ms friction disc is 30 K warmer, 75 % of its limit, still rising"
    )


def test_where_nothing_warms_the_life_used_is_the_chart():
    """Ten thousandths of a degree are no rise to draw."""
    runs = {
        k: replace(r, own=tuple(replace(o, values=1e-5 * o.values) if o.unit == "K" else o for o in r.own))
        for k, r in FOUR.runs.items()
    }
    cool = replace(FOUR, runs=runs)
    assert "temperature" in telling(cool)
    data = temperature_data(cool)
    assert data.warm == ()
    name = data.wear[0].name
    assert data.frame.title.replace("\u00a0", " ") == f"After 4 times in 1000 ms 30 % of the life of {name} is used up"
    said = [t for t, _ in words_of(figure(cool, "temperature"))]
    assert name in said
    assert not [t for t in said if t.startswith("rise above ambient")]
    new = {k: replace(r, own=tuple(o for o in r.own if o.unit == "K")) for k, r in runs.items()}
    assert "temperature" not in telling(replace(FOUR, runs=new))


def test_minutes_of_slip_are_a_chart_though_nothing_repeats():
    def calm(run, stretch):
        event = np.array([c.role == "event" for c in run.connections])
        return replace(run, time=stretch * run.time, mode=np.where(event, 0, run.mode))

    brief, long = (replace(FOUR, runs={k: calm(r, f) for k, r in FOUR.runs.items()}) for f in (1.0, 300.0))
    assert "temperature" in telling(long)
    assert "temperature" not in telling(brief)
    data = temperature_data(long)
    assert data.instants == ()
    assert data.frame.title.replace("\u00a0", " ").startswith("After 5 min friction disc is 30 K warmer, ")
    assert not [t for t, _ in words_of(figure(long, "temperature")) if "ticks: events" in t]


def test_without_ordinary_service_there_is_no_chart_of_it():
    assert "service" in telling(FOUR)
    none = replace(FOUR, answers=tuple(replace(a, margins=()) for a in FOUR.answers))
    assert "service" not in telling(none)


def test_one_event_is_no_repetition():
    assert repeats(hand_set().runs["disc", JAM]) == ()


def test_a_limit_far_above_does_not_flatten_the_curves():
    far = replace(FOUR, answers=tuple(replace(a, rise_limit=300.0) for a in FOUR.answers))
    assert temperature_data(far).top == pytest.approx(1.1 * 31.0)
    text = " ".join(t for t, _ in words_of(figure(far, "temperature"))).replace("\u00a0", " ")
    assert "above the axis: limits of 300 K" in text


def test_placement_groups_by_kind_and_finds_where_the_place_matters_most():
    data = placement_data(FOUR)
    assert data.slots == ("slot", "motor slot")
    assert [(s.part, s.slot) for s in data.stands] == [
        ("slips", "slot"), ("slips", "motor slot"), ("breaks", "slot"), ("breaks", "motor slot"),
    ]  # fmt: skip
    assert data.stands[1].setting.replace("\u00a0", " ") == "17 N·m ±5 %"
    assert [s.heat for s in data.stands] == [10.0, 11.0, 12.0, 13.0]
    ratio = max(data.stands[i + 1].peak / data.stands[i].peak for i in (0, 2)) - 1
    assert f"(+{100 * ratio:.0f}\u00a0%)" in data.frame.title


def test_only_charts_with_something_to_show_are_drawn(tmp_path):
    assert [k for k in telling(FOUR) if k in MORE] == MORE
    assert not [k for k in telling(result_set(4)) if k in MORE]
    cold = {k: replace(r, own=()) for k, r in FOUR.runs.items()}
    assert "temperature" not in telling(replace(FOUR, runs=cold))
    made = draw_all(result_set(1), tmp_path)
    assert [p.stem for p in made] == [k for k in KINDS if k not in MORE]


SETS |= {"brakes": with_brake(timed_set(8), second=True), "brakes, long names": with_brake(SETS["long names"])}


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", SETS)
def test_words_do_not_meet_stay_on_paper_and_are_readable(name, size):
    for kind in MORE:
        drawn = figure(SETS[name], kind, size=size)
        words = words_of(drawn)
        assert overlaps(drawn, words) == [], kind
        assert outside(drawn, words) == [], kind
        sizes = [t.get_fontsize() for t in drawn.findobj(lambda a: hasattr(a, "get_fontsize")) if t.get_text()]
        assert min(sizes) >= 6.0
        wide, high = 25.4 * drawn.get_size_inches()
        assert wide == pytest.approx({"page": 180.0, "column": 85.0}[size])
        assert 109.9 <= high <= 250.1
        text = " ".join(t for t, _ in words).replace("\u00a0", " ")
        assert "tray jams (hard stop)" in text
        assert "simcore" in text


@pytest.mark.parametrize("name", ["four", "twenty"])
def test_every_candidate_is_named(name):
    for kind in MORE:
        text = " ".join(t for t, _ in words_of(figure(SETS[name], kind)))
        assert not [n for n in SETS[name].candidates[:-1] if n not in text], kind


def test_delays_and_states_stand_in_words_on_the_timeline():
    text = " ".join(t for t, _ in words_of(figure(FOUR, "timeline"))).replace("\u00a0", " ")
    for part in (
        "sensor 100 ms 100 J",
        "power off at 200 ms 170 J",
        "at its ceiling",
        "dragging",
        "restart",
        "watching",
    ):
        assert part in text


def test_meanings_differ_in_grey_or_by_hatch():
    """Luma of ITU-R BT.601, as grey prints weigh colours."""
    style = read_style()
    looks = {}
    for key in ("rest", "works", "strained", "gives", "delay", "ramp"):
        r, g, b = (int(style.color(f"state.{key}")[i : i + 2], 16) for i in (1, 3, 5))
        looks[key] = (0.299 * r + 0.587 * g + 0.114 * b, style.house.get(f"state.{key}.hatch", ""))
    plain = sorted(luma for luma, hatch in looks.values() if not hatch)
    assert min(np.diff(plain)) > 25
    hatches = [hatch for _, hatch in looks.values() if hatch]
    assert len(set(hatches)) == len(hatches)


def test_a_column_shows_as_many_lanes_as_stay_readable_and_says_so():
    text = " ".join(t for t, _ in words_of(figure(SETS["twenty"], "timeline", size="column")))
    assert "the best 11 of 20" in text


def test_runs_without_speeds_or_heat_are_drawn():
    run = candidate_run(FOUR)
    hole = replace(run, hub_speed=np.full_like(run.hub_speed, nan), measures={})
    key = (run.candidate, JAM)
    for kind in MORE:
        assert overlaps(figure(replace(FOUR, runs={**FOUR.runs, key: hole}), kind)) == []


def test_what_slips_before_the_crash_leaves_the_short_view_open_to_the_peak():
    """As clutches that hold a web taut: they trigger at once, and the bare line peaks long after."""
    whole = result_set(4)
    runs = {k: replace(r, measures={**r.measures, "trigger": 0.0, "lets_go": 0.0, "disconnect": nan})
            for k, r in whole.runs.items()}  # fmt: skip
    peaks = [1e3 * r.peak_time[base.protected_column(whole, r)] for k, r in runs.items() if k[1] == JAM]
    data = crash_data(replace(whole, runs=runs))
    assert data.short_end >= min(data.long_end / 2, 1.6 * min(p for p in peaks if p > 0))


def test_delays_have_heads_where_there_is_room():
    """Durations under 'lasts', and the one instant told as such."""
    said = [t.replace("\u00a0", " ") for t, _ in words_of(figure(SETS["one"], "timeline"))]
    assert {"delay", "lasts", "heat", "to the trigger", "power off at"} <= set(said)
    assert "delay" not in [t for t, _ in words_of(figure(SETS["twenty"], "timeline"))]
