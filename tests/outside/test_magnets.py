"""Magnet couplings: pendulum, equal areas, pole slip.  Kernel runs at 1e-10 unless a line says otherwise."""

from __future__ import annotations

from math import asin, exp, pi, radians

import numpy as np
import pytest
from lines import Line, Run, Start, pull, run, sheet_of
from scipy.optimize import brentq

from simcore.parts import magnet_disc as md
from simcore.solver.arrays import BURNT

P4 = {"setting": 80.0, "pole_pairs": 4}


def free_pair(phi: float = 0.0, nu: float = 0.0) -> tuple[Line, int, int, int]:
    line = Line()
    a, b = line.mass(0.05, nu, phi), line.mass(0.3)
    return line, a, b, line.part("magnet disc", a, b, **P4)


def swing(r: Run, a: int, b: int) -> float:
    """Mean period of the relative motion [s]."""
    z = r.zeros(r.angle(a) - r.angle(b))
    return 2.0 * (z[-1] - z[0]) / (len(z) - 1)


def test_small_swing():
    """sqrt(p*T*(1/J1 + 1/J2))/(2*pi) = 13.7525589 Hz.  Closed form (pendulum)."""
    line, a, b, _ = free_pair(1e-5)
    assert 1.0 / swing(run(line, 0.5, fast=1e-3), a, b) == pytest.approx(13.7525589, rel=1e-8)


def test_wide_swing():
    """15 degrees mechanical, 60 electrical: period 78.0350781 ms.  Closed form (elliptic integral)."""
    line, a, b, _ = free_pair(radians(15.0))
    assert swing(run(line, 0.5, fast=20.0), a, b) == pytest.approx(78.0350781e-3, rel=1e-8)


@pytest.mark.parametrize(("share", "slips"), [(1 - 1e-7, False), (1 + 1e-7, True)])
def test_relative_speed_that_pulls_out(share, slips):
    """2*sqrt(T*(1/J1 + 1/J2)/p) = 43.204938 rad/s at no twist.  Closed form (pendulum going over)."""
    line, _, _, e = free_pair(nu=43.204938 * share)
    assert bool(run(line, 0.3).events(e, md.SLIP_F)) is slips


def test_lag_under_load():
    """asin(0.6)/4 = 9.21747441 degrees, by the steady solver; pull-out at 22.5 degrees.  Closed form."""
    line = Line()
    a, b = line.mass(0.05, 100.0), line.mass(0.3, 100.0)
    line.part("constant-torque motor", 0, a, torque=200.0, speed=100.0, inertia=1.0)
    e = line.part("magnet disc", a, b, **P4)
    line.part("friction load", b, 0, running=48.0)
    r = run(line, 0.1, t0=-0.01, steady=True)
    assert np.degrees(r.angle(a) - r.angle(b)) == pytest.approx(9.21747441, rel=1e-8)
    assert r.torque(e) == pytest.approx(48.0, rel=1e-8)
    assert np.degrees(sheet_of("magnet disc", **P4)["twist at pull-out"]) == pytest.approx(22.5, rel=1e-12)


@pytest.mark.parametrize(("preload", "share"), [(0.0, 0.724611354), (0.3, 0.813833505), (0.5, 0.869647168)])
def test_sudden_load_that_keeps_step(preload, share):
    """Largest sudden load by equal areas.  Kundur, Power System Stability and Control (closed form)."""
    for f, slips in ((1 - 1e-7, False), (1 + 1e-7, True)):
        line = Line()
        n = line.mass(0.05, 0.0, asin(preload) / 4)
        e = line.part("magnet disc", n, 0, **P4)
        pull(line, n, 80.0 * share * f)
        assert bool(run(line, 0.4, fast=20.0).events(e, md.SLIP_F)) is slips


def test_pole_slip_without_inertia():
    """c*phi' + T*sin(p*phi) = 100: a pole every 2*pi/(p*120) s.  Closed form; 1e-7 of the inertia's own time
    constant is left, so 1e-6 is asked."""
    line = Line()
    n = line.mass(1e-6)
    e = line.part("magnet disc", n, 0, start=Start(row={"c": 0.5}), **P4)
    pull(line, n, 100.0)
    poles = run(line, 0.08, fast=360.0, rtol=1e-8).events(e, md.SLIP_F)
    assert np.diff(poles) == pytest.approx(13.0899694e-3, rel=1e-6)


@pytest.mark.parametrize(("beta", "share"), [(0.1, 0.1270089), (0.2, 0.2521282)])
def test_smallest_torque_that_keeps_it_slipping(beta, share):
    """Slipping goes on far below the pull-out torque, at about 4*beta/pi of it: Melnikov; Strogatz, Nonlinear
    Dynamics and Chaos, damped driven pendulum.  Figures by shooting, to their last digit."""
    for m, goes_on in ((share - 2e-7, False), (share + 2e-7, True)):
        line = Line()
        n = line.mass(1.0, 2.5)
        e = line.part("magnet disc", n, 0, setting=1.0, pole_pairs=1, start=Start(row={"c": beta}))
        pull(line, n, m)
        poles = run(line, 900.0, h_max=0.5).events(e, md.SLIP_F)
        assert (poles[-1] > 850.0) is goes_on
    assert share == pytest.approx(4 * beta / pi, rel=0.02)


