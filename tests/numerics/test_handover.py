"""The demo's jam, run on until all is quiet: handover to the L-stable step and what must not change by it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from simcore.api import read
from simcore.line.assemble import Assembly, lowest_mode
from simcore.measures.cases import make_case
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many, run_one

DEMO = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"
CANDIDATES = ["friction disc", "ball detent", "shear pins", "magnet disc"]


@cache
def demo(candidate: str, rtol: float = 1e-6) -> Assembly:
    scenario = read(DEMO)
    w1 = lowest_mode(scenario)
    return make_case(scenario, scenario.candidates[candidate], scenario.situations["tray jams"], w1, rtol).assembly


def missing(meas: np.ndarray) -> float:
    return float(abs(meas[-1, ar.L_RESIDUAL]) / meas[-1, ar.L_TURNED])


@pytest.mark.parametrize("candidate", CANDIDATES)
def test_same_events_and_peaks(candidate, kernel):
    """At rtol 1e-9: broken pins rattle about zero torque, and at 1e-8 forced steps move an instant by 1.6e-6 s."""
    a = demo(candidate, 1e-9)
    first = run_one(a.with_setup(stepper=ar.EXPLICIT_ONLY))
    for stepper in (ar.AUTOMATIC, ar.STIFF_ONLY):
        r = run_one(a.with_setup(stepper=stepper))
        assert np.array_equal(r.events[:, 1:5], first.events[:, 1:5])
        assert r.events[:, 0] == pytest.approx(first.events[:, 0], abs=1e-6)
        assert r.meas[:-1, ar.PEAK] == pytest.approx(first.meas[:-1, ar.PEAK], rel=1e-5)
        assert missing(r.meas) < 1e-6


@pytest.mark.parametrize("candidate", ["friction disc", "ball detent", "shear pins"])
def test_quiet_tail_costs_little(candidate, kernel):
    a = demo(candidate).with_setup(t_end=10.0)
    short, long = run_one(a.with_setup(stepper=ar.EXPLICIT_ONLY)), run_one(a)
    assert long.counts[ar.CALLS] < 0.3 * short.counts[ar.CALLS]
    assert missing(long.meas) < 1e-6
    turning = slice(len(a.nodes), 2 * len(a.nodes))
    assert long.y[turning] == pytest.approx(short.y[turning], abs=1e-6 * float(np.abs(a.free_speeds).max()))


@pytest.mark.parametrize("candidate", CANDIDATES)
def test_held_nodes_stay_exactly_held(candidate, kernel):
    a = demo(candidate).with_setup(stepper=ar.STIFF_ONLY)
    trace, nn, parts = run_one(a).trace, len(a.nodes), len(a.parts)
    held = trace[:, 1 + len(a.y0) + 2 * parts :][:, parts : parts + nn] == 0
    assert held.any()
    assert not trace[:, 1 + nn : 1 + 2 * nn][held].any()
    both = held[1:] & held[:-1]
    assert not np.diff(trace[:, 1 : 1 + nn], axis=0)[both].any()


def test_same_bits_through_long_steps(kernel):
    a = demo("friction disc").with_setup(t_end=10.0)
    rows = np.stack([a.dialled(f) for f in (0.95, 1.0, 1.05, 1.1)])
    one, many = run_many(a, rows, threads=1), run_many(a, rows, threads=3)
    for x, y in zip(one, many, strict=True):
        assert x.tobytes() == y.tobytes()
    for i, r in enumerate(rows):
        single = run_one(a.with_rows(r))
        assert np.diff(single.trace[:, 0]).max() > 0.5, "no long step was taken"
        assert single.meas.tobytes() == one[0][i].tobytes()


HOUR = """
title = "Pill bottle capper"
protect = "table shaft"
line = [
  {name = "motor", part = "servo motor", rated_torque = "4 N*m", speed = "900 rpm", inertia = "6 kg*cm^2"},
  {name = "gearbox", part = "planetary gear", ratio = 10, rated_torque = "60 N*m"},
  {name = "slot", part = "slot", hub_in = "8 kg*cm^2", hub_out = "8 kg*cm^2"},
  {name = "table shaft", part = "shaft", diameter = "25 mm", length = "120 mm", allowable = "180 N*m"},
  {name = "table", part = "flywheel", inertia = "0.12 kg*m^2"},
  {name = "drag", part = "friction load", running = "3 N*m"}]
candidates."friction disc" = {setting = "60 N*m"}
candidates."ball detent" = {setting = "70 N*m"}
situations.jam = {event = "partial jam", drag = "90 N*m", lasts = "0.4 s", horizon = "1 h"}
"""


@pytest.mark.parametrize("candidate", ["friction disc", "ball detent"])
def test_a_quiet_hour_stays_cheap_however_far_the_shafts_have_turned(candidate, kernel, tmp_path):
    """340 000 rad at the motor: rounding of angles is no error of a step, nor a twist to difference over."""
    (tmp_path / "hour.toml").write_text(HOUR)
    scenario = read(tmp_path / "hour.toml")
    case = make_case(scenario, scenario.candidates[candidate], scenario.situations["jam"], lowest_mode(scenario), 1e-6)
    minutes, hour = run_one(case.assembly.with_setup(t_end=300.0), trace=False), run_one(case.assembly, trace=False)
    assert hour.status == 0
    per_second = (hour.counts[ar.STEPS] - minutes.counts[ar.STEPS]) / 3300.0
    assert per_second < 10.0
    assert missing(hour.meas) < 1e-6
