"""Creep speed: the ramp to it by hand, what stands before and after it, and what a detent makes of it."""

from __future__ import annotations

import re
from functools import cache
from math import pi, sqrt, tau

import numpy as np
import pytest
from lines import Line, Run, Start, run

from simcore import api
from simcore.contract import SIGNALS, Q
from simcore.errors import InputError
from simcore.measures.reseat import last_before
from simcore.parts import REGISTRY, brake, stop_chain
from simcore.parts import _set_speed as sp
from simcore.parts import _speed_loop as sl
from simcore.results.model import ResultSet
from simcore.scenario.read import read_text

FULL, UP, DOWN = 40.0, 0.5, 0.3
SERVO = {"rated_torque": 10.0, "inertia": 0.01, "tuned_inertia": 0.03, "position_time": 0.02, "ramp_up_time": UP,
         "ramp_down_time": DOWN}  # fmt: skip
PLATE = {"rated_power": 7500.0, "rated_speed": 1455.0 * pi / 30.0, "inertia": 0.03}


def axis(*events: tuple[str, dict[str, object]], w: float = FULL, sense: float = 1.0, **motor: object) -> Line:
    """A servo on a mass that runs at ``w``; part 0 is the servo."""
    line = Line()
    n = line.mass(0.05, sense * w)
    line.part("servo motor", 0, n, **({**SERVO, "speed": sense * FULL} | motor))
    for kind, inputs in events:
        line.part(kind, **inputs)
    return line


def set_angle(r: Run) -> np.ndarray:
    """Integral of the set speed: angle and what it lags behind, exactly."""
    return r.angle(1) + r.state(0, sl.BEHIND)


def way(t: np.ndarray, times: list[float], shares: list[float]) -> np.ndarray:
    """Angle under straight pieces of set speed, by the trapezoid rule, which is exact there."""
    at = np.unique(np.concatenate([t, times]))
    u = FULL * np.interp(at, times, shares)
    angle = np.concatenate([[0.0], np.cumsum(0.5 * (u[1:] + u[:-1]) * np.diff(at))])
    return np.interp(t, at, angle)


BACK = ("creep speed", {"when": 0.1, "share": 0.2, "direction": "backward"})


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize(
    ("event", "times", "shares"),
    [
        (("creep speed", {"when": 0.1, "share": 0.2}), [0.0, 0.1, 0.1 + 0.8 * DOWN, 1.0], [1.0, 1.0, 0.2, 0.2]),
        (("creep speed", {"when": 0.1, "share": 1.0}), [0.0, 1.0], [1.0, 1.0]),
        (BACK, [0.0, 0.1, 0.1 + DOWN, 0.1 + DOWN + 0.2 * UP, 1.0], [1.0, 1.0, 0.0, -0.2, -0.2]),
    ],
    ids=["slower", "full share", "backward"],
)
def test_ramp_to_the_creep_speed(sense, event, times, shares):
    """Straight at the motor's own rate, zero passed with a corner where it goes back; either way of running."""
    r = run(axis(event, sense=sense), 1.0)
    assert set_angle(r) == pytest.approx(sense * way(r.t, times, shares), abs=1e-7)
    assert r.speed(1)[-1] == pytest.approx(sense * shares[-1] * FULL, rel=1e-5)
    assert r.residual < 1e-6


CREEP = ("creep speed", {"when": 0.1, "share": 0.2})
SLOW = 0.1 + 0.8 * DOWN
AFTER = [
    (("restart", {"when": 0.6}), [0.6, 0.6 + 0.8 * UP, 1.5], [0.2, 1.0, 1.0]),
    (("reverse", {"when": 0.6}), [0.6, 0.6 + 0.2 * DOWN, 0.6 + 0.2 * DOWN + UP, 1.5], [0.2, 0.0, -1.0, -1.0]),
    (("creep speed", {"when": 0.6, "share": 0.5}), [0.6, 0.6 + 0.3 * UP, 1.5], [0.2, 0.5, 0.5]),
    (("emergency stop", {"when": 0.6, "delay": 0.0, "action": "ramp, then off", "ramp_time": 5.0}),
     [0.6, 0.6 + 0.2 * DOWN, 1.5], [0.2, 0.0, 0.0]),
]  # fmt: skip


