"""Couplings and joints called as plain functions: power, mirror, progressive law, data sheets, mounting."""

from __future__ import annotations

from math import acos, atan2, cos, degrees, pi, radians, sin, tan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import row_of, sheet_of
from states import REGISTRY

from simcore.contract import Q
from simcore.line.assemble import assemble
from simcore.measures.cases import make_case
from simcore.measures.sensitivity import scaled_damping
from simcore.scenario.corner import cornered
from simcore.scenario.read import read_text

unit = st.floats(-1.0, 1.0, allow_nan=False)
often = settings(max_examples=200, deadline=None)
UNEVEN = {
    "universal joint": {"joint_angle": 0.5, "stiffness": 4000.0, "lash": 0.004},
    "misaligned coupling": {
        "stiffness": 4000.0, "twist_at_rated": 0.01, "progression": 3.0, "lash": 0.004, "error_once": 0.05,
        "error_twice": 0.02,
    },
}  # fmt: skip
FLANGE = {"mounting": "flange for a sprocket or pulley"}


def seen(p, mode, ta, wa, tb, wb) -> Q:
    return Q(mode, 0.0, ta - tb, wa - wb, ta, wa, tb, wb, (), (), (1.0, 0.0, 0.0), p, (0.0,))


def call(kind, name, *args):
    return REGISTRY[kind].call(name, *args)


def drawn(data, kind, phase):
    """A random place in the turn, both hubs turning, the twist near the flanks."""
    p = row_of(kind, 60.0, phase=phase, relative_damping=0.5, **UNEVEN[kind])
    mode, ta = data.draw(st.integers(0, 6)), data.draw(unit) * 40.0
    wa, wb = data.draw(unit) * 100.0, data.draw(unit) * 100.0
    tb = driven(kind, ta, phase) - data.draw(unit) * 0.01
    return p, mode, ta, wa, tb, wb


def driven(kind, ta, phase) -> float:
    """Angle of hub b without twist: by tan(g) = tan(theta)/cos(beta) [rad], written with atan2."""
    if kind == "misaligned coupling":
        x = ta + phase
        return ta + 0.05 * (sin(x) - sin(phase)) + 0.02 * (sin(2 * x) - sin(2 * phase))
    c = cos(0.5)
    place = turned(phase, c**-0.5)
    return turned(ta + place, c) - turned(phase, c**0.5)


def turned(x: float, c: float) -> float:
    """The angle in the same turn as ``x`` whose tangent is tan(x)/c."""
    off = atan2(sin(x) / c, cos(x)) - atan2(sin(x), cos(x))
    return x + off


@pytest.mark.parametrize("kind", UNEVEN)
@given(data=st.data())
@often
def test_power_at_both_hubs_is_stored_or_lost(kind, data):
    """(T - ground)*wa - T*wb = dE/dt + loss with both hubs turning; loss >= 0 where the flank carries."""
    p, mode, ta, wa, tb, wb = drawn(data, kind, 0.7)
    q = seen(p, mode, ta, wa, tb, wb)
    T = call(kind, "torque", q)
    ga, gb = call(kind, "ground", q, T)
    d = 1e-6 / (1.0 + abs(wa) + abs(wb))

    def energy(s):
        return call(kind, "store", seen(p, mode, ta + s * wa, wa, tb + s * wb, wb))

    change = (energy(d) - energy(-d)) / (2 * d)
    loss = call(kind, "loss", q, T)
    size = max(abs(T * wa), abs(T * wb), abs(change), 100.0)
    assert abs((T - ga) * wa - (T - gb) * wb - change - loss) < 1e-6 * size
    if all(g >= 0.0 for g in call(kind, "guards", q, T)):
        assert loss >= 0.0


