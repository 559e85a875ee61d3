"""Gears, belts and chains against closed forms, handbook values and a plain scipy solution."""

from __future__ import annotations

from math import cos, exp, log, pi, radians, sin, sqrt

import numpy as np
import pytest
from lines import SLIDES, STUCK, Line, Start, pull, run, sheet_of
from scipy.integrate import solve_ivp

from simcore.parts import _contact as ct

K = 9000.0
WORM = {"ratio": 40.0, "rated_torque": 100.0, "friction": 0.08}


def held_gear(motor: float, load: float, kind: str = "gear", **raw: float):
    """A gear at rest against a held output, wound up to ``load``; the motor holds with ``motor``."""
    line = Line()
    i = raw["ratio"]
    n = line.mass(0.01, angle=load / K * i)
    raw = {"lash": 0.0} | raw
    e = line.part(kind, n, 0, ra=1.0 / i, stiffness=K, start=Start(mode=ct.TIGHT_F), **raw)
    pull(line, n, motor)
    r = run(line, 0.02, fast=1.0)
    return r.speed(n)[-1], r.torque(e)[-1]


@pytest.mark.parametrize(("motor", "moves"), [
    (12.1428571, -1.0), (12.1428572, 0.0), (15.8730158, 0.0), (15.8730159, 1.0),
])  # fmt: skip
def test_a_gear_stands_still_between_two_motor_torques(motor, moves):
    """14:1, 0.9 forward, 0.85 back, 200 N*m: 0.85*200/14 to 200/(14*0.9) N*m.  Textbook: power balance both ways."""
    speed, torque = held_gear(motor, 200.0, ratio=14.0, efficiency=0.9, efficiency_back=0.85)
    assert np.sign(speed) == moves
    assert torque == pytest.approx(200.0, rel=1e-9 if moves == 0.0 else 1e-3)


@pytest.mark.parametrize(("lead", "motor", "moves"), [(4.0, 1e-9, 0.0), (4.9, 1e-9, -1.0)])
def test_a_worm_holds_without_a_motor_below_its_angle_of_friction(lead, motor, moves):
    """Self-locking, Niemann and Winter, Maschinenelemente 3 (from memory): 4.866 degrees at 0.08."""
    speed, _ = held_gear(motor, 100.0, "worm gear", ratio=40.0, lead_angle=radians(lead), friction=0.08)
    assert np.sign(speed) == moves


def test_worm_efficiencies():
    """Niemann and Winter, Maschinenelemente 3 (from memory): tan g/tan(g + rho'), tan(g - rho')/tan g."""
    flat = sheet_of("worm gear", **WORM, lead_angle=radians(4.0))
    steep = sheet_of("worm gear", **WORM, lead_angle=radians(12.0))
    assert np.degrees(flat["locks by itself below a lead angle of"]) == pytest.approx(4.86609801, rel=1e-8)
    assert flat["efficiency"] == pytest.approx(0.44827849, rel=1e-7)
    assert flat["efficiency when driven"] < 0.0
    assert steep["efficiency"] == pytest.approx(0.701097193, rel=1e-8)
    assert steep["efficiency when driven"] == pytest.approx(0.58881979, rel=1e-8)


@pytest.mark.parametrize("share", [0.95, 1.05])
def test_a_worm_jams_when_the_motor_is_cut(share):
    """Rotor Ja with drag M0 brakes the load Jb through a self-locking mesh.  Closed form, both driven backward:
    u'' = k M0/(i Ja) - k (eta_b/(i^2 Ja) + 1/Jb) u; it swings below -eta_b Jb/i^2 = Ja and grows without end above."""
    i, ja, back, drag = 40.0, 0.002, -0.3, 0.5
    jb = share * ja * i * i / -back
    line = Line()
    a, b = line.mass(ja, 100.0), line.mass(jb, 100.0 / i)
    e = line.part("worm gear", a, b, ra=1.0 / i, ratio=i, stiffness=K, efficiency=0.5, efficiency_back=back, lash=0.0,
                  no_load_torque=drag, start=Start(mode=ct.TIGHT_B))  # fmt: skip
    r = run(line, 0.1)
    grows = -K * (back / (i * i * ja) + 1.0 / jb)
    rate, push = sqrt(abs(grows)), K * drag / (i * ja * abs(grows))
    assert (grows > 0.0) == (share > 1.0)
    shape = np.cosh(rate * r.t) - 1.0 if grows > 0.0 else 1.0 - np.cos(rate * r.t)
    stands = r.speed(a) <= 0.0
    end = int(np.argmax(stands)) if stands.any() else len(r.t)
    assert -r.torque(e)[:end] == pytest.approx(push * shape[:end], rel=1e-7, abs=1e-7)
    assert r.t[end - 1] > 0.05