def test_gap_law():
    """Gap 3 to 5 mm at a pole pitch of 20 mm: factor exp(-pi*dg/tau) = 0.730402691.  Closed form."""
    s = sheet_of("magnet disc", setting=100.0, reference_gap=3e-3, gap=5e-3, pole_pitch=20e-3)
    assert s["setting"] == pytest.approx(73.0402691, rel=1e-8)
    assert s["setting"] == pytest.approx(100.0 * exp(-pi * 0.1), rel=1e-12)


@pytest.mark.parametrize(("gap", "torque"), [(3e-3, 94.2301142), (5e-3, 71.8509297)])
def test_two_magnet_rings_between_iron(gap, torque):
    """1.25 T, 30 to 60 mm, 7 mm thick, cover 0.9, six pole pairs.  Lubin, Mezani and Rezzoug, IEEE Trans.
    Energy Conversion 27, 2012 (cited from memory)."""
    s = sheet_of("magnet disc", remanence=1.25, inner_radius=0.03, outer_radius=0.06, magnet_thickness=7e-3,
                 cover=0.9, pole_pairs=6, gap=gap)  # fmt: skip
    assert s["setting"] == pytest.approx(torque, rel=1e-8)


RING = {"setting": 80.0, "pole_pairs": 6, "outer_radius": 0.06, "inner_radius": 0.03, "wall_thickness": 2e-3,
        "wall_conductivity": 58e6, "wall_field": 0.5}  # fmt: skip
DRAG = 2e-3
"""Drag of a wall over speed [N*m*s/rad] in step, both halves together."""


def walled(**more: float) -> dict[str, float]:
    """Inputs of a coupling with that wall, 100 rad/s at 0.2 N*m."""
    return P4 | {"wall_drag": DRAG * 100.0 / 80.0, "wall_speed": 100.0, **more}


def sheet_by_differences(n: int = 400) -> float:
    """Drag over speed of a wave of field in a wall far wider than the magnets, currents by finite differences.

    Unrolled at the mean radius, one wave along: psi'' - k^2 psi = source inside the magnets' length; amplitudes.
    """
    radius, length, k = 0.045, 0.03, 6 / 0.045
    z = np.linspace(-2.5 * length, 2.5 * length, 5 * n + 1)
    h = z[1] - z[0]
    field = 0.5 * np.where(np.isclose(np.abs(z), 0.5 * length), 0.5, np.abs(z) < 0.5 * length)
    laplace = (np.diag(np.full(len(z) - 1, 1.0), 1) + np.diag(np.full(len(z) - 1, 1.0), -1) - 2 * np.eye(len(z))) / h**2
    psi = np.linalg.solve(laplace - k * k * np.eye(len(z)), -k * radius * field)
    return float(58e6 * 2e-3 * k * h * (psi @ field) * pi * radius * radius)


def test_wall_by_geometry():
    """The wall's drag by its geometry against a field solution.  Factor of the way back: Russell and Norsworthy,
    Proc. IEE 105A, 1958 (cited from memory)."""
    s = sheet_of("magnet disc", **RING)
    assert s["drag of the wall in step over speed"] == pytest.approx(sheet_by_differences(), rel=1e-3)
    kl = 6 * 0.03 / 0.045
    bare = pi * 58e6 * 2e-3 * 0.03 * 0.045**3 * 0.25
    assert s["drag of the wall in step over speed"] == pytest.approx(bare * (1 - (1 - exp(-kl)) / kl), rel=1e-12)


def test_speed_of_the_largest_wall_drag():
    """2/(mu0*sigma*t) = 13.72 m/s for 2 mm of copper in the open.  Reitz, Forces on moving magnets due to eddy
    currents, J. Applied Physics 41, 1970 (cited from memory)."""
    s = sheet_of("magnet disc", **RING)
    assert s["speed at which the wall drags most"] * 0.045 == pytest.approx(13.7202537, rel=1e-8)


@pytest.mark.parametrize("peak_speed", [None, 80.0])
def test_pair_slowed_in_step_by_its_wall(peak_speed):
    """0.05 and 0.05 kg*m^2 from 150 to 50 rad/s: (J1 + J2)/c*(ln(w1/w2) + (w1^2 - w2^2)/(2*w0^2)).  Closed form."""
    more = {} if peak_speed is None else {"wall_peak_speed": peak_speed}
    line = Line()
    a, b = line.mass(0.05, 150.0), line.mass(0.05, 150.0)
    e = line.part("magnet disc", a, b, **(walled(**more)))
    y = 0.0 if peak_speed is None else peak_speed**-2
    c = DRAG * (1.0 + y * 100.0**2)
    seconds = 0.1 / c * (np.log(3.0) + 0.5 * y * (150.0**2 - 50.0**2))
    r = run(line, seconds, h_max=1.0)
    assert r.speed(a)[-1] == pytest.approx(50.0, rel=1e-8)
    assert r.heat(e)[-1] == pytest.approx(0.05 * (150.0**2 - 50.0**2), rel=1e-8)
    assert not r.mode(e).any()
    assert r.residual < 1e-9