@pytest.mark.parametrize("kind", UNEVEN)
@given(data=st.data())
@often
def test_mirrored(kind, data):
    """Angles, speeds and phase reversed: torque and ground torque reversed, same loss and energy."""
    p, mode, ta, wa, tb, wb = drawn(data, kind, 0.7)
    back = row_of(kind, 60.0, phase=-0.7, relative_damping=0.5, **UNEVEN[kind])
    one = seen(p, mode, ta, wa, tb, wb)
    two = seen(back, (0, 2, 1, 4, 3, 6, 5)[mode], -ta, -wa, -tb, -wb)
    T = call(kind, "torque", one)
    assert call(kind, "torque", two) == pytest.approx(-T, rel=1e-9, abs=1e-9)
    assert call(kind, "ground", two, -T)[0] == pytest.approx(-call(kind, "ground", one, T)[0], rel=1e-9, abs=1e-9)
    assert call(kind, "loss", two, -T) == pytest.approx(call(kind, "loss", one, T), rel=1e-9, abs=1e-9)
    assert call(kind, "store", two) == pytest.approx(call(kind, "store", one), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("kind", UNEVEN)
@pytest.mark.parametrize("phase", [0.0, 0.4, pi / 4, pi / 2, 2.5, -1.0])
def test_untwisted_where_the_kinematics_say(kind, phase):
    """No torque along tan(g) = tan(theta)/cos(beta) or the sines, from the very start.  Cardan joint, textbook."""
    raw = {**UNEVEN[kind], "lash": 0.0}
    p = row_of(kind, 60.0, phase=phase, relative_damping=0.0, **raw)
    assert driven(kind, 0.0, phase) == pytest.approx(0.0, abs=1e-14)
    for i in range(-60, 61):
        ta = 0.13 * i
        T = call(kind, "torque", seen(p, 5, ta, 0.0, driven(kind, ta, phase), 0.0))
        assert abs(T) < 4000.0 * 1e-12


@pytest.mark.parametrize(("phase", "ratio"), [(0.0, 1 / cos(0.5)), (pi / 4, 1.0), (pi / 2, cos(0.5))])
def test_phase_says_where_the_joint_starts(phase, ratio):
    """Fastest, alike, slowest.  Load on hub a over torque at hub b is the speed ratio (power in = power out)."""
    p = row_of("universal joint", 60.0, phase=phase, **UNEVEN["universal joint"])
    assert 100.0 - call("universal joint", "ground", seen(p, 5, 0.0, 1.0, 0.0, 1.0), 100.0)[0] == pytest.approx(
        100.0 * ratio, rel=1e-12
    )


def test_joint_sheet():
    """20 deg: ratio 0.939692621 to 1.06417777, error 1.7816819 deg, ripple 1/cos - cos.  Cardan joint, textbook;
    largest couple T*tan(beta)."""
    s = sheet_of("universal joint", joint_angle=radians(20.0), rated_torque=100.0)
    assert s["lowest speed ratio"] == pytest.approx(0.939692621, rel=1e-9)
    assert s["highest speed ratio"] == pytest.approx(1.06417777, rel=1e-8)
    assert degrees(s["largest angle error"]) == pytest.approx(1.7816819, rel=1e-8)
    assert s["speed ripple"] == pytest.approx(1.06417777 - 0.939692621, rel=1e-7)
    assert s["largest bending couple at rated torque"] == pytest.approx(100.0 * tan(radians(20.0)), rel=1e-12)
    assert s["stiffness"] == pytest.approx(100.0 / radians(0.2), rel=1e-12)
    assert "largest bending couple at rated torque" not in sheet_of("universal joint", joint_angle=0.1, stiffness=1e4)


def test_bending_couple_by_statics():
    """A frictionless cross passes a couple normal to its plane only.  Statics: its part across either shaft, over
    a whole turn, is at most T*tan(beta) when T is what the driven shaft takes."""
    b = radians(25.0)
    out_axis = (cos(b), 0.0, sin(b))
    most = 0.0
    for i in range(721):
        x = 2 * pi * i / 720
        pin = (0.0, cos(x), sin(x))  # driving pin, across the x axis
        other = cross(out_axis, pin)  # driven pin: across the driven shaft and the driving pin
        n = cross(pin, other)
        along_in, along_out = abs(n[0]), abs(dot(n, out_axis))
        size = dot(n, n) ** 0.5
        for along in (along_in, along_out):
            across = sin(acos(min(1.0, along / size))) * size
            most = max(most, across / along_out)
    s = sheet_of("universal joint", joint_angle=b, rated_torque=100.0)
    assert s["largest bending couple at rated torque"] == pytest.approx(100.0 * most, rel=1e-9)


def cross(u, v):
    return (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])


def dot(u, v):
    return sum(a * b for a, b in zip(u, v, strict=True))


def test_progressive_reaches_rated_torque_at_rated_twist():
    """T(phi_r) = T_r; tangent there over tangent at zero = progression; by twist or by stiffness alike."""
    by_twist = row_of("flexible coupling", rated_torque=90.0, twist_at_rated=0.06, progression=2.5)
    assert by_twist[0] == pytest.approx(90.0 / 0.06 / 1.5, rel=1e-12)
    by_k = row_of("flexible coupling", rated_torque=90.0, stiffness=1000.0, progression=2.5)
    assert by_k == pytest.approx(by_twist, rel=1e-12)

    def torque(phi):
        return call("flexible coupling", "torque", seen(by_twist, 5, phi, 0.0, 0.0, 0.0))

    d = 1e-6
    slope = [(torque(x + d) - torque(x - d)) / (2 * d) for x in (0.0, 0.06)]
    assert torque(0.06) == pytest.approx(90.0, rel=1e-12)
    assert slope[1] / slope[0] == pytest.approx(2.5, rel=1e-7)
    assert slope[1] == pytest.approx(call("flexible coupling", "sheet", by_twist)["stiffness at rated torque"][0])
    assert call("flexible coupling", "hint", by_twist) == pytest.approx(90.0 / 0.06, rel=1e-12)