@pytest.mark.parametrize(("event", "times", "shares"), AFTER, ids=[e[0] for e, _, _ in AFTER])
def test_the_last_command_counts(event, times, shares):
    """A restart asks for full speed again, reverse for full speed back, a new creep speed for it, a stop for none."""
    r = run(axis(CREEP, event), 1.5)
    assert set_angle(r) == pytest.approx(way(r.t, [0.0, 0.1, SLOW, *times], [1.0, 1.0, 0.2, *shares]), abs=1e-7)


def test_creep_in_mid_ramp_turns_off_where_it_stands():
    """From rest, asked for full speed and at 0.1 s for 0.6 of it: one straight ramp, which ends at 0.6 UP."""
    r = run(axis(("start", {}), ("creep speed", {"when": 0.1, "share": 0.6}), w=0.0), 0.8, on=False, fast=FULL)
    assert set_angle(r) == pytest.approx(way(r.t, [0.0, 0.6 * UP, 0.8], [0.0, 0.6, 0.6]), abs=1e-7)


STOPS = [
    ("power off", {"when": 0.1}),
    ("emergency stop", {"when": 0.1, "delay": 0.0}),
    ("emergency stop", {"when": 0.1, "delay": 0.0, "action": "ramp, then off", "ramp_time": 0.3}),
]


@pytest.mark.parametrize("first", STOPS, ids=["power off", "category 0", "category 1"])
def test_what_stopped_the_drive_is_taken_back(first):
    """Each is followed by creeping; power off ends it."""
    later = [("creep speed", {"when": 0.8, "share": 0.25}), ("power off", {"when": 1.5})]
    r = run(axis(first, *later), 1.6)
    assert r.at(0.8, r.mode(0)) == sl.FOLLOWS
    assert np.interp(1.49, r.t, r.speed(1)) == pytest.approx(0.25 * FULL, rel=1e-4)
    assert r.mode(0)[-1] == sl.OFF
    assert r.torque(0)[-1] == 0.0


def test_converter_fed_by_its_own_droop():
    """At a quarter of the speed against a load the same speed is lost as at full speed: T delta/T_r."""
    line = Line()
    n = line.mass(0.05, 50.0 * pi)
    line.part("converter-fed motor", 0, n, **PLATE, ramp_down_time=0.4)
    line.part("friction load", n, 0, running=20.0)
    line.part("creep speed", when=0.1, share=0.25)
    r = run(line, 1.5, fast=150.0)
    assert r.events(0)[-1] == pytest.approx(0.1 + 0.75 * 0.4, abs=1e-12)
    lost = 20.0 / (7500.0 / PLATE["rated_speed"]) * 1.5 * pi
    assert r.speed(n)[-1] == pytest.approx(0.25 * 50.0 * pi - lost, rel=1e-6)


def test_brake_and_stop_chain_take_creeping_for_running():
    """The spring-set brake stays open, the chain goes on watching and trips in creep as at speed."""
    line = axis(("creep speed", {"when": 0.1, "share": 0.05}), ramp_down_time=0.8)
    b = line.part("brake", 1, 0, torque=5.0, use="holding")
    code = SIGNALS.index("torque")
    row = {"what": stop_chain.TORQUE, "limit": 8.0, "sensor": 0.0, "scan": 0.0, "output": 0.01}
    e = line.part("stop chain", start=Start(row=row, mode=stop_chain.BLIND),
                  senses=((0, code), (0, SIGNALS.index("speed out"))))  # fmt: skip
    line.part("partial jam", 1, 0, drag=20.0, when=1.0)
    r = run(line, 1.5)
    assert np.all(r.mode(b)[r.t < 0.99] == brake.OPEN_)
    assert np.all(r.mode(e)[(r.t > 0.0) & (r.t < 0.99)] == stop_chain.WATCHING)
    assert 1.0 < r.events(0, sl.OFF)[0] < 1.1
    assert r.mode(b)[-1] == brake.CLOSED or r.mode(b)[-1] == brake.CLOSING


