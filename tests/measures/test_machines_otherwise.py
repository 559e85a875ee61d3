"""The machines under other loads, worn, stopped by a button, reversed, with a torn web: against hand and scipy."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from test_machines import (
    CHAIN,
    FREE,
    GEARBOX,
    HUBS,
    JAM,
    LIMIT,
    LOAD,
    LOADED,
    RATED,
    ROTOR,
    SHAFT,
    SPROCKET,
    WHOLE,
    lift_run,
    remarks,
    result,
)

from simcore import api

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def test_a_full_bag_asks_more_and_slips_in_the_spring():
    """130 kg on 0.12 m, 153 N*m, for 110: in the start by the bag's share, and caught by the spring at its 400 N*m."""
    usual, full, empty = (lift_run("ball detent", s).measures["peak"] for s in ("start", "full start", "empty start"))
    assert full / usual == pytest.approx(130.0 / 110.0, rel=0.1)
    assert empty < 0.3 * usual
    caught = [t for t in remarks("laundry_bag_lift", "Lets go too") if "'emergency stop, full'" in t]
    assert len(caught) == 1
    assert "goes past its capacity" in caught[0]
    assert not any("'emergency stop'" in t for t in remarks("laundry_bag_lift", "Lets go too"))
    for a in result("laundry_bag_lift").answers:
        assert np.abs(lift_run(a.name, "emergency stop, full").speed[-1]).max() < 1e-3


def undamped_peak(mass: float, load: float) -> float:
    """The bare chain by scipy, without damping: a jam that pushes and never pulls, a motor that comes to its limit
    along a straight line through its rated point, a gearbox that loses its share of what the rotor gives too.  [N*m]"""
    masses = np.array([0.94 * ROTOR, HUBS, SPROCKET, mass * 0.18**2])
    springs = np.array([GEARBOX, SHAFT, CHAIN])
    slope = LIMIT / 1.5 / (FREE - LOADED)

    def slopes(t: float, y: np.ndarray) -> np.ndarray:
        links = load - springs * np.diff(y[:4])
        motor, jam = min(LIMIT, slope * (FREE - y[4])), load * np.sign(y[7]) + JAM * max(0.0, y[3])
        return np.append(y[4:], (np.append(motor, links) - np.append(links, jam)) / masses)

    begins = [0.0] * 4 + [FREE - load / slope] * 4
    y = solve_ivp(slopes, (0.0, 0.3), begins, rtol=1e-8, atol=1e-9, max_step=1e-4).y
    return float((load + SHAFT * (y[1] - y[2])).max())


def test_an_empty_carousel_is_hit_harder():
    """By as much as scipy says of the undamped chain; damping takes 3 % off both."""
    bare = {r.situation: r.measures["peak"] for r in result("parcel_carousel").runs.values() if r.protection is None}
    empty, usual = undamped_peak(500.0, 770.0 * 0.18), undamped_peak(900.0, LOAD)
    assert bare["parcel wedges, empty"] / bare["parcel wedges"] == pytest.approx(empty / usual, rel=0.005)
    assert bare["parcel wedges, empty"] == pytest.approx(empty, rel=0.04)
    r = result("parcel_carousel").run("friction disc", "parcel wedges, empty")
    assert 0.9 < r.peak[r.index("ring chain")] / 10e3 < 1.0
    margins = {m.situation: m.percent for m in result("parcel_carousel").answers[0].margins}
    assert margins["full start"] < margins["start"] < margins["empty start"]


def test_the_eddy_coupling_is_let_go_by_its_coil():
    """Ring and motor compared at two bodies: 40 % lost, then power and coil go; the current dies away with R/L."""
    r = result("parcel_carousel").run("motor-side eddy coupling", "parcel wedges")
    acts = next(e.time for e in r.events if e.who == "speed watch" and e.new == "stopped")
    assert 0.2 < acts < 0.4
    assert r.protection is not None
    late = r.time > acts + 5.0 * 2.0 / 12.0
    assert np.abs(r.torque[late, r.protection]).max() < 0.01 * 86.0
    assert not any("motor-side eddy coupling" in w for w in result("parcel_carousel").warnings if "no stop that" in w)


def test_an_emergency_stop_lets_the_table_coast():
    """J w over the bearing's 5 N*m after 30 ms, rotor, hubs and table: textbook; the gears take a little off."""
    inertia = 1.2 + 0.0008 * 20.0**2 + 0.007
    for a in result("seed_tray_indexer").answers:
        r = result("seed_tray_indexer").run(a.name, "emergency stop")
        table = r.angle[:, r.nodes.index("table coupling")]
        stands = float(r.time[table >= 0.9999 * table.max()][0])
        assert 0.8 < (stands - 0.03) / (inertia * 3.93 / 5.0) < 1.05
        assert np.isnan(r.measures["trigger"])


