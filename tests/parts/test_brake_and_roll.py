"""Brakes that close and open with a delay; a roll that grows while it winds."""

from __future__ import annotations

from math import atan, pi, sqrt, tan

import numpy as np
import pytest
from lines import Line, Run, Start, pull, row_of, run, sheet_of
from scipy.integrate import solve_ivp

from simcore.line.assemble import assemble
from simcore.line.reflect import load_torque
from simcore.parts import brake, winding_roll
from simcore.parts import constant_torque_motor as motor
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar

CLOSED, OPEN = brake.CLOSED, brake.OPEN_


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(("use", "event"), [("holding", "power off"), ("service", "emergency stop"),
                                            ("both", "power off"), ("both", "emergency stop")])  # fmt: skip
def test_brake_closes_after_its_delay(sense, use, event):
    """Free until then, then w/(T/J) to rest; all moving energy is heat there.  Constant deceleration, textbook."""
    line = Line()
    n = line.mass(2.5, sense * 20.0)
    b = line.part("brake", n, torque=75.0, apply_time=0.12, use=use)
    line.part(event, **({"delay": 0.0} if event == "emergency stop" else {}))
    r = run(line, 1.0)
    assert r.events(b, CLOSED) == pytest.approx([0.12], rel=1e-12)
    assert r.events(2 + n) == pytest.approx([0.786666667], rel=1e-9)
    assert r.angle(n)[-1] == pytest.approx(sense * 9.06666667, rel=1e-9)
    assert r.heat(b)[-1] == pytest.approx(500.0, rel=1e-12)
    assert r.residual < 1e-12


@pytest.mark.parametrize(("use", "event"), [("service", "power off"), ("holding", "clear")])
def test_brake_stays_open_for_what_is_not_its_command(use, event):
    line = Line()
    n = line.mass(2.5, 20.0)
    b = line.part("brake", n, torque=75.0, use=use)
    line.part(event)
    r = run(line, 0.5)
    assert not r.events(b)
    assert r.speed(n)[-1] == 20.0


@pytest.mark.parametrize(("torque", "moves"), [(79.0, False), (81.0, True)])
def test_brake_holds_exactly_at_standstill(torque, moves):
    """Up to its holding torque of 80 N*m; past it the sliding torque of 60 N*m drags.  Coulomb friction, textbook."""
    line = Line()
    n = line.mass(2.5)
    pull(line, n, torque)
    b = line.part("brake", n, torque=60.0, holding_torque=80.0, start=Start(mode=CLOSED), use="service")
    line.part("emergency stop", delay=10.0)
    line.starts[b].memory = {0: 100.0}
    line.starts[b].mode = brake.OPENING
    r = run(line, 0.4, fast=1.0)
    want = 0.5 * (torque - 60.0) / 2.5 * 0.4**2 if moves else 0.0
    assert r.angle(n)[-1] == pytest.approx(want, rel=1e-9)
    assert r.heat(b)[-1] == pytest.approx(60.0 * want, rel=1e-9)


def test_holding_brake_opens_after_a_start():
    """The motor pulls against it for the release time, then the line runs up.  Constant acceleration, textbook."""
    line = Line()
    n = line.mass(2.5)
    line.part("constant-torque motor", 0, n, torque=50.0, speed=1e6, inertia=1.0, start=Start(mode=motor.OFF))
    b = line.part("brake", n, torque=60.0, release_time=0.08, start=Start(mode=CLOSED))
    line.part("start")
    r = run(line, 0.5, fast=5.0, on=False)
    assert r.events(b, OPEN) == pytest.approx([0.08], rel=1e-12)
    assert r.speed(n)[-1] == pytest.approx(50.0 / 2.5 * 0.42, rel=1e-9)
    assert r.heat(b)[-1] == 0.0


@pytest.mark.parametrize(("off_for", "closes"), [(0.049, False), (0.051, True)])
def test_short_loss_of_power_does_not_close_it(off_for, closes):
    """Both sides of the apply time of 50 ms."""
    line = Line()
    n = line.mass(2.5, 20.0)
    b = line.part("brake", n, torque=60.0)
    line.part("power off")
    line.part("restart", when=off_for)
    r = run(line, 0.3)
    assert bool(r.events(b, CLOSED)) == closes
    assert r.mode(b)[-1] == OPEN


def test_what_a_brake_starts_with():
    """At rest before a start a holding brake is closed and the drive has to wait for it; a service brake is open."""
    held, free = row_of("brake", torque=60.0), row_of("brake", torque=60.0, use="service")
    assert brake.start_mode(held, 0.0) == CLOSED
    assert brake.start_mode(held, 1.0) == brake.start_mode(free, 0.0) == OPEN
    assert (held[brake.KIND.column("breakaway")], free[brake.KIND.column("breakaway")]) == (60.0, 0.0)