def test_an_indexing_axis_turns_steadily_and_indexes_again():
    """A whole index, a steady creep, a stop by the ramp, then whole indexes from where it stands."""
    index = {"index_angle": 2.0, "move_time": 0.2, "dwell_time": 0.5, "ramp_up_time": 0.1}
    line = Line()
    n = line.mass(0.03)
    line.part("servo motor", 0, n, **(SERVO | index))
    line.part("start")
    line.part("creep speed", when=0.3, share=0.2)
    line.part("restart", when=1.0)
    r = run(line, 1.4, on=False, fast=20.0)
    top, goes = 20.0, set_angle(r)
    at = [float(np.interp(t, r.t, goes)) for t in (0.3, 0.32, 0.9, 1.0, 1.0 + 0.2 * DOWN, 1.4)]
    assert at[0] == pytest.approx(2.0, abs=1e-7)
    assert (at[2] - at[1]) / 0.58 == pytest.approx(0.2 * top, rel=1e-6)
    assert at[4] - at[3] == pytest.approx(0.5 * 0.2 * top * 0.2 * DOWN, abs=1e-6)
    assert at[5] - at[4] == pytest.approx(2.0, abs=1e-6)


def test_no_difference_where_nothing_creeps():
    """The goal's guard has the values it had for commands of 0 and 1, to the bit."""
    for command in (-1.0, 0.0, 1.0):
        for goal in (-1.0, 0.0, 1.0):
            mem = [0.0] * 9
            mem[sp.GOAL] = 1.0 - goal
            q = Q(1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, (), mem, (command, 1.0, 0.0, 0.0), (), ())
            assert sp.goal_guard(q) == 0.5 - abs(command - goal)


TEXT = """title = "Dough divider"
question = "Does it find its pocket again?"
protect = "shaft"
[[line]]
name = "servo"
part = "servo motor"
rated_torque = "30 N*m"
speed = "60 rpm"
inertia = "0.02 kg*m^2"
ramp_up_time = "0.5 s"
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
name = "drum"
part = "flywheel"
inertia = "0.1 kg*m^2"
[[line]]
name = "drag"
part = "friction load"
running = "20 N*m"
[candidates."{kind}"]
setting = "60 N*m"
reset = "automatic"
seat_speed = "30 rpm"
pockets_every = "{pocket} deg"
[situations."crash"]
event = "hard stop"
at = "drum"
stiffness = "50 kN*m/rad"
horizon = "6 s"
then = [
  {{event = "power off", when = "0.05 s"}},
  {{event = "clear", when = "0.5 s"}},
  {{{again}, when = "1 s"}}]
"""


@cache
def crashed(share: float, kind: str = "ball detent", pocket: int = 360) -> ResultSet:
    """After the crash the drum is freed and the drive asked for ``share`` of its 60 rpm."""
    again = f'event = "creep speed", share = {share}' if share < 1.0 else 'event = "restart"'
    return api.run(read_text(TEXT.format(kind=kind, again=again, pocket=pocket)), evidence=False)


