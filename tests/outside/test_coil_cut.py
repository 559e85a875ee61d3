"""Coils cut by a stop: i = i0 exp(-t (R + Rs)/L), an RL circuit, textbook; warm copper R(1 + a x), IEC 60034-1 (from
memory).  Torque by hand from the current, and how long a clutch whose current dies away still holds a load."""

from __future__ import annotations

from math import exp, log, sqrt

import numpy as np
import pytest
from lines import Line, Run, Start, run, sheet_of
from scipy.integrate import solve_ivp

OHM, HENRY, DELAY = 18.0, 1.2, 0.05
SETTING, RATED, REST, BEND = 150.0, 1.33, 0.02, 1.0 / 1.4


def curve(i: float) -> float:
    """The declared law of torque and current, written anew."""
    x = i / RATED
    return SETTING * (REST + (1.0 - REST) * x * ((1.0 + BEND**4) / (1.0 + (BEND * x) ** 4)) ** 0.25)


def cut(kind: str, again: float = 0.0, speed: float = 2.0, **inputs: float | str) -> tuple[Run, int]:
    """A clutch slipping between a led shaft and the ground; its coil is cut at DELAY and, if asked, fed again."""
    line = Line()
    e = line.part(kind, line.lead(speed), 0, **inputs)
    line.part("emergency stop", delay=DELAY, cuts_coils=1.0)
    if again:
        line.part("restart", when=again)
    return run(line, 0.5), e


def current_after(r: Run, e: int, t: float, state: int, set_current: float) -> float:
    """Coil current at ``t`` after the cut: the lag behind what it was set to, which stays."""
    return float(np.interp(DELAY + t, r.t, r.state(e, state))) + set_current


EXCITED = {
    "fixed current": ({}, RATED),
    "torque request": ({"requested_torque": 90.0}, None),
    "fixed voltage": ({"excitation": "fixed voltage", "resistance_rise": 0.0}, RATED),
    "programmed": ({"excitation": "programmed", "current_times": (0.0, 1.0), "currents": (1.0, 1.0)}, 1.0),
}


@pytest.mark.parametrize("extra", [0.0, 72.0], ids=["diode", "resistor"])
@pytest.mark.parametrize("excited", EXCITED)
def test_current_and_torque_of_a_powder_clutch_die_away(excited, extra):
    """Whatever fed it: to nothing but the residual torque, with L/R, or with L/(R + Rs) behind a resistor."""
    inputs, held = EXCITED[excited]
    r, e = cut("magnetic particle clutch", setting=SETTING, resistance=OHM, inductance=HENRY,
               suppression_resistance=extra, **inputs)  # fmt: skip
    at_work = r.at(DELAY, r.torque(e))
    assert at_work == pytest.approx(90.0 if held is None else curve(held), rel=1e-6)
    x = held or sheet_of("magnetic particle clutch", setting=SETTING, **inputs)["current at the setting"]
    for t in (0.0, 0.01, 0.05, 0.2):
        left = x * exp(-t * (OHM + extra) / HENRY)
        i = np.flatnonzero(r.t >= DELAY + t)[0]
        exact = x * exp(-(r.t[i] - DELAY) * (OHM + extra) / HENRY) if r.t[i] > DELAY else left
        assert r.state(e, 2)[i] + x == pytest.approx(exact, abs=1e-7)
        assert r.torque(e)[i] == pytest.approx(curve(exact), abs=1e-5)


def test_a_warm_winding_lets_go_sooner():
    """Behind a fixed voltage the winding is as warm as the clutch: R(1 + a x), here 1 + 0.0039 * 60."""
    line = Line()
    n = line.lead(1e-9)
    e = line.part("magnetic particle clutch", n, 0, setting=SETTING, resistance=OHM, inductance=HENRY, cooling=0.0,
                  excitation="fixed voltage", heat_capacity=1e9,
                  start=Start(x=(0.0, 60.0, RATED / 1.234 - RATED)))  # fmt: skip
    line.part("emergency stop", delay=DELAY, cuts_coils=1.0)
    r = run(line, 0.2)
    warm = RATED / 1.234
    assert r.at(DELAY, r.state(e, 2)) + RATED == pytest.approx(warm, rel=1e-6)
    assert r.state(e, 2)[-1] + RATED == pytest.approx(warm * exp(-0.15 * OHM * 1.234 / HENRY), rel=1e-6)


