"""Crashes against a fixed end, compared with closed forms of undamped and damped vibration.

All runs go through the compiled kernel at a relative tolerance of 1e-10.
"""

from __future__ import annotations

from math import acos, exp, pi, radians, sin, sqrt

import pytest
from lines import Line, Start, pull, run, stop_at
from scipy.optimize import brentq

from simcore.line.modes import frequencies, matrices

J, W, K = 0.6, 9.0, 5200.0


def held_inertia(wound: float = 0.0, c: float = 0.0) -> tuple[Line, int, int]:
    """Inertia J at speed W whose shaft's far end has just stopped dead."""
    line = Line()
    n = line.mass(J, W, wound / K)
    return line, n, line.part("shaft", n, 0, stiffness=K, start=Start(row={"c": c}))


def test_far_end_stops_dead():
    """Peak w*sqrt(k*J) a quarter period after the stop.  Den Hartog, Mechanical Vibrations (closed form)."""
    line, n, shaft = held_inertia()
    r = run(line, 0.1)
    assert r.peak(shaft) == pytest.approx(W * sqrt(K * J), rel=1e-8)
    assert r.peak(shaft) == pytest.approx(502.712642, rel=1e-8)
    assert r.turning(n)[0][0] == pytest.approx(16.8730592e-3, rel=1e-8)
    assert r.meas[shaft, 1] == pytest.approx(16.8730592e-3, rel=1e-5)


@pytest.mark.parametrize(
    ("wound", "peak", "instant"), [(0.0, 544.301497, 17.7259631e-3), (40.0, 542.712642, 16.8730592e-3)]
)
def test_drive_keeps_pushing(wound, peak, instant):
    """T + sqrt(T^2 + w^2*k*J) from an unwound shaft, T + w*sqrt(k*J) from steady running.  Closed form."""
    line, n, shaft = held_inertia(wound)
    pull(line, n, 40.0)
    r = run(line, 0.05)
    assert r.peak(shaft) == pytest.approx(peak, rel=1e-8)
    assert r.turning(n)[0][0] == pytest.approx(instant, rel=1e-8)


def test_damped_stop():
    """Dashpot beside the spring, ratio 0.05: w*sqrt(k*J)*exp(-z*a/sqrt(1-z^2)), a = acos z for the spring
    alone, 3*acos z - pi for spring and dashpot together.  Closed form."""
    z = 0.05
    line, n, shaft = held_inertia(c=2.0 * z * sqrt(K * J))
    r = run(line, 0.05)
    assert r.torque(shaft)[0] == pytest.approx(50.2712642, rel=1e-8)
    instant, angle = r.turning(n)[0]
    assert K * angle == pytest.approx(465.859794, rel=1e-8)
    assert instant == pytest.approx(16.3562071e-3, rel=1e-8)
    assert r.peak(shaft) == pytest.approx(468.198835, rel=1e-8)
    assert r.peak(shaft) == pytest.approx(W * sqrt(K * J) * exp(-z * (3 * acos(z) - pi) / sqrt(1 - z * z)), rel=1e-8)
    assert r.meas[shaft, 1] == pytest.approx(15.2802409e-3, rel=1e-5)


def two_inertias(j1: float, j2: float, k: float, w1: float = 0.0, wound: float = 0.0) -> tuple[Line, int, int, int]:
    line = Line()
    a, b = line.mass(j1, w1, wound / k), line.mass(j2)
    return line, a, b, line.part("shaft", a, b, stiffness=k)


def test_torque_step_on_a_free_pair():
    """Peak 2*T*J2/(J1 + J2).  Closed form; DIN 740-2 takes a shock factor of 1.8 for it (from memory)."""
    line, a, _, shaft = two_inertias(0.05, 0.4, 3000.0)
    pull(line, a, 60.0)
    r = run(line, 0.02, fast=10.0)
    assert r.peak(shaft) == pytest.approx(106.666667, rel=1e-8)
    assert r.meas[shaft, 1] == pytest.approx(12.0919958e-3, rel=1e-5)


def test_pair_let_go_while_wound():
    """Momentum and energy of two inertias on a wound shaft.  Closed form."""
    line, a, b, shaft = two_inertias(0.745, 1.7, 9000.0, 4.0, 300.0)
    r = run(line, 0.2)
    assert r.peak(shaft) == pytest.approx(405.69867, rel=1e-8)
    common = (0.745 * r.speed(a) + 1.7 * r.speed(b)) / 2.445
    assert common == pytest.approx(1.21881391, rel=1e-8)
    instants = r.zeros(r.torque(shaft))
    f = (len(instants) - 1) / 2.0 / (instants[-1] - instants[0])
    assert f == pytest.approx(20.978683, rel=1e-8)
    assert r.peak(shaft) ** 2 / 2.0 / 9000.0 == pytest.approx(9.14396728, rel=1e-8)


@pytest.mark.parametrize(("periods", "factor"), [(0.5, 1.63661977), (1.3, 1.19809085)])
def test_ramped_torque(periods, factor):
    """Dynamic factor 1 + |sin(pi*n)|/(pi*n) of a torque ramped over n periods, commanded through a wire.
    Biggs, Introduction to Structural Dynamics (closed form)."""
    line = Line()
    n = line.mass(0.02)
    shaft = line.part("shaft", n, 0, stiffness=0.02 * (2 * pi * 40.0) ** 2)
    line.part("start")
    line.part(
        "constant-torque motor",
        0,
        n,
        start=Start(mode=0),
        torque=30.0,
        speed=1e9,
        inertia=1.0,
        ramp=periods / 40.0,
    )
    r = run(line, 0.1, fast=5.0, on=False)
    assert r.peak(shaft) / 30.0 == pytest.approx(factor, rel=1e-8)
    assert factor == pytest.approx(1.0 + abs(sin(pi * periods)) / (pi * periods), rel=1e-8)


