"""Two protections in one line: who goes first, and does the second survive.  Through the compiled kernel."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from lines import Line, ideal_disc, run
from scipy.stats import binomtest, norm

from simcore.parts import shear_pins as sp
from simcore.solver.kernel import run_many

DETENT = {"setting": 150.0, "residual": 0.0}


def two_lines_of_defence(detent: float, pins: float, speed: float = 12.0) -> tuple[Line, int, int]:
    """0.4 kg*m^2 running at ``speed``, a detent, 0.02 kg*m^2, shear pins, then a shaft that stands."""
    line = Line()
    up, between, down = line.mass(0.4, speed), line.mass(0.02, speed), line.mass(0.05, speed)
    first = line.part("ball detent", up, between, **(DETENT | {"setting": detent}))
    second = line.part("shear pins", between, down, setting=pins, clearance=0.0)
    line.part("shaft", down, 0, stiffness=20e3)
    return line, first, second


def test_the_pin_survives_where_the_detent_works():
    """The pins are safe if their yield lies above the crest torque plus what the inertia behind the detent winds up,
    w*sqrt(k*J) of that inertia alone: energy balance, textbook."""
    line, first, second = two_lines_of_defence(150.0, 700.0)
    r = run(line, 0.1)
    assert r.events(first)
    assert not r.events(second, sp.KIND.tally and 9)
    assert set(r.mode(second)) <= {0, 1, 2, 3, 4, 5, 6}, "no pin has stretched"
    behind = 12.0 * sqrt(20e3 * (0.02 + 0.05))
    crest = max(abs(r.torque(first)))
    assert r.peak(second) < crest + behind
    assert r.residual < 1e-6


def test_the_pin_breaks_where_the_detent_is_set_too_high():
    """The second line of defence holds what the first one does not: 900 N*m never come, the pins part at 300."""
    line, first, second = two_lines_of_defence(900.0, 300.0)
    r = run(line, 0.1)
    assert not r.events(first)
    assert r.mode(second)[-1] == 9
    assert r.peak(second) == pytest.approx(300.0, rel=1e-6)
    assert r.torque(second)[-1] == 0.0


def in_series(first: float, second: float) -> tuple[Line, int, int]:
    """Two ideal discs one behind the other, turned slowly against the ground."""
    line = Line()
    between = line.mass(0.01, 0.0)
    a = line.part("friction disc", line.lead(0.01), between, relative_damping=0.05, **ideal_disc(first, 2e4))
    b = line.part("friction disc", between, 0, relative_damping=0.05, **ideal_disc(second, 2e4))
    return line, a, b


@pytest.mark.parametrize(("first", "second"), [(100.0, 101.0), (101.0, 100.0)])
def test_of_two_nearly_equal_limiters_the_weaker_one_goes(first, second):
    """And only that one: statics, both carry the same torque."""
    line, a, b = in_series(first, second)
    r = run(line, 2.0, w1=100.0, h_max=0.05, fast=0.01)
    weak, strong = (a, b) if first < second else (b, a)
    assert r.events(weak)
    assert not r.events(strong)
    assert max(r.peak(a), r.peak(b)) == pytest.approx(min(first, second), rel=1e-3)


def test_how_sure_that_is_within_their_tolerances():
    """Settings 100 and 104 N*m, each normal with 3 %: the first one goes first with Phi(4/sqrt(3^2 + 3.12^2)) = 0.822.
    Difference of two normal variables, closed form."""
    line, a, b = in_series(100.0, 104.0)
    assembly = line.assembly(2.0, w1=100.0, h_max=0.05, fast=0.01, rtol=1e-6)
    cases = 400
    draws = np.random.default_rng(5).normal(size=(cases, 2))
    settings = np.array([100.0, 104.0]) * (1.0 + 0.03 * draws)
    rows = np.repeat(assembly.rows[None], cases, axis=0)
    rows[:, [a, b], 0] = settings
    meas, _, status = run_many(assembly, rows)
    assert status.max() <= 1
    slid = meas[:, [a, b], 5] == meas[:, [a, b], 5]
    apart = np.abs(settings[:, 0] - settings[:, 1]) > 0.1
    assert (slid[apart].sum(axis=1) == 1).all(), "one of the two, unless they are equal to 0.1 %"
    assert np.array_equal(slid[apart, 0], settings[apart, 0] < settings[apart, 1])
    sure = norm.cdf(4.0 / sqrt(3.0**2 + 3.12**2))
    assert binomtest(int(slid[:, 0].sum()), cases, sure).pvalue > 1e-3
