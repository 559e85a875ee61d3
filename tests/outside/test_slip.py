"""Friction that slips: limiters, loads, heat.  Compiled kernel at 1e-10 unless a line says otherwise."""

from __future__ import annotations

from math import exp, pi

import numpy as np
import pytest
from lines import SLIDES, STUCK, Line, Start, ideal_disc, pull, row_of, run, sheet_of, sliding
from scipy.optimize import brentq

from simcore.contract import Q
from simcore.parts import friction_disc


def crash_on_a_limiter(running: float) -> tuple[Line, int, int]:
    """Inertia 0.6 at 9 rad/s, shaft 5200 N*m/rad, limiter that breaks away at 190, far end held."""
    line = Line()
    n = line.mass(0.6, 9.0)
    return line, n, line.part("friction disc", n, 0, **ideal_disc(running, 5200.0, 190.0 / running))


def test_limiter_in_a_crash():
    """Winds up, slips at constant torque, sticks.  Closed form."""
    line, n, disc = crash_on_a_limiter(190.0)
    r = run(line, 0.05)
    slips, sticks = r.events(disc, SLIDES)[0], r.events(disc, STUCK)[0]
    assert slips == pytest.approx(4.16328276e-3, rel=1e-8)
    assert r.at(slips, r.speed(n)) == pytest.approx(8.33243585, rel=1e-8)
    assert sticks - slips == pytest.approx(26.3129553e-3, rel=1e-8)
    assert r.at(sticks, r.state(disc)) == pytest.approx(0.109625506, rel=1e-8)
    assert r.at(sticks, r.heat(disc)) == pytest.approx(20.8288462, rel=1e-8)


def test_breakaway_above_running():
    """As before, running at 160: the drop unwinds (190^2 - 160^2)/(2*k), which is heat too.  Closed form."""
    line, _, disc = crash_on_a_limiter(160.0)
    r = run(line, 0.05)
    slips, sticks = r.events(disc, SLIDES)[0], r.events(disc, STUCK)[0]
    assert sticks - slips == pytest.approx(31.2466344e-3, rel=1e-8)
    assert r.at(slips, r.state(disc)) == pytest.approx(5.76923077e-3, rel=1e-8)
    assert r.at(slips, r.heat(disc)) == pytest.approx(1.00961538, rel=3e-8)
    assert r.at(sticks, r.state(disc)) == pytest.approx(0.135949519, rel=1e-8)
    assert r.at(sticks, r.heat(disc)) == pytest.approx(21.8384615, rel=1e-8)
    assert r.residual < 1e-10


def test_rigid_crash_with_the_drive_on():
    """J*w/(T - T_drive); heat = kinetic energy plus the motor's work.  Closed form."""
    line = Line()
    n = line.mass(0.6, 9.0)
    disc = line.part("friction disc", n, 0, start=sliding(190.0, 1e6), **ideal_disc(190.0, 1e6))
    pull(line, n, 40.0)
    r = run(line, 0.04)
    stop = r.events(disc, STUCK)[0]
    assert stop == pytest.approx(36e-3, rel=1e-8)
    assert r.at(stop, r.angle(n)) == pytest.approx(0.162, rel=1e-8)
    assert r.at(stop, r.heat(disc)) == pytest.approx(30.78, rel=1e-8)


def test_friction_damped_swing():
    """Amplitude falls by 2*T/k each half cycle until friction holds the spring.  Den Hartog (closed form)."""
    line = Line()
    n = line.mass(0.3, 0.0, 0.1)
    line.part("shaft", n, 0, stiffness=800.0)
    load = line.part("friction load", n, 0, running=6.0)
    r = run(line, 0.6, fast=5.0)
    instants = r.events(2 + n)
    angles = [r.at(t, r.angle(n)) for t in instants]
    assert angles == pytest.approx([0.1, -0.085, 0.07, -0.055, 0.04, -0.025, 0.01, 0.005], rel=1e-7)
    assert np.diff(instants) == pytest.approx(60.8366801e-3, rel=1e-8)
    assert r.speed(n)[-1] == 0.0
    assert r.heat(load)[-1] == pytest.approx(0.5 * 800.0 * (0.1**2 - 0.005**2), rel=1e-8)


