"""Gears, belts and chains through the kernel: mirror, scale, energy, what is left out, steady running."""

from __future__ import annotations

import numpy as np
import pytest
from lines import REGISTRY, Line, Run, Start, pull, raw_of, row_of, run, sheet_of

from simcore.line.assemble import assemble
from simcore.parts import _contact as ct
from simcore.parts import _mesh
from simcore.scenario.read import read_text
from simcore.solver.kernel import run_one

TRANSMISSIONS = {
    "gear": (0.1, {"ratio": 10.0, "stiffness": 9000.0, "efficiency": 0.8, "efficiency_back": 0.6}),
    "worm gear": (0.1, {"ratio": 10.0, "stiffness": 9000.0, "lash": 0.004}),
    "planetary gear": (0.1, {"ratio": 10.0, "stiffness": 9000.0}),
    "flat belt": (0.5, {"radius_in": 0.05, "radius_out": 0.1, "stiffness": 1e5, "pretension": 600.0}),
    "V-belt": (0.5, {"radius_in": 0.05, "radius_out": 0.1, "stiffness": 1e5, "pretension": 300.0}),
    "chain drive": (0.45, {"pitch": 0.01905, "teeth_in": 9.0, "teeth_out": 20.0, "stiffness": 4e5}),
}
by_kind = pytest.mark.parametrize("kind", TRANSMISSIONS)
GROWS = ("stiffness", "pretension", "no_load_torque")


def crash(kind: str, sense: float = 1.0, scale: float = 1.0, rtol: float = 1e-8) -> Run:
    """A rotor thrown through a transmission onto a load at rest behind a shaft that is held at its end."""
    ra, raw = TRANSMISSIONS[kind]
    raw = {n: v * scale if n in GROWS else v for n, v in raw.items()}
    if "pretension" in raw:
        raw |= {"heat_capacity": 2000.0 * scale, "cooling": 20.0 * scale}
    line = Line()
    a, b = line.mass(0.05 * scale, sense * 40.0), line.mass(0.1 * scale)
    line.part(kind, a, b, ra=ra, relative_damping=0.1, start=Start(mode=0), **raw)
    line.part("shaft", b, 0, stiffness=500.0 * scale, relative_damping=0.2)
    return run(line, 0.15, w1=60.0, rtol=rtol)


@by_kind
def test_crash_keeps_its_energy(kind):
    r = crash(kind)
    assert r.residual < 1e-6
    assert np.diff(r.heat(0)).min() > -1e-9
    assert r.peak(0) > 10.0


@by_kind
def test_mirrored_and_scaled_crashes(kind):
    r, back, large = crash(kind), crash(kind, -1.0), crash(kind, 1.0, 8.0)
    n = min(len(r.t), len(back.t))
    if kind != "chain drive":  # the links of a chain are not laid on alike both ways
        assert back.peak(0) == pytest.approx(r.peak(0), rel=1e-9)
        assert back.t[:n] == pytest.approx(r.t[:n], rel=1e-9)
    assert large.peak(0) == pytest.approx(8.0 * r.peak(0), rel=1e-9)
    assert [v[0] for v in large.out.events] == pytest.approx([v[0] for v in r.out.events], rel=1e-8)


@pytest.mark.parametrize("kind", ["flat belt", "V-belt"])
def test_belt_slips_and_grips_again(kind):
    """Slip shows in a mode of its class; the heat goes into the belt; below the capacity nothing slips or warms."""
    r = crash(kind)
    klass = r.a.klass[0, r.mode(0)]
    assert set(klass) == {0, 2}
    assert klass[-1] == 0
    top = sheet_of(kind, **TRANSMISSIONS[kind][1])["capacity"]
    assert np.abs(r.torque(0)[klass == 2]).max() == pytest.approx(top, rel=1e-9)
    assert r.state(0, 1).max() > 0.0
    calm = Line()
    n = calm.mass(0.1, angle=0.9 * top / REGISTRY[kind].call("hint", r.a.rows[0]))
    calm.part(kind, n, 0, **TRANSMISSIONS[kind][1])
    quiet = run(calm, 0.1, fast=1.0)
    assert quiet.heat(0)[-1] == 0.0
    assert set(quiet.mode(0)) == {0}