def test_free_swing_of_a_gear_without_lash():
    """Rotor and load swing about no torque while they turn: half periods pi/sqrt(k(1/(eta_f i^2 Ja) + 1/Jb)) and
    pi/sqrt(k(eta_b/(i^2 Ja) + 1/Jb)) in turn.  Closed form."""
    i, ja, jb, eta = 14.0, 0.004, 0.3, 0.8
    line = Line()
    a, b = line.mass(ja, 300.0), line.mass(jb, 20.0)
    e = line.part("gear", a, b, ra=1.0 / i, ratio=i, stiffness=K, efficiency=eta, efficiency_back=0.6)
    r = run(line, 0.1, rtol=1e-11)
    up = pi / sqrt(K * (1.0 / (eta * i * i * ja) + 1.0 / jb))
    down = pi / sqrt(K * (0.6 / (i * i * ja) + 1.0 / jb))
    instants = np.array(r.events(e))
    wanted = np.cumsum([up, down] * len(instants))[: len(instants)]
    assert len(instants) > 5
    assert instants == pytest.approx(wanted, rel=1e-9)
    assert r.residual < 1e-8


def test_capstan_limits_a_belt():
    """Euler and Eytelwein, textbook: 600 N, 0.3, 180 degrees pull 2*600*tanh(0.15 pi) = 527.039733 N, 2.5663324 to 1;
    in a groove of 36 degrees as with 0.3/sin 18 degrees.  Reached in slow turning through the kernel."""
    geometry = {"radius_in": 0.05, "radius_out": 0.1, "wrap_angle": pi, "stiffness": 1e5, "pretension": 600.0}
    for kind, mu in (("flat belt", 0.3), ("V-belt", 0.3 / sin(radians(18.0)))):
        s = sheet_of(kind, **geometry)
        tight = 1200.0 * exp(mu * pi) / (1.0 + exp(mu * pi))
        assert s["largest pull"] == pytest.approx(2.0 * tight - 1200.0, rel=1e-12)
        line = Line()
        e = line.part(kind, line.lead(2e-3), 0, ra=0.5, relative_damping=1e-4, **geometry)
        r = run(line, 200.0, w1=60.0, h_max=0.5, fast=1e-3)
        assert r.peak(e) == pytest.approx(0.1 * s["largest pull"], rel=1e-4)
        assert r.mode(e)[-1] == SLIDES
        k = 2.0 * 1e5 * 0.1**2
        assert r.events(e)[0] * 1e-3 == pytest.approx(0.1 * s["largest pull"] / k, rel=1e-6)
    flat = sheet_of("flat belt", **geometry)
    assert flat["largest pull"] == pytest.approx(527.039733, rel=1e-9)
    assert log(flat["pull of the tight over that of the loose strand when it slips"]) == pytest.approx(0.3 * pi)


def test_belt_geometry():
    """Open belt: wrap pi - 2 asin((r2 - r1)/a), strand sqrt(a^2 - (r2 - r1)^2).  Textbook."""
    s = sheet_of("flat belt", radius_in=0.05, radius_out=0.13, centre_distance=0.4, tensile_stiffness=5e4)
    wrap = pi - 2.0 * np.arcsin(0.2)
    assert s["pretension of each strand"] == pytest.approx(300.0)
    assert s["largest pull"] == pytest.approx(600.0 * np.tanh(0.15 * wrap), rel=1e-12)
    assert s["stiffness of one strand"] == pytest.approx(5e4 / sqrt(0.4**2 - 0.08**2), rel=1e-12)


def belt_by_scipy(j1, j2, w1, load, k, top, ratio, c, t_end):
    """Two pulleys, damped spring, slip at ``top``: own equations, dense events.  Slip and stick instants, end state."""
    instants, t, y, slides = [], 0.0, [w1, 0.0, 0.0], False

    def carried(y):
        return k * y[2] + c * (ratio * y[0] - y[1])

    while t < t_end:

        def slope(_, y, slides=slides):
            T = top if slides else carried(y)
            return [-ratio * T / j1, (T - load) / j2, 0.0 if slides else ratio * y[0] - y[1]]

        def event(_, y, slides=slides):
            return ratio * y[0] - y[1] if slides else top - carried(y)

        event.terminal, event.direction = True, -1
        out = solve_ivp(slope, (t, t_end), y, "DOP853", events=event, rtol=1e-11, atol=1e-12)
        t, y = out.t[-1], list(out.y[:, -1])
        if out.status == 1:
            instants.append(t)
            slides = not slides
            y[2] = top / k  # elastic part let go to what the pulley holds, and kept when it sticks
    return instants, y