@given(phi=unit, nu=unit, mode=st.integers(0, 6), lash=st.sampled_from([0.0, 0.01]))
@often
def test_linear_coupling_is_the_plain_law_to_the_last_bit(phi, nu, mode, lash):
    """k*(phi -+ lash/2) + c*nu, whatever the progressive law adds."""
    p = row_of("flexible coupling", 60.0, stiffness=9000.0, lash=lash, relative_damping=0.25)
    k, c, half = 9000.0, 0.25 * 9000.0 / (2 * pi * 60.0), 0.5 * lash
    assert p[:3] == (k, c, half)
    plain = [0.0, k * (phi - half) + c * nu, k * (phi + half) + c * nu, 0.0, 0.0, k * phi + c * nu, k * phi + c * nu]
    assert call("flexible coupling", "torque", seen(p, mode, phi, nu, 0.0, 0.0)) == plain[mode]


@pytest.mark.parametrize(("factor", "stiff"), [(0.7, 10500.0), (1.6, 24000.0), (1.0, 15000.0)])
def test_warm_and_cold(factor, stiff):
    """10 kN*m/rad static, dynamic 1.5 times that; 60 C times 0.7, -20 C times 1.6 (common practice, from memory).
    The share lost a cycle stays: damping goes with the stiffness."""
    raw = {"stiffness": 1e4, "dynamic_ratio": 1.5, "temperature_factor": factor, "relative_damping": 0.8}
    k, c = row_of("flexible coupling", 200.0, **raw)[:2]
    assert k == pytest.approx(stiff, rel=1e-12)
    assert c == pytest.approx(0.8 * stiff / (2 * pi * 200.0), rel=1e-12)
    assert row_of("flexible coupling", 200.0, damping_factor=0.5, **raw)[1] == pytest.approx(0.5 * c, rel=1e-12)


@pytest.mark.parametrize(("warmer", "factor"), [(40.0, 0.7), (80.0, 0.49), (0.0, 1.0), (-40.0, 1.6), (-20.0, 1.6**0.5)])
@pytest.mark.parametrize("kind", ["flexible coupling", "misaligned coupling"])
def test_temperature_of_an_elastomer_by_the_usual_factor(kind, warmer, factor):
    """0.7 at 40 K warmer, 1.6 at 40 K colder, in between as a power (common practice, from memory, no source)."""
    p = row_of(kind, 200.0, stiffness=1e4, relative_damping=0.8, warmer_by=warmer)
    assert p[0] == pytest.approx(1e4 * factor, rel=1e-12)
    assert p[1] == pytest.approx(0.8 * 1e4 * factor / (2 * pi * 200.0), rel=1e-12)


COLD = """
title = "Cold store"
protect = "shaft"
line = [
  {name = "motor", part = "constant-torque motor", torque = "40 N*m", speed = "90 rpm", inertia = "0.6 kg*m^2"},
  {name = "slot", part = "slot"},
  {name = "coupling", part = "flexible coupling", stiffness = "4 kN*m/rad", inertia_out = "1 g*m^2"},
  {name = "shaft", part = "shaft", stiffness = "5 kN*m/rad", allowable = "400 N*m"},
  {name = "wheel", part = "flywheel", inertia = "0.1 kg*m^2"},
]
[corners."winter morning"]
'line["coupling"].warmer_by' = "-30 K"
[situations.jam]
event = "hard stop"
stiffness = "200 kN*m/rad"
corner = "winter morning"
[candidates."friction disc"]
setting = "100 N*m"
"""


def test_a_corner_sets_the_temperature_of_a_coupling():
    """30 K colder: 1.6^(30/40) of the stiffness, in the assembled line."""
    read = read_text(COLD)
    scenario = cornered(read, read.situations["jam"])
    a = assemble(scenario, scenario.candidates["friction disc"], scenario.situations["jam"])
    i = next(i for i, e in enumerate(a.graph.elements) if e.name == "coupling")
    assert a.rows[i, 0] == pytest.approx(4e3 * 1.6**0.75, rel=1e-12)


@pytest.mark.parametrize("kind", ["rigid coupling", "flexible coupling"])
@pytest.mark.parametrize(("factor", "load"), [(1.0, 2000.0), (1.5, 3000.0), (2.5, 5000.0)])
def test_overhung_load(kind, factor, load):
    """120 N*m on 60 mm pull 2 kN; chain 1, toothed belt 1.5, V-belt up to 2.5 times that (common practice, no
    source)."""
    raw = {"rated_torque": 120.0, "twist_at_rated": 0.01}
    s = sheet_of(kind, pulley_radius=0.06, belt_pull_factor=factor, **raw, **FLANGE)
    assert s["overhung load at rated torque"] == pytest.approx(load, rel=1e-12)
    assert "overhung load at rated torque" not in sheet_of(kind, **raw)


