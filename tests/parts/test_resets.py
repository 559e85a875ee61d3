"""Resets: what stays out is put back on the edge of a command, at standstill; then it holds and lets go as before."""

from __future__ import annotations

from math import log, pi

import numpy as np
import pytest
from lines import Line, Run, Start, run
from states import row, state

from simcore.contract import ENGAGED, OPEN
from simcore.line.assemble import assemble
from simcore.measures.cases import make_case
from simcore.measures.lasting import left_behind
from simcore.parts import REGISTRY, ball_detent, notched_wheel_pawl
from simcore.parts import _pins as pn
from simcore.parts._reset import BY_HAND
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar

KINDS = {
    "ball detent": "",
    "roller detent": "",
    "shear pins": "",
    "tipping sprag": "relative_damping = 0",
    "notched-wheel pawl": "",
}
LINE = """
title = "Sawmill log chain"
question = "Does it run again?"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "45 N*m"
speed = "{speed} rad/s"
ramp = "0.2 s"
inertia = "0.02 kg*m^2"
[[line]]
name = "seal"
part = "friction load"
running = "4 N*m"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "5 kN*m/rad"
allowable = "900 N*m"
allowable_source = "own"
[[line]]
name = "wheel"
part = "flywheel"
inertia = "0.1 kg*m^2"
[[line]]
name = "drag"
part = "friction load"
running = "20 N*m"
"""
CRASH = 'event = "hard stop"\nat = "wheel"\nstiffness = "50 kN*m/rad"\nrelative_damping = 2\n'
STEPS = {
    "power off": ('event = "power off"\n', 0.2),
    "clear": ('event = "clear"\n', 0.3),
    "reset": ('event = "reset"\n', 1.4),
    "restart": ('event = "restart"\n', 1.6),
    "second": (CRASH, 2.4),
}


def assembled(kind: str, inputs: str = "", speed: float = 50.0, order=tuple(STEPS), reset: float = 1.4, stop: str = ""):
    steps = ""
    for name in order:
        text, when = STEPS[name]
        steps += f'[[situations."crash".then]]\n{text}when = "{reset if name == "reset" else when} s"\n'
    text = LINE.format(speed=speed) + f'[candidates."{kind}"]\nsetting = "60 N*m"\n{inputs}\n{stop}\n'
    s = read_text(text + f'[situations."crash"]\n{CRASH}horizon = "2.6 s"\n{steps}')
    a = assemble(s, s.candidates[kind], s.situations["crash"], rtol=1e-7)
    return a, a.graph.places["wheel"].node


def classes(a, r: Run):
    table = [m.klass for m in a.graph.elements[a.candidate].part.kind.modes]
    return np.array(table)[r.mode(a.candidate)]


@pytest.mark.parametrize("speed", [50.0, -50.0])
@pytest.mark.parametrize(("kind", "inputs"), KINDS.items())
def test_crash_power_off_clear_reset_restart_and_crash_again(kind, inputs, speed):
    a, wheel = assembled(kind, inputs, speed)
    r = Run(a)
    assert r.status == ar.Status.DONE
    klass = classes(a, r)
    between = (r.t > 1.42) & (r.t < 2.39)
    assert klass[(r.t > 0.1) & (r.t < 1.39)].min() >= OPEN
    assert klass[between].max() == ENGAGED
    running = r.speed(wheel)[0]
    assert r.speed(wheel)[between][-1] == pytest.approx(running, rel=1e-3)  # still rings a little
    first = np.abs(r.torque(a.candidate)[(r.t >= 0.0) & (r.t < 0.1)]).max()
    again = np.abs(r.torque(a.candidate)[r.t > 2.39]).max()
    assert first == pytest.approx(60.0, rel=1e-6)
    assert again == pytest.approx(60.0, rel=1e-6)
    assert klass[-1] >= OPEN
    assert r.residual < 1e-6
    assert np.diff(r.heat(a.candidate)).min() > -1e-9


@pytest.mark.parametrize(("kind", "inputs"), KINDS.items())
def test_a_reset_at_speed_is_ignored(kind, inputs):
    """At 0.25 s the driving side still coasts; without power it stays out for good."""
    a, _ = assembled(kind, inputs, order=("power off", "clear", "reset"), reset=0.25)
    r = Run(a)
    assert classes(a, r)[r.t > 0.1].min() >= OPEN


def test_the_order_in_the_file_does_not_matter():
    runs = [Run(assembled("shear pins", order=o)[0]) for o in (tuple(STEPS), tuple(reversed(STEPS)))]
    assert runs[0].out.y[:6] == pytest.approx(runs[1].out.y[:6], rel=1e-9, abs=1e-9)


OUTS = {"ball detent": 9, "roller detent": 9, "tipping sprag": 1, "notched-wheel pawl": 7, "shear pins": pn.GONE}