def test_belt_slips_and_grips_like_an_independent_solution():
    """scipy's DOP853 on equations written here: a driving pulley thrown onto a loaded one at rest.  Undamped, so that
    the belt slides at once wound up to its largest torque."""
    raw = {"radius_in": 0.05, "radius_out": 0.1, "wrap_angle": pi, "stiffness": 1e5, "pretension": 600.0}
    top, k = sheet_of("flat belt", **raw)["capacity"], 2.0 * 1e5 * 0.1**2
    line = Line()
    a, b = line.mass(0.02, 120.0), line.mass(0.15)
    e = line.part("flat belt", a, b, ra=0.5, **raw)
    pull(line, b, -20.0)
    r = run(line, 0.3)
    instants, y = belt_by_scipy(0.02, 0.15, 120.0, 20.0, k, top, 0.5, 0.0, 0.3)
    found = r.events(e)
    assert r.events(e, SLIDES)
    assert r.events(e, STUCK)
    assert len(found) == len(instants)
    assert np.abs(np.array(found) - instants).max() < 1e-6
    assert (r.speed(a)[-1], r.speed(b)[-1]) == pytest.approx((y[0], y[1]), rel=1e-7)


def test_sprocket_sheet():
    """Pitch p/sin(pi/z), ISO 606 (from memory): 19.05 mm, 17 teeth 103.673741 mm; ripple 1 - cos(pi/17)."""
    s = sheet_of("chain drive", pitch=0.01905, teeth_in=17.0, teeth_out=38.0, breaking_load=31e3, strand_length=0.5)
    assert s["pitch diameter of the driving sprocket"] == pytest.approx(0.103673741, rel=1e-8)
    assert s["speed ripple of the driving sprocket"] == pytest.approx(0.0170269003, rel=1e-8)
    assert s["stiffness of the strand"] == pytest.approx(60.0 * 31e3 / 0.5)


def chain_way(theta, z, pitch):
    """Chain laid on by a sprocket, whole links and the rest on the polygon."""
    top = pitch / (2.0 * sin(pi / z))
    n = np.round(theta * z / (2.0 * pi))
    x = theta - 2.0 * pi * n / z
    return n * pitch + top * sin(x), top * cos(x)


def test_polygon_effect_like_an_independent_solution():
    """A 9-tooth sprocket led at 40 rad/s drives an inertia against a load: scipy on equations written here."""
    z1, z2, pitch, k, c, j, load, w = 9, 20, 0.01905, 4e5, 60.0, 0.05, 30.0, 40.0
    mean = pitch * z2 / (2.0 * pi)
    a1, a2 = (-np.arccos(sin(pi / z) / (pi / z)) for z in (z1, z2))
    start = [chain_way(a, z, pitch)[0] for a, z in ((a1, z1), (a2, z2))]

    def slope(t, y):
        g1, r1 = chain_way(a1 + w * t, z1, pitch)
        g2, r2 = chain_way(a2 + y[0], z2, pitch)
        pull = k * (g1 - start[0] - g2 + start[1]) + c * (r1 * w - r2 * y[1])
        return [y[1], (r2 * pull - load) / j]

    y0 = [-load / (k * mean * mean), w * z1 / z2]
    times = np.linspace(0.0, 0.1, 21)
    want = solve_ivp(slope, (0.0, 0.1), y0, "DOP853", t_eval=times, rtol=1e-10, atol=1e-12, max_step=5e-5).y
    line = Line()
    a, b = line.lead(w), line.mass(j, y0[1], y0[0])
    e = line.part("chain drive", a, b, ra=z1 / z2, pitch=pitch, teeth_in=z1, teeth_out=z2, stiffness=k, slack=0.0,
                  start=Start(row={"c": c * mean * mean}))  # fmt: skip
    pull(line, b, -load)
    r = run(line, 0.1, rtol=1e-9)
    links = [v for v in r.out.events if v[1] == e and v[2] == 2]
    assert len(links) == np.round((a1 + w * 0.1) * z1 / (2.0 * pi)) == 5
    assert r.speed(b)[-1] == pytest.approx(want[1][-1], rel=1e-6)
    assert r.angle(b)[-1] == pytest.approx(want[0][-1], rel=1e-7)
    assert np.ptp(want[1]) > 0.02 * y0[1]


def test_round_shaft():
    """Budynas and Nisbett, Shigley's Mechanical Engineering Design: G pi d^4/(32 l), 16 T/(pi d^3)."""
    s = sheet_of("shaft", diameter=0.04, length=0.5, shear_modulus=80e9)
    assert s["stiffness"] == pytest.approx(40212.386, rel=1e-8)
    assert 4.0 * s["nominal shear stress at 100 N*m"] == pytest.approx(31.8309886e6, rel=1e-8)
    hollow = sheet_of("shaft", diameter=0.04, bore=0.02, length=0.5, shear_modulus=80e9)
    assert hollow["stiffness"] == pytest.approx(15.0 / 16.0 * s["stiffness"], rel=1e-12)
