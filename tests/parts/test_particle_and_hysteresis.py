"""Magnetic particle and hysteresis clutch in lines: letting go, sticking again, current changing meanwhile."""

from __future__ import annotations

from itertools import product
from math import radians

import numpy as np
import pytest
from lines import Line, Run, row_of, run
from states import FADES, REGISTRY

from simcore.solver import arrays as ar

PARTICLE, HYSTERESIS = "magnetic particle clutch", "magnetic hysteresis clutch"
KINDS = (PARTICLE, HYSTERESIS)
SIZE = {PARTICLE: 100.0, HYSTERESIS: 10.0}
OF_BOTH = {"held": {}, "on voltage": {"excitation": "fixed voltage"}, "programmed": FADES}
TURNED = FADES | {"current_times": (0.02, 0.06, 0.3, 0.3), "currents": (1.0, -0.6, -0.6, 1.1)}
CURRENTS = OF_BOTH | {"reversed": TURNED}


def jammed(kind: str, sense: float = 1.0, size: float = 1.0, psi: float = 0.1, w: float = 20.0, **raw: object) -> Line:
    """A drive at its limit, the clutch, a shaft and a load that jams for 0.2 s: slips, then runs up again."""
    S = SIZE[kind] * size
    line = Line()
    a, b, c = (line.mass(j * S / 100.0, sense * w) for j in (0.3, 0.1, 0.2))
    line.part("constant-torque motor", 0, a, torque=0.9 * S, speed=sense * w, inertia=1.0)
    if kind == PARTICLE:
        raw = {"relative_damping": psi, **raw}
    if "rated_current" in raw or kind == PARTICLE:
        raw = {"heat_capacity": 300.0 * size, "cooling": 2.0 * size, **raw}
    line.part(kind, a, b, setting=S, **raw)
    line.part("shaft", b, c, stiffness=80.0 * S)
    line.part("partial jam", c, 0, drag=2.0 * S, lasts=0.2)
    return line


@pytest.mark.parametrize(("kind", "current"), [*product(KINDS, OF_BOTH), (HYSTERESIS, "reversed")])
@pytest.mark.parametrize("psi", [0.0, 0.2])
def test_ledger_through_slip_and_sticking(kind, current, psi):
    """Energy balances; heat never falls; it lets go and engages again."""
    r = run(jammed(kind, psi=psi, **CURRENTS[current]), 1.0, rtol=1e-8, w1=60.0)
    assert r.residual < 1e-6
    assert np.diff(r.heat(1)).min() > -1e-9
    assert {0, 2} <= {int(r.a.klass[1, m]) for m in r.mode(1)}
    assert r.mode(1)[-1] == 0
    assert r.heat(1)[-1] > 0.01 * SIZE[kind]


