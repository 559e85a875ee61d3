"""Overrunning clutches through the kernel: loading, mirror, scale, energy, drag that holds, steady running."""

from __future__ import annotations

from math import pi, radians, sqrt

import numpy as np
import pytest
from lines import REGISTRY, Line, Run, Start, pull, run, sheet_of
from states import NEEDED

from simcore.line.assemble import assemble
from simcore.parts._one_way import DRIVING, FREE, GIVING, HELD, OVERRUNNING, SLIDING
from simcore.scenario.read import read_text
from simcore.solver.arrays import Status
from simcore.solver.kernel import run_one

KINDS = {
    "wrap spring": {"capacity": 200.0},
    "roller": {"capacity": 200.0},
    "ratchet": {"capacity": 200.0, "teeth": 24.0},
    "sprag": {"capacity": 200.0, "progressive": 0.4},
}
by_kind = pytest.mark.parametrize("kind", KINDS)
CREEP = 1e-3


def crept(kind: str, sense: float = 1.0, psi: float = 1e-4, way: float = 0.35) -> Run:
    """Turned slowly against a held hub, through the engaging angle and past the capacity."""
    line = Line()
    drives = "forward" if sense > 0.0 else "backward"
    line.part(f"{kind} freewheel", line.lead(sense * CREEP), 0, start=Start(mode=FREE), drives=drives,
              relative_damping=psi, **KINDS[kind])  # fmt: skip
    return run(line, way / CREEP, w1=60.0, h_max=0.5, fast=CREEP)


@by_kind
def test_reaches_its_capacity(kind):
    r = crept(kind)
    assert r.peak(0) == pytest.approx(200.0, rel=1e-4)
    assert r.mode(0)[-1] == (GIVING if kind == "ratchet" else SLIDING)
    assert r.torque(0)[-1] == (0.0 if kind == "ratchet" else 200.0)


@by_kind
def test_loses_nothing_before_its_capacity(kind):
    r = crept(kind, psi=0.0)
    end = int(np.argmax(r.mode(0) >= GIVING)) - 1
    assert r.torque(0)[end] > 100.0
    assert r.heat(0)[end] == 0.0
    stored = sheet_of(f"{kind} freewheel", **KINDS[kind])["energy to the capacity"]
    if kind == "ratchet":
        assert r.heat(0)[-1] == pytest.approx(stored, rel=1e-8)


@by_kind
def test_takes_load_after_its_engaging_angle(kind):
    """From rest: the engaging angle less the drag's wind-up; a ratchet begins half a pitch from its tooth."""
    r = crept(kind)
    s = sheet_of(f"{kind} freewheel", **KINDS[kind])
    wound = s["overrunning drag"] / s["stiffness up to the capacity"]
    angle = s["largest engaging angle"] * (0.5 if kind == "ratchet" else 1.0)
    assert CREEP * r.events(0, DRIVING)[0] == pytest.approx(angle - wound, rel=1e-8)


@by_kind
def test_turned_the_other_way_only_drags(kind):
    """D on the way, D*angle of heat, less what its spring takes up at the beginning."""
    line = Line()
    line.part(f"{kind} freewheel", line.lead(-1.0), 0, start=Start(mode=FREE), drag=0.01, **KINDS[kind])
    r = run(line, 2.0, w1=60.0)
    s = sheet_of(f"{kind} freewheel", drag=0.01, **KINDS[kind])
    assert s["overrunning drag"] == pytest.approx(2.0, rel=1e-12)
    assert r.mode(0)[-1] == OVERRUNNING
    assert r.peak(0) == pytest.approx(2.0, rel=1e-6)
    wound = 2.0 / s["stiffness up to the capacity"]
    assert r.heat(0)[-1] == pytest.approx(2.0 * (2.0 - wound), rel=1e-8)