CORE, THICK, GRAM, WIDTH, OWN = 0.05, 1e-3, 0.6, 0.8, 0.06
G, FACE = THICK / (2.0 * pi), GRAM * WIDTH / THICK
WEB = {"core_diameter": 2 * CORE, "thickness": THICK, "grammage": GRAM, "width": WIDTH, "core_inertia": OWN}


def inertia(r: float) -> float:
    """Hollow cylinder on its core, textbook."""
    return OWN + 0.5 * pi * FACE * (r**4 - CORE**4)


def roll(sense: float = 1.0, speed: float = 12.0, start: float = CORE, **more: float) -> tuple[Line, int, int]:
    line = Line()
    n = line.mass(inertia(start), sense * speed)
    return line, n, line.part("winding roll", n, **(WEB | {"start_diameter": 2 * start} | more))


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_wind_from_core_to_full(sense):
    """Constant drive torque, tapered tension: J*w' = T - F*r and w*dt = dtheta alone, by solve_ivp; energy closes with
    T*theta = change of J*w^2/2 + work on the web - what the web brings."""
    drive, pull_0, taper, full, w0 = 45.0, 300.0, 0.4, 0.2, 12.0

    def web_torque(r: float) -> float:
        return pull_0 * (1.0 - taper * (1.0 - CORE / r)) * r

    def f(t: float, y: np.ndarray) -> list[float]:
        w, r = y[0], CORE + G * y[1]
        arriving = FACE * 2.0 * pi * r * G * w  # kg/s
        return [(drive - web_torque(r)) / inertia(r), w, web_torque(r) * w, 0.5 * arriving * (w * r) ** 2]

    def is_full(t: float, y: np.ndarray) -> float:
        return full - CORE - G * y[1]

    is_full.terminal = True
    o = solve_ivp(f, (0.0, 100.0), [w0, 0.0, 0.0, 0.0], rtol=1e-11, atol=1e-11, method="DOP853", events=is_full)
    line, n, e = roll(sense, w0, tension=pull_0, taper=taper, full_diameter=2 * full)
    pull(line, n, sense * drive)
    r = run(line, o.t[-1] + 0.1, rtol=1e-9)
    assert r.events(e, winding_roll.NO_WEB) == pytest.approx([o.t[-1]], abs=1e-6)
    at = r.events(e)[0]
    w, work, brought = o.y[0, -1], o.y[2, -1], o.y[3, -1]
    assert r.at(at, r.speed(n)) == pytest.approx(sense * w, rel=1e-8)
    assert r.at(at, r.heat(e)) == pytest.approx(work - brought, rel=1e-8)
    assert brought > 0.2 * work
    theta = (full - CORE) / G
    kinetic = 0.5 * inertia(full) * w**2 - 0.5 * inertia(CORE) * w0**2
    assert drive * theta == pytest.approx(kinetic + r.at(at, r.heat(e)), rel=1e-7)
    assert r.residual < 1e-6
    assert r.speed(n)[-1] == pytest.approx(sense * (w + drive / inertia(full) * 0.1), rel=1e-6), (
        "cut: no drag, no growth"
    )


def test_arriving_web_without_tension_leaves_the_speed():
    """It comes at the speed of the surface: momentum and energy grow, the speed stays.  Angular momentum, textbook."""
    line, n, e = roll(tension=0.0)
    r = run(line, 20.0, rtol=1e-9)
    assert r.speed(n)[-1] == pytest.approx(12.0, rel=1e-12)
    grown = 0.5 * (inertia(CORE + G * 240.0) - inertia(CORE)) * 144.0
    assert -r.heat(e)[-1] == pytest.approx(grown, rel=1e-9)
    assert r.residual < 1e-9


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_roll_coasts_to_rest_under_tension(sense):
    """w^2/2 = F/g * integral r/(a + b*r^4) dr, an arc tangent of r^2; then the web holds it.  Closed form."""
    line, n, _ = roll(sense, tension=50.0)
    r = run(line, 5.0)
    b = 0.5 * pi * FACE
    a = OWN - b * CORE**4
    last = sqrt(tan(144.0 * G / 50.0 * sqrt(a * b) + atan(CORE**2 * sqrt(b / a))) * sqrt(a / b))
    assert r.angle(n)[-1] == pytest.approx(sense * (last - CORE) / G, rel=1e-8)
    assert r.speed(n)[-1] == 0.0
    assert r.residual < 1e-9


def test_web_hangs_slack_when_turned_back():
    """A stop throws the roll back: no tension until the same angle is wound again, then the tension is back."""
    for sense in (1.0, -1.0):
        line, n, e = roll(sense, 4.0, tension=200.0)
        line.part("soft stop", n, stiffness=1e4, restitution=1.0, effective_mass=OWN, lasts=0.1)
        pull(line, n, sense * 4.0)
        r = run(line, 0.6, rtol=1e-9)
        slack, taut = r.events(e)[:2]
        place = r.at(slack, r.angle(n))
        assert r.at(taut, r.angle(n)) == pytest.approx(place, rel=1e-7)
        mid = (r.t > slack + 1e-9) & (r.t < taut - 1e-9)
        assert np.ptp(r.heat(e)[mid]) == pytest.approx(0.0, abs=1e-12)
        assert r.heat(e)[-1] > r.at(taut, r.heat(e))
        assert r.residual < 1e-8