@pytest.mark.parametrize("kind", ["ball detent", "roller detent"])
@pytest.mark.parametrize("share", [0.25, 0.495])
def test_it_drops_in_at_creep_speed(share, kind):
    """Below 30 rpm it sits in its own pocket, a turn on, at the creep speed, and carries the drum along."""
    result = crashed(share, kind)
    r = result.run(kind, "crash")
    back = r.measures["reengage"]
    i = int(np.searchsorted(r.time, back))
    assert abs(r.slip[i]) == pytest.approx(share * tau, rel=1e-3)
    assert abs(r.twist[i]) == pytest.approx(tau, abs=1e-6)
    assert r.measures["end_class"] == 0.0
    assert [x.value for x in r.left_behind if x.name == "phase lost"] == pytest.approx([0.0], abs=1e-9)
    assert r.speed[-1, -1] == pytest.approx(share * tau, rel=1e-3)
    told = [x.text for x in result.remarks if x.label == "Drops in"]
    assert len(told) == 1
    assert f"{kind} from" in told[0]
    assert "in phase" in told[0]
    assert not [w for w in result.warnings if "hammer" in w]


def blow_in(said: str) -> float:
    found = re.search(r"a blow of up to ([0-9.]+) N\*m at 'shaft'", said)
    assert found is not None
    return float(found[1])


def test_the_blow_is_told_up_to_the_next_step_only():
    """30 N*m more on the drum, 10 ms after the drop, are no part of it."""
    alone = crashed(0.25)
    back = alone.run("ball detent", "crash").measures["reengage"]
    text = TEXT.format(kind="ball detent", again='event = "creep speed", share = 0.25', pocket=360)
    more = f'when = "1 s"}},\n  {{event = "load step", extra = "30 N*m", when = "{back + 0.01} s"}}]'
    loaded = api.run(read_text(text.replace('when = "1 s"}]', more)), evidence=False)
    r = loaded.run("ball detent", "crash")
    assert r.measures["end_class"] == 0.0
    told = blow_in(next(x.text for x in loaded.remarks if x.label == "Drops in"))
    shaft = np.abs(r.torque[:, r.index("shaft")])
    assert told == pytest.approx(shaft[(r.time >= back) & (r.time <= back + 0.01)].max(), rel=5e-3)
    assert shaft[(r.time >= back) & (r.time <= back + 0.067)].max() > 1.2 * told


@pytest.mark.parametrize("share", [0.25, 0.495])
def test_the_blow_of_dropping_in_is_told(share):
    """The trace's largest torque within five periods of servo and hubs, 0.04, against the drum, 0.1 kg*m^2, on its
    shaft (two masses, textbook); at most the drag and what the slip speed winds the shaft up by, ``w sqrt(k J)``."""
    result = crashed(share)
    r = result.run("ball detent", "crash")
    said = next(x.text for x in result.remarks if x.label == "Drops in")
    told = blow_in(said)
    period = tau / sqrt(5e3 * (1.0 / 0.04 + 1.0 / 0.1))
    back = r.measures["reengage"]
    seen = np.abs(r.torque[(r.time >= back) & (r.time <= back + 5.0 * period), r.index("shaft")])
    assert told == pytest.approx(seen.max(), rel=5e-3)
    assert 20.0 < told < 20.0 + share * tau * sqrt(5e3 * 0.04)
    assert told < 0.9 * r.measures["peak"], "the crash itself is no part of it"


@pytest.mark.parametrize("share", [0.505, 1.0])
def test_it_does_not_drop_in_faster(share):
    """Above 30 rpm the pocket passes under it, turn after turn; the warning says so."""
    result = crashed(share)
    r = result.run("ball detent", "crash")
    assert np.isnan(r.measures["reengage"])
    assert r.measures["end_class"] == 3.0
    assert [w for w in result.warnings if "drops in below 30 rpm only" in w]
    told = [x.text for x in result.remarks if x.label == "Drops in"]
    assert told == ([] if share == 1.0 else ["after 'crash' none sits again; still out at 6 s: ball detent."])