def shuttle(kind: str, sense: float = 1.0, scale: float = 1.0, rtol: float = 1e-10, speed: float = 25.0) -> Run:
    """Two inertias: overloaded when driven, then overrunning, caught again and driven again."""
    line = Line()
    a, b = line.mass(0.5 * scale, sense * speed), line.mass(0.2 * scale)
    teeth = {"teeth": 120.0} if kind == "ratchet" else {}
    raw = KINDS[kind] | teeth | {"capacity": 200.0 * scale, "drives": "forward" if sense > 0.0 else "backward"}
    line.part(f"{kind} freewheel", a, b, start=Start(mode=FREE), relative_damping=0.25, drag=0.02, **raw)
    pull(line, a, sense * 15.0 * scale)
    line.part("friction load", b, 0, running=20.0 * scale)
    return run(line, 0.6, w1=250.0, rtol=rtol)


SPEED = {"ratchet": 0.5}
"""A ratchet breaks at speeds at which the others slip."""


@by_kind
def test_mirrored(kind):
    there, back = (shuttle(kind, s, speed=SPEED.get(kind, 25.0)) for s in (1.0, -1.0))
    assert len(there.events(0)) > 6
    assert there.events(0) == pytest.approx(back.events(0), abs=1e-11)
    assert back.torque(0) == pytest.approx(-there.torque(0), rel=1e-9, abs=1e-9)
    assert back.heat(0)[-1] == pytest.approx(there.heat(0)[-1], rel=1e-12)


@by_kind
def test_scaled(kind):
    one, eight = (shuttle(kind, scale=s, speed=SPEED.get(kind, 25.0)) for s in (1.0, 8.0))
    assert one.events(0) == eight.events(0)
    assert np.array_equal(8.0 * one.torque(0), eight.torque(0))


@by_kind
def test_ledger_through_overload_and_overrunning(kind):
    r = shuttle(kind, rtol=1e-7)
    assert set(r.mode(0)) >= ({FREE, GIVING} if kind == "ratchet" else {DRIVING, SLIDING, OVERRUNNING, HELD})
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() > -1e-9
    slow = shuttle(kind, rtol=1e-7, speed=SPEED.get(kind, 25.0))
    assert slow.residual < 1e-6
    assert np.diff(slow.heat(0)).min() > -1e-9
    assert slow.heat(0)[-1] > 0.0


@by_kind
@pytest.mark.parametrize(("share", "most"), [(0.5, 6), (0.99, 14)])
def test_drag_holds_at_no_relative_speed(kind, share, most):
    """A shaft slowed so gently that its drag slows the other with it: no endless switching, same speed."""
    line = Line()
    a, b = line.mass(0.5, 20.0), line.mass(0.2, 20.0)
    raw = KINDS[kind] | {"drag": 0.02, "relative_damping": 0.8}
    e = line.part(f"{kind} freewheel", a, b, start=Start(mode=FREE), **raw)
    pull(line, a, -share * 4.0 * 0.7 / 0.2)
    r = run(line, 1.0, w1=60.0)
    assert len(r.events(e)) <= most
    assert r.mode(e)[-1] == HELD
    assert r.torque(e)[-1] == pytest.approx(-4.0 * share, rel=1e-3)
    assert r.speed(a)[-1] == pytest.approx(r.speed(b)[-1], abs=1e-3)


@by_kind
@pytest.mark.parametrize("drag", [0.0, 5e-4])
@pytest.mark.parametrize("psi", [0.0, 0.25])
def test_swings_into_the_clutch_again_and_again(kind, drag, psi):
    line = Line()
    n = line.mass(0.05, -6.0)
    lash = {"teeth": 120.0} if kind == "ratchet" else {"engaging_angle": radians(1.0)}
    raw = KINDS[kind] | {"capacity": 2000.0} | lash
    line.part(f"{kind} freewheel", n, 0, start=Start(mode=OVERRUNNING), relative_damping=psi, drag=drag, **raw)
    line.part("shaft", n, 0, stiffness=300.0)
    r = run(line, 1.0, w1=250.0, rtol=1e-9, fast=6.0)
    assert r.events(0, DRIVING)
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() > -1e-9