def test_one_half_slowed_by_its_wall_alone():
    """Only the driving half's field is in the wall, the other half is held: J/c*ln(w1/w2), no drag on the held one."""
    line = Line()
    n = line.mass(0.05, 30.0)
    e = line.part("magnet disc", n, 0, setting=1e-9, wall_side=1.0, wall_drag=0.9, wall_speed=0.9e-9 / DRAG)
    r = run(line, 0.05 / DRAG * np.log(3.0), fast=30.0, h_max=0.5)
    assert r.speed(n)[-1] == pytest.approx(10.0, rel=1e-7)
    assert r.heat(e)[-1] == pytest.approx(0.025 * 800.0, rel=1e-7)


def test_lag_with_a_wall():
    """The driven half carries load and its share of the drag; steady solver against scipy's root of the balance
    48 + cb*w + sqrt(ca*cb)*w*cos(x) = 80*sin(x), for a wall nearer the driven half."""
    line = Line()
    a, b = line.mass(0.05, 100.0), line.mass(0.3, 100.0)
    line.part("constant-torque motor", 0, a, torque=200.0, speed=100.0, inertia=1.0)
    e = line.part("magnet disc", a, b, **walled(wall_drag=0.1, wall_side=0.3))
    line.part("friction load", b, 0, running=48.0)
    r = run(line, 0.1, t0=-0.01, steady=True)
    w = r.speed(a)[-1]
    c = 0.1 * 80.0 / 100.0
    x = brentq(lambda x: 48.0 + c * w * (0.49 + 0.21 * np.cos(x)) - 80.0 * np.sin(x), 0.0, 1.5, xtol=1e-14)
    assert 4.0 * (r.angle(a) - r.angle(b)) == pytest.approx(x, rel=1e-7)
    assert r.heat(e)[-1] == pytest.approx(0.11 * c * w * w * (1.0 - 0.42 * (1.0 - np.cos(x))), rel=1e-7)


def test_weaker_when_warm():
    """85 degrees Celsius for neodymium-iron-boron, -0.11 %/K from 20: 30 N*m falls to 30*(1 - 0.0715)^2 = 25.8633675.
    IEC 60404-8-1 for the coefficient (from memory)."""
    line = Line()
    raw = {"remanence_fade": -0.0011, "magnet_rise": 65.0, "heat_limit": 80.0, "cooling": 0.0}
    e = line.part("magnet disc", line.lead(1e-3), 0, setting=30.0, **raw)
    r = run(line, 500.0, h_max=0.2, fast=1e-3)
    assert r.peak(e) == pytest.approx(25.8633675, rel=1e-8)
    s = sheet_of("magnet disc", setting=30.0, **raw)
    assert s["pull-out torque at the starting rise"] == pytest.approx(25.8633675, rel=1e-8)


def test_wall_warms_the_magnets_past_their_limit():
    """Led in step at 100 rad/s into 50 J/K and 0.2 W/K: P/G*(1 - exp(-G*t/C)), past 60 K after 231.0490602 s.
    Closed form (one lump)."""
    line = Line()
    a, b = line.lead(100.0), line.lead(100.0)
    e = line.part("magnet disc", a, b, **walled(heat_capacity=50.0, cooling=0.2, heat_limit=60.0, remanence_fade=0.0))
    power = DRAG * 100.0**2
    r = run(line, 300.0, h_max=5.0)
    assert r.heat(e)[-1] == pytest.approx(power * 300.0, rel=1e-8)
    assert r.state(e)[-1] == pytest.approx(100.0 * (1.0 - exp(-1.2)), rel=1e-7)
    assert r.meas[e, BURNT] == pytest.approx(250.0 * np.log(2.5), rel=1e-8)


@pytest.mark.parametrize(("share", "slips"), [(1 - 1e-4, False), (1 + 1e-4, True)])
def test_pulls_out_once_the_wall_has_warmed_it(share, slips):
    """In step at constant speed and load: out of step once the torque has fallen to the load.  At the wall's final
    rise of 50 K and -0.2 %/K that is 80*0.9^2 = 64.8 N*m.  Closed form; only the driving half's field in the wall."""
    line = Line()
    a, b = line.lead(100.0), line.mass(0.05, 100.0)
    cooling = DRAG * 100.0**2 * 0.81 / 50.0
    raw = walled(heat_capacity=1.0, cooling=cooling, remanence_fade=-0.002, heat_limit=500.0, wall_side=1.0)
    load = 64.8 * share
    line.angles[a] = asin(load / 80.0) / 4
    e = line.part("magnet disc", a, b, start=Start(row={"c": 0.3}), **raw)
    line.part("friction load", b, 0, running=load)
    r = run(line, 60.0, rtol=1e-9)
    assert bool(r.events(e, md.SLIP_F)) is slips
    if not slips:
        assert r.state(e)[-1] == pytest.approx(50.0, rel=1e-6)
