"""Loads against handbook formulas, closed forms and solutions written out for scipy alone.  Through the kernel."""

from __future__ import annotations

from math import atan, log, pi, radians, sqrt

import numpy as np
import pytest
from lines import Line, pull, run, sheet_of
from scipy.integrate import solve_ivp

BELT = {"length": 80.0, "rise": 6.0, "goods": 50.0, "belt": 9.0, "rollers": 14.0}


def test_pull_of_a_conveyor():
    """f*L*g*(rollers + (2 belt + goods) cos) = 1284.06591 N, H*g*goods = 2943 N, C = 1.92 at 80 m: 5408.40654 N in all,
    6490.08785 W at 1.2 m/s.  ISO 5048 and DIN 22101 (formulas and C cited from memory)."""
    s = sheet_of("conveyor resistance", **BELT)
    assert s["main resistance"] == pytest.approx(1284.06591, rel=1e-8)
    assert s["slope resistance"] == pytest.approx(2943.0, rel=1e-12)
    assert s["pull uphill"] == pytest.approx(5408.40654, rel=1e-8)
    assert s["pull uphill"] * 1.2 == pytest.approx(6490.08785, rel=1e-8)
    assert s["mass that travels"] == 80.0 * (2 * 9.0 + 50.0 + 14.0)
    other = sheet_of("conveyor resistance", **BELT, special=100.0, length_factor=1.5)
    assert other["pull uphill"] == pytest.approx(1.5 * 1284.06591 + 100.0 + 2943.0, rel=1e-8)


@pytest.mark.parametrize(
    ("length", "factor"), [(100.0, 1.78), (200.0, 1.45), (300.0, 1.31), (500.0, 1.2), (250.0, 1.38)]
)
def test_secondary_resistance_by_length(length, factor):
    """Table of C in DIN 22101, cited from memory."""
    s = sheet_of("conveyor resistance", **BELT | {"length": length})
    secondary = s["secondary and special resistance"] / s["main resistance"]
    assert secondary == pytest.approx(factor - 1.0, abs=1e-9)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_conveyor_let_go_runs_back(sense):
    """Coasts uphill to rest at (C*F_H + F_St)/m, then back at (F_St - C*F_H)/m: constant acceleration, textbook."""
    lifts = "forward" if sense > 0 else "backward"
    mass, friction, slope = 6560.0, 1.92 * 1284.06591 + 0.0, 2943.0
    line = Line()
    n = line.mass(mass, sense * 1.2)
    e = line.part("conveyor resistance", n, lifts=lifts, breakaway_factor=1.1, **BELT)
    up = 1.2 * mass / (friction + slope)
    r = run(line, up + 2.0, fast=1.2)
    stop, *_ = r.events(1 + n)
    assert stop == pytest.approx(up, rel=1e-8)
    assert r.speed(n)[-1] == pytest.approx(-sense * (slope - friction) / mass * 2.0, rel=1e-6)
    assert r.residual < 1e-9
    assert np.all(np.diff(r.heat(e) - slope * sense * r.angle(n)) >= -1e-9), "friction heat never falls"


def test_breakaway_keeps_a_conveyor_from_running_back():
    """Static friction 1.3 times 2465 N holds 2943 N.  Coulomb friction, textbook."""
    line = Line()
    n = line.mass(6560.0, 1.2)
    line.part("conveyor resistance", n, **BELT)
    assert run(line, 5.0).speed(n)[-1] == 0.0


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_released_incline(sense):
    """12 deg, 900 kg, drum 0.6 kg*m^2 at 0.15 m, rolling 0.03: 1.70133492 m/s^2, 0.212666866 m in 0.5 s.  Inclined
    plane, textbook."""
    line = Line()
    n = line.mass(0.6 + 900.0 * 0.15**2)
    lifts = "forward" if sense > 0 else "backward"
    e = line.part("incline", n, ra=0.15, angle=radians(12.0), mass=900.0, friction=0.03, lifts=lifts)
    r = run(line, 0.5, fast=1.0)
    assert 0.15 * r.speed(n)[-1] / 0.5 == pytest.approx(-sense * 1.70133492, rel=1e-8)
    assert 0.15 * r.angle(n)[-1] == pytest.approx(-sense * 0.212666866, rel=1e-8)
    assert r.heat(e)[-1] == pytest.approx(-0.5 * (0.6 + 20.25) * r.speed(n)[-1] ** 2, rel=1e-9)
    assert r.residual < 1e-12


