"""Shear pins: the counting of cycles, unequal pins, and what must hold whatever the numbers."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from statistics import NormalDist

import numpy as np
import pytest
import rainflow
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import Line, Run, Start, pull, raw_of, row_and_lists, row_of, run, sheet_of
from numba import njit

from simcore.line.assemble import assemble, lowest_mode
from simcore.parts import REGISTRY
from simcore.parts import _pins as pn
from simcore.parts._rainflow import closed_range, cycle_damage
from simcore.scenario.read import read_text
from simcore.solver.compile import Adopter

ALL_BROKEN, SOME_STRETCH = pn.GONE, pn.SOME_STRETCH
THREE = {"setting": 300.0, "stiffness": 3e4, "pins": 3, "pin_strengths": (0.9, 1.0, 1.2),
         "clearances": (0.0, 0.004, 0.002), "twist_to_fracture": 0.006}  # fmt: skip


def counted(points: list[float]) -> dict[float, float]:
    """Cycles by range, counted as the pins count them; what is left is half cycles."""
    M = [0.0] * (len(points) + 1)
    out: dict[float, float] = {}
    n = 0

    def add(weight: float, a: float, b: float) -> None:
        out[abs(b - a)] = out.get(abs(b - a), 0.0) + weight

    for v in points:
        M[n] = v
        n += 1
        weight = 1.0
        while weight > 0.0:
            weight, a, b, n = closed_range(M, 0, n)
            if weight > 0.0:
                add(weight, a, b)
    for a, b in pairwise(M[:n]):
        add(0.5, a, b)
    return out


def test_worked_example_of_the_standard():
    """-2, 1, -3, 5, -1, 3, -4, 4, -2.  ASTM E1049-85, 5.4.4, figure 6 (cited from memory)."""
    found = counted([-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0])
    assert found == {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}


@given(st.lists(st.integers(-9, 9), min_size=3, max_size=60))
@settings(max_examples=300, deadline=None)
def test_counts_like_a_library(series):
    """Against the package rainflow, which follows the same standard."""
    points = [float(v) for i, v in enumerate(series) if i == 0 or v != series[i - 1]]
    turns = [v for i, v in enumerate(points)
             if i in (0, len(points) - 1) or (v - points[i - 1]) * (points[i + 1] - v) < 0.0]  # fmt: skip
    if len(turns) < 3:  # the library counts nothing then
        return
    assert counted(turns) == dict(rainflow.count_cycles(turns))


def test_damage_of_a_cycle():
    """Amplitude 0.5, T_f' = 1.5, b = -0.1: 2*(1/3)^10 a cycle; up to the knee none.  Basquin, textbook."""
    assert cycle_damage(0.5, 1.5, 10.0, 0.0) == pytest.approx(2.0 / 3.0**10, rel=1e-12)
    assert cycle_damage(0.5, 1.5, 10.0, 0.5) == 0.0
    assert cycle_damage(0.5, 1.5, 10.0, 0.499) > 0.0
    assert cycle_damage(0.0, 1.5, 10.0, 0.0) == 0.0


@pytest.mark.parametrize("n", range(1, pn.MOST + 1))
def test_spread_is_the_normal_distribution(n):
    """Middle of the n-th part, against the standard library's quantiles."""
    for i in range(n):
        assert pn.spread(n, i) == pytest.approx(NormalDist().inv_cdf((i + 0.5) / n), abs=1e-12)


def test_scattered_row():
    """Mean strength is the setting; the weakest pin has the least clearance, never below nothing."""
    p = row_of("shear pins", setting=300.0, pins=4, scatter_strength=0.1, clearance=0.001, scatter_clearance=0.002)
    strengths = [pn.strength_of(p, (0.0,), i) for i in range(4)]
    halves = [pn.half_of(p, (0.0,), i) for i in range(4)]
    assert sum(strengths) == pytest.approx(300.0, rel=1e-12)
    assert strengths == sorted(strengths)
    assert halves == sorted(halves)
    assert halves[0] == 0.0
    assert halves[3] == pytest.approx(0.0005 + 0.001 * NormalDist().inv_cdf(0.875), rel=1e-9)


