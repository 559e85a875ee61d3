"""A roll behind a nip: tension by draw, slack, the nip's grip; clutches that slip by intent in steady running."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from lines import Line, pull, run, sheet_of
from scipy.integrate import solve_ivp

from simcore.line.assemble import assemble
from simcore.line.reflect import load_torque
from simcore.parts import nip_fed_roll as nip
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one

V, EA, GRIP, START, THICK, FACE, OWN = 1.5, 4e4, 150.0, 0.15, 1e-3, 300.0, 0.02
GROWTH = THICK / (2.0 * pi)
RAW = {"web_speed": V, "web_stiffness": EA, "tension": 60.0, "grip": GRIP, "core_diameter": 0.1,
       "start_diameter": 2 * START, "thickness": THICK, "grammage": FACE * THICK / 0.6, "width": 0.6,
       "core_inertia": OWN}  # fmt: skip


def inertia(r: float) -> float:
    """Hollow cylinder on its core, textbook."""
    return OWN + 0.5 * pi * FACE * (r**4 - 0.05**4)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_it_runs_up_slack_then_draws_then_pulls_through_the_nip(sense):
    """Drive torque 40 N*m, by solve_ivp piece by piece: slack, taut, through the nip."""

    def rise(force: float | None):
        def f(t: float, y: np.ndarray) -> list[float]:
            r = START + GROWTH * y[1]
            web = EA * (y[0] * r / V - 1.0) if force is None else force
            return [(40.0 - web * r) / inertia(r), y[0]]

        return f

    def level(share: float):
        def g(t: float, y: np.ndarray) -> float:
            return y[0] * (START + GROWTH * y[1]) / V - 1.0 - share

        g.terminal = True
        return g

    tight = {"rtol": 1e-11, "atol": 1e-12, "method": "Radau"}
    slack = solve_ivp(rise(0.0), (0.0, 9.0), [0.0, 0.0], events=level(0.0), **tight)
    taut = solve_ivp(rise(None), (slack.t[-1], 9.0), slack.y[:, -1], events=level(GRIP / EA), **tight)
    line = Line()
    n = line.mass(inertia(START))
    line.part("nip-fed roll", n, **RAW)
    line.starts[0].mode = nip.SLACK_F if sense > 0.0 else nip.SLACK_B
    pull(line, n, sense * 40.0)
    r = run(line, taut.t[-1] + 0.3, rtol=1e-9, fast=10.0)
    first = nip.TAUT_F if sense > 0.0 else nip.TAUT_B
    assert r.events(0, first)[0] == pytest.approx(slack.t[-1], abs=1e-6)
    assert r.events(0, first + 2)[0] == pytest.approx(taut.t[-1], abs=1e-6)
    last = solve_ivp(rise(GRIP), (taut.t[-1], r.t[-1]), taut.y[:, -1], **tight)
    assert r.speed(n)[-1] == pytest.approx(sense * last.y[0, -1], rel=1e-8)
    assert r.residual < 1e-8


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_broken_web_lets_the_roll_run_up(sense):
    """From the break on 5 N*m speed the roll up by T/J, its size as it was: constant torque, textbook."""
    line = Line()
    w = sense * V / START
    n = line.mass(inertia(START), w)
    line.part("nip-fed roll", n, breaks_at=0.4, **RAW)
    pull(line, n, sense * 5.0)
    r = run(line, 1.4, rtol=1e-9, fast=10.0)
    assert r.events(0, nip.NO_WEB) == [0.4]
    before = np.abs(r.torque(0)[r.t < 0.4][-1])
    assert before == pytest.approx(5.0, rel=0.01)
    assert r.torque(0)[-1] == 0.0
    size = START + GROWTH * float(np.interp(0.4, r.t, sense * r.angle(n)))
    gained = sense * (r.speed(n)[-1] - r.at(0.4, r.speed(n)))
    assert gained == pytest.approx(5.0 / inertia(size), rel=1e-7)
    assert r.residual < 1e-8


def test_its_sheet_states_speed_and_grip():
    """v/r and F*r, textbook."""
    sheet = sheet_of("nip-fed roll", **RAW)
    assert sheet["speed of the roll at the start"] == pytest.approx(10.0)
    assert sheet["torque at which the web slips through the nip"] == pytest.approx(22.5)


REWINDER = """
title = "t"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "40 N*m"
speed = "30 rad/s"
droop = "5 %"
inertia = "0.05 kg*m^2"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "2 kN*m/rad"
allowable = "90 N*m"
allowable_source = "own"
[[line]]
name = "roll"
part = "nip-fed roll"
web_speed = "1.5 m/s"
web_stiffness = "40 kN"
tension = "60 N"
grip = "150 N"
core_diameter = "100 mm"
start_diameter = "300 mm"
thickness = "1 um"
grammage = "0.3 g/m^2"
width = "1 m"
core_inertia = "0.5 kg*m^2"
[candidates."c"]
part = "PART"
setting = "SET"
MORE
[situations."crash"]
event = "hard stop"
stiffness = "5 kN*m/rad"
horizon = "0.2 s"
"""


def steady(part: str, setting: str, more: str = ""):
    s = read_text(REWINDER.replace("PART", part).replace("SET", setting).replace("MORE", more))
    a = assemble(s, s.candidates["c"], s.situations["crash"])
    return a, run_one(a)


@pytest.mark.parametrize(("part", "more"), [
    ("magnetic particle clutch", ""), ("magnetic hysteresis clutch", 'eddy = "0 %/(rad/s)"'),
    ("friction disc", 'rise = "0 %/(rad/s)"\nreference_slip = "22 rad/s"\nstribeck_speed = "0.1 rad/s"'),
])  # fmt: skip
def test_clutches_slip_steadily_by_intent(part, more):
    """Tension is torque over radius and the roll runs at v/r*(1 + F/EA): textbook.  Then the roll is stopped: the
    clutch slips on at its torque, from the first instant."""
    a, out = steady(part, "12 N*m", more)
    assert out.status in (ar.Status.DONE, ar.Status.STOPPED)
    i = a.candidate
    i_roll = a.index("roll")
    t = out.trace[:, 0]
    nn = len(a.nodes)
    speeds = out.trace[0, 1 + nn : 1 + 2 * nn]
    roll = a.graph.elements[i_roll].a
    hub_in, hub_out = a.graph.elements[i].a, a.graph.elements[i].b
    assert speeds[roll] == pytest.approx(10.0 * (1.0 + 12.0 / 0.15 / 4e4), rel=3e-6)
    assert speeds[hub_out] == pytest.approx(speeds[roll], rel=1e-12)
    # the motor's line falls to nothing at 30 rad/s over the last 5 %
    assert speeds[hub_in] == pytest.approx(30.0 * (1.0 - 0.05 * 12.0 / 40.0), rel=1e-6)
    assert np.ptp(out.trace[t < 0.0][:, 1 + nn : 1 + 2 * nn], axis=0).max() < 1e-5
    assert out.meas[i, ar.LETS_GO] == 0.0
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6


def test_a_clutch_set_above_what_the_nip_holds_sticks():
    """150 N at 150 mm are 22.5 N*m: set to 26 N*m it holds and draws the web through the nip."""
    a, out = steady("magnetic particle clutch", "26 N*m")
    assert out.status == ar.Status.DONE
    nn = len(a.nodes)
    e = a.graph.elements[a.candidate]
    speeds = out.trace[0, 1 + nn : 1 + 2 * nn]
    assert speeds[e.a] == pytest.approx(speeds[e.b], rel=1e-12)
    assert speeds[e.a] == pytest.approx(30.0 * (1.0 - 0.05 * 22.5 / 40.0), rel=1e-6)


def test_hand_bounds_count_with_the_tension_it_is_set_for():
    a, _ = steady("magnetic particle clutch", "12 N*m")
    assert load_torque(a, a.candidate) == pytest.approx((60.0 * 0.15, 0.0))
