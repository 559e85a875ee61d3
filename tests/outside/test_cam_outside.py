"""Cam and shared varying inertia against closed forms and Lagrange's equation solved on its own by solve_ivp."""

from __future__ import annotations

from math import pi, radians, sqrt

import numpy as np
import pytest
from lines import Line, Start, pull, run, sheet_of
from scipy.integrate import solve_ivp

LIFT, MASS, WHEEL = 0.03, 4.0, 0.02
RISE, DWELL, RETURN = radians(100.0), radians(40.0), radians(120.0)
SHAPE = {"lift": LIFT, "mass": MASS, "rise_angle": RISE, "dwell_angle": DWELL, "return_angle": RETURN}
EDGES = (0.0, RISE, RISE + DWELL, RISE + DWELL + RETURN, 2.0 * pi)


def lift(theta: complex, law: str) -> complex:
    """Lift by cases over one turn; complex, for derivatives by a complex step.  Textbook."""
    turned = theta - 2.0 * pi * np.floor(theta.real / (2.0 * pi))
    if turned.real >= EDGES[3]:
        return 0.0 + 0.0j
    if RISE <= turned.real < EDGES[2]:
        return LIFT + 0.0j
    u = turned / RISE if turned.real < RISE else (EDGES[3] - turned) / RETURN
    if law == "harmonic":
        return LIFT * np.sin(0.5 * pi * u) ** 2
    return LIFT * (u - np.sin(2.0 * pi * u) / (2.0 * pi))


def slope(theta: float, law: str) -> float:
    return float(lift(theta + 1e-30j, law).imag / 1e-30)


@pytest.mark.parametrize(("law", "most"), [("cycloidal", 2.0), ("harmonic", 0.5 * pi)])
def test_largest_inertia_by_the_steepest_lift(law, most):
    """Largest speed of lift 2 h/b (cycloidal), pi h/(2 b) (harmonic), b the shorter angle; the harmonic one is slowed
    most at the top, pi^2 h/(2 b^2).  Norton, Design of Machinery (cited from memory)."""
    s = sheet_of("cam", law=law, preload=200.0, spring_rate=5e3, **SHAPE)
    assert s["largest inertia at the cam"] == pytest.approx(MASS * (most * LIFT / RISE) ** 2, rel=1e-9)
    if law == "harmonic":
        slowed = pi**2 * LIFT / (2.0 * RISE**2)
        floats = sqrt((200.0 + 5e3 * LIFT) / (MASS * slowed))
        assert s["a follower pressed on floats above"] == pytest.approx(floats, rel=1e-9)


@pytest.mark.parametrize("law", ["cycloidal", "harmonic"])
@pytest.mark.parametrize(("sense", "phase"), [(1.0, 0.0), (-1.0, 0.0), (-1.0, 4.0)])
def test_cam_turns_freely(law, sense, phase):
    """Kinetic and spring energy stay: J w^2/2 + F0 s + k s^2/2, either way round.  Textbook."""
    line = Line()
    n = line.mass(WHEEL, sense * 30.0)
    e = line.part("cam", n, law=law, phase=phase, preload=60.0, spring_rate=2e3, **SHAPE)
    r = run(line, 1.0, rtol=1e-9)

    def potential(a: float) -> float:
        s = lift(a + phase + 0j, law).real
        return s * (60.0 + 1e3 * s)

    first = 0.5 * (WHEEL + MASS * slope(phase, law) ** 2) * 30.0**2 + potential(0.0)
    want = [
        sense * sqrt(2.0 * (first - potential(a)) / (WHEEL + MASS * slope(a + phase, law) ** 2)) for a in r.angle(n)
    ]
    assert r.speed(n) == pytest.approx(np.array(want), rel=1e-6)
    assert len(r.events(e)) > 12
    assert r.heat(e)[-1] == 0.0
    assert r.residual < 1e-7