@pytest.mark.parametrize("raw", [{}, {"pins": 4, "scatter_strength": 0.1, "scatter_clearance": 1e-3, "fatigue": 1.0}])
def test_row_and_dial_compile(raw):
    """Rows made by the kernel's own compiler are those that Python makes."""
    part = REGISTRY["shear pins"]
    adopter = Adopter("pins")
    resolve, dial = (adopter.adopt(part.functions[f]) for f in ("resolve", "dial"))
    made = njit(lambda r, f: dial(resolve(r, 60.0), f))(part.raw(raw_of(part, setting=150.0, **raw)), 1.3)
    assert made == pytest.approx(part.call("dial", row_of("shear pins", 60.0, setting=150.0, **raw), 1.3), rel=1e-13)
    assert made[pn.STRENGTH] == pytest.approx(195.0)


def twisted(speed: float = 0.8, until: float = 0.05, **raw: object) -> Run:
    line = Line()
    line.part("shear pins", line.lead(speed), 0, start=Start(mode=0), **raw)
    return run(line, until / abs(speed))


def test_unzips_pin_by_pin():
    """Contact, yield and fracture of each pin at its own twist.  Closed form, elastic and perfectly plastic."""
    r = twisted(**THREE)
    at = 0.8 * np.array(r.events(0))
    wanted = {"contact": (0.002, 0.001), "yield": (0.009, 0.012, 0.013), "break": (0.015, 0.018, 0.019)}
    assert at == pytest.approx(sorted(v for w in wanted.values() for v in w), rel=1e-8)
    assert r.mode(0)[-1] == ALL_BROKEN
    assert r.torque(0)[-1] == 0.0
    middle = np.searchsorted(r.t, 0.0125 / 0.8)  # one stretches at 90, one at 100, the third on its spring
    assert r.torque(0)[middle] == pytest.approx(190.0 + 1e4 * (0.8 * r.t[middle] - 0.001), rel=1e-9)


def test_heat_of_fracture_is_the_area():
    """Sum of T_u^2/(2 k) + T_u * plastic twist, each pin with its own strength.  Closed form."""
    r = twisted(**THREE)
    area = sum(0.5 * s * s / 1e4 + s * 0.006 for s in (90.0, 100.0, 120.0))
    assert r.heat(0)[-1] == pytest.approx(area, rel=1e-7)
    assert np.trapezoid(r.torque(0), 0.8 * r.t) == pytest.approx(area, rel=1e-3)


def test_stays_parted_for_ever():
    """All pins gone: not a trace of torque however the hubs move on."""
    r = twisted(until=0.4, **THREE)
    gone = r.t > r.events(0, ALL_BROKEN)[0]
    assert gone.sum() > 2
    assert np.all(r.torque(0)[gone] == 0.0)


def test_listed_alike_pins_are_one_set():
    """Three equal pins followed one by one give what the set as a whole gives."""
    alike = {"setting": 300.0, "stiffness": 3e4, "pins": 3, "twist_to_fracture": 0.006, "clearance": 0.002}
    one = twisted(**alike)
    each = twisted(**alike, pin_strengths=(1.0, 1.0, 1.0), clearances=(0.002, 0.002, 0.002))
    assert each.events(0) == pytest.approx(one.events(0), abs=1e-11)
    assert each.mode(0)[-1] == one.mode(0)[-1] == ALL_BROKEN
    assert each.heat(0)[-1] == pytest.approx(one.heat(0)[-1], rel=1e-9)


def swung(speed: float, sense: float = 1.0, scale: float = 1.0, psi: float = 0.25, **more: object) -> Run:
    line = Line()
    a, b = line.mass(0.05 * scale, sense * speed), line.mass(0.08 * scale)
    raw = THREE | {"setting": 300.0 * scale, "stiffness": 3e4 * scale} | more
    line.part("shear pins", a, b, relative_damping=psi, start=Start(mode=0), **raw)
    line.part("shaft", b, 0, stiffness=2e4 * scale)
    return run(line, 0.1, w1=300.0, rtol=1e-8)