def test_what_still_holds_is_reversed_out_of_the_clog():
    """The disc holds 3700 N*m, the reversed motor's locked-rotor torque 2.2 of its rated one: it turns the rotor back
    at near 12.9 rad/s for most of the 1.2 s, and holds again once it is restarted.  What has opened stays."""
    r = result("straw_shredder").run("friction disc", "straw clogs the rotor")
    at = {e.new: e.time for e in r.events if e.who == "slip watch" and e.time < 3.0}
    assert at["reversing"] - at["pausing"] == pytest.approx(1.0, abs=1e-9)
    assert at["stopped"] - at["reversing"] == pytest.approx(1.2, abs=1e-9)
    told = remarks("straw_shredder", "Reverses")
    assert len(told) == 1
    back = float(told[0].split("turns the load back by ")[1].split(" deg")[0]) * pi / 180.0
    runs_up = WHOLE * 12.9 / (2.2 * RATED - 1500.0)
    assert back == pytest.approx(12.9 * (1.2 - 0.5 * runs_up), rel=0.1)
    assert r.measures["end_class"] == 0.0
    assert r.speed[-1, -1] == pytest.approx(12.9, rel=0.03)
    other = result("straw_shredder").run("roller detent", "straw clogs the rotor")
    assert other.measures["end_class"] >= 3.0


def test_a_worn_disc_still_takes_a_wet_bale():
    """8 % of its setting gone are 8 % of what it holds: 3400 for 3700 N*m against the same bale."""
    margins = {m.situation: m for m in next(a for a in result("straw_shredder").answers
                                            if a.name == "friction disc").margins}  # fmt: skip
    fresh, worn = margins["wet bale"], margins["wet bale, worn disc"]
    assert worn.met
    assert (1.0 + worn.percent / 100.0) / (1.0 + fresh.percent / 100.0) == pytest.approx(3400.0 / 3700.0, rel=0.01)


def test_a_roll_whose_web_has_broken_runs_up_until_it_is_stopped():
    """12 N*m on its own inertia for 5 s, then the brake's 15 N*m with the clutch let go: constant torque, textbook."""
    inertia = 0.02 + 0.5 * pi * 552.0 * (0.29**4 - 0.045**4)
    r = result("film_rewinder").run("finned particle clutch", "web breaks")
    roll = r.speed[:, r.nodes.index("roll shaft")]
    gained = np.interp(20.03, r.time, roll) - np.interp(15.0, r.time, roll)
    assert gained == pytest.approx(12.0 * 5.03 / inertia, rel=0.02)
    stands = float(r.time[(roll < 1e-3) & (r.time > 20.0)][0])
    assert stands - 20.08 == pytest.approx(inertia * np.interp(20.08, r.time, roll) / 15.0, rel=0.05)


def test_what_a_later_cycle_asks_counts():
    """Of the bales that follow each other the second asks the tipping sprag for more than the first: 3400 N*m trip
    there, 3420 do not."""
    path = SCENARIOS / "straw_shredder.toml"
    sprag = 'candidates["tipping sprag"]'

    def at(setting: str, tolerance: str):
        s = api.read(path, {f"{sprag}.setting": setting, f"{sprag}.tolerance": tolerance})
        a = next(a for a in api.run(s, evidence=False).answers if a.name == "tipping sprag")
        return next(m for m in a.margins if m.situation == "bale after bale")

    asked = at("4150 N*m", "20 %")
    assert asked.note == "asked by a later cycle than the first"
    assert asked.margin == pytest.approx(0.8 * 4150.0 - asked.asks)
    assert asked.asks == pytest.approx(3407.0, rel=2e-3)
    assert (at("3400 N*m", "0 %").met, at("3420 N*m", "0 %").met) == (False, True)


def test_what_a_start_asks_of_a_clutch_that_creeps_does_not_hang_on_the_setting_written():
    """Each trial has its own running speed to come up to; a start at the setting found holds, at a little less not."""
    path = SCENARIOS / "potato_grader_comparison.toml"
    eddy = 'candidates["eddy current"]'

    def at(setting: float):
        s = api.read(path, {f"{eddy}.setting": f"{setting} N*m", f"{eddy}.tolerance": "0 %"})
        (a,) = api.run(replace(s, candidates={"eddy current": s.candidates["eddy current"]}), evidence=False).answers
        return next(m for m in a.margins if m.situation == "start with full rollers")

    asks = [at(s).asks for s in (320.0, 170.0)]
    assert asks[0] == pytest.approx(asks[1], rel=3e-3)
    assert (at(0.99 * asks[0]).met, at(1.01 * asks[0]).met) == (False, True)
