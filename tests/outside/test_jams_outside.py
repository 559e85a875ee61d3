"""Jams against closed forms and against solutions written out for scipy alone.  Through the compiled kernel."""

from __future__ import annotations

from math import gamma, pi, sqrt

import numpy as np
import pytest
from lines import Line, pull, run
from scipy.integrate import solve_ivp

from simcore.parts import crushed_product as cp

TIGHT = {"rtol": 1e-11, "atol": 1e-12, "method": "DOP853"}


@pytest.mark.parametrize("e", [0.8, 0.5])
def test_bounces_fall_by_the_square_of_the_restitution(e):
    """Heights fall by e^2 a bounce, the bouncing ends at t1*(1 + e)/(1 - e): elementary mechanics, textbook, for a
    contact of no duration; a stiff one comes close and then rests."""
    end = 0.1 * (1.0 + e) / (1.0 - e)
    line = Line()
    n = line.mass(1.0, 0.0, -0.1)
    stop = line.part("soft stop", n, stiffness=3e8, restitution=e, effective_mass=1.0)
    line.starts[stop].mode, line.starts[stop].memory = 0, {0: 0.0, 1: 1.0}
    pull(line, n, 20.0)
    r = run(line, 1.03 * end, fast=2.0, rtol=1e-8)
    heights = [-angle for _, angle in r.turning(n) if angle < -1e-3]
    assert len(heights) >= 3
    for before, after in zip([0.1, *heights], heights, strict=False):
        assert after / before == pytest.approx(e * e, rel=1e-2)
    assert heights[0] == pytest.approx(0.1 * e * e, rel=3e-3)
    assert r.mode(stop)[-1] == 1
    assert r.events(stop)[-1] == pytest.approx(end, rel=1e-2)
    assert r.torque(stop)[-1] == pytest.approx(20.0, rel=1e-3)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_power_law_contact(sense):
    """T = 2e5*phi^1.5 met by 0.6 kg*m^2 at 9 rad/s: energy balance (J*w^2/2 = k*d^2.5/2.5), and the duration of an
    elastic impact, 2*d/w*sqrt(pi)*Gamma(1.4)/Gamma(0.9) = 2.943 d/w (Hertz; Johnson, Contact Mechanics, 1985, cited
    from memory)."""
    line = Line()
    n = line.mass(0.6, sense * 9.0)
    jam = line.part("wedge", n, resistance=2e5 * 0.02**1.5, depth=0.02, exponent=1.5, unloading=1.0)
    r = run(line, 0.03)
    instant, angle = r.turning(n)[0]
    assert angle == pytest.approx(sense * 0.0391747753, rel=1e-8)
    assert max(abs(r.torque(jam))) == pytest.approx(1550.74278, rel=1e-8)
    assert instant == pytest.approx(6.40567467e-3, rel=1e-8)
    duration = 2.0 * abs(angle) / 9.0 * sqrt(pi) * gamma(1.4) / gamma(0.9)
    assert duration == pytest.approx(2.9432 * abs(angle) / 9.0, rel=1e-4)
    assert r.events(jam)[1] == pytest.approx(duration, rel=1e-7)
    assert r.speed(n)[-1] == pytest.approx(-sense * 9.0, rel=1e-9)


def test_wedge_rubs_on_the_way_out():
    """Out with u = 0.2 of the force in: leaves with sqrt(0.2) of the speed.  Energy balance, closed form."""
    line = Line()
    n = line.mass(0.6, 9.0)
    jam = line.part("wedge", n, resistance=500.0, depth=0.02, exponent=2.0, unloading=0.2)
    r = run(line, 0.05)
    assert r.speed(n)[-1] == pytest.approx(-9.0 * sqrt(0.2), rel=1e-7)
    assert r.heat(jam)[-1] == pytest.approx(0.8 * 24.3, rel=1e-7)