def test_fed_again_it_comes_back_with_its_own_lag():
    """Cut at 50 ms, restarted at 0.3 s: i = I (1 - exp(-t R/L)) from next to nothing."""
    r, e = cut("magnetic particle clutch", again=0.3, setting=SETTING, resistance=OHM, inductance=HENRY)
    left = RATED * exp(-0.25 * OHM / HENRY)
    want = RATED + (left - RATED) * exp(-0.2 * OHM / HENRY)
    assert r.state(e, 2)[-1] + RATED == pytest.approx(want, rel=1e-6)
    assert r.torque(e)[-1] == pytest.approx(curve(want), rel=1e-6)


def test_a_hysteresis_ring_keeps_its_residual_torque_only():
    """T = T(i), all elements sliding: the same decay, to 1.5 % of the rated torque."""
    r, e = cut("magnetic hysteresis clutch", speed=40.0, setting=10.0, eddy=0.0, resistance=90.0, inductance=0.5)
    share = r.torque(e) / 10.0
    for t in (0.005, 0.02):
        i = np.flatnonzero(r.t >= DELAY + t)[0]
        x = exp(-(r.t[i] - DELAY) * 90.0 / 0.5)
        assert share[i] == pytest.approx(0.015 + 0.985 * x * ((1 + BEND**4) / (1 + (BEND * x) ** 4)) ** 0.25, rel=1e-6)
    assert r.torque(e)[-1] == pytest.approx(0.15, rel=1e-6)


def test_an_eddy_clutch_loses_the_square_of_its_current():
    """b = u^2/sqrt(1 + u^4) with u = exp(-t (R + Rs)/L): half a per cent is left by remanence."""
    r, e = cut("eddy-current clutch", speed=40.0, setting=100.0, peak_slip=40.0, resistance=12.0, inductance=2.0,
               suppression_resistance=60.0, resistivity_rise=0.0)  # fmt: skip
    for t in (0.0, 0.02, 0.1):
        i = np.flatnonzero(r.t >= DELAY + t)[0]
        u = exp(-(r.t[i] - DELAY) * 72.0 / 2.0)
        assert r.state(e, 0)[i] == pytest.approx(2.0 * u, rel=1e-7, abs=1e-9)
        b = u * u / sqrt(1.0 + u**4) * sqrt(2.0)
        assert r.torque(e)[i] == pytest.approx(100.0 * (0.005 + 0.995 * b), rel=1e-6)


def test_how_long_a_cut_clutch_still_drives_the_load():
    """A weight of 40 N*m on a clutch that held 150: it slips once the current gives no more; from there by scipy."""
    line = Line()
    n = line.mass(0.6)
    e = line.part("magnetic particle clutch", n, 0, setting=SETTING, resistance=OHM, inductance=HENRY, stiffness=1e5,
                  start=Start(x=(40.0 / 1e5,)))  # fmt: skip
    line.part("hoisted mass", n, 0, mass=40.0 / 9.81)
    line.part("emergency stop", delay=DELAY, cuts_coils=1.0)
    r = run(line, 0.5)
    i = np.linspace(0.0, RATED, 200001)
    low = float(np.interp(40.0, curve(i), i))
    slips = DELAY + HENRY / OHM * log(RATED / low)
    assert r.events(e)[0] == pytest.approx(slips, abs=1e-6)
    after = solve_ivp(lambda t, w: [(40.0 - curve(RATED * exp(-(t - DELAY) * OHM / HENRY))) / 0.6], (slips, 0.5), [0.0],
                      rtol=1e-10, atol=1e-12)  # fmt: skip
    assert -r.speed(n)[-1] == pytest.approx(after.y[0, -1], rel=2e-3)
    assert r.residual < 1e-8


def test_the_ledger_closes_while_a_ring_loses_its_field():
    """A wound-up hysteresis ring on an inertia is cut: the supply takes back what the field held."""
    line = Line()
    n = line.mass(0.02, 3.0)
    line.part("magnetic hysteresis clutch", n, 0, setting=10.0)
    line.part("emergency stop", delay=0.01, cuts_coils=1.0)
    r = run(line, 0.2)
    assert r.speed(n)[-1] != 0.0
    assert r.residual < 1e-7


def test_a_sheet_says_what_a_resistor_costs():
    """72 ohm on 18: the time constant falls to a fifth, the voltage rises to four times the coil's own."""
    told = sheet_of("magnetic particle clutch", setting=SETTING, suppression_resistance=72.0)
    assert told["lag of the coil"] == pytest.approx(1.2 / 18.0)
    assert told["time constant once cut"] == pytest.approx(1.2 / 90.0)
    assert told["voltage as it is cut, over the coil's own"] == pytest.approx(4.0)
    assert "voltage as it is cut, over the coil's own" not in sheet_of("magnetic particle clutch", setting=SETTING)


