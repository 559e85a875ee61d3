"""Two protections in one line: who goes first, and does the second survive.  Through the compiled kernel."""

from __future__ import annotations

from math import asin, cos, pi, sqrt

import numpy as np
import pytest
from lines import Line, ideal_disc, run
from scipy.integrate import solve_ivp
from scipy.stats import binomtest, norm

from simcore.parts import magnet_disc as md
from simcore.parts import magnetic_particle_clutch as pc
from simcore.parts import shear_pins as sp
from simcore.solver.arrays import LETS_GO
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


POLES = 6


def magnets_before_powder(magnets: float, powder: float) -> tuple[Line, int, int]:
    """A magnet disc, then a particle clutch that stands on the ground, turned slowly."""
    line = Line()
    between = line.mass(0.01, 0.0)
    a = line.part("magnet disc", line.lead(0.05), between, relative_damping=0.05, setting=magnets, pole_pairs=POLES)
    b = line.part("magnetic particle clutch", between, 0, relative_damping=0.05, setting=powder)
    return line, a, b


@pytest.mark.parametrize(("magnets", "powder"), [(100.0, 104.0), (104.0, 100.0), (100.0, 200.0)])
def test_of_magnets_and_powder_the_weaker_one_slips(magnets, powder):
    """Statics: both carry the same torque.  Weaker magnets slip poles and the powder sees no more than their pull-out
    torque; weaker powder slides on at its own, the magnets lag by asin(powder/magnets)/p and stay in step."""
    line, a, b = magnets_before_powder(magnets, powder)
    r = run(line, 20.0, w1=100.0, h_max=0.05, fast=0.05)
    weak = min(magnets, powder)
    assert max(abs(r.torque(a))) == pytest.approx(weak, rel=1e-3)
    assert max(abs(r.torque(b))) == pytest.approx(weak, rel=1e-3)
    if magnets < powder:
        # behind pull-out the pole is passed at 180 degrees electrical; the powder's wind-up is back to nothing there
        assert r.events(a, md.SLIP_F)[0] * 0.05 == pytest.approx(pi / POLES, rel=1e-3)
        assert set(r.mode(b)) == {pc.STUCK}
        assert max(abs(r.state(b, pc.SLIP))) == 0.0
    else:
        assert set(r.mode(a)) == {md.IN_STEP}
        assert r.mode(b)[-1] == pc.SLIDING_F
        between, led = 1, 2
        assert r.angle(led)[-1] - r.angle(between)[-1] == pytest.approx(asin(powder / magnets) / POLES, rel=1e-4)


def test_which_of_magnets_and_powder_goes_is_sure_only_outside_their_bands():
    """Each at both ends of 6 %: the one whose high end lies below the other's low end goes in all four corners, with
    overlapping bands the corners decide (100 and 104 N*m; 100 and 115: 106 lies below 108.1)."""
    ends = [(f, g) for f in (0.94, 1.06) for g in (0.94, 1.06)]
    for magnets, powder, sure in ((100.0, 115.0, True), (115.0, 100.0, True), (100.0, 104.0, False)):
        line, a, b = magnets_before_powder(magnets, powder)
        assembly = line.assembly(20.0, w1=100.0, h_max=0.05, fast=0.05, rtol=1e-6)
        rows = np.repeat(assembly.rows[None], len(ends), axis=0)
        for row, factors in zip(rows, ends, strict=True):
            for i, f in zip((a, b), factors, strict=True):
                turned = assembly.graph.elements[i].part.call("dial", assembly.rows[i], f)
                row[i, : len(turned)] = turned
        meas, _, status = run_many(assembly, rows)
        assert status.max() <= 1
        goes = ~np.isnan(meas[:, [a, b], LETS_GO])
        weaker = [magnets * f < powder * g for f, g in ends]
        assert goes.tolist() == [[w, not w] for w in weaker]
        assert (len(set(weaker)) == 1) is sure


ROTOR, BETWEEN = 0.4, 0.01