def test_tight_clutch_without_drag():
    """No engaging angle and no drag: it catches a swing at its turning point.  Closed form: half a period of both
    springs, a quarter of the soft one; then the soft spring's pull F is a step, peak 2*F*k/(k + ks)."""
    line = Line()
    n = line.mass(0.05, 3.0)
    line.part("roller freewheel", n, 0, capacity=2000.0, engaging_angle=0.0, drag=0.0)
    line.part("shaft", n, 0, stiffness=30.0)
    r = run(line, 0.5, fast=3.0)
    k = 2000.0 / radians(1.5)
    caught = pi * sqrt(0.05 / (30.0 + k)) + 0.5 * pi * sqrt(0.05 / 30.0)
    assert r.events(0, DRIVING)[0] == pytest.approx(caught, rel=1e-7)
    after = r.torque(0)[r.t > caught]
    assert after.max() == pytest.approx(2.0 * 3.0 * sqrt(30.0 * 0.05) * k / (k + 30.0), rel=1e-4)
    assert r.angle(n)[-1] == pytest.approx(-3.0 * sqrt(0.05 / 30.0), rel=2e-3)
    assert r.residual < 1e-9


@pytest.mark.parametrize("name", [f"{k} {w}" for k in KINDS for w in ("freewheel", "backstop")])
def test_begins_in_the_mode_of_running(name):
    part = REGISTRY[name]
    raw = NEEDED[name]
    line = Line()
    line.part(name, line.mass(1.0), 0, **raw)
    row = line.assembly(1.0).rows[0]
    begin = [part.call("start_mode", row, s) for s in (1.0, -1.0, 0.0, -0.0)]
    want = [OVERRUNNING, DRIVING] if "backstop" in name else [DRIVING, OVERRUNNING]
    assert begin == [*want, FREE, FREE]


CONVEYOR = """
title = "Bakery conveyor with a creep drive"
protect = "coupling"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "60 N*m"
speed = "20 rad/s"
inertia = "0.1 kg*m^2"
[[line]]
name = "coupling"
part = "flexible coupling"
stiffness = "5 kN*m/rad"
allowable = "400 N*m"
[[line]]
name = "drum"
part = "flywheel"
inertia = "0.4 kg*m^2"
[[line]]
name = "holder"
part = "%s backstop"
capacity = "300 N*m"
drag = 0.02%s
[[line]]
name = "bearing"
part = "friction load"
running = "10 N*m"
[[line]]
name = "creep motor"
part = "constant-torque motor"
torque = "40 N*m"
speed = "10 rad/s"
inertia = "0.05 kg*m^2"
[[line]]
name = "clutch"
part = "%s freewheel"
capacity = "2000 N*m"
drag = 0.0005%s
in_service = "overrunning"
joins = "drum"
[situations."start"]
event = "start"
"""


@by_kind
def test_steady_running_of_a_line_with_both(kind):
    """The backstop drags with 6 N*m, the freewheel of the slower creep drive with 1 N*m, all on the motor."""
    teeth = "\nteeth = 24" if kind == "ratchet" else ""
    scenario = read_text(CONVEYOR % (kind, teeth, kind, teeth))
    a = assemble(scenario, None, None)
    out = run_one(a)
    assert out.status == Status.DONE
    T = dict(zip(a.names, out.trace[-1, 1 + len(a.y0) :], strict=False))
    assert T["holder"] == pytest.approx(6.0, rel=1e-9)
    assert T["clutch"] == pytest.approx(-1.0, rel=1e-9)
    assert T["coupling"] == pytest.approx(10.0 + 6.0 + 1.0, rel=1e-7)


@by_kind
def test_start_of_a_line_with_both(kind):
    """Both motors pull until the creep drive is overtaken; at the end only the main motor drives."""
    teeth = "\nteeth = 24" if kind == "ratchet" else ""
    scenario = read_text(CONVEYOR % (kind, teeth, kind, teeth))
    a = assemble(scenario, None, scenario.situations["start"])
    out = run_one(a)
    assert out.status == Status.DONE
    T = out.trace[:, 1 + len(a.y0) + a.index("clutch")]
    assert T.max() > 5.0
    assert T[-1] == pytest.approx(-1.0, rel=1e-6)
    residual = out.meas[-1, 7] / out.meas[-1, 6]
    assert abs(residual) < 1e-6
