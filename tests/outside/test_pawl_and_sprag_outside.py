"""Pawls and tipping sprags against statics, Hertz contact and energy.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import atan, cos, exp, gamma, log, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from lines import REGISTRY, Line, Start, raw_of, row_of, run, sheet_of

from simcore.parts import notched_wheel_pawl as pw
from simcore.parts import tipping_sprag as ts

NOTCH = {"wheel_radius": 0.08, "lever_ratio": 90.0 / 40.0, "flank_angle": radians(55.0), "friction": 0.1}
AIR = {"loading": "pneumatic", "piston_area": 0.25 * pi * 0.04**2, "reference_pressure": 4e5, "pressure_offset": 0.0}


def test_pawl_by_spring():
    """600 N on an arm of 90 mm, nose at 40 mm, flank 55 degrees, friction 0.1, wheel radius 80 mm.  Lever and
    inclined flank; Niemann and Winter, Maschinenelemente 1 (cited from memory)."""
    assert sheet_of("notched-wheel pawl", spring_force=600.0, **NOTCH)["setting"] == pytest.approx(192.537138, rel=1e-8)


def test_pawl_by_air():
    """The same by a piston of 40 mm at 4 bar above the atmosphere, 502.654825 N.  Closed form."""
    s = sheet_of("notched-wheel pawl", **NOTCH, **AIR)
    assert s["setting"] == pytest.approx(161.299535, rel=1e-8)


@pytest.mark.parametrize("bar", [1.0, 2.5, 6.0])
def test_torque_follows_pressure_above_an_offset(bar):
    """Proportional to pressure less 0.3 bar.  Common practice, from memory; no source."""
    raw = NOTCH | AIR | {"pressure_offset": 0.3e5}
    s = sheet_of("notched-wheel pawl", **(raw | {"reference_pressure": bar * 1e5}))["setting"]
    assert s == pytest.approx(161.299535 * (bar - 0.3) / 4.0, rel=1e-8)
    line = Line()
    e = line.part("notched-wheel pawl", line.lead(1e-3), 0, pressure=bar * 1e5, **raw)
    assert run(line, 300.0, fast=1e-3, h_max=0.2).peak(e) == pytest.approx(s, rel=1e-6)


def test_flank_out_and_in_from_the_direction_of_travel():
    """Equilibrium of the nose on a flank, forces in components: N radial, T/R tangential, friction against the
    motion.  Written with sines and cosines, not with the friction angle; textbook statics."""
    a, mu, push = NOTCH["flank_angle"], 0.1, 600.0 * 2.25
    s = sheet_of("notched-wheel pawl", spring_force=600.0, **NOTCH)
    out = push * 0.08 * (sin(a) + mu * cos(a)) / (cos(a) - mu * sin(a))
    home = push * 0.08 * (sin(a) - mu * cos(a)) / (cos(a) + mu * sin(a))
    assert s["setting"] == pytest.approx(out, rel=1e-12)
    assert s["torque returned while sliding home"] == pytest.approx(home, rel=1e-12)


def climbing_pawl(speed: float, stiffness: float) -> tuple[Line, int, int]:
    """A pawl at the foot of its flank, without friction, wound up to its setting of 180 N*m."""
    raw = {"setting": 180.0, "release_twist": radians(6.0), "dead_centre_torque": 0.0, "residual": 0.0,
           "stiffness": stiffness, "friction": 0.0}  # fmt: skip
    line = Line()
    n = line.mass(0.5, speed, 180.0 / stiffness)
    return line, n, line.part("notched-wheel pawl", n, 0, start=Start(mode=pw.CLIMB_F), **raw)


def test_falling_pawl_takes_its_area():
    """180 N*m falling to nothing over 6 degrees: 9.42477796 J off the kinetic energy.  Closed form."""
    line, n, e = climbing_pawl(7.0, 4e4)
    r = run(line, 0.1)
    assert len(r.events(e, pw.OUT)) == 1
    assert 0.25 * (49.0 - r.speed(n)[-1] ** 2) == pytest.approx(9.42477796, rel=1e-8)


@pytest.mark.parametrize(("share", "passes"), [(1 - 1e-7, False), (1 + 1e-7, True)])
def test_speed_that_just_passes_dead_centre(share, passes):
    """sqrt(2*area/J) = 6.13996025 rad/s.  Closed form, for a rigid seat."""
    line, _, e = climbing_pawl(6.13996025 * share, 4e9)
    r = run(line, 0.2)
    assert any(m >= pw.OUT for m in r.mode(e)) is passes


def test_friction_on_the_flank_is_heat():
    """Of a climb at constant torque the share 1 - tan(alpha)/tan(alpha + rho) is friction; the rest is in the
    air until the pawl is out, then heat too.  Closed form."""
    line = Line()
    n = line.mass(0.5, 12.0, 150.0 / 4e4)
    raw = {"setting": 150.0, "loading": "pneumatic", "stiffness": 4e4, "residual": 0.0, "friction": 0.1}
    e = line.part("notched-wheel pawl", n, 0, start=Start(mode=pw.CLIMB_F), **raw)
    r = run(line, 0.05)
    let_go = r.events(e, pw.OUT)[0]
    before = r.heat(e)[np.flatnonzero(r.mode(e) == pw.CLIMB_F)[-1]]
    climb = 150.0 * radians(8.0)
    assert before == pytest.approx(climb * (1.0 - tan(radians(55.0)) / tan(radians(55.0) + atan(0.1))), rel=1e-8)
    assert r.at(let_go, r.heat(e)) == pytest.approx(climb + 0.5 * 150.0**2 / 4e4, rel=1e-8)


@pytest.mark.parametrize("load", [120.0, 60.0, 10.0, 0.0])
def test_vented_pawl_lets_go_at_whatever_torque_is_there(load):
    """Pressure falls as 4 bar * exp(-t/tau): torque 150 N*m * (p - 0.3)/3.7 meets the load at
    tau*ln(4/(0.3 + 3.7*load/150)).  First-order lag, closed form."""
    line = Line()
    n = line.mass(2.0, 0.0, load / 4e4)
    raw = {"setting": 150.0, "loading": "pneumatic", "stiffness": 4e4, "vent_time_constant": 0.03,
           "pressure_times": (0.02, 0.02), "pressures": (4e5, 0.0)}  # fmt: skip
    e = line.part("notched-wheel pawl", n, 0, **raw)
    if load:
        line.part("constant-torque motor", 0, n, start=Start(mode=2), torque=load, speed=1e9, inertia=1.0)
    r = run(line, 0.3, fast=1.0)
    leaves = next(t for t, m in zip(r.t, r.mode(e), strict=True) if m)
    share = max(load / 150.0, pw.VENTED)
    assert leaves == pytest.approx(0.02 + 0.03 * log(4.0 / (0.3 + 3.7 * share)), abs=1e-9)
    assert r.mode(e)[-1] >= pw.OUT
    at = int(np.searchsorted(r.t, 0.1))
    assert r.state(e, pw.PRESSURE)[at] == pytest.approx(4e5 * exp(-(r.t[at] - 0.02) / 0.03), rel=1e-8)


def test_pressure_follows_a_ramp():
    """Behind a ramp of rate g the lag answers p0 + g*(t - tau*(1 - exp(-t/tau))).  Closed form."""
    line = Line()
    raw = {"setting": 150.0, "loading": "pneumatic", "vent_time_constant": 0.04}
    e = line.part("notched-wheel pawl", line.lead(0.0), 0, pressure_times=(0.1, 0.3), pressures=(2e5, 6e5), **raw)
    r = run(line, 0.3, fast=1.0)
    assert r.state(e, pw.PRESSURE)[0] == pytest.approx(2e5)
    assert r.state(e, pw.PRESSURE)[-1] == pytest.approx(2e5 + 2e6 * (0.2 - 0.04 * (1.0 - exp(-5.0))), rel=1e-8)


SPRAGS = {"sprags": 18, "inner_radius": 0.03, "strut_angle": radians(3.0), "contact_length": 0.012,
          "cam_radius": 0.005}  # fmt: skip


def test_contact_pressure_of_a_sprag():
    """400 N*m on 18 sprags: 740.740741 N along and 14134.1753 N into the race of 30 mm, cam radius 5 mm, steel.
    Line contact; Johnson, Contact Mechanics (cited from memory)."""
    s = sheet_of("tipping sprag", setting=400.0, **SPRAGS)
    assert s["contact pressure at the setting"] == pytest.approx(3146.70468e6, rel=1e-8)
    assert s["half width of the contact"] == pytest.approx(238.294141e-6, rel=1e-8)


@pytest.mark.parametrize(
    ("friction", "wedges"), [(0.0524077793 * (1 + 1e-6), True), (0.0524077793 * (1 - 1e-6), False)]
)
def test_friction_that_a_strut_angle_needs(friction, wedges):
    """tan(3 degrees) = 0.0524077793.  Textbook of overrunning clutches."""
    kind = REGISTRY["tipping sprag"]
    raw = raw_of(kind, setting=100.0, strut_angle=radians(3.0), friction=friction)
    assert (ts.refuse(kind.raw_lists(raw)) == []) is wedges


def test_wind_up_of_line_contacts():
    """Palmgren's 3.84e-5 mm * (F/N)^0.9/(L/mm)^0.8 for steel, twice, over the arm of the strut; Harris, Rolling
    Bearing Analysis (cited from memory; the constant has three figures)."""
    s = sheet_of("tipping sprag", setting=400.0, **SPRAGS)
    arm = 30.0 * sin(radians(3.0))
    force = 400.0e3 / 18 / arm
    assert s["twist at the setting"] == pytest.approx(2 * 3.84e-5 * force**0.9 / 12.0**0.8 / arm, rel=3e-3)
    assert s["exponent of the wind-up"] == pytest.approx(1 / 0.9, rel=1e-12)


def test_geometry_of_a_strut():
    """By coordinates: both contacts, speeds of a rigid body that follows the races there, force along the line.
    Plane kinematics, textbook."""
    ri, ro, eps = 0.03, 0.0383, radians(3.0)
    a = np.array([0.0, ri])
    along = np.array([sin(eps), cos(eps)])
    reach = -a @ along + sqrt((a @ along) ** 2 + ro**2 - ri**2)
    b = a + reach * along
    assert np.hypot(*b) == pytest.approx(ro, rel=1e-12)
    phi = 1e-3
    moved = phi * np.array([-a[1], a[0]])  # inner race turns, outer stands
    arm = abs(a[0] * along[1] - a[1] * along[0])
    closing = abs(moved @ along) / phi
    turning = abs(moved[0] * along[1] - moved[1] * along[0]) / reach
    assert closing == pytest.approx(arm, rel=1e-12)
    s = sheet_of("tipping sprag", outer_radius=ro, cam_angle=radians(12.0), **SPRAGS)
    assert s["twist at the setting"] == pytest.approx(radians(12.0) * phi / turning, rel=1e-10)
    force = (arm * s["twist at the setting"] / (2 * 3.81 * (2 * 0.91 / (pi * 206e9)) ** 0.9) * 0.012**0.8) ** (1 / 0.9)
    assert s["setting"] == pytest.approx(18 * force * arm, rel=1e-9)


def swinging(speed: float, exponent: float) -> tuple[Line, int, int]:
    line = Line()
    n = line.mass(0.5, speed)
    return (
        line,
        n,
        line.part("tipping sprag", n, 0, setting=180.0, twist_at_setting=0.08, exponent=exponent, residual=0),
    )


@pytest.mark.parametrize("exponent", [1.0, 10 / 9, 1.5])
@pytest.mark.parametrize(("share", "tips"), [(1 - 1e-7, False), (1 + 1e-7, True)])
def test_energy_that_just_tips(exponent, share, tips):
    """S*twist/(n + 1) against J*w^2/2: closed form.  Tipped, all of it is heat."""
    work = 180.0 * 0.08 / (exponent + 1.0)
    line, _, e = swinging(share * sqrt(4.0 * work), exponent)
    r = run(line, 0.2)
    assert bool(r.mode(e)[-1] != ts.WEDGED) is tips
    if tips:
        assert r.heat(e)[-1] == pytest.approx(work, rel=1e-8)


@pytest.mark.parametrize("exponent", [1.0, 10 / 9, 1.5])
def test_time_to_turn_on_a_hardening_spring(exponent):
    """Quarter period A/w*sqrt(pi)*G(1 + 1/m)/G(1/2 + 1/m) on a potential ~ phi^m, m = n + 1.  Landau and Lifshitz,
    Mechanics: motion in one dimension (cited from memory)."""
    m = exponent + 1.0
    line, n, _ = swinging(3.0, exponent)
    r = run(line, 0.2)
    peak = 0.08 * (0.25 * 9.0 * m / (180.0 * 0.08)) ** (1.0 / m)
    quarter = peak / 3.0 * sqrt(pi) * gamma(1 + 1 / m) / gamma(0.5 + 1 / m)
    turns = r.turning(n)
    assert turns[0][1] == pytest.approx(peak, rel=1e-6)
    assert [t for t, _ in turns[:3]] == pytest.approx([quarter, 3 * quarter, 5 * quarter], rel=1e-6)


def test_row_of_point_contact():
    """Hertz: force of a point contact grows with the power 3/2 of the approach.  Johnson (cited from memory)."""
    p = row_of("tipping sprag", setting=150.0, twist_at_setting=0.07)
    assert p[ts.EXPONENT] == 1.5
    line = Line()
    e = line.part("tipping sprag", line.lead(0.01), 0, setting=150.0, twist_at_setting=0.07)
    r = run(line, 3.5, fast=0.01)
    assert r.torque(e)[-1] == pytest.approx(150.0 * 0.5**1.5, rel=1e-9)