def test_stick_slip_cycle():
    """Static 24, running 18 N*m at any speed, spring drawn at 0.5 rad/s.  Den Hartog (closed form)."""
    line = Line()
    drawn, n = line.lead(0.5), line.mass(0.8)
    spring = line.part("shaft", drawn, n, stiffness=450.0)
    line.part("friction load", n, 0, running=18.0, breakaway=24.0)
    r = run(line, 1.5, fast=1.0)
    account = 2 + n
    slips, sticks = r.events(account, 1), r.events(account, 0)
    assert slips[0] == pytest.approx(24.0 / 450.0 / 0.5, rel=1e-8)
    assert np.diff(slips) == pytest.approx(270.699868e-3, rel=1e-8)
    assert np.array(sticks[:4]) - slips[:4] == pytest.approx(217.366535e-3, rel=1e-8)
    assert slips[1] - sticks[0] == pytest.approx(53.3333333e-3, rel=1e-8)
    assert r.peak(spring) / 450.0 == pytest.approx(64.9443826e-3, rel=2e-8)


def test_clutch_joins_two_inertias():
    """Shared speed, time and heat of a slipping clutch.  VDI 2241-1 (from memory), closed form."""
    line = Line()
    a, b = line.mass(0.5, 20.0), line.mass(1.25)
    disc = line.part("friction disc", a, b, start=sliding(150.0, 1e5), **ideal_disc(150.0, 1e5))
    r = run(line, 0.06)
    stick = r.events(disc, STUCK)[0]
    assert stick == pytest.approx(47.6190476e-3, rel=1e-8)
    assert r.at(stick, r.speed(a)) == pytest.approx(5.71428571, rel=1e-8)
    assert r.at(stick, r.heat(disc)) == pytest.approx(71.4285714, rel=1e-8)
    slip = r.at(stick, r.state(disc)) - r.state(disc)[0]
    assert slip == pytest.approx(0.476190476, rel=1e-8)


def test_clutch_against_a_load():
    """Driven side from rest against 40 N*m by 150 N*m.  VDI 2241-1 (from memory), closed form."""
    line = Line()
    a, b = line.lead(20.0), line.mass(1.25)
    disc = line.part("friction disc", a, b, start=sliding(150.0, 1e5), **ideal_disc(150.0, 1e5))
    line.part("friction load", b, 0, running=40.0)
    r = run(line, 0.25)
    stick = r.events(disc, STUCK)[0]
    assert stick == pytest.approx(0.227272727, rel=1e-8)
    assert r.at(stick, r.heat(disc)) == pytest.approx(340.909091, rel=1e-8)


def test_clutch_across_a_gear():
    """Rotor 0.0038 at 150 rad/s, 14:1, joined to 1.7 at rest through 84 N*m.  Closed form: the sum
    i*J1*w1 + J2*w2 is conserved, J1*w1 + J2*w2 is not."""
    line = Line()
    a, b = line.mass(0.0038, 150.0), line.mass(1.7)
    disc = line.part("friction disc", a, b, ra=1 / 14, start=sliding(84.0, 1e5), **ideal_disc(84.0, 1e5))
    r = run(line, 0.07)
    stick = r.events(disc, STUCK)[0]
    assert stick == pytest.approx(66.0585733e-3, rel=1e-8)
    assert r.at(stick, r.speed(b)) == pytest.approx(3.26407068, rel=1e-8)
    assert r.at(stick, r.speed(a)) == pytest.approx(45.6969895, rel=1e-8)
    assert r.at(stick, r.heat(disc)) == pytest.approx(29.726358, rel=1e-8)
    assert 14 * 0.0038 * r.speed(a) + 1.7 * r.speed(b) == pytest.approx(14 * 0.0038 * 150.0, rel=1e-8)


def test_payload_stopped_by_drag():
    """200 kg at 1.2 m/s against 1500 N while 300 N push on: 0.2 s, 0.12 m, 180 J.  Closed form."""
    line = Line()
    n = line.mass(200.0, 1.2)
    jam = line.part("partial jam", n, 0, drag=1500.0, start=Start(mode=1))
    pull(line, n, 300.0)
    r = run(line, 0.25)
    stop = r.events(2 + n)[0]
    assert stop == pytest.approx(0.2, rel=1e-8)
    assert r.at(stop, r.angle(n)) == pytest.approx(0.12, rel=1e-8)
    assert r.heat(jam)[-1] == pytest.approx(180.0, rel=1e-8)