def test_web_breaks():
    """At 0.5 s the tension is gone: speed constant from then on, the roll keeps its inertia."""
    line, n, e = roll(tension=20.0, breaks_at=0.5)
    r = run(line, 2.0, rtol=1e-9)
    assert r.events(e) == [0.5]
    assert r.speed(n)[-1] == pytest.approx(r.at(0.5, r.speed(n)), rel=1e-12)
    assert r.speed(n)[-1] < 12.0
    assert r.residual < 1e-9


def test_one_roll_stated_two_ways():
    """By grammage and width, by mass and diameter of the full roll; length = face area over thickness.  Geometry."""
    full = 0.3
    mass = FACE * pi * (0.15**2 - CORE**2)
    by_mass = {"core_diameter": 2 * CORE, "thickness": THICK, "core_inertia": OWN, "web_mass": mass}
    one = sheet_of("winding roll", tension=100.0, full_diameter=full, **WEB)
    other = sheet_of("winding roll", tension=100.0, full_diameter=full, **by_mass)
    assert other == pytest.approx(one, rel=1e-12)
    assert one["web on the full roll"] * GRAM * WIDTH == pytest.approx(mass, rel=1e-12)
    assert one["web inertia when full"] == pytest.approx(0.5 * mass * (0.15**2 + CORE**2), rel=1e-12)
    assert one["torque when full"] == pytest.approx(15.0, rel=1e-12)
    tapered = sheet_of("winding roll", tension=100.0, full_diameter=full, taper=1.0, **WEB)
    assert tapered["torque when full"] == pytest.approx(5.0, rel=1e-12)


LINE = """
title = "Winder in a paper store"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "60 N*m"
speed = "{speed} rad/s"
inertia = "0.05 kg*m^2"
[[line]]
name = "brake"
part = "brake"
torque = "90 N*m"
apply_time = "40 ms"
inertia = "0.004 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "6000 N*m/rad"
allowable = "400 N*m"
[[line]]
name = "roll"
part = "winding roll"
tension = "150 N"
core_diameter = "100 mm"
start_diameter = "400 mm"
thickness = "0.2 mm"
grammage = "160 g/m^2"
width = "0.5 m"
core_inertia = "0.05 kg*m^2"
[situations."cut"]
event = "{event}"
{more}
horizon = "{horizon}"
"""
WEDGED = 'resistance = "300 N*m"\ndepth = "5 mrad"'
EVENTS = [
    ("power off", "", "1.5 s"),
    ("wedge", WEDGED, "0.2 s"),
    ("soft stop", 'stiffness = "40 kN*m/rad"\neffective_mass = "0.6 kg*m^2"', "0.2 s"),
    ("crushed product", 'plateau = "200 N*m"\nstiffness = "20 kN*m/rad"', "0.2 s"),
    ("foreign body", 'drag = "200 N*m"\nstays_over = "0.2 rad"', "0.2 s"),
]


@pytest.mark.parametrize(("event", "more", "horizon"), EVENTS, ids=[e[0] for e in EVENTS])
def test_from_a_scenario(event, more, horizon):
    """Read, assembled, brought to steady running, run both ways: 30 N*m of web torque wind the shaft up, the ledger
    closes, the mirrored line does the same."""
    runs = []
    for speed in (12, -12):
        s = read_text(LINE.format(speed=speed, event=event, more=more, horizon=horizon))
        a = assemble(s, None, s.situations["cut"], rtol=1e-7).with_setup(t0=0.0)
        r = Run(a)
        assert r.status == ar.Status.DONE
        shaft, roll_ = a.index("shaft"), a.index("roll")
        assert load_torque(a, shaft) == pytest.approx((30.0, 30.0))
        assert abs(r.torque(shaft)[0]) == pytest.approx(30.0, rel=1e-3)
        assert r.residual < 1e-6
        assert r.events(len(a.names) - 1)
        assert {int(a.mode0[roll_])} == {winding_roll.FORWARD if speed > 0 else winding_roll.BACKWARD}
        runs.append(r)
    assert runs[1].peak(a.index("shaft")) == pytest.approx(runs[0].peak(a.index("shaft")), rel=1e-9)
    if event == "power off":
        assert runs[0].events(a.index("brake"), CLOSED) == pytest.approx([0.04], abs=1e-12)
        assert abs(runs[0].speed(a.graph.elements[a.index("brake")].a)[-1]) < 1e-9