def turned(kind: str, speed: float, at: float, held: float, order: tuple[int, ...] = (0, 1)):
    """Hub a led at ``speed``, hub b held: an overload that persists; the reset comes at ``at``."""
    line = Line()
    a, b = line.lead(speed), line.lead(0.0)
    line.part(kind, a, b, setting=60.0)
    line.part("reset", when=at, start=Start(row={"held": held}))
    r = Run(line.assembly(1.5, order=order))
    assert r.status == ar.Status.DONE
    return r, order.index(0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_reset_held_on_under_overload_acts_once(kind):
    """At 0.5 rad/s, slow enough: put back once, lets go again, stays out while the reset is still on."""
    r, e = turned(kind, 0.5, 0.9, 5.0)
    assert len(r.events(e, OUTS[kind])) == 2
    assert r.mode(e)[-1] >= OUTS[kind]
    assert r.torque(e)[r.t > 0.9].max() == pytest.approx(60.0, rel=1e-6)


@pytest.mark.parametrize("kind", KINDS)
def test_too_fast_by_a_hair_and_just_slow_enough(kind):
    fast, e = turned(kind, BY_HAND * 1.001, 0.6, 1e-3)
    slow, _ = turned(kind, BY_HAND * 0.999, 0.6, 1e-3)
    assert fast.mode(e)[fast.t > 0.5].min() >= OUTS[kind]
    assert slow.mode(e)[slow.t > 0.5].min() < OUTS[kind]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("early", [0.0, 5e-4, -2e-4])
def test_a_reset_as_it_lets_go_does_the_same_in_either_order(kind, early):
    plain, e = turned(kind, 0.5, 1.4, 1e-3)
    instant = plain.events(e, OUTS[kind])[0]
    one, i = turned(kind, 0.5, instant - early, 1e-3, (0, 1))
    other, j = turned(kind, 0.5, instant - early, 1e-3, (1, 0))
    assert one.events(i) == pytest.approx(other.events(j), abs=1e-12)
    put_back = (one.mode(i)[one.t > instant + 1e-9] < OUTS[kind]).any()
    if early != 0.0:
        assert put_back == (early < 0.0)


def test_detent_keeps_count_of_the_phase():
    """Four pockets: out past the second, nearest is the third, half a turn; the turning by hand is kept apart."""
    part = REGISTRY["ball detent"]
    p = row(part, {"setting": 60.0, "pockets_every": pi / 2})
    q = state(part, p, ball_detent.OUT_F, 3.0)
    q.mem[ball_detent.NEXT_F] = pi / 2
    x = [0.0]
    mode, heat = part.call("switch", 3, q, 0.0, x, q.mem, None)
    assert mode == ball_detent.SEATED
    assert heat > 0.0
    assert q.mem[ball_detent.HERE] == 3.0
    assert abs(q.mem[ball_detent.OFFSET]) == pytest.approx(pi, abs=1e-12)
    q.mem[ball_detent.NEXT_B], q.mem[ball_detent.NEXT_F] = 3.0, 3.0 + pi / 2
    q = q._replace(phi=3.0 + 0.6 * pi, m=ball_detent.OUT_F)
    q.mem[-1] = 0.0
    part.call("switch", 3, q, 0.0, x, q.mem, None)
    part.call("switch", 3, q, 0.0, x, q.mem, None)
    assert q.mem[ball_detent.OFFSET] == pytest.approx(-pi / 2, abs=1e-12)


def test_new_pins_are_new():
    """Stretch, wear, starts done and broken pins are forgotten; the count of sets is kept."""
    raw = {
        "setting": 60.0,
        "pins": 3.0,
        "scatter_strength": 0.1,
        "fatigue": 1.0,
        "starts_done": 1e3,
        "start_peak": 30.0,
    }
    part = REGISTRY["shear pins"]
    q = state(part, row(part, raw), pn.GONE, 5.0, x=(0.1, 0.2, 0.7))
    q.mem[pn.SETS_BROKEN], q.mem[pn.PINS_BROKEN], q.mem[pn.POINTS] = 1.0, 3.0, 4.0
    for i in range(3):
        q.mem[pn.STATE + i], q.mem[pn.DAMAGE + i], q.mem[pn.WAY + i] = pn.GONE, 0.4, 0.01
    x = list(q.x)
    mode, heat = part.call("switch", 5, q, 0.0, x, q.mem, None)
    assert (mode, heat) == (0, 0.0)
    assert x == [5.0, 0.0, 0.0]
    assert [q.mem[pn.PINS_BROKEN], q.mem[pn.POINTS], q.mem[pn.SETS_BROKEN]] == [0.0, 0.0, 1.0]
    assert part.call("torque", q._replace(m=mode, x=tuple(x))) == 0.0
    twist = pn.twist_under(q.p, q.tab, 30.0)
    from simcore.parts._pin_fatigue import damage_so_far

    assert [damage_so_far(q, q.mem, i, twist) for i in range(3)] == [0.0] * 3


def test_a_set_that_broke_in_part_is_renewed_whole():
    """Weak pin gone, the others carry: a reset fits three new ones; what was wound up is heat."""
    line = Line()
    a, b = line.lead(0.05), line.lead(0.0)
    e = line.part("shear pins", a, b, setting=60.0, pins=3.0, pin_strengths=(0.5, 1.0, 1.5), clearance=0.0,
                  twist_to_fracture=0.001)  # fmt: skip
    line.part("reset", when=0.06)
    r = run(line, 0.14)
    breaks = np.array(r.events(e, pn.BROKEN_STRETCH))
    assert r.events(e, 0) == pytest.approx([0.06])
    assert breaks[breaks > 0.06] - 0.06 == pytest.approx(breaks[breaks < 0.06], rel=1e-6)


AIR = 'loading = "pneumatic"\n'
VENT = '[stops."ring"]\nsenses = "letting go"\nvents = true\n'


def test_air_comes_back_with_the_reset_and_brings_the_pawl_in():
    """Seats once the pressure above the offset is at half: 30 ms ln(4/(4 - 2.15)) after the reset.  First-order lag."""
    a, wheel = assembled("notched-wheel pawl", AIR, stop=VENT)
    r = Run(a)
    seats = [t for t in r.events(a.candidate, notched_wheel_pawl.SEATED) if t > 1.0]
    assert seats == pytest.approx([1.4 + 0.03 * log(4.0 / (4.0 - 2.15))], abs=1e-6)
    assert r.speed(wheel)[r.t < 2.39][-1] == pytest.approx(r.speed(wheel)[0], rel=1e-6)
    assert classes(a, r)[-1] >= OPEN
    assert r.residual < 1e-6


def test_vented_the_pawl_lets_go_without_overload():
    a, _ = assembled("notched-wheel pawl", AIR, order=("reset",), reset=1.0)
    assert a.rows[a.candidate][REGISTRY["notched-wheel pawl"].kind.column("rearm")] == pytest.approx(pi)
    text = LINE.format(speed=50) + f'[candidates."pawl"]\npart = "notched-wheel pawl"\nsetting = "60 N*m"\n{AIR}'
    text += '[situations."stop"]\nevent = "emergency stop"\nvents = true\nhorizon = "0.5 s"\n'
    s = read_text(text)
    c = make_case(s, s.candidates["pawl"], s.situations["stop"], 300.0, 1e-7).assembly
    r = Run(c)
    out = next(t for t in r.events(c.candidate) if t > 0.0)
    assert 0.03 < out < 0.03 + 0.03 * log(4.0 / 0.3) + 1e-6


def test_reset_needs_no_change_of_what_never_lets_go():
    """A reset while everything holds does nothing, for every kind."""
    for kind in KINDS:
        line = Line()
        a, b = line.lead(0.0, 1e-4), line.lead(0.0)
        e = line.part(kind, a, b, setting=60.0)
        line.part("reset", when=0.01)
        assert run(line, 0.05).events(e) == []


APART = {
    "tipping sprag": (0.0, ("relative_damping = 0",)),
    "notched-wheel pawl": (60.0, ("notches = 6", "notches = 1")),
}


@pytest.mark.parametrize("speed", [50.0, -50.0])
@pytest.mark.parametrize(("kind", "inputs"), [(k, i) for k, (_, each) in APART.items() for i in each])
def test_phase_lost_by_what_was_put_back(kind, inputs, speed):
    """The hubs' twist at the reset, whole turns off; a pawl stands in its nearest notch.  Against the trace."""
    a, _ = assembled(kind, inputs, speed, order=("power off", "clear", "reset"))
    r = Run(a)
    e = a.graph.elements[a.candidate]
    before = np.searchsorted(r.t, 1.4) - 1
    twist = float(np.degrees(r.angle(e.a)[before] - r.angle(e.b)[before]))
    every = APART[kind][0] if "6" in inputs else 360.0
    stands = twist if kind == "tipping sprag" else every * round(twist / every)
    (left,) = left_behind(a, r.out)
    assert (left.name, left.unit) == ("phase lost", "rad")
    assert abs(twist) > 20.0
    assert np.degrees(left.value) == pytest.approx((stands + 180.0) % 360.0 - 180.0, abs=1e-3)


@pytest.mark.parametrize(("kind", "inputs"), [(k, v) for k, v in KINDS.items() if k in APART])
def test_out_it_has_no_phase_to_tell(kind, inputs):
    a, _ = assembled(kind, inputs, order=("power off", "clear"))
    assert left_behind(a, Run(a).out) == ()