CUT_COILS = [
    ("magnetic particle clutch", {"setting": SETTING}, 18.0, 1.2, 1.33, 2.0),
    ("magnetic particle clutch", {"setting": SETTING, "requested_torque": 90.0}, 18.0, 1.2, None, 2.0),
    ("magnetic hysteresis clutch", {"setting": 10.0}, 90.0, 0.5, 0.27, 40.0),
    ("eddy-current clutch", {"setting": 100.0, "peak_slip": 40.0}, 12.0, 2.0, 2.0, 40.0),
]
RESISTOR, TOLD = "heat of the resistor each time it is cut", "heat of the coil's resistor"


def told(r: Run, e: int) -> float:
    """What the part says that it leaves behind."""
    part = r.a.graph.elements[e].part
    x = [r.state(e, i)[-1] for i in range(len(part.kind.states))]
    (heat,) = part.call("left_behind", int(r.mode(e)[-1]), r.a.rows[e], x, r.out.memory[e])
    assert [k.name for k in part.kind.left_behind] == [TOLD]
    return float(heat)


@pytest.mark.parametrize(("kind", "inputs", "ohm", "henry", "held", "speed"), CUT_COILS)
def test_the_resistor_takes_its_share_of_the_fields_energy(kind, inputs, ohm, henry, held, speed):
    """L i^2/2 Rs/(R + Rs) once the current has gone: the rest is the winding's.  RL circuit, textbook."""
    extra = 4.0 * ohm
    r, e = cut(kind, speed=speed, resistance=ohm, inductance=henry, suppression_resistance=extra, **inputs)
    sheet = sheet_of(kind, resistance=ohm, inductance=henry, suppression_resistance=extra, **inputs)
    current = held or sheet["current at the setting"]
    gone = 1.0 - exp(-2.0 * 0.45 * (ohm + extra) / henry)
    assert told(r, e) == pytest.approx(0.5 * henry * current**2 * 0.8 * gone, rel=1e-6)
    assert told(r, e) == pytest.approx(sheet[RESISTOR] * gone, rel=1e-6)
    assert np.diff(r.state(e, len(r.a.graph.elements[e].part.kind.states) - 1)).min() >= 0.0


@pytest.mark.parametrize(("kind", "inputs", "ohm", "henry", "held", "speed"), CUT_COILS)
def test_behind_a_diode_the_winding_takes_it_all(kind, inputs, ohm, henry, held, speed):
    r, e = cut(kind, speed=speed, resistance=ohm, inductance=henry, **inputs)
    assert np.isnan(told(r, e))
    assert RESISTOR not in sheet_of(kind, resistance=ohm, inductance=henry, **inputs)


def test_a_warm_winding_keeps_more_of_it():
    """Rs/(R (1 + a x) + Rs) at 60 K: 72/(18 * 1.234 + 72) of what a warm coil on fixed voltage holds."""
    line = Line()
    e = line.part("magnetic particle clutch", line.lead(1e-9), 0, setting=SETTING, resistance=OHM, inductance=HENRY,
                  cooling=0.0, excitation="fixed voltage", heat_capacity=1e9, suppression_resistance=72.0,
                  start=Start(x=(0.0, 60.0, RATED / 1.234 - RATED)))  # fmt: skip
    line.part("emergency stop", delay=DELAY, cuts_coils=1.0)
    warm, held = OHM * 1.234, 0.5 * HENRY * (RATED / 1.234) ** 2
    assert told(run(line, 0.5), e) == pytest.approx(held * 72.0 / (warm + 72.0), rel=1e-6)


def test_each_cut_adds_its_heat():
    """Cut at 50 ms, fed again at 0.2 s, cut again at 0.35 s from the current that has come back until then."""
    line = Line()
    e = line.part("magnetic particle clutch", line.lead(2.0), 0, setting=SETTING, resistance=OHM, inductance=HENRY,
                  suppression_resistance=72.0)  # fmt: skip
    line.part("emergency stop", delay=DELAY, cuts_coils=1.0)
    line.part("restart", when=0.2)
    line.part("emergency stop", when=0.3, delay=DELAY, cuts_coils=1.0)
    r = run(line, 0.6)
    left = RATED * exp(-0.15 * 90.0 / HENRY)
    back = RATED + (left - RATED) * exp(-0.15 * OHM / HENRY)
    both = RATED**2 - left**2 + back**2 * (1.0 - exp(-2.0 * 0.25 * 90.0 / HENRY))
    assert told(r, e) == pytest.approx(0.5 * HENRY * 0.8 * both, rel=1e-6)