@pytest.mark.parametrize("psi", [0.0, 0.25])
@pytest.mark.parametrize("speed", [4.0, 8.0, 10.0, 20.0])
@pytest.mark.parametrize("more", [{}, {"fatigue": 1.0, "fatigue_exponent": -0.3}, {"rate_factor": 1.3}])
def test_ledger_and_heat(speed, psi, more):
    """Through play, stretching, breaks and fatigue; heat never falls."""
    r = swung(speed, psi=psi, **more)
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() >= -1e-12


def test_some_break_and_the_rest_carry_on():
    """Speeds on both sides of the first pin's break: all hold, some hold, none holds."""
    ends = [swung(v, psi=0.0) for v in (8.0, 10.5, 20.0)]
    assert [int(r.a.klass[0, r.mode(0)[-1]]) for r in ends] == [0, 1, 4]
    assert np.abs(ends[1].torque(0)[ends[1].t > 0.05]).max() > 50.0


def test_mirror():
    """Instants to what crossings are located to."""
    there, back = swung(10.5), swung(10.5, -1.0)
    assert np.abs(np.array(there.events(0)) - np.array(back.events(0))).max() <= 2e-11
    assert back.torque(0) == pytest.approx(-there.torque(0), rel=1e-7, abs=1e-6)


def test_scale():
    one, eight = swung(10.5), swung(10.5, scale=8.0)
    assert np.array_equal(one.events(0), eight.events(0))
    assert np.array_equal(8.0 * one.torque(0), eight.torque(0))


def test_lightly_loaded_pins_lose_nothing():
    r = swung(2.0, psi=0.0)
    assert r.heat(0)[-1] == pytest.approx(0.0, abs=1e-12)
    assert np.all(r.state(0) == 0.0)


@pytest.mark.parametrize(("share", "breaks"), [(0.999, False), (1.001, True)])
def test_just_enough_energy_to_break(share, breaks):
    """A mass on two unequal tight pins: the first breaks beyond v = sqrt(2 E/J).  Closed form.

    Pins of 90 and 110 N*m on 10 kN*m/rad each, 2 mrad plastic: the first breaks at 11 mrad of twist, where the
    area is 0.405 + 90*0.002 + 0.5*1e4*0.011^2 = 1.19 J.
    """
    line = Line()
    n = line.mass(0.05, share * sqrt(2.0 * 1.19 / 0.05))
    line.part("shear pins", n, 0, setting=200.0, stiffness=2e4, pins=2, pin_strengths=(0.9, 1.1),
              clearances=(0.0, 0.0), twist_to_fracture=0.002)  # fmt: skip
    r = run(line, 0.003)  # one stroke
    assert bool(r.events(0, pn.BROKEN_CARRY)) is breaks


def test_strength_at_the_reference_speed():
    """Twisted at the reference speed the pins stretch at the rate factor times their strength; ten times as fast
    at 1 + 0.2*log2(11).  Law as documented."""
    raw = {"setting": 400.0, "clearance": 0.0, "rate_factor": 1.2, "rate_reference": 2.0}
    assert twisted(2.0, **raw).peak(0) == pytest.approx(480.0, rel=1e-7)
    assert twisted(20.0, **raw).peak(0) == pytest.approx(400.0 * (1.0 + 0.2 * np.log2(11.0)), rel=1e-7)
    assert twisted(2.0, **(raw | {"rate_factor": 1.0})).peak(0) == pytest.approx(400.0, rel=1e-7)


def test_fatigue_off_costs_no_event():
    """Cycles are looked for only when they are asked for."""
    quiet, counts = swung(4.0), swung(4.0, fatigue=1.0)
    assert not [e for e in quiet.out.events if e[2] == 4]
    assert len([e for e in counts.out.events if e[2] == 4]) > 10
    assert np.all(quiet.state(0, 2) == 0.0)
    assert counts.state(0, 2)[-1] > 0.0


def test_rest_is_no_cycle():
    """A line that runs steadily up to its stop turns round only afterwards."""
    line = Line()
    n = line.mass(0.1, 0.0)
    pull(line, n, 40.0)
    line.angles[n] = 40.0 / 3e4
    line.part("shear pins", n, 0, setting=300.0, stiffness=3e4, clearance=0.0, fatigue=1.0)
    assert run(line, 1.0).events(0) == []


SHEET = {"setting": 300.0, "pins": 3, "stiffness": 3e4, "twist_to_fracture": 0.001, "clearance": 0.0}


