"""Jams of many sorts through the kernel: they come, hold, yield, pass, are taken away; mirrored and scaled."""

from __future__ import annotations

from math import acos, acosh, exp, sqrt

import numpy as np
import pytest
from lines import Line, Run, Start, pull, run, sheet_of
from states import REGISTRY, row, state, torque

from simcore.contract import N_MEMORY
from simcore.parts import crushed_product as cp
from simcore.parts import foreign_body as fb
from simcore.parts import hard_stop, soft_stop, wedge
from simcore.parts._restitution import damping_ratio

J, W = 0.6, 9.0
WEDGE = {"resistance": 200.0, "depth": 0.01, "exponent": 1.5}
JAMS = {
    "soft stop": {"stiffness": 5e4, "effective_mass": J, "restitution": 0.4, "progression": 4.0, "stroke": 0.02},
    "wedge": WEDGE | {"unloading": 0.4},
    "crushed product": {"plateau": 300.0, "stiffness": 2e4, "crush_length": 0.5},
    "foreign body": {"drag": 200.0, "rises_over": 0.03, "stays_over": 0.05, "falls_over": 0.02},
}
TORQUES = ("stiffness", "effective_mass", "resistance", "plateau", "drag")
"""Inputs that grow with the scale."""


def jammed(kind: str, sense: float = 1.0, scale: float = 1.0, **more: float) -> tuple[Line, int, int]:
    """A load that runs on behind a shaft into a jam 20 ms on; ``scale`` times all torques and inertias."""
    line = Line()
    a, b = line.mass(J * scale, sense * W, sense * 3.0 / 4e3), line.mass(0.1 * scale, sense * W)
    line.part("shaft", a, b, stiffness=4e3 * scale, relative_damping=0.1)
    line.part("friction load", b, running=3.0 * scale)
    pull(line, a, sense * 3.0 * scale)
    raw = {k: v * scale if k in TORQUES else v for k, v in (JAMS[kind] | more).items()}
    return line, b, line.part(kind, b, when=0.02, **raw)