@pytest.mark.parametrize(("breakaway", "moves"), [(0.2125, True), (0.2126, False)])
def test_angle_of_repose(breakaway, moves):
    """It stays while the friction is above tan(12 deg) = 0.2125566.  Inclined plane, textbook."""
    line = Line()
    n = line.mass(900.0)
    line.part("incline", n, angle=radians(12.0), weight=8829.0, friction=0.1, breakaway=breakaway)
    assert bool(run(line, 0.1, fast=1.0).angle(n)[-1] < 0.0) is moves


def test_hoisted_mass_falls():
    """m*g*r/(J + m*r^2): Atwood's machine with one weight, textbook."""
    line = Line()
    n = line.mass(0.8 + 120.0 * 0.1**2)
    line.part("hoisted mass", n, ra=0.1, mass=120.0)
    r = run(line, 0.4, fast=1.0)
    assert r.speed(n)[-1] == pytest.approx(-120.0 * 9.81 * 0.1 / 2.0 * 0.4, rel=1e-9)
    assert r.residual < 1e-12


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_coast_down_by_speed(sense):
    """J 0.4 from 120 rad/s against 6 + 0.05 w: 5.54517744 s, 294.578707 rad; against 6 + 0.002 w^2: 4.17219833 s,
    175.785792 rad.  Closed forms (logarithm, arc tangent), textbook."""
    point = {"speed": 100.0, "breakaway": 0.9}
    for kind, more, t, way in (
        ("viscous load", {"torque": 11.0, "dry_share": 6.0 / 11.0}, 5.54517744, 294.578707),
        ("fan", {"torque": 26.0, "bearings": 6.0 / 26.0}, 4.17219833, 175.785792),
        ("pump", {"torque": 26.0, "static_share": 6.0 / 26.0}, 4.17219833, 175.785792),
    ):
        line = Line()
        n = line.mass(0.4, sense * 120.0)
        e = line.part(kind, n, **point, **more)
        r = run(line, 6.0)
        assert r.events(1 + n) == pytest.approx([t], rel=1e-8)
        assert r.angle(n)[-1] == pytest.approx(sense * way, rel=1e-8)
        assert r.heat(e)[-1] == pytest.approx(0.5 * 0.4 * 120.0**2, rel=1e-9)
        assert r.residual < 1e-9
    assert 0.4 / 0.05 * log(1.0 + 0.05 * 120.0 / 6.0) == pytest.approx(5.54517744)
    assert 0.4 / sqrt(6.0 * 0.002) * atan(120.0 * sqrt(0.002 / 6.0)) == pytest.approx(4.17219833)


RADIUS, ROD, MASS, WHEEL = 0.12, 0.3, 18.0, 0.5


def slope(theta: float | complex) -> complex:
    """dx/dtheta by the rod's angle b, sin b = r/l sin(theta): r sin(theta + b)/cos b (textbook, another form)."""
    s = RADIUS / ROD * np.sin(theta)
    c = np.sqrt(1.0 - s * s)
    return RADIUS * (np.sin(theta) * c + np.cos(theta) * s) / c


def own_inertia(theta: float) -> float:
    return WHEEL + MASS * float(slope(theta).real) ** 2


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("phase", [0.0, 0.9, 4.0])
def test_crank_turns_freely(sense, phase):
    """Energy stays: w = w0*sqrt(J(phase)/J(theta)).  Lagrange, textbook."""
    line = Line()
    n = line.mass(WHEEL, sense * 8.0)
    line.part("crank", n, radius=RADIUS, rod=ROD, mass=MASS, phase=phase)
    r = run(line, 1.0, rtol=1e-9)
    want = [8.0 * sense * sqrt(own_inertia(phase) / own_inertia(phase + a)) for a in r.angle(n)]
    assert r.speed(n) == pytest.approx(np.array(want), rel=1e-7)
    assert max(abs(r.speed(n))) / min(abs(r.speed(n))) > 1.2
    assert r.residual < 1e-7


