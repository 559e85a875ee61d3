"""What must hold whatever the numbers: mirror, scale, order of parts, energy, heat."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from crashes import HOW, PROTECTIONS, crash
from lines import Line, Run, ideal_disc, pull, run

from simcore.contract import Part
from simcore.parts import REGISTRY
from simcore.solver.compile import plain_kernel

KINDS = list(PROTECTIONS)


def instants(r: Run) -> np.ndarray:
    return r.out.events[:, 0]


@pytest.mark.parametrize("kind", KINDS)
def test_mirror(kind):
    """All signs reversed: the same instants, reversed torques, the same heat."""
    there, back = (run(crash(kind, s), 0.3, **HOW) for s in (1.0, -1.0))
    assert len(instants(there)) > 4
    assert np.abs(instants(there) - instants(back)).max() <= 1e-12
    for e in range(there.count):
        assert back.torque(e) == pytest.approx(-there.torque(e), rel=1e-12, abs=1e-9)
        assert back.heat(e)[-1] == pytest.approx(there.heat(e)[-1], rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_scale(kind):
    """All torques, stiffnesses, dampings, inertias and heat capacities times s: same instants, s-fold
    torques, to the last bit where s is a power of two."""
    one, eight = (run(crash(kind, scale=s), 0.3, **HOW) for s in (1.0, 8.0))
    assert np.array_equal(instants(one), instants(eight))
    for e in range(one.count):
        assert np.array_equal(8.0 * one.torque(e), eight.torque(e))
    odd = run(crash(kind, scale=3.0), 0.02, **HOW)
    n = len(instants(odd))
    assert n >= 2
    assert instants(odd) == pytest.approx(instants(one)[:n], rel=1e-6)
    assert odd.peak(1) == pytest.approx(3.0 * run(crash(kind), 0.02, **HOW).peak(1), rel=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_ledger_and_heat(kind):
    """Energy balances, and no part but a drive ever gives heat back."""
    r = run(crash(kind), 0.5, **HOW)
    turned = r.meas[-1, 6]
    assert r.residual < 1e-6
    for e in range(1, r.count):
        assert np.diff(r.heat(e)).min() >= -1e-8 * turned
    assert r.heat(0)[-1] < 0.0


@pytest.mark.parametrize("kind", KINDS)
def test_order_of_parts_does_not_matter(kind):
    one = run(crash(kind), 0.1, **HOW)
    other = run(crash(kind), 0.1, order=(4, 3, 2, 1, 0), **HOW)
    assert np.abs(instants(one) - instants(other)).max() < 1e-9
    assert other.peak(3) == pytest.approx(one.peak(1), rel=1e-6)


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (2, 1, 0)])
def test_two_limiters_trip_at_one_instant(order):
    """Two equal limiters side by side share evenly and slip together, in either order of the list."""
    line = Line()
    n = line.mass(0.6, 9.0)
    for _ in range(2):
        line.part("friction disc", n, 0, **ideal_disc(80.0, 2600.0, 190.0 / 160.0))
    pull(line, n, 10.0)
    r = run(line, 0.05, order=order)
    discs = [order.index(0), order.index(1)]
    assert r.events(discs[0], 3) == r.events(discs[1], 3)
    assert r.events(discs[0], 0) == r.events(discs[1], 0)
    assert np.array_equal(r.torque(discs[0]), r.torque(discs[1]))
    single = Line()
    n = single.mass(0.6, 9.0)
    single.part("friction disc", n, 0, **ideal_disc(160.0, 5200.0, 190.0 / 160.0))
    pull(single, n, 10.0)
    assert r.events(discs[0], 3) == pytest.approx(run(single, 0.05).events(0, 3), rel=1e-9)


def test_chain_at_one_instant():
    """Command, drive and load switch one after another at t = 0, and nothing is left for a later step."""
    line = Line()
    n = line.mass(0.1)
    line.part("start")
    line.part("constant-torque motor", 0, n, torque=50.0, speed=100.0, inertia=1.0)
    line.part("friction load", n, 0, running=20.0, breakaway=30.0)
    r = run(line, 0.01, fast=10.0, on=False)
    assert [(e[0], int(e[1])) for e in r.out.events] == [(0.0, 0), (0.0, 1), (0.0, 4)]
    assert r.speed(n)[-1] == pytest.approx(30.0 / 0.1 * 0.01, rel=1e-9)


def with_wrong_loss(part: Part) -> Part:
    right = part.functions["loss"]

    def loss(q, T):
        return 1.01 * right(q, T)

    return replace(part, functions={**part.functions, "loss": loss})


def damped_swing() -> Line:
    line = Line()
    n = line.mass(0.5, 4.0)
    line.part("flexible coupling", n, 0, stiffness=2000.0, relative_damping=0.8)
    return line


def test_ledger_can_fail():
    """A coupling whose loss is stated 1 % wrong shows in the balance."""
    parts = list(REGISTRY.values())
    wrong = [with_wrong_loss(p) if p.kind.name == "flexible coupling" else p for p in parts]
    right_run = run(damped_swing(), 0.2, plain_kernel(parts), w1=60.0, rtol=1e-7)
    wrong_run = run(damped_swing(), 0.2, plain_kernel(wrong), w1=60.0, rtol=1e-7)
    assert right_run.residual < 1e-6
    assert wrong_run.residual > 1e-4