def test_run_down_by_dry_and_viscous_drag():
    """J/c*ln(1 + c*w/T).  Closed form."""
    line = Line()
    n = line.mass(0.4, 120.0)
    line.part("friction load", n, 0, running=6.0, viscous=0.05)
    r = run(line, 6.0)
    stop = r.events(1 + n, 0)[0]
    assert stop == pytest.approx(5.54517744, rel=1e-8)
    assert r.at(stop, r.angle(n)) == pytest.approx(294.578707, rel=1e-8)


def test_loop_of_an_elastic_slip_element():
    """Loss per cycle 4*T*(A - T/k) = 3.5 J.  Masing's rule (closed form).  Led by a swing so heavy that
    the element takes 1e-9 of its energy."""
    line = Line()
    n = line.mass(1e13, 0.0, 0.03)
    line.part("shaft", n, 0, stiffness=1e13)
    disc = line.part("friction disc", n, 0, dwell_growth=0.0, **ideal_disc(50.0, 4000.0))
    first, second = (run(line, 2 * pi * i, fast=0.03).heat(disc)[-1] for i in (1, 2))
    assert second - first == pytest.approx(3.5, rel=1e-8)


def test_fading_slip():
    """190*(1 - 0.0015*rise) at 9 rad/s into 420 J/K without cooling, 10 s.  Closed form."""
    line = Line()
    a = line.lead(9.0)
    inputs = ideal_disc(190.0, 5200.0) | {"fade": -0.0015, "heat_capacity": 420.0, "cooling": 0.0}
    disc = line.part("friction disc", a, 0, start=sliding(190.0, 5200.0), **inputs)
    r = run(line, 10.0)
    assert r.state(disc, 1)[-1] == pytest.approx(39.495973, rel=1e-8)
    assert r.torque(disc)[-1] == pytest.approx(178.743648, rel=1e-8)
    assert r.heat(disc)[-1] == pytest.approx(16588.3087, rel=1e-8)


@pytest.mark.parametrize(
    ("capacity", "cooling", "seconds", "rise"),
    [(420.0, 3.5, 60.0, 28.1049529), (420.0, 3.5, 3600.0, 71.4285714), (0.9 * 460.0, 0.0, 7.2, 4.34782609)],
    ids=["cooled", "in the end", "adiabatic"],
)  # fmt: skip
def test_disc_warms(capacity, cooling, seconds, rise):
    """250 W into a lumped body: P/G*(1 - exp(-G*t/C)), or P*t/C.  Closed form; steel 460 J/(kg*K)."""
    line = Line()
    a = line.lead(5.0)
    inputs = ideal_disc(50.0, 5200.0) | {"heat_capacity": capacity, "cooling": cooling}
    disc = line.part("friction disc", a, 0, start=sliding(50.0, 5200.0), **inputs)
    assert run(line, seconds, h_max=5.0).state(disc, 1)[-1] == pytest.approx(rise, rel=1e-8)


def test_disc_by_geometry():
    """200/120 mm, 4 kN, 0.3, two faces: 192.0 N*m.  Shigley, uniform wear (uniform pressure gives 196.0)."""
    s = sheet_of("friction disc", faces=2, outer_diameter=0.2, inner_diameter=0.12, clamp_force=4e3, friction=0.3)
    assert s["setting"] == pytest.approx(192.0, rel=1e-12)


def test_falling_friction_is_unstable_when_slow():
    """18 + 6*exp(-v/0.2) with damping 0.8: dT/dv + c = 0 at 0.724868187 rad/s.  Closed form; law of the part,
    not the kernel."""
    row = row_of("friction disc", setting=18.0, stiffness=1e3, breakaway=24 / 18, stribeck_speed=0.2,
                 rise=0.0, fade=0.0, reference_slip=1e3)  # fmt: skip

    def torque(v: float) -> float:
        q = Q(SLIDES, 0.0, 0.0, v, 0.0, v, 0.0, 0.0, (0.0, 0.0), (0.0,), (), row, ())
        return friction_disc.torque(q)

    assert torque(0.3) == pytest.approx(18.0 + 6.0 * exp(-1.5), rel=1e-12)
    d = 1e-5
    slope = lambda v: (torque(v + d) - torque(v - d)) / (2 * d) + 0.8
    assert brentq(slope, 0.1, 5.0, xtol=1e-13) == pytest.approx(0.724868187, rel=1e-7)
