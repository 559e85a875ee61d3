"""Order of the stepper, instants of events, double crossings, endless bounces."""

from __future__ import annotations

from collections.abc import Callable
from math import pi

import numpy as np
import pytest
from lines import Line, Run, Start, ideal_disc, pull, run, stop_at
from scipy.linalg import eigh
from scipy.optimize import brentq

from simcore.solver import arrays as ar


def pendulum() -> Line:
    """Magnet coupling swinging widely against a constant torque: smooth and nonlinear, no event."""
    line = Line()
    n = line.mass(0.05, 10.0, 0.05)
    line.part("magnet disc", n, 0, setting=80.0, pole_pairs=2, start=Start(row={"c": 0.1}))
    pull(line, n, 20.0)
    return line


def test_stepper_has_order_six():
    """Slope of the error over fixed steps by regression."""
    end = 0.128
    exact = run(pendulum(), end, rtol=1e-13).out.y[[1, 3]] / [1.0, 20.0]
    steps = end / np.array([32, 48, 64, 96, 128])
    errors = []
    for h in steps:
        r = Run(pendulum().assembly(end, rtol=1e9).with_setup(h0=h, h_max=h, stepper=ar.EXPLICIT_ONLY))
        assert r.out.counts[ar.STEPS] == round(end / h)
        errors.append(np.abs(r.out.y[[1, 3]] / [1.0, 20.0] - exact).max())
    slope = np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert slope == pytest.approx(6.0, abs=0.3)


def two_masses(w: float, ratio: float) -> tuple[Callable[[float], float], Callable[[float], Line]]:
    """Two masses swinging before a wall that a disc holds: the disc's torque over time (superposed modes, closed form),
    and the line for a breakaway torque of the disc."""
    j, k, disc = np.array([0.6, 0.25]), 5200.0, 9000.0
    squares, modes = eigh(np.array([[k, -k], [-k, k + disc]]), np.diag(j))
    rates = np.sqrt(squares)
    sizes = modes[1] * (modes.T @ (j * [w, ratio * w])) / rates

    def torque(t: float) -> float:
        return float(disc * np.sum(sizes * np.sin(rates * t)))

    def line(top: float) -> Line:
        out = Line()
        a, b = out.mass(j[0], w), out.mass(j[1], ratio * w)
        out.part("shaft", a, b, stiffness=k)
        out.part("friction disc", b, 0, **ideal_disc(top, disc))
        return out

    return torque, line


def latest_record(torque: Callable[[float], float], end: float) -> tuple[float, float]:
    """Half way between the two highest peaks that are higher than all before: a torque, and when it is first passed."""
    t = np.linspace(0.0, end, 20_001)
    size = np.abs([torque(x) for x in t])
    inner = size[1:-1]
    peaks = inner[(inner > size[:-2]) & (inner >= size[2:]) & (inner >= np.maximum.accumulate(size)[1:-1])]
    top = 0.5 * float(peaks[-1] + peaks[-2])
    i = int(np.flatnonzero(size > top)[0])
    return top, brentq(lambda x: abs(torque(x)) - top, t[i - 1], t[i], xtol=1e-15)


def test_event_error_follows_the_tolerance():
    """Instant of breakaway some swings on, against its closed form, worst of several speeds, over the tolerance."""
    tolerances = 10.0 ** -np.arange(4, 10)
    worst = []
    for rtol in tolerances:
        errors = []
        for ratio in np.linspace(0.5, 1.4, 6):
            torque, line = two_masses(8.0, ratio)
            top, instant = latest_record(torque, 0.5)
            r = run(line(top), 0.15, rtol=rtol)
            errors.append(abs(min(r.events(1, 3) + r.events(1, 4)) - instant))
        worst.append(max(errors))
    assert worst[2] < 1e-7
    slope = np.polyfit(np.log(tolerances), np.log(worst), 1)[0]
    assert 0.7 < slope < 1.3


def grazing(depth: float, phase: float) -> Line:
    """A swing that dips into a stop by the share ``depth`` of its amplitude, soft enough not to notice."""
    line = Line()
    w = 2 * pi
    n = line.mass(1.0, w * np.cos(phase), np.sin(phase))
    line.part("shaft", n, 0, stiffness=w * w)
    line.part("hard stop", n, 0, stiffness=1e-6, damping=0.0, start=stop_at(1.0 - depth))
    return line


@pytest.mark.parametrize("depth", [1e-2, 1e-3, 1e-4, 1e-5, 1e-6])
def test_double_crossings_are_found(depth):
    """A dip into the stop between two steps, at forty phases of the steps, at the default tolerance.

    The floor is 1e-6 of the guard's size, the tolerance itself: of 400 phases none is missed there, 1 % at
    1e-7 and nearly half at 1e-8.
    """
    missed = 0
    for phase in np.linspace(-1.2, 1.2, 40):
        r = run(grazing(depth, phase), 0.5, rtol=1e-6)
        missed += not r.events(1, 1)
    assert missed == 0


@pytest.mark.parametrize("depth", [1e-5, 1e-4, 1e-3])
def test_a_dip_is_found_beside_a_crossing_soon_after(depth):
    """The swing of :func:`grazing`, and another body that meets its own stop in the same step, a little later."""
    missed = 0
    for phase in np.linspace(0.0, 0.5, 5):
        for delay in np.linspace(0.01, 0.3, 12):
            line = grazing(depth, phase)
            other = line.mass(1.0, 1.0)
            top = (0.5 * pi - phase) / (2 * pi)
            line.part("hard stop", other, 0, stiffness=1e3, damping=0.0, start=stop_at(top + delay / (2 * pi)))
            r = run(line, top + 1.0 / (2 * pi), rtol=1e-6)
            assert len(r.events(2, 1)) == 1
            missed += not r.events(1, 1)
    assert missed == 0


def test_swing_that_stays_clear_meets_no_stop():
    assert not any(run(grazing(-1e-6, p), 0.5, rtol=1e-8).events(1) for p in np.linspace(-1.2, 1.2, 10))


@pytest.mark.parametrize("damping", [20.0, 60.0])
def test_bounces_end_in_contact(damping):
    line = Line()
    n = line.mass(1.0)
    stop = line.part("hard stop", n, 0, stiffness=1e5, damping=damping, start=stop_at(0.05))
    pull(line, n, 10.0)
    r = run(line, 6.0, fast=1.0, rtol=1e-8)
    assert len(r.events(stop, 1)) > 3
    assert r.mode(stop)[-1] == 1
    assert r.events(stop)[-1] < 5.0
    assert r.torque(stop)[-1] == pytest.approx(10.0, rel=1e-3)


@pytest.mark.parametrize("damping", [700.0, 1000.0, 1500.0])
@pytest.mark.parametrize("speed", [10.0, 30.0, 50.0])
def test_load_that_creeps_to_rest(damping, speed):
    """An overdamped contact against dry friction: the speed dies away without ever crossing zero, then only
    rounding does."""
    line = Line()
    n = line.mass(0.115, speed)
    line.part("friction load", n, 0, running=50.0, breakaway=130.0)
    stop = line.part("hard stop", n, 0, stiffness=3.6e5, damping=damping, start=stop_at(0.09))
    pull(line, n, 140.0)
    r = run(line, 1.0, rtol=1e-6)
    assert r.out.counts[ar.STEPS] < 5000
    assert abs(r.speed(n)[-1]) < 1e-9
    assert r.torque(stop)[-1] == pytest.approx(140.0 + 50.0, rel=1e-6)