def test_chain_pulls_from_both_strands_but_never_pushes():
    r = crash("chain drive")
    forward, backward = np.isin(r.mode(0), (ct.FORWARD,)), np.isin(r.mode(0), (ct.BACKWARD,))
    assert r.torque(0)[forward].min() > -1e-6 * r.peak(0)
    assert (r.torque(0)[backward] <= 1e-6 * r.peak(0)).all()
    assert {ct.OPEN_PLAY, ct.FORWARD} <= set(r.mode(0))


def swing(share: float, rtol: float = 1e-9) -> Run:
    """A gear without lash, left alone with ``share`` of 48 N*m in its mesh, turning on."""
    line = Line()
    a, b = line.mass(0.004, 100.0, 10.0 * share * 0.004), line.mass(0.3, 10.0)
    line.part("gear", a, b, ra=0.1, ratio=10.0, stiffness=12e3, efficiency=0.8, relative_damping=0.3,
              start=Start(mode=ct.TIGHT_F))  # fmt: skip
    return run(line, 1.0, w1=100.0, rtol=rtol)


def test_a_gear_left_alone_stops_making_events():
    """It rings down; changes of sign are located down to a ten-thousandth of the common twist and no further."""
    r = swing(1.0)
    instants = r.events(0)
    assert 10 < len(instants) < 200
    late = r.t > instants[-1] + 1e-3
    assert np.abs(r.torque(0)[late]).max() < 48.0 * 1e-3
    assert r.residual < 1e-8
    assert swing(1e-5).events(0) == []
    assert len(swing(1e-3).events(0)) > 5


def test_a_stiff_gear_turning_on_behind_broken_pins_comes_to_rest_of_events():
    """Its swing stays above rounding, below the tolerance; located, it took 127,000 steps in two minutes."""
    line = Line()
    motor, hub = line.mass(0.28, 157.0), line.mass(0.5, 157.0 / 12.0 * 1.01)
    line.part("gear", motor, hub, ra=1.0 / 12.0, ratio=12.0, stiffness=600e3, efficiency=0.96, relative_damping=0.3)
    r = run(line, 20.0, w1=200.0, rtol=2e-8)
    assert 5 < len(r.events(0)) < 100
    assert len(r.t) < 1500
    assert r.residual < 1e-6


def test_a_change_of_sign_is_located_where_it_is():
    """The guard is late by no more than its bound, and at an ordinary swing by nothing that counts."""
    r = swing(1.0)
    at = [r.at(t, r.torque(0)) for t in r.events(0)[:6]]
    assert np.abs(at).max() < 1e-6
    row = r.a.rows[0]
    for share in (0.5, 1e-3):
        speed = share * 0.004 * 1000.0
        late = ct.calm(row[_mesh.K], speed)
        assert late < 48.0 * 1.1e-12 / (share * share)


def test_no_load_torque_takes_its_momentum():
    """Without loss in the mesh i*Ja*wa + Jb*wb falls by i*M0 a second, whatever swings.  Textbook."""
    line = Line()
    a, b = line.mass(0.02, 150.0), line.mass(0.3, 15.0)
    line.part("gear", a, b, ra=0.1, ratio=10.0, stiffness=9e3, no_load_torque=6.0, efficiency=1.0,
              start=Start(mode=ct.TIGHT_B))  # fmt: skip
    r = run(line, 0.4, rtol=1e-9)
    momentum = 10.0 * 0.02 * r.speed(a) + 0.3 * r.speed(b)
    assert momentum == pytest.approx(34.5 - 60.0 * r.t, rel=1e-8)
    assert r.residual < 1e-8


@pytest.mark.parametrize(("ratio", "efficiency"), [(10.0, 0.85), (20.0, 0.78), (50.0, 0.65)])
def test_worm_defaults(ratio, efficiency):
    """By ratio; common practice, no source.  Cold: the loss ratio grows forward by what is lost backward."""
    s = sheet_of("worm gear", ratio=ratio, rated_torque=100.0)
    assert s["efficiency"] == pytest.approx(efficiency, abs=0.003)
    assert s["efficiency when driven"] == pytest.approx(2.0 - 1.0 / s["efficiency"], rel=1e-12)
    cold = sheet_of("worm gear", ratio=ratio, rated_torque=100.0, cold_loss=0.1)
    assert cold["efficiency"] == pytest.approx(s["efficiency"] - 0.1, rel=1e-12)
    assert cold["efficiency when driven"] == pytest.approx(2.0 - 1.0 / cold["efficiency"], rel=1e-12)