def test_crank_with_process_forces():
    """Generalised momentum p = J(theta) w, p' = J'(theta) w^2/2 + T - F|x'|, by solve_ivp with the derivative by a
    complex step; dead centres to 1e-6 s.  Lagrange, textbook."""
    out, back, drive, w0 = 900.0, 120.0, 90.0, 12.0

    def f(t: float, y: np.ndarray) -> list[float]:
        theta, p = y
        w = p / own_inertia(theta)
        x1 = slope(theta + 1e-30j)
        bend = 2.0 * MASS * x1.real * x1.imag / 1e-30
        force = out if x1.real > 0.0 else back
        return [w, 0.5 * bend * w * w + drive - force * abs(x1.real)]

    t, theta, p, centres = 0.0, 0.0, w0 * own_inertia(0.0), []
    for half in range(1, 7):  # each half turn on its own: the force jumps at the dead centres

        def dead_centre(t: float, y: np.ndarray, end: float = half * pi) -> float:
            return float(y[0] - end)

        dead_centre.terminal = True  # type: ignore[attr-defined]
        o = solve_ivp(f, (t, t + 9.0), [theta + 1e-13, p], rtol=1e-11, atol=1e-12, method="DOP853", events=dead_centre)
        t, theta, p = float(o.t[-1]), half * pi, float(o.y[1, -1])
        centres.append(t)
    line = Line()
    n = line.mass(WHEEL, w0)
    e = line.part("crank", n, radius=RADIUS, rod=ROD, mass=MASS, force_out=out - 20.0, force_back=back - 20.0,
                  slide_friction=20.0)  # fmt: skip
    pull(line, n, drive)
    r = run(line, centres[-1] + 1e-3, rtol=1e-9)
    assert r.events(e) == pytest.approx(centres, abs=1e-6)
    assert r.at(r.events(e)[-1], r.speed(n)) == pytest.approx(p / WHEEL, rel=1e-7)
    assert r.at(r.events(e)[-1], r.heat(e)) == pytest.approx(3 * 2 * RADIUS * (out + back), rel=1e-6)
    assert r.residual < 1e-7


def test_numbers_of_a_crank():
    """Largest slope at the angle where rod and crank are nearly square; its work a turn.  Geometry."""
    s = sheet_of("crank", radius=RADIUS, rod=ROD, mass=MASS, force_out=900.0)
    fine = max(float(slope(t).real) for t in np.linspace(1.0, 1.6, 20001))
    assert s["largest inertia at the crank"] == pytest.approx(MASS * fine**2, rel=1e-5)
    assert s["work a turn"] == pytest.approx(900.0 * 0.24)
    mean = np.mean([MASS * float(slope(t).real) ** 2 for t in np.linspace(0.0, 2 * pi, 4000, endpoint=False)])
    assert s["mean inertia at the crank"] == pytest.approx(mean, rel=1e-6)


def test_load_from_a_list_in_time():
    """Its impulse slows the mass down; the sawtooth 0, 10, jump to 2, 4 N*m repeats each second.  Newton, textbook."""
    line = Line()
    n = line.mass(0.4, 200.0)
    e = line.part("tabled load", n, times=(0.0, 0.5, 0.5, 1.0), loads=(0.0, 10.0, 2.0, 4.0), afterwards="repeats")
    r = run(line, 3.5)
    assert r.events(e) == pytest.approx([0.5 * i for i in range(8)], abs=1e-12)
    assert r.speed(n)[-1] == pytest.approx(200.0 - (3 * 4.0 + 2.5) / 0.4, rel=1e-10)
    assert r.residual < 1e-12


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("afterwards", "work"), [("stays", 4.0 + 4.0 * 4.0), ("repeats", 5 * 4.0 - 0.1)])
def test_load_from_a_list_by_place(sense, afterwards, work):
    """A sawtooth (2.5 and 1.5 J a radian) either way round: J*w^2/2 is gone after the work of the way.  Textbook."""
    places, loads = (0.0, 0.5, 0.5, 1.0), (0.0, 10.0, 2.0, 4.0)
    if sense < 0:
        places, loads = tuple(-a for a in reversed(places)), tuple(reversed(loads))
    line = Line()
    n = line.mass(0.4, sense * sqrt(2.0 * work / 0.4))
    e = line.part("tabled load", n, places=places, loads=loads, afterwards=afterwards)
    r = run(line, 3.0)
    rest = 5.0 if afterwards == "stays" else 4.5 + (-2.0 + sqrt(4.0 + 8.0 * 1.4)) / 4.0
    assert sense * r.angle(n)[-1] == pytest.approx(rest, rel=1e-7)
    assert r.heat(e)[-1] == pytest.approx(work, rel=1e-7)
    assert r.speed(n)[-1] == 0.0
    assert r.residual < 1e-7


def test_pull_by_place_is_a_spring():
    """-3 to 3 N*m over -0.1 to 0.1 rad: 30 N*m/rad, so 0.4 kg*m^2 swings at sqrt(75) rad/s.  Textbook."""
    line = Line()
    n = line.mass(0.4, 0.5)
    e = line.part("tabled load", n, places=(-0.1, 0.02, 0.1), loads=(-3.0, 0.6, 3.0), acts="pulls backward")
    r = run(line, 3.0)
    assert r.angle(n) == pytest.approx(0.5 / sqrt(75.0) * np.sin(sqrt(75.0) * r.t), abs=1e-8)
    assert len(r.events(e)) > 5
    assert r.residual < 1e-9