def test_crush_plateau_stops_a_trolley():
    """200 kg at 1.2 m/s, 1500 N, the drive pushes 300 N on: 0.2 s, 0.12 m, 180 J in the product.  Uniform deceleration,
    textbook; the stiffness is made so high that it is no matter."""
    line = Line()
    n = line.mass(200.0, 1.2)
    jam = line.part("crushed product", n, plateau=1500.0, stiffness=1e9)
    pull(line, n, 300.0)
    r = run(line, 0.21, rtol=1e-9)
    instant, way = r.turning(n)[0]
    assert instant == pytest.approx(0.2, rel=1e-5)
    assert way == pytest.approx(0.12, rel=1e-5)
    assert r.heat(jam)[-1] == pytest.approx(180.0, rel=1e-5)
    assert max(r.torque(jam)) == pytest.approx(1500.0, rel=1e-5)
    assert r.residual < 1e-8


def crash_by_scipy() -> tuple[list[float], float]:
    """Two inertias on a shaft, the far one against an elastic, perfectly plastic body: instants of crushing, turning
    back and parting, and the crushed length, by solve_ivp with events."""
    ja, jb, ks, kp, plateau = 0.5, 0.2, 3000.0, 2e4, 150.0

    def fly(t: float, y: np.ndarray, push: object, until: object) -> tuple[float, np.ndarray]:
        def f(t: float, y: np.ndarray) -> list[float]:
            shaft = ks * (y[0] - y[1])
            return [y[2], y[3], -shaft / ja, (shaft - push(y)) / jb]

        until.terminal, until.direction = True, -1.0
        o = solve_ivp(f, (t, t + 1.0), y, events=until, **TIGHT)
        return o.t[-1], o.y[:, -1]

    t0, y = fly(0.0, np.array([0.0, 0.0, 10.0, 10.0]), lambda y: kp * y[1], lambda t, y: plateau - kp * y[1])
    t1, y = fly(t0, y, lambda y: plateau, lambda t, y: y[3])
    x = y[1] - plateau / kp
    y[3] = -1e-300
    t2, y = fly(t1, y, lambda y: kp * (y[1] - x), lambda t, y: (y[1] - x) * kp)
    return [t0, t1, t2], x


def test_crash_into_a_crushed_product():
    line = Line()
    a, b = line.mass(0.5, 10.0), line.mass(0.2, 10.0)
    line.part("shaft", a, b, stiffness=3000.0)
    jam = line.part("crushed product", b, plateau=150.0, stiffness=2e4)
    r = run(line, 0.2)
    instants, x = crash_by_scipy()
    first = r.events(jam)[1:4]
    assert [r.mode(jam)[np.flatnonzero(np.isclose(r.t, t, rtol=0, atol=1e-11))[-1]] for t in first] == [
        cp.CRUSHING, cp.SQUEEZED, cp.CLEAR,
    ]  # fmt: skip
    assert first == pytest.approx(instants, abs=1e-6)
    assert r.at(first[2], r.angle(b)) == pytest.approx(x, rel=1e-6)


def test_brake_stops_a_line():
    """60 N*m of brake and 15 N*m of load on 2.5 kg*m^2 at 20 rad/s, 0.12 s of constant speed before: 0.786666667 s,
    9.06666667 rad, 400 J in the brake.  Constant deceleration, closed form."""
    line = Line()
    n = line.mass(2.5, 20.0)
    pull(line, n, 15.0)
    line.part("friction load", n, running=15.0)
    line.part("emergency stop", delay=0.12)
    brake = line.part("brake", n, torque=60.0, apply_time=0.0, use="service")
    r = run(line, 1.0)
    assert r.events(len(line.elements) + n) == pytest.approx([0.786666667], rel=1e-9)
    assert r.angle(n)[-1] == pytest.approx(9.06666667, rel=1e-9)
    assert r.heat(brake)[-1] == pytest.approx(400.0, rel=1e-9)
    assert r.speed(n)[-1] == 0.0