def mirrors(r: Run, back: Run) -> None:
    n = min(len(r.t), len(back.t))
    assert np.array_equal(r.t[:n], back.t[:n])
    assert back.speed(1)[:n] == pytest.approx(-r.speed(1)[:n], rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("kind", JAMS)
def test_mirrored_scaled_and_balanced(kind):
    """Runs of 0.4 s: nothing before 20 ms, no energy lost from sight, heat only grows."""
    line, b, jam = jammed(kind)
    r = run(line, 0.4, rtol=1e-8, w1=60.0)
    assert r.events(jam)[0] == pytest.approx(0.02, abs=1e-12)
    assert len(r.events(jam)) > 1
    assert r.at(0.02, r.speed(b)) == pytest.approx(W, rel=1e-9)
    assert r.residual < 1e-7
    assert np.diff(r.heat(jam)).min() > -1e-9
    back = run(jammed(kind, -1.0)[0], 0.4, rtol=1e-8, w1=60.0)
    mirrors(r, back)
    big = run(jammed(kind, scale=7.0)[0], 0.4, rtol=1e-8, w1=60.0)
    assert big.events(jam) == pytest.approx(r.events(jam), rel=1e-6)
    assert big.heat(jam)[-1] == pytest.approx(7.0 * r.heat(jam)[-1], rel=1e-6)


@pytest.mark.parametrize(("kind", "by_hand"), [*((k, True) for k in JAMS), *((k, False) for k in list(JAMS)[:3])])
def test_taken_away(kind, by_hand):
    """After 30 ms or by the clear command: from then on it takes no energy, what it stored is heat."""
    line, _, jam = jammed(kind, **({} if by_hand else {"lasts": 0.03}))
    if by_hand:
        line.part("clear", when=0.03 if kind == "foreign body" else 0.05)
    r = run(line, 0.2, rtol=1e-8, w1=60.0)
    last = 0.03 if kind == "foreign body" else 0.05
    after = r.t > last + 1e-9
    assert r.events(jam)[-1] == pytest.approx(last, abs=1e-12)
    assert np.ptp(r.heat(jam)[after]) == pytest.approx(0.0, abs=1e-12)
    assert not r.torque(jam)[after].any()
    assert r.residual < 1e-7


@pytest.mark.parametrize("z", [0.05, 0.2, 0.9999, 1.0, 1.7])
def test_damping_ratio_of_a_restitution(z):
    """There and back: e = exp(-2*z*acos z/sqrt(1 - z^2)), past 1 with acosh.  Damped free vibration, textbook."""
    shape = 1.0 if z == 1.0 else (acos(z) if z < 1.0 else acosh(z)) / sqrt(abs(1.0 - z * z))
    e = exp(-2.0 * z * shape)
    assert damping_ratio(e) == pytest.approx(z, rel=1e-9)
    assert damping_ratio(1.0) == 0.0


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("e", [0.05, 0.3, 1.0])
def test_soft_stop_throws_back_at_its_restitution(sense, e):
    """Speed after over speed before is the input itself."""
    line = Line()
    n = line.mass(2.0, sense * 3.0)
    line.part("soft stop", n, stiffness=5e4, restitution=e, effective_mass=2.0)
    r = run(line, 0.1)
    assert r.speed(n)[-1] == pytest.approx(-sense * e * 3.0, rel=1e-8)
    assert r.residual < 1e-9


def test_progressive_stop_takes_the_energy_of_its_cubic_spring():
    """m*v^2/2 = k*d^2/2 + k*g*d^4/4, F = k*d*(1 + g*d^2), g = (p - 1)/(3*s^2).  Duffing's spring, textbook."""
    k, m, v, g = 5e4, 2.0, 3.0, (4.0 - 1.0) / (3.0 * 0.01**2)
    line = Line()
    n = line.mass(m, v)
    stop = line.part("soft stop", n, stiffness=k, restitution=1.0, effective_mass=m, progression=4.0, stroke=0.01)
    r = run(line, 0.1)
    d2 = (sqrt(1.0 + 2.0 * g * m * v * v / k) - 1.0) / g
    assert r.peak(stop) == pytest.approx(k * sqrt(d2) * (1.0 + g * d2), rel=1e-7)
    assert r.turning(n)[0][1] == pytest.approx(sqrt(d2), rel=1e-7)


def test_soft_stop_shares_the_hard_stops_law():
    for f in ("torque", "guards", "clock", "switch", "loss", "store"):
        assert getattr(soft_stop, f) is getattr(hard_stop, f)
    p = REGISTRY["soft stop"].call("resolve", REGISTRY["soft stop"].raw(JAMS["soft stop"] | {"restitution": 1.0}), 1.0)
    assert soft_stop.hint(p) == pytest.approx(5e4 * 2.0)
    assert not any(REGISTRY[k].has("hint") for k in ("wedge", "crushed product", "foreign body"))


@pytest.mark.parametrize(("unloading", "stays"), [(-0.5, True), (-0.01, True), (0.01, False), (0.5, False)])
def test_wedge_holds_when_the_drive_stops(unloading, stays):
    """A drive of 40 N*m presses it in and goes off: it stays if the way out asks for a pull, else it springs back."""
    line = Line()
    n = line.mass(J, 1.0)
    line.part("wedge", n, **WEDGE, unloading=unloading)
    pull(line, n, 40.0)
    line.part("power off", when=0.5)
    r = run(line, 1.0, rtol=1e-9)
    deep = r.at(0.5, r.angle(n))
    assert deep >= 0.01 * (40.0 / 200.0) ** (2.0 / 3.0), "at least where 40 N*m drive it in slowly"
    if stays:
        assert r.angle(n)[-1] == deep
        assert r.speed(n)[-1] == 0.0
        return
    assert r.angle(n)[-1] < deep
    assert r.residual < 1e-6


def test_wedge_at_standstill_holds_between_out_and_in():
    """Depth 0.01 rad, 200 N*m in, 60 N*m out: a pull of 59 N*m back leaves it, 61 N*m takes it out.  Statics."""
    for back, moves in ((59.0, False), (61.0, True)):
        line = Line()
        n = line.mass(J, 0.0, 0.01)
        line.part("wedge", n, **WEDGE, unloading=-0.3, start=Start(mode=wedge.WEDGED, memory={wedge.SENSE: 1.0}))
        pull(line, n, -back)
        r = run(line, 0.2, fast=1.0, rtol=1e-8)
        assert (r.angle(n)[-1] < 0.0099) == moves


@pytest.mark.parametrize(("unloading", "share"), [(-0.3, 0.35), (1.0, 1.0)])
def test_energy_of_a_wedge(unloading, share):
    """F*d/(n + 1) driven in, of it (1 + u)/2 stored; taken out at the deepest point that is heat too.  Closed form."""
    line = Line()
    n = line.mass(J, W)
    jam = line.part("wedge", n, **WEDGE, unloading=unloading)
    t, deep = run(line, 0.03).turning(n)[0]
    line.elements.clear()
    line.starts.clear()
    jam = line.part("wedge", n, **WEDGE, unloading=unloading, lasts=t)
    r = run(line, 1.001 * t)
    whole = 200.0 * (deep / 0.01) ** 1.5 * deep / 2.5
    assert whole == pytest.approx(0.5 * J * W * W, rel=1e-8)
    before, after = r.heat(jam)[np.searchsorted(r.t, t * (1.0 - 1e-12))], r.heat(jam)[-1]
    assert after - before == pytest.approx(share * whole, rel=1e-3)
    assert after == pytest.approx(whole, rel=1e-7)


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_crushed_product_breaks_at_its_length(sense):
    """P*(L - P/(2*k)) up to the break: all heat, and the load runs on with the rest.  Energy balance, textbook."""
    plateau, k, length = 300.0, 2e4, 0.05
    line = Line()
    n = line.mass(J, sense * W)
    jam = line.part("crushed product", n, plateau=plateau, stiffness=k, crush_length=length)
    r = run(line, 0.2)
    work = plateau * (length + plateau / k - 0.5 * plateau / k)
    assert r.mode(jam)[-1] == cp.GONE
    assert r.heat(jam)[-1] == pytest.approx(work, rel=1e-9)
    assert r.speed(n)[-1] == pytest.approx(sense * sqrt(W * W - 2.0 * work / J), rel=1e-9)
    assert r.residual < 1e-8


def test_crushed_product_keeps_its_crushed_length():
    """Thrown back it parts at the crushed length; hit again with less it is only squeezed."""
    line = Line()
    n = line.mass(J, 4.0)
    jam = line.part("crushed product", n, plateau=300.0, stiffness=2e4)
    pull(line, n, 20.0)
    r = run(line, 0.5)
    crushed = [r.at(t, r.angle(n)) for t in r.events(jam, cp.CLEAR)]
    assert len(crushed) > 2
    assert crushed == pytest.approx([crushed[0]] * len(crushed), rel=1e-6)
    assert len(r.events(jam, cp.CRUSHING)) == 1
    assert r.heat(jam)[-1] == pytest.approx(300.0 * crushed[0], rel=1e-7)


@pytest.mark.parametrize("shape", [(0.03, 0.05, 0.02), (0.0, 0.05, 0.0), (0.05, 0.0, 0.0), (0.0, 0.0, 0.06)])
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_foreign_body_passes_if_the_load_has_its_work(shape, sense):
    """Work F*(rise/2 + stay + fall/2): 1 % more moving energy and it passes, 1 % less and the load stands in it."""
    work = 100.0 * (0.5 * shape[0] + shape[1] + 0.5 * shape[2])
    given = {k: v for k, v in zip(("rises_over", "stays_over", "falls_over"), shape, strict=True) if v}
    for energy in (1.01 * work, 0.99 * work):
        line = Line()
        n = line.mass(2.0, sense * sqrt(energy))
        jam = line.part("foreign body", n, drag=100.0, **given)
        r = run(line, 0.6)
        assert r.heat(jam)[-1] == pytest.approx(min(work, energy), rel=1e-8)
        passed = r.mode(jam)[-1] == fb.PASSED
        assert passed == (energy > work)
        assert abs(r.speed(n)[-1]) == pytest.approx(sqrt(max(0.0, energy - work)), rel=1e-7, abs=1e-12)
    assert sheet_of("foreign body", drag=100.0, **given)["distance until it has passed"] == pytest.approx(sum(shape))


def test_foreign_body_turned_out_again():
    """A spring pulls the load back out of it; on the next swing it goes in again."""
    line = Line()
    n = line.mass(2.0, 1.5)
    line.part("shaft", n, 0, stiffness=3000.0)
    jam = line.part("foreign body", n, drag=3.0, rises_over=0.01, stays_over=1.0)
    r = run(line, 1.0)
    assert r.events(jam, fb.BEFORE)
    assert r.events(jam, fb.RISING)[-1] > r.events(jam, fb.BEFORE)[0]
    assert r.residual < 1e-9
    assert not any(r.torque(jam))


MODES = [("soft stop", 1), ("soft stop", 2), ("wedge", wedge.WEDGED), ("crushed product", cp.SQUEEZED),
         ("crushed product", cp.CRUSHING)]  # fmt: skip


@pytest.mark.parametrize(("kind", "mode"), MODES)
@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("nu", [2.0, -2.0])
def test_power_in_is_stored_or_lost_at_depth(kind, mode, sense, nu):
    """T*nu = dE/dt + loss at 6 mrad past first contact, by central differences; dry friction comes on top."""
    part = REGISTRY[kind]
    p = row(part, JAMS[kind])
    mem = [0.3, sense, 0.002] + [0.0] * (N_MEMORY - 3)
    phi = 0.3 + sense * 0.006
    q = state(part, p, mode, phi, nu, mem=mem)
    T, d = torque(part, q), 1e-7
    ends = [part.call("store", state(part, p, mode, phi + s * nu, nu, mem=mem)) for s in (d, -d)]
    assert T * nu == pytest.approx((ends[0] - ends[1]) / (2.0 * d) + part.call("loss", q, T), rel=1e-6, abs=1e-5)
    if all(g >= 0.0 for g in part.call("guards", q, T)):
        assert part.call("loss", q, T) >= 0.0