def struck(speed: float, magnets: float, powder: float, **inputs: float) -> tuple[Line, int, int]:
    """A rotor that turns at ``speed`` [rad/s], magnets, 0.01 kg*m^2 at rest, particle clutch to the ground."""
    line = Line()
    up, between = line.mass(ROTOR, speed), line.mass(BETWEEN)
    a = line.part("magnet disc", up, between, setting=magnets, pole_pairs=POLES)
    b = line.part("magnetic particle clutch", between, 0, setting=powder, **inputs)
    return line, a, b


def by_scipy(speed: float, magnets: float, powder: float, k: float) -> tuple[float, float, float]:
    """First slide, first stick again, slip by then: a pendulum's torque against a spring, then against a constant."""

    def fields(stuck: bool):
        def f(_, y):
            a, b, wa, wb = y
            T = magnets * np.sin(POLES * (a - b))
            return [wa, wb, -T / ROTOR, (T - (k * b if stuck else powder)) / BETWEEN]

        return f

    def slides(_, y):
        return k * y[1] - powder

    def sticks(_, y):
        return y[3]

    slides.terminal = sticks.terminal = True
    slides.direction, sticks.direction = 1.0, -1.0
    how = {"rtol": 1e-12, "atol": 1e-14, "method": "DOP853"}
    one = solve_ivp(fields(True), (0.0, 1.0), [0.0, 0.0, speed, 0.0], events=slides, **how)
    two = solve_ivp(fields(False), (one.t[-1], 1.0), one.y[:, -1], events=sticks, **how)
    return float(one.t[-1]), float(two.t[-1]), float(two.y[1, -1] - one.y[1, -1])


def test_magnets_before_powder_against_scipy():
    """Weaker powder takes up the rotor's swing: instants of sliding and sticking, slip and ledger."""
    speed, magnets, powder, k = 12.0, 150.0, 100.0, 2e4
    line, a, b = struck(speed, magnets, powder, stiffness=k)
    r = run(line, 0.2, fast=speed)
    slides, sticks, slip = by_scipy(speed, magnets, powder, k)
    assert r.events(b, pc.SLIDING_F)[0] == pytest.approx(slides, abs=1e-6)
    assert r.events(b, pc.STUCK)[0] == pytest.approx(sticks, abs=1e-6)
    at = r.events(b, pc.STUCK)[0]
    assert r.at(at, r.state(b, pc.SLIP)) == pytest.approx(slip, abs=1e-7)
    assert not r.events(a, md.SLIP_F)
    assert r.heat(b)[-1] > 0.0
    assert r.residual < 1e-6


def pull_out_speed(magnets: float, powder: float) -> float:
    """Rotor speed [rad/s] that carries stronger magnets over their pole while the powder slides.

    Equal areas (as Kundur, Power System Stability and Control): the swing that is left when the powder begins to slide
    against ``magnets sin x`` less the share of the powder's torque that acts on the relative motion.
    """
    reduced = ROTOR * BETWEEN / (ROTOR + BETWEEN)
    acts = powder * reduced / BETWEEN
    x1, x2 = asin(powder / magnets), pi - asin(acts / magnets)
    area = (magnets * (cos(x1) - cos(x2)) - acts * (x2 - x1)) / POLES
    return sqrt(2.0 * area / reduced + 2.0 * magnets * (1.0 - cos(x1)) / POLES / ROTOR)


@pytest.mark.parametrize(("share", "over"), [(1.0 - 1e-3, False), (1.0 + 1e-3, True)])
def test_a_fast_rotor_pulls_the_stronger_magnets_out_as_well(share, over):
    """Both sides of the threshold by equal areas, closed form for stiff powder (1e8 N*m/rad); a blow, unlike statics,
    does not ask which is the weaker one alone."""
    magnets, powder = 150.0, 120.0
    line, a, b = struck(share * pull_out_speed(magnets, powder), magnets, powder, stiffness=1e8)
    r = run(line, 0.06, fast=30.0)
    assert r.events(b, pc.SLIDING_F)
    assert bool(r.events(a, md.SLIP_F)) is over
    assert r.residual < 1e-6
