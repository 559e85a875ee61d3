"""Magnet couplings: pendulum, equal areas, pole slip.  Kernel runs at 1e-10 unless a line says otherwise."""

from __future__ import annotations

from math import asin, exp, pi, radians

import numpy as np
import pytest
from lines import Line, Run, Start, pull, run, sheet_of

from simcore.parts import magnet_disc as md

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