def test_sheet_of_unequal_pins():
    """Widely scattered brittle pins never carry all their strengths at once; by hand, pin by pin."""
    s = sheet_of("shear pins", **SHEET, scatter_strength=0.3)
    z = NormalDist().inv_cdf(5.0 / 6.0)
    weak, mid, strong = (100.0 * (1.0 + q * 0.3 * z) for q in (-1.0, 0.0, 1.0))
    # largest just before a pin ends: the stronger ones are then on their springs, or stretch too
    ends = [v / 1e4 + 0.001 for v in (weak, mid, strong)]
    most = max(
        weak + sum(min(v, 1e4 * ends[0]) for v in (mid, strong)), mid + min(strong, 1e4 * ends[1]), strong
    )  # fmt: skip
    assert s["largest torque of these unequal pins"] == pytest.approx(most, rel=1e-9)
    assert most < 290.0
    assert twisted(**SHEET, scatter_strength=0.3).peak(0) == pytest.approx(most, rel=1e-7)


def test_sheet_of_listed_pins():
    """The same by hand for pins listed one by one; without their list they count as alike."""
    ratios = (0.7, 1.0, 1.3)
    ends = [r * 100.0 / 1e4 + 0.001 for r in ratios]
    most = max(70.0 + min(100.0, 1e4 * ends[0]) + 1e4 * ends[0], 100.0 + min(130.0, 1e4 * ends[1]), 130.0)
    given = {**SHEET, "pin_strengths": ratios}
    s = sheet_of("shear pins", **given)
    assert s["largest torque of these unequal pins"] == pytest.approx(most, rel=1e-9)
    assert s["energy to break"] == pytest.approx(sum(0.5e-4 * (100.0 * r) ** 2 + 0.1 * r for r in ratios), rel=1e-12)
    assert twisted(**given).peak(0) == pytest.approx(most, rel=1e-7)
    part, (row, tab) = REGISTRY["shear pins"], row_and_lists("shear pins", **given)
    assert part.described("band", row, tab) == pytest.approx(most / 300.0, rel=1e-9)
    assert part.described("band", row) == 1.0


def test_starts_until_it_breaks():
    """Starts up to half the setting: amplitude 1/4, N = 0.5*(0.25/1.5)^-10.  Basquin and Miner, textbook."""
    s = sheet_of("shear pins", **SHEET, start_peak=150.0)
    assert s["starts until it breaks"] == pytest.approx(0.5 * 6.0**10, rel=1e-9)
    assert "starts until it breaks" not in sheet_of("shear pins", **SHEET, start_peak=150.0, fatigue_knee=0.25)


SCENARIO = """
title = "Kneading machine"
question = "Which pin goes first?"
protect = "hook shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "120 N*m"
speed = "10 rad/s"
inertia = "0.3 kg*m^2"
[[line]]
name = "flange"
part = "slot"
[[line]]
name = "hook shaft"
part = "shaft"
stiffness = "20 kN*m/rad"
allowable = "600 N*m"
[[line]]
name = "hook"
part = "flywheel"
inertia = "0.2 kg*m^2"
[[line]]
name = "bearing"
part = "friction load"
running = "20 N*m"
[candidates."shear pins"]
setting = "150 N*m"
pins = 3
pin_strengths = [0.9, 1.0, 1.1]
clearances = ["0 deg", "0.05 deg", "0.1 deg"]
fatigue = true
starts_done = 400
start_peak = "60 N*m"
[situations."bone in the dough"]
event = "hard stop"
stiffness = "200 kN*m/rad"
horizon = "0.2 s"
"""


def test_from_a_scenario():
    """Lists, flag and counts as an engineer writes them; steady running on unequal pins is found and all break."""
    scenario = read_text(SCENARIO)
    pins = scenario.candidates["shear pins"]
    r = Run(assemble(scenario, pins, scenario.situations["bone in the dough"], lowest_mode(scenario)))
    e = r.a.candidate
    assert r.status == 0
    assert r.torque(e)[0] == pytest.approx(20.0, rel=1e-6)
    assert len(r.events(e, ALL_BROKEN)) == 1
    assert r.residual < 1e-6
    assert r.state(e, 2)[-1] > 0.0