def test_lash_crossed_under_drive():
    """Impact at sqrt(2*b*J/T), peak T + sqrt(T^2 + 2*T*b*k).  Closed form."""
    line, lash = Line(), radians(2.0)
    n = line.mass(0.0038, 0.0, -0.5 * lash)
    joint = line.part("flexible coupling", n, 0, stiffness=800.0, lash=lash, start=Start(mode=0))
    pull(line, n, 26.0)
    r = run(line, 0.01, fast=20.0)
    hit = r.events(joint, new=1)[0]
    assert hit == pytest.approx(3.19428604e-3, rel=1e-8)
    assert r.at(hit, r.speed(n)) == pytest.approx(21.8556413, rel=1e-8)
    assert r.peak(joint) == pytest.approx(72.1314853, rel=1e-8)


def test_payload_stops_behind_a_belt():
    """v*sqrt(k*J/r^2); rotor, gear and drum as one inertia.  Closed form."""
    drum, gear, rotor = 0.6, 0.0004 * 14**2, 0.0038 * 14**2
    for inertia, peak in ((drum + gear + rotor, 4771.91785), (drum + gear, 3294.60165), (drum, 3098.38668)):
        line = Line()
        n = line.mass(inertia, 1.2 / 0.15)
        belt = line.part("belt or chain", n, 0, ra=0.15, stiffness=250e3, start=Start(mode=1))
        assert run(line, 0.05).peak(belt) == pytest.approx(peak, rel=1e-8)


@pytest.mark.parametrize(("ratio", "restitution"), [(0.05, 0.858758102), (0.2, 0.571740028)])
def test_restitution_of_a_damped_contact(ratio, restitution):
    """exp(-2*z*acos(z)/sqrt(1-z^2)) when the contact parts at zero force.  Closed form."""
    line = Line()
    n = line.mass(2.0, 3.0)
    line.part(
        "hard stop",
        n,
        0,
        stiffness=5e4,
        damping=2.0 * ratio * sqrt(5e4 * 2.0),
        start=stop_at(0.01),
    )
    r = run(line, 0.1)
    assert r.speed(n)[-1] == pytest.approx(-3.0 * restitution, rel=1e-8)
    assert r.residual < 1e-9


def test_bouncing_ends():
    """Bounces of restitution e end at t1*(1 + e)/(1 - e), endlessly many of them; a stiff contact comes close
    and then rests.  Closed form."""
    z = brentq(lambda x: exp(-2.0 * x * acos(x) / sqrt(1.0 - x * x)) - 0.5, 0.01, 0.9)
    ends = []
    for k in (1e7, 1e9):
        line = Line()
        n = line.mass(1.0)
        stop = line.part("hard stop", n, 0, stiffness=k, damping=2.0 * z * sqrt(k), start=stop_at(0.1))
        pull(line, n, 20.0)
        r = run(line, 0.4, fast=2.0, rtol=1e-9)
        assert r.events(stop)[0] == pytest.approx(0.1, rel=1e-8)
        assert r.mode(stop)[-1] == 1
        assert r.torque(stop)[-1] == pytest.approx(20.0, rel=2e-5)
        assert len(r.events(stop)) < 60
        ends.append(r.events(stop)[-1])
    assert ends[0] == pytest.approx(0.3, abs=2e-2)
    assert ends[1] == pytest.approx(0.3, abs=2e-3)


def line_of(*inertias: float) -> Line:
    line = Line()
    for j in inertias:
        line.mass(j)
    return line


def test_natural_frequencies():
    """Holzer's method, any vibration text; three lines between free ends (closed form)."""
    g = line_of(0.05, 0.4)
    g.part("shaft", 1, 2, stiffness=3000.0)
    assert frequencies(g.nodes, g.elements, [3000.0]) / (2 * pi) == pytest.approx([41.3496672], rel=1e-8)
    g = line_of(0.75, 0.02, 1.7)
    g.part("shaft", 1, 2, stiffness=9000.0)
    g.part("shaft", 2, 3, stiffness=6000.0)
    f = frequencies(g.nodes, g.elements, [9000.0, 6000.0]) / (2 * pi)
    assert f == pytest.approx([13.2153617, 138.623377], rel=1e-8)
    g = line_of(0.0038, 1.7)
    g.part("gear", 1, 2, ra=1 / 14, ratio=14.0, stiffness=9000.0)
    assert frequencies(g.nodes, g.elements, [9000.0]) / (2 * pi) == pytest.approx([20.9806414], rel=1e-8)


def test_stiffness_through_a_gear():
    """A shaft before a gear counts k*i^2 behind it, here in series with the output shaft.  Closed form."""
    g = line_of(0.001, 1.7)
    g.part("shaft", 0, 1, stiffness=800.0)
    g.part("gear", 1, 2, ra=1 / 14, ratio=14.0, stiffness=9000.0)
    k, _ = matrices(g.nodes, g.elements, [800.0, 9000.0])
    assert k[1, 1] - k[1, 0] ** 2 / k[0, 0] == pytest.approx(8511.45959, rel=1e-8)