def test_planetary_defaults():
    """Stages in series multiply; two milliradians at rated torque; common practice, no source."""
    one, two = (sheet_of("planetary gear", ratio=i, rated_torque=100.0) for i in (10.0, 25.0))
    assert (one["efficiency"], two["efficiency"]) == pytest.approx((0.97, 0.97**2), rel=1e-12)
    assert one["stiffness at the output"] == pytest.approx(100.0 / 0.002, rel=5e-3)


SCENARIO = """
title = "Barn ventilation winch"
protect = "cable drum shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "8 N*m"
speed = "1400 rpm"
inertia = "0.01 kg*m^2"
[[line]]
name = "belt"
part = "V-belt"
radius_in = "50 mm"
radius_out = "100 mm"
centre_distance = "0.4 m"
pretension = "30 N"
inertia_out = "0.01 kg*m^2"
[[line]]
name = "worm"
part = "worm gear"
ratio = 20
rated_torque = "200 N*m"
inertia_out = "0.02 kg*m^2"
[[line]]
name = "chain"
part = "chain drive"
pitch = "12.7 mm"
teeth_in = 17
teeth_out = 38
breaking_load = "18 kN"
strand_length = "0.4 m"
inertia_out = "0.05 kg*m^2"
[[line]]
name = "cable drum shaft"
part = "shaft"
stiffness = "9 kN*m/rad"
allowable = "600 N*m"
[[line]]
name = "drum"
part = "flywheel"
inertia = "0.3 kg*m^2"
[[line]]
name = "brake band"
part = "friction load"
running = "120 N*m"
[situations."jams"]
event = "hard stop"
stiffness = "20 kN*m/rad"
horizon = "0.3 s"
"""


def test_a_line_of_them_runs_steadily_and_jams():
    """Through the steady solver.  The belt pulls what it must, and slips in the jam."""
    s = read_text(SCENARIO)
    a = assemble(s, None, s.situations["jams"])
    out = run_one(a)
    assert out.status <= 1
    ny, count = len(a.y0), len(a.parts)
    torque = {n: out.trace[0, 1 + ny + i] for i, n in enumerate(a.names)}
    worm = sheet_of("worm gear", ratio=20.0, rated_torque=200.0)["efficiency"]
    assert torque["cable drum shaft"] == pytest.approx(120.0, rel=1e-6)
    assert torque["worm"] == pytest.approx(torque["chain"] * 17.0 / 38.0, rel=2e-3)  # radii of the moment
    assert torque["belt"] == pytest.approx(torque["worm"] / (20.0 * worm), rel=1e-6)
    modes = out.trace[:, 1 + ny + 2 * count + a.index("belt")].astype(int)
    assert set(a.klass[a.index("belt"), modes]) == {0, 2}


def test_pull_of_a_slow_worm_is_its_holding_interval():
    """Both ends to 1e-6: eta_b*T/i and T/(eta_f*i)."""
    for motor, sign in ((100.0 * 0.5 / 20.0, -1.0), (100.0 / (0.8 * 20.0), 1.0)):
        for off, moves in ((1.0 - sign * 1e-6, False), (1.0 + sign * 1e-6, True)):
            line = Line()
            n = line.mass(0.01, angle=20.0 * 100.0 / 9000.0)
            line.part("worm gear", n, 0, ra=0.05, ratio=20.0, stiffness=9000.0, efficiency=0.8, efficiency_back=0.5,
                      lash=0.0, start=Start(mode=ct.TIGHT_F))  # fmt: skip
            pull(line, n, motor * off)
            assert (run(line, 0.01, fast=1.0).speed(n)[-1] != 0.0) == moves


@pytest.mark.parametrize("strands", ["one", "two"])
def test_relative_damping_of_a_belt_is_that_of_all_its_strands(strands):
    """Energy lost in a cycle over the most stored: psi = 2 pi c w / k with the stiffness of all strands; textbook."""
    more = {"pretension": 5000.0} if strands == "two" else {}
    row = row_of("belt or chain", stiffness=2e5, relative_damping=0.25, strands=float(strands == "two"), **more)
    k = REGISTRY["belt or chain"].call("hint", row)
    assert 2.0 * np.pi * row[1] / k == pytest.approx(0.25, rel=1e-12)


def test_a_magnet_gap_alone_is_refused_beside_a_setting():
    part = REGISTRY["magnet disc"]
    assert part.call("refuse", part.raw_lists(raw_of(part, setting=150.0))) == []
    (said,) = part.call("refuse", part.raw_lists(raw_of(part, setting=150.0, gap=2e-3)))
    assert "gap, reference_gap and pole_pitch together" in said
