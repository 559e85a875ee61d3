"""Motors, gears, belts, shafts against closed forms.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import log, pi, sqrt

import numpy as np
import pytest
from lines import Line, Run, Start, pull, row_of, run, run_until, sheet_of

from simcore.parts import torque_speed_motor as tsm

SYNC = 1500.0 * pi / 30.0
PLATE = {"rated_power": 1500.0, "rated_speed": 0.95 * SYNC, "synchronous_speed": SYNC, "inertia": 0.05}


def run_up(slip: float, load: float, peak: float = 26.0) -> Run:
    """Run-up from rest by Kloss's curve (breakdown slip 0.25, J 0.05) until ``slip``."""
    line = Line()
    n = line.mass(0.05)
    line.part("torque-speed motor", 0, n, start=Start(mode=1, row={"peak": peak, "slip_k": 0.25}), **PLATE)
    if load:
        line.part("friction load", n, 0, running=load)
    return run_until(line, 5.0, n, (1.0 - slip) * SYNC, fast=SYNC)


def test_run_up_without_load():
    """J*w/(2*T)*((1 - s^2)/(2*sk) - sk*ln s).  Integral of Kloss's formula (closed form)."""
    assert run_up(0.01, 0.0).end == pytest.approx(0.475935057, rel=1e-8)
    sk, s = 0.25, 0.01
    assert run_up(s, 0.0).end == pytest.approx(0.05 * SYNC / 52.0 * ((1 - s * s) / (2 * sk) - sk * log(s)), rel=1e-8)


def test_run_up_against_a_load():
    """Starts with 12.2352941 N*m; against 10 N*m 1.11487561 s to slip 0.06.  Closed form."""
    r = run_up(0.06, 10.0)
    assert r.torque(0)[0] == pytest.approx(12.2352941, rel=1e-8)
    assert r.end == pytest.approx(1.11487561, rel=1e-8)


def test_run_up_in_star():
    """A third of the torque takes three times as long: 1.42780517 s.  Common practice, closed form."""
    assert run_up(0.01, 0.0, 26.0 / 3.0).end == pytest.approx(1.42780517, rel=1e-8)


def test_rated_slip_of_the_plate():
    """Breakdown 2.6 and breakdown slip 0.25 go with a rated slip of 0.05 exactly.  Kloss's formula."""
    row = row_of("torque-speed motor", breakdown=2.6, **PLATE)
    assert row[tsm.SLIP_K] == pytest.approx(0.25, rel=1e-12)


def test_run_up_at_constant_torque():
    """J*w/(T - load) = 0.71399833 s.  Closed form."""
    line = Line()
    n = line.mass(0.05)
    pull(line, n, 15.0)
    line.part("friction load", n, 0, running=4.0)
    assert run_until(line, 2.0, n, SYNC, fast=SYNC).end == pytest.approx(0.71399833, rel=1e-8)


@pytest.mark.parametrize(("torque", "account"), [
    (12.1428571 * (1 - 1e-7), -1), (12.1428571 * (1 + 1e-7), 0), (15.8730159 * (1 - 1e-7), 0),
    (15.8730159 * (1 + 1e-7), 1),
])  # fmt: skip
def test_gear_stands_still_between_its_efficiencies(torque, account):
    """14:1, 0.9 driving, 0.85 driven, 200 N*m: stands from 12.1428571 to 15.8730159 N*m.  Niemann and Winter,
    Maschinenelemente 2 (cited from memory): T*eta_b/i and T/(eta_f*i)."""
    line = Line()
    a, b = line.mass(0.0038, 0.0, 14 * 200.0 / 9000.0), line.mass(1.7)
    line.part("gear", a, b, ra=1 / 14, ratio=14.0, stiffness=9000.0, efficiency=0.9, efficiency_back=0.85)
    pull(line, a, torque)
    pull(line, b, -200.0)
    r = run(line, 1e-3, fast=1.0)
    moves = r.events(3 + a)
    assert bool(moves) is (account != 0)
    assert np.sign(r.speed(a)[-1]) == account


@pytest.mark.parametrize("turning", [1.0, -1.0])
@pytest.mark.parametrize("output", [200.0, -200.0])
def test_gear_runs_on_evenly(turning, output):
    """Input torque T/(eta_f*i) while it drives, T*eta_b/i while it is driven, either way round: then nothing
    speeds up.  Niemann and Winter, Maschinenelemente 2 (cited from memory)."""
    line = Line()
    a, b = line.mass(0.0038, turning * 70.0, 14 * output / 9000.0), line.mass(1.7, turning * 5.0)
    gear = line.part("gear", a, b, ra=1 / 14, ratio=14.0, stiffness=9000.0, efficiency=0.9, efficiency_back=0.85,
                     start=Start(mode=5 if output > 0.0 else 6))  # fmt: skip
    pull(line, a, output / 14 * (1 / 0.9 if turning * output > 0.0 else 0.85))
    pull(line, b, -output)
    r = run(line, 0.2)
    assert r.speed(a) == pytest.approx(turning * 70.0, rel=1e-8)
    assert r.torque(gear) == pytest.approx(output, rel=1e-8)
    share = 1 / 0.9 - 1 if turning * output > 0.0 else 1 - 0.85
    assert r.heat(gear)[-1] == pytest.approx(1000.0 * 0.2 * share, rel=1e-8)


def test_efficiency_when_driven():
    """2 - 1/eta: 0.7 gives 0.571428571.  Common practice (one coefficient of friction both ways)."""
    s = sheet_of("gear", ratio=5.0, stiffness=1e4, efficiency=0.7)
    assert s["efficiency when driven"] == pytest.approx(0.571428571, rel=1e-8)


def test_two_pretensioned_strands():
    """250 kN/m each, 600 N, r 50 mm, 0.02 kg*m^2 at 30 rad/s: the loose strand slackens at 48 mrad, 60 N*m;
    peak 114.236597 N*m at 7.40370398 ms.  Closed form in two pieces."""
    line = Line()
    n = line.mass(0.02, 30.0)
    e = line.part("belt or chain", n, 0, ra=0.05, stiffness=250e3, strands="two", pretension=600.0)
    r = run(line, 0.01)
    slack = r.events(e, 6)[0]
    assert r.at(slack, r.angle(n)) == pytest.approx(48e-3, rel=1e-8)
    assert 0.05 * r.at(slack, r.torque(e)) == pytest.approx(60.0, rel=1e-8)
    assert 0.05 * r.peak(e) == pytest.approx(114.236597, rel=1e-8)
    assert r.turning(n)[0][0] == pytest.approx(7.40370398e-3, rel=1e-8)


def test_round_shaft():
    """G*pi*d^4/(32*l) = 40212.386 N*m/rad.  Shigley: torsion of a round bar."""
    s = sheet_of("shaft", diameter=0.04, length=0.5, shear_modulus=80e9)
    assert s["stiffness"] == pytest.approx(40212.386, rel=1e-8)


def test_relative_damping_as_a_decay():
    """psi = 0.8 at its own frequency is a damping ratio psi/(4*pi) = 0.0636619772.  DIN 740-2 (from memory);
    read off the logarithmic decrement of a swing."""
    k, j = 7000.0, 0.5
    line = Line()
    n = line.mass(j, 4.0)
    line.part("flexible coupling", n, 0, stiffness=k, relative_damping=0.8)
    turns = run(line, 0.5, w1=sqrt(k / j)).turning(n)
    decrement = log(turns[0][1] / turns[4][1]) / 2.0
    ratio = decrement / sqrt(4 * pi**2 + decrement**2)
    assert ratio == pytest.approx(0.0636619772, rel=2e-8)
