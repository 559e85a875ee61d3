"""Ball detents and shear pins against statics and energy.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import pi, radians

import pytest
from lines import Line, Start, row_of, run, sheet_of

from simcore.parts import ball_detent as bd

SIX_BALLS = {"balls": 6, "ball_force": 320.0, "pitch_radius": 0.045, "flank_angle": radians(50.0),
             "spring": "coil", "crest_torque": 1.0}  # fmt: skip


@pytest.mark.parametrize(
    ("friction", "climb"), [(0.08, 121.459493), (0.0, 102.96751), (0.06, 116.480472), (0.12, 132.248413)]
)
def test_torque_to_climb_out(friction, climb):
    """n*F*R*tan(alpha + rho).  Niemann and Winter, Maschinenelemente 1 (cited from memory)."""
    assert sheet_of("ball detent", friction=friction, **SIX_BALLS)["setting"] == pytest.approx(climb, rel=1e-8)


def test_torque_returned_while_seating():
    """n*F*R*tan(alpha - rho).  Niemann and Winter, Maschinenelemente 1 (cited from memory)."""
    s = sheet_of("ball detent", friction=0.08, **SIX_BALLS)
    assert s["torque returned while sliding home"] == pytest.approx(87.6946749, rel=1e-8)


def on_the_flank(line: Line, node: int, mode: int, row: dict[str, float], **raw: float | str) -> int:
    """A detent at the foot of its flank, wound up to the torque there, so that nothing is left to seat."""
    e = line.part("ball detent", node, 0, start=Start(mode=mode, row=row), **raw)
    r = row_of("ball detent", **raw)
    line.angles[node] = r[bd.T1] / r[bd.K]
    return e


def falling_detent(speed: float, stiffness: float = 4e4) -> tuple[Line, int, int]:
    line = Line()
    n = line.mass(0.5, speed)
    e = on_the_flank(line, n, bd.FALL_F, {"t2": 0.0}, setting=180.0, release_twist=radians(6.0), residual=0.0,
                     stiffness=stiffness, friction=0.0)  # fmt: skip
    return line, n, e


def test_falling_detent_takes_its_area():
    """180 N*m falling to nothing over 6 degrees: area 9.42477796 J off the kinetic energy.  Closed form."""
    line, n, e = falling_detent(7.0)
    r = run(line, 0.1)
    out = r.events(e, bd.OUT_F)[0]
    assert r.at(out, r.speed(n)) == pytest.approx(3.36167937, rel=1e-8)
    assert r.speed(n)[-1] == pytest.approx(3.36167937, rel=1e-8)
    taken = 0.25 * (49.0 - r.speed(n)[-1] ** 2)
    assert taken == pytest.approx(9.42477796, rel=1e-8)


@pytest.mark.parametrize(("share", "passes"), [(1 - 1e-7, False), (1 + 1e-7, True)])
def test_speed_that_just_passes(share, passes):
    """sqrt(2*area/J) = 6.13996025 rad/s.  Closed form, for a rigid seat."""
    line, _, e = falling_detent(6.13996025 * share, 4e9)
    r = run(line, 0.2)
    assert bool(r.events(e, bd.OUT_F)) is passes


def test_climb_at_constant_force():
    """Straight ramps 4 degrees long: torque times twist, 8.47947227 J a climb.  Closed form."""
    line = Line()
    n = line.mass(0.05, 30.0)
    raw = SIX_BALLS | {"friction": 0.08, "release_twist": radians(4.0), "residual": 0.0, "stiffness": 4e4}
    e = on_the_flank(line, n, bd.CLIMB_F, {}, **raw)
    r = run(line, 0.01)
    assert r.events(e, bd.OUT_F)
    assert 0.025 * (900.0 - r.speed(n)[-1] ** 2) == pytest.approx(8.47947227, rel=1e-8)


def out_of_the_pocket(line: Line, node: int, **row: float) -> int:
    """A released detent on its way to the pocket at 60 degrees."""
    start = Start(mode=bd.OUT_F, memory={bd.NEXT_F: radians(60.0)}, row=row)
    return line.part("ball detent", node, 0, setting=100.0, pockets_every=radians(60.0), residual=0.0,
                     after_release="ratchets", start=start)  # fmt: skip


def test_next_pocket_at_a_crawl():
    """50 degrees at 0.4 rad/s.  Closed form."""
    line = Line()
    e = out_of_the_pocket(line, line.lead(0.4, radians(10.0)))
    assert run(line, 2.5).events(e, bd.SEATED)[0] == pytest.approx(2.18166156, rel=1e-8)


def test_seats_when_slow_enough():
    """30 rad/s falling at 40 rad/s^2, pockets every 60 degrees, seats below 12 rad/s.  Closed form."""
    line = Line()
    n = line.mass(1.0, 30.0)
    e = out_of_the_pocket(line, n, drag=40.0, seat_speed=12.0)
    r = run(line, 0.56)
    met = r.events(e)
    assert r.at(met[8], r.speed(n)) == pytest.approx(12.083781, rel=1e-8)
    assert r.events(e, bd.SEATED) == [met[9]]
    assert met[9] == pytest.approx(0.552766067, rel=1e-8)
    assert r.at(met[9], r.speed(n)) == pytest.approx(7.88935733, rel=1e-8)


def test_passes_pockets_until_it_stands():
    """w^2/(2*a) = 11.25 rad, ten pockets of 60 degrees on the way.  Closed form."""
    line = Line()
    n = line.mass(1.0, 30.0)
    e = out_of_the_pocket(line, n, drag=40.0, seat_speed=0.0)
    r = run(line, 0.8)
    stop = r.events(e, bd.OUT_HELD)[0]
    assert stop == pytest.approx(0.75, rel=1e-8)
    assert r.at(stop, r.angle(n)) == pytest.approx(11.25, rel=1e-8)
    assert len(r.events(e, bd.OUT_F)) == 10


def pins_twisted(plastic: float) -> tuple[Line, int]:
    line = Line()
    a = line.lead(0.8)
    return line, line.part("shear pins", a, 0, setting=420.0, stiffness=30e3, clearance=0.0,
                           twist_to_fracture=plastic)  # fmt: skip


def test_brittle_pins():
    """420 N*m on 30 kN*m/rad twisted at 0.8 rad/s: 17.5 ms, T^2/(2*k) = 2.94 J lost.  Closed form."""
    line, e = pins_twisted(0.0)
    r = run(line, 0.03)
    assert r.events(e, 9)[0] == pytest.approx(17.5e-3, rel=1e-8)
    assert r.heat(e)[-1] == pytest.approx(2.94, rel=1e-8)
    assert r.peak(e) == pytest.approx(420.0, rel=1e-8)
    assert r.torque(e)[-1] == 0.0


def test_plastic_pins():
    """Yield at 0.014 rad, fracture at 0.03 rad, 9.66 J.  Closed form (elastic, perfectly plastic)."""
    line, e = pins_twisted(0.016)
    r = run(line, 0.05)
    assert 0.8 * r.events(e, 7)[0] == pytest.approx(0.014, rel=1e-8)
    assert 0.8 * r.events(e, 9)[0] == pytest.approx(0.03, rel=1e-8)
    assert r.heat(e)[-1] == pytest.approx(9.66, rel=1e-8)


@pytest.mark.parametrize(
    ("pins", "d", "strength", "radius", "sections", "torque"),
    [(2, 5e-3, 360e6, 0.060, 1, 848.230016), (3, 8e-3, 320e6, 0.075, 2, 7238.22947)],
)
def test_pins_by_geometry(pins, d, strength, radius, sections, torque):
    """n*z*tau*pi*d^2/4*R.  Shigley: round section in shear."""
    s = sheet_of("shear pins", pins=pins, pin_diameter=d, shear_strength=strength, radius=radius, sections=sections)
    assert s["setting"] == pytest.approx(torque, rel=1e-8)
    assert s["setting"] == pytest.approx(pins * sections * strength * pi * d * d / 4 * radius, rel=1e-12)