def test_a_pocket_that_is_not_its_own_costs_the_phase():
    """Four pockets a turn: the first one met is a quarter of a turn on."""
    result = crashed(0.25, pocket=90)
    r = result.run("ball detent", "crash")
    assert abs(r.twist[-1]) == pytest.approx(0.25 * tau, abs=0.02)
    assert [x.value for x in r.left_behind if x.name == "phase lost"] == pytest.approx([0.25 * tau], abs=1e-9)
    assert "90 deg out of phase" in next(x.text for x in result.remarks if x.label == "Drops in")


RESETS = {
    "two": '{event = "reset", when = "2.5 s"}, {event = "reset", when = "5.5 s"}',
    "repeated": '{event = "reset", when = "1.5 s", every = "1 s", times = 4}',
}


@pytest.mark.parametrize("resets", RESETS.values(), ids=RESETS)
def test_what_a_reset_puts_back_has_not_dropped_in_by_itself(resets):
    """At 60 rpm it stays out; the reset at 2.5 s puts it back, and those that come later change nothing of that."""
    text = TEXT.format(kind="ball detent", again='event = "creep speed", share = 0.75', pocket=360)
    stopped = '{event = "power off", when = "2 s"}'
    result = api.run(read_text(text.replace('when = "1 s"}]', f'when = "1 s"}}, {stopped}, {resets}]')), evidence=False)
    r = result.run("ball detent", "crash")
    assert 2.5 <= r.measures["reengage"] < 2.51
    assert r.measures["end_class"] == 0.0
    assert not [x.text for x in result.remarks if x.label == "Drops in"]


@pytest.mark.parametrize(("t", "last"), [(0.9, 1.0), (1.0, 1.0), (1.4, 1.0), (1.7, 1.5), (2.2, 2.0), (9.0, 2.0)])
def test_last_instant_of_an_event_that_repeats(t, last):
    s = read_text(TEXT.format(kind="ball detent", pocket=360,
                              again='event = "reset", every = "0.5 s", times = 3'))  # fmt: skip
    reset = s.situations["crash"].then[-1].item
    assert last_before(reset, t) == pytest.approx(last, abs=1e-12)


MOTORS = {
    "constant-torque motor": 'torque = "45 N*m"\nspeed = "60 rpm"\ninertia = "0.02 kg*m^2"',
    "torque-speed motor": 'rated_power = "1 kW"\nrated_speed = "1420 rpm"\ninertia = "0.02 kg*m^2"\nlimit = 1.5',
    "induction motor": 'rated_power = "1 kW"\nrated_speed = "1420 rpm"\ninertia = "0.02 kg*m^2"\nlocked_rotor = 2.2',
}
CREEPS = TEXT.format(kind="ball detent", again='event = "creep speed"', pocket=360)


@pytest.mark.parametrize("kind", MOTORS)
def test_refused_where_a_motor_has_no_speed_loop(kind):
    """Field, rule, what to use instead; also for the second drive of a line."""
    head, _, rest = CREEPS.partition('[[line]]\nname = "slot"')
    bare = f'[[line]]\nname = "motor"\npart = "{kind}"\n{MOTORS[kind]}\n'
    front = head.partition("[[line]]")[0]
    second = rest.replace("[candidates", f'{bare}joins = "shaft"\n[candidates', 1)
    for text in (front + bare + '[[line]]\nname = "slot"' + rest, head + '[[line]]\nname = "slot"' + second):
        with pytest.raises(InputError) as e:
            read_text(text)
        (fault,) = e.value.faults
        assert fault.path == 'situations["crash"].then[3].event'
        assert fault.rule.startswith(f"'motor', a {kind}, has no speed loop")
        assert fault.hint == "make it a converter-fed motor or a servo motor"
        assert fault.line is not None


@pytest.mark.parametrize("part", [p for p in REGISTRY.values() if p.kind.family == "drive"], ids=lambda p: p.kind.name)
def test_who_keeps_a_speed(part):
    """Whoever has the guard of the set speed, and no one else."""
    assert part.kind.keeps_speed == ("set speed" in part.kind.guards)