@pytest.mark.parametrize(("kind", "current"), [*product(KINDS, ("held", "programmed")), (HYSTERESIS, "reversed")])
def test_mirrored(kind, current):
    there, back = (run(jammed(kind, s, **CURRENTS[current]), 0.6, rtol=1e-8, w1=60.0) for s in (1.0, -1.0))
    assert np.array_equal(there.out.events[:, 0], back.out.events[:, 0])
    assert back.torque(1) == pytest.approx(-there.torque(1), rel=1e-9, abs=1e-9)
    assert back.heat(1) == pytest.approx(there.heat(1), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_scaled(kind):
    """All torques, inertias and heat capacities threefold: the same instants."""
    raw = {**FADES, "current_times": (0.02, 0.05), "currents": (1.0, 0.4)}
    one, three = (run(jammed(kind, size=f, **raw), 0.4, rtol=1e-8, w1=60.0) for f in (1.0, 3.0))
    assert three.out.events[:, 0] == pytest.approx(one.out.events[:, 0], abs=1e-9)
    assert three.heat(1)[-1] == pytest.approx(3.0 * one.heat(1)[-1], rel=1e-9)


def test_free():
    """A particle clutch that does not slip loses nothing; a hysteresis clutch nothing below its first element."""
    for kind, twist in ((PARTICLE, 0.9 * radians(0.5)), (HYSTERESIS, radians(10.0) / 16.5)):
        line = Line()
        n = line.mass(0.2, 0.0, twist)
        e = line.part(kind, n, 0, setting=50.0, **({"eddy": 0.0} if kind == HYSTERESIS else {}))
        r = run(line, 1.0, fast=1.0)
        assert not r.events(e)
        assert r.heat(e)[-1] == 0.0
        assert abs(r.angle(n)).max() == pytest.approx(twist, rel=1e-9)


@pytest.mark.parametrize("excitation", ["fixed current", "fixed voltage", "programmed"])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("load", [0.05, 0.5, 0.9, 0.999])
def test_steady_running(kind, excitation, load):
    """The state before the event carries the load and keeps still."""
    line = Line()
    a, b = line.mass(0.3, 100.0), line.mass(0.4, 100.0)
    line.part("torque-speed motor", 0, a, rated_power=15e3, rated_speed=97.0, synchronous_speed=100.0, inertia=1.0)
    raw = FADES if excitation == "programmed" else {"excitation": excitation}
    e = line.part(kind, a, b, setting=100.0, **raw)
    line.part("friction load", b, 0, running=100.0 * load)
    r = run(line, 0.01, t0=-0.1, steady=True, rtol=1e-6, w1=60.0)
    assert r.torque(e) == pytest.approx(100.0 * load, rel=1e-4)
    assert set(r.mode(e)) == {0}
    assert r.speed(a)[0] == pytest.approx(r.speed(b)[0], rel=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_no_steady_running_above_its_torque(kind):
    line = Line()
    a, b = line.mass(0.3, 100.0), line.mass(0.4, 100.0)
    line.part("torque-speed motor", 0, a, rated_power=15e3, rated_speed=97.0, synchronous_speed=100.0, inertia=1.0)
    line.part(kind, a, b, setting=100.0, **({"eddy": 0.0} if kind == "magnetic hysteresis clutch" else {}))
    line.part("friction load", b, 0, running=100.2)
    assert Run(line.assembly(0.1, t0=-0.1, steady=True, w1=60.0)).status == ar.Status.NO_STEADY


def test_eddy_currents_carry_a_load_above_the_ring_by_slip():
    """S (1 + e nu) = 100.2 N*m at a slip of 4 rad/s, in steady running: proportional law, textbook."""
    line = Line()
    a, b = line.mass(0.3, 100.0), line.mass(0.4, 100.0)
    line.part("torque-speed motor", 0, a, rated_power=15e3, rated_speed=97.0, synchronous_speed=100.0, inertia=1.0)
    e = line.part("magnetic hysteresis clutch", a, b, setting=100.0, eddy=5e-4)
    line.part("friction load", b, 0, running=100.2)
    r = run(line, 0.01, t0=-0.1, steady=True, rtol=1e-6, w1=60.0)
    assert r.speed(a)[0] - r.speed(b)[0] == pytest.approx(4.0, rel=1e-6)
    assert r.torque(e) == pytest.approx(100.2, rel=1e-6)


@pytest.mark.parametrize(("share", "slips"), [(0.999, False), (1.001, True)])
def test_fading_current_lets_a_held_load_go(share, slips):
    """Wound up to 60 N*m and held; the current falls to what holds a share of it.  Slips and unwinds at rest."""
    row = row_of(PARTICLE, setting=100.0, rated_current=1.0, requested_torque=60.0 / share)
    line = Line()
    n = line.lead(0.0, 60.0 / 5000.0)
    raw = FADES | {"current_times": (0.0, 0.01), "currents": (1.0, row[1]), "inductance": 0.01}
    e = line.part(PARTICLE, n, 0, setting=100.0, stiffness=5000.0, **raw)
    r = run(line, 0.5, fast=1.0)
    assert bool(r.events(e, 3)) is slips
    assert r.torque(e)[-1] == pytest.approx(min(60.0, 60.0 / share), rel=1e-7)
    assert r.heat(e)[-1] == pytest.approx(0.5 * (60.0**2 - r.torque(e)[-1] ** 2) / 5000.0, abs=1e-8)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("f", [0.3, 0.9, 1.06, 1.3])
def test_dial_turns_the_current(kind, f):
    """The torque goes with the factor, the program's currents with the gain; the ceiling ends it."""
    part = REGISTRY[kind]
    p = row_of(kind, setting=100.0, requested_torque=80.0)
    new = (*part.call("dial", p, f), *p[3:])
    assert part.call("sheet", new)["setting"][0] == pytest.approx(80.0 * f, rel=1e-12)
    assert new[2] == pytest.approx(new[1] / p[1], rel=1e-12)
    top = (*part.call("dial", p, 9.0), *p[3:])
    s = part.call("sheet", top)
    assert s["setting"][0] < s["torque no current exceeds"][0]
    assert s["setting"][0] > 0.99 * s["torque no current exceeds"][0]


def test_program_dialled():
    """With the row dialled, the same program gives the factor's torque at rated current."""
    line = Line()
    e = line.part(PARTICLE, line.lead(5.0), 0, setting=100.0, **(FADES | {"currents": (1.0,) * 4}))
    a = line.assembly(0.3)
    rows = a.rows.copy()
    rows[0, :3] = REGISTRY[PARTICLE].call("dial", rows[0], 0.5)
    assert Run(a.with_rows(rows)).torque(e)[-1] == pytest.approx(50.0, rel=1e-9)