def test_cam_under_torque_and_process_force():
    """p = J w, p' = J' w^2/2 + T - (F0 + k s + F) s' stretch by stretch, by solve_ivp; edges to 1e-6 s."""
    drive, press, law = 6.0, 150.0, "cycloidal"

    def f(t: float, y: np.ndarray) -> list[float]:
        theta, p = y
        s, s1 = lift(theta + 0j, law).real, slope(theta, law)
        bend = (slope(theta + 1e-5, law) - slope(theta - 1e-5, law)) / 2e-5
        w = p / (WHEEL + MASS * s1 * s1)
        force = 60.0 + 2e3 * s + (press if s1 > 0.0 else 0.0)
        return [w, MASS * s1 * bend * w * w + drive - force * s1]

    t, y, edges = 0.0, np.array([0.0, 30.0 * WHEEL]), []
    for end in (*EDGES[1:], *(2.0 * pi + a for a in EDGES[1:])):

        def edge(t: float, y: np.ndarray, end: float = end) -> float:
            return float(y[0] - end)

        edge.terminal = True  # type: ignore[attr-defined]
        o = solve_ivp(f, (t, t + 9.0), y + np.array([1e-13, 0.0]), rtol=1e-11, atol=1e-13, method="DOP853", events=edge)
        t, y = float(o.t[-1]), np.array([end, o.y[1, -1]])
        edges.append(t)
    line = Line()
    n = line.mass(WHEEL, 30.0)
    e = line.part("cam", n, law=law, preload=60.0, spring_rate=2e3, force_out=press, **SHAPE)
    pull(line, n, drive)
    r = run(line, edges[-1] + 1e-4, rtol=1e-9)
    assert r.events(e) == pytest.approx(edges, abs=1e-6)
    assert r.heat(e)[-1] == pytest.approx(2 * press * LIFT, rel=1e-6)
    assert r.residual < 1e-7


def test_a_cam_without_dwells_goes_from_rise_to_return():
    line = Line()
    n = line.mass(WHEEL, 30.0)
    e = line.part("cam", n, lift=LIFT, mass=MASS, rise_angle=pi, return_angle=pi, law="harmonic")
    r = run(line, 1.0, rtol=1e-8)
    assert set(r.mode(e)) == {0, 2}
    w = 30.0 * np.sqrt(WHEEL / (WHEEL + MASS * (0.5 * LIFT * np.sin(r.angle(n))) ** 2))
    assert r.speed(n) == pytest.approx(w, rel=1e-6)


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0)])
def test_varying_inertias_on_one_shaft_add_up(order):
    """Two cranks a quarter turn apart and a cam: energy stays, whichever comes first."""
    radius, rod, mass = 0.1, 0.3, 5.0
    line = Line()
    n = line.mass(0.5, 12.0)
    for phase in (0.0, 0.5 * pi):
        line.part("crank", n, radius=radius, rod=rod, mass=mass, phase=phase)
    line.part("cam", n, ra=2.0, **SHAPE)
    r = run(line, 1.5, rtol=1e-9, order=order)

    def crank(a: float) -> float:
        s, root = radius / rod * np.sin(a), sqrt(1.0 - (radius / rod * np.sin(a)) ** 2)
        return float(mass * (radius * (np.sin(a) * root + np.cos(a) * s) / root) ** 2)

    own = [0.5 + crank(a) + crank(a + 0.5 * pi) + 4.0 * MASS * slope(2.0 * a, "cycloidal") ** 2 for a in r.angle(n)]
    assert r.speed(n) == pytest.approx(12.0 * np.sqrt(own[0] / np.array(own)), rel=1e-7)
    assert r.residual < 1e-7


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("residue", [0.0, 1e-15, -1e-15])
def test_a_gear_without_drag_starts_from_torque_zero(sense, residue):
    """The loss of a gear begins at nothing: a ramp from rest moves the rotor at once, whatever rounding leaves in the
    mesh.  In the play the rotor is free: w = M t^2/(2 ramp J), textbook."""
    line = Line()
    a, b = line.mass(0.002), line.mass(4.0)
    line.part("worm gear", a, b, ra=1.0 / 50.0, ratio=50.0, stiffness=1e4, efficiency=0.65, lash=0.004,
              start=Start(mode=0))  # fmt: skip
    line.part("torque-speed motor", 0, a, rated_power=750.0, rated_speed=sense * 146.0, synchronous_speed=sense * 157.0,
              breakdown=2.4, limit=1.6, inertia=0.001, ramp=0.3)  # fmt: skip
    line.part("start")
    line.angles[a] = residue
    r = run(line, 0.02, on=False, fast=10.0)
    rated = 750.0 / 146.0
    assert r.at(r.t[np.searchsorted(r.t, 0.003)], r.speed(a)) * sense > 0.0
    early = r.t < 0.01
    assert r.speed(a)[early] == pytest.approx(sense * 1.6 * rated * r.t[early] ** 2 / (0.6 * 0.002), rel=1e-6, abs=1e-9)