def test_rigid_coupling_hardly_twists():
    """0.02 to 0.05 deg at rated torque (common practice, from memory)."""
    s = sheet_of("rigid coupling", rated_torque=120.0)
    assert 0.02 <= degrees(120.0 / s["stiffness"]) <= 0.05
    assert s["stiffness"] == pytest.approx(120.0 / radians(0.03), rel=1e-12)


def test_misaligned_sheet():
    """Crank of 0.5 mm on 40 mm: 12.5 mrad for one element, a tenth for many; cross joint at 2 deg: tan^2(1 deg).
    Moment and force by Hooke's law."""
    raw = {"stiffness": 5000.0, "parallel_offset": 5e-4, "pitch_radius": 0.04, "angular_misalignment": radians(2.0)}
    s = sheet_of("misaligned coupling", angular_stiffness=300.0, radial_stiffness=4e5, allowed_angle=radians(4.0),
                 allowed_offset=1e-3, **raw)  # fmt: skip
    assert s["angle error once a turn"] == pytest.approx(1.25e-3, rel=1e-12)
    assert s["angle error twice a turn"] == pytest.approx(tan(radians(1.0)) ** 2, rel=1e-12)
    assert s["speed ripple at most"] == pytest.approx(1.25e-3 + 2 * tan(radians(1.0)) ** 2, rel=1e-12)
    assert s["restoring moment"] == pytest.approx(300.0 * radians(2.0), rel=1e-12)
    assert s["radial bearing load"] == pytest.approx(200.0, rel=1e-12)
    assert s["share of the allowed misalignment"] == pytest.approx(1.0, rel=1e-12)
    one = sheet_of("misaligned coupling", uneven_share=1.0, **raw)
    assert one["angle error once a turn"] == pytest.approx(12.5e-3, rel=1e-12)
    assert "restoring moment" not in one


def test_in_line_it_is_a_flexible_coupling():
    raw = {"stiffness": 5000.0, "lash": 0.01, "relative_damping": 0.6}
    p, f = row_of("misaligned coupling", 60.0, **raw), row_of("flexible coupling", 60.0, **raw)
    for mode in range(7):
        q = seen(p, mode, 30.0, 9.0, 29.98, 7.0)
        T = call("misaligned coupling", "torque", q)
        assert pytest.approx(call("flexible coupling", "torque", q._replace(p=f)), rel=1e-10, abs=1e-12) == T
        assert call("misaligned coupling", "ground", q, T) == (0.0, 0.0)


def test_barely_below_the_steepest_joint():
    part = REGISTRY["universal joint"]
    raw = {p.name: float("nan") for p in part.kind.params} | {"stiffness": 1e4}
    assert call("universal joint", "refuse", part.raw(raw | {"joint_angle": radians(44.99)})) == []
    assert len(call("universal joint", "refuse", part.raw(raw | {"joint_angle": radians(45.0)}))) == 1


SOFT = COLD.replace(
    'inertia_out = "1 g*m^2"', 'inertia_out = "1 g*m^2", small_swing_damping = 1.6, damping_swing = "1 deg"'
)


def test_half_the_damping_is_half_of_both_stated_values():
    """The run with half and double damping scales the small swings' damping alike, and none is refused for it."""
    read = read_text(SOFT)
    scenario = cornered(read, read.situations["jam"])
    case = make_case(scenario, scenario.candidates["friction disc"], scenario.situations["jam"], 4e3, 1e-6)
    i = next(i for i, e in enumerate(case.assembly.graph.elements) if e.name == "coupling")
    half = scaled_damping(case, 0.5, 4e3, 1e-6).assembly.rows[i]
    assert half[1] == pytest.approx(0.5 * case.assembly.rows[i, 1], rel=1e-12)
    assert half[5] == pytest.approx(0.5 * case.assembly.rows[i, 5], rel=1e-12)
    assert half[5] < 0.0 < half[1] + half[5]


def test_small_swings_of_a_stiff_coupling_are_not_overdamped():
    """At most a quarter of critical in the coupling's own mode, by the larger of both stated values."""
    read = read_text(SOFT)
    scenario = cornered(read, read.situations["jam"])
    case = make_case(scenario, scenario.candidates["friction disc"], scenario.situations["jam"], 1.0, 1e-6)
    a = case.assembly
    i = next(i for i, e in enumerate(a.graph.elements) if e.name == "coupling")
    e = a.graph.elements[i]
    j = 1.0 / sum(1.0 / a.graph.nodes[n].inertia for n in (e.a, e.b))
    assert a.rows[i, 1] / (2.0 * (a.rows[i, 0] * j) ** 0.5) == pytest.approx(0.25, rel=1e-9)
