"""The stop chain's action "reverse, then off": who ends it, what is refused, what screen and charts say."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from lines import Line, Run, Start, run

from simcore import api
from simcore.charts.stops_data import stopped
from simcore.charts.timeline_data import timeline_data
from simcore.contract import SIGNALS
from simcore.errors import InputError
from simcore.parts import stop_chain as sc
from simcore.parts._stopping import REVERSE_THEN_OFF
from simcore.scenario.read import read_text

OUT = SIGNALS.index("speed out")


def reversing(*events: tuple[str, float], pause: float = 0.0, chains: int = 1, **row: float) -> tuple[Run, int, int]:
    """A motor of 40 N*m at 10 rad/s on 2 kg*m^2; a drag at 0.1 s trips its chain, which acts 10 ms later."""
    line = Line()
    n = line.mass(2.0, 10.0)
    m = line.part("constant-torque motor", 0, n, torque=40.0, speed=10.0, inertia=1.0, droop=0.01)
    row = {"what": sc.TORQUE, "limit": 5.0, "sensor": 0.0, "scan": 0.0, "output": 0.01, "action": REVERSE_THEN_OFF,
           "pause": pause, "reverse_for": 1.5, "reverse_speed": 1.0, **row}  # fmt: skip
    for c in range(chains):
        own = {**row, "output": 0.01 + 0.005 * c}
        e = line.part("stop chain", start=Start(row=own, mode=sc.BLIND), senses=((m, 0), (m, OUT)))
    line.part("partial jam", n, 0, drag=20.0, when=0.1, lasts=0.05)
    for kind, when in events:
        line.part(kind, when=when, **({"delay": 0.0} if kind == "emergency stop" else {}))
    return run(line, 3.0), m, e


def modes(r: Run, e: int) -> list[int]:
    return [int(x[4]) for x in r.out.events if x[1] == e][1:]  # the first: it watches


def test_reverses_for_its_time_and_takes_the_power_off():
    r, m, e = reversing()
    assert modes(r, e) == [sc.NOTICED, sc.BACKWARD, sc.STOPPED, sc.IDLE]
    acts, ends = r.events(e, sc.BACKWARD)[0], r.events(e, sc.STOPPED)[0]
    assert ends - acts == pytest.approx(1.5, abs=1e-12)
    assert r.at(ends, r.speed(1)) == pytest.approx(-10.0, rel=1e-3)
    assert r.mode(m)[-1] == 0


def test_with_a_pause_the_power_is_off_meanwhile():
    r, m, e = reversing(pause=0.4)
    assert modes(r, e) == [sc.NOTICED, sc.PAUSING, sc.BACKWARD, sc.STOPPED, sc.IDLE]
    off, back = r.events(e, sc.PAUSING)[0], r.events(e, sc.BACKWARD)[0]
    assert back - off == pytest.approx(0.4, abs=1e-12)
    assert np.all(r.mode(m)[(r.t > off + 1e-9) & (r.t < back - 1e-9)] == 0)


ENDED = [("power off", 0.3), ("emergency stop", 0.3), ("restart", 0.3)]


@pytest.mark.parametrize("pause", [0.0, 0.4], ids=["reversing", "in the pause"])
@pytest.mark.parametrize(("kind", "when"), ENDED)
def test_whoever_else_gives_or_takes_a_command_ends_it(kind, when, pause):
    """By hand the drive is taken off, and stays off, or runs forward again and is watched."""
    r, m, e = reversing((kind, when), pause=pause)
    last = [sc.IDLE, sc.WATCHING] if kind == "restart" else [sc.IDLE]
    assert modes(r, e)[: 2 + len(last)] == [sc.NOTICED, sc.PAUSING if pause else sc.BACKWARD, *last]
    assert r.events(e, sc.IDLE)[0] == pytest.approx(when, abs=1e-12)
    if kind != "restart":
        assert modes(r, e)[-1] == sc.IDLE
        assert r.mode(m)[-1] == 0
        assert r.events(e, sc.BACKWARD) == ([] if pause else r.events(e, sc.BACKWARD)[:1])


def test_a_drive_that_runs_backward_is_not_reversed_into_the_jam():
    """A second chain that notices the same, 5 ms slower, finds the drive reversed: power off and nothing else."""
    r, m, e = reversing(chains=2)
    assert modes(r, e) == [sc.NOTICED, sc.STOPPED, sc.IDLE]
    assert modes(r, e - 1) == [sc.NOTICED, sc.BACKWARD, sc.IDLE]
    assert r.mode(m)[-1] == 0


def test_what_it_has_noticed_does_not_switch_a_drive_on_that_is_off():
    r, m, e = reversing(("power off", 0.105))
    assert modes(r, e) == [sc.NOTICED, sc.STOPPED, sc.IDLE]
    assert r.mode(m)[-1] == 0


def test_a_motor_on_the_mains_is_reversed_by_its_contactors():
    """Two phases swapped at standstill: it runs up the other way along the same curve, mirrored."""
    line = Line()
    n = line.mass(0.5, 155.0)
    m = line.part("induction motor", 0, n, rated_power=7500.0, rated_speed=152.0, locked_rotor=2.3, inertia=0.03)
    line.part("friction load", n, 0, running=20.0, breakaway=20.0)
    row = {"what": sc.TORQUE, "limit": 40.0, "sensor": 0.0, "scan": 0.0, "output": 0.02, "action": REVERSE_THEN_OFF,
           "pause": 5.0, "reverse_for": 6.0, "reverse_speed": 1.0}  # fmt: skip
    e = line.part("stop chain", start=Start(row=row, mode=sc.BLIND), senses=((m, 0), (m, OUT)))
    line.part("partial jam", n, 0, drag=40.0, when=0.5, lasts=0.5)
    line.part("power off", when=20.0)
    r = run(line, 13.0, h_max=0.5)
    back, off = r.events(e, sc.BACKWARD)[0], r.events(e, sc.STOPPED)[0]
    assert r.at(back, r.speed(n)) == 0.0
    assert -157.1 < r.at(off, r.speed(n)) < -150.0
    assert r.at(off, r.torque(m)) <= 0.0


TEXT = """title = "Peel press"
question = "Does it come free?"
protect = "shaft"
[[line]]
name = "motor"
part = "{motor}"
rated_power = "3 kW"
rated_speed = "1420 rpm"
inertia = "0.01 kg*m^2"
[[line]]
name = "gearbox"
part = "gear"
ratio = 20
stiffness = "20 kN*m/rad"
inertia_out = "0.01 kg*m^2"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "20 kN*m/rad"
allowable = "900 N*m"
allowable_source = "own"
[[line]]
name = "screw"
part = "flywheel"
inertia = "0.8 kg*m^2"
[[line]]
name = "peel"
part = "friction load"
running = "90 N*m"
[candidates."friction disc"]
setting = "400 N*m"
[situations."clog"]
event = "hard stop"
at = "screw"
stiffness = "60 kN*m/rad"
horizon = "3 s"
[stops."clog watch"]
senses = "slip angle"
angle = "20 deg"
action = "reverse, then off"
"""
FOR = 'reverse_for = "0.8 s"\n'
CONVERTER, MAINS = "converter-fed motor", "torque-speed motor"
QUICK = 'ramp_down_time = "0.2 s"\nramp_up_time = "0.4 s"\n'


def press(more: str, motor: str = CONVERTER) -> str:
    text = TEXT.format(motor=motor) + more
    return text.replace('inertia = "0.01 kg*m^2"\n', f'inertia = "0.01 kg*m^2"\n{QUICK}', 1) if "fed" in motor else text


REFUSED = [
    (FOR + "attempts = 0\n", CONVERTER, "attempts"),
    (FOR + "attempts = 1.5\n", CONVERTER, "attempts"),
    ("", CONVERTER, "reverse_for is missing"),
    (FOR + "vents = true\n", CONVERTER, "vents lets go of the load that is to be reversed"),
    (FOR + "reverse_speed = 0.3\n", MAINS, "'motor', a torque-speed motor, has no speed loop and is reversed at full"),
    (FOR + "reverse_speed = 1.2\n", CONVERTER, "reverse_speed"),
]


@pytest.mark.parametrize(("more", "motor", "said"), REFUSED)
def test_refused(more, motor, said):
    with pytest.raises(InputError) as e:
        read_text(press(more, motor))
    fault = next(f for f in e.value.faults if said in str(f))
    assert fault.line is not None
    read_text(press(FOR + "reverse_speed = 0.3\n"))
    read_text(press(FOR, MAINS))


def test_inputs_of_reversing_mean_nothing_to_another_action():
    with pytest.raises(InputError, match='reverse_for belongs to action = "reverse, then off"'):
        read_text(press(FOR).replace('action = "reverse, then off"\n', ""))


def test_attempts_mean_nothing_to_another_action():
    with pytest.raises(InputError, match='attempts belongs to action = "reverse, then off"'):
        read_text(press("attempts = 2\n").replace('action = "reverse, then off"\n', ""))


def test_a_jam_that_has_gone_leaves_the_drive_running_forward():
    """Three attempts allowed, one needed: forward again at the speed of before, watched on."""
    r, m, e = reversing(pause=0.2, attempts=3.0, reverse_for=0.5, blanking=1.6)
    assert modes(r, e) == [sc.NOTICED, sc.PAUSING, sc.BACKWARD, sc.PAUSING, sc.BLIND, sc.WATCHING]
    ahead = r.events(e, sc.BLIND)[0]
    assert ahead - r.events(e, sc.PAUSING)[1] == pytest.approx(0.2, abs=1e-12)
    assert r.events(e, sc.WATCHING)[-1] - ahead == pytest.approx(1.6, abs=1e-12)
    assert r.speed(1)[-1] == pytest.approx(10.0, rel=1e-3)
    assert r.mode(m)[-1] != 0


@pytest.mark.parametrize(("kind", "last"), [("power off", [sc.IDLE]), ("restart", [sc.IDLE, sc.WATCHING])])
def test_a_command_between_two_attempts_ends_them(kind, last):
    """In the pause before it goes forward; after a restart the attempts are counted anew."""
    r, m, e = reversing((kind, 0.9), pause=0.4, attempts=2.0, reverse_for=0.3)
    assert modes(r, e)[: 4 + len(last)] == [sc.NOTICED, sc.PAUSING, sc.BACKWARD, sc.PAUSING, *last]
    assert r.mode(m)[-1] == 0
    assert len(r.events(e, sc.BACKWARD)) == (1 if kind == "power off" else 1 + 2)


def test_without_attempts_nothing_changes():
    """Given as 1 or left out: the same trace to the bit."""
    one, none = reversing(attempts=1.0)[0], reversing()[0]
    assert np.array_equal(one.out.trace, none.out.trace)


def test_an_emergency_stop_does_not_reverse():
    button = '[situations."button"]\nevent = "emergency stop"\naction = "reverse, then off"\n'
    with pytest.raises(InputError, match="ramp, then off"):
        read_text(press(FOR) + button)


def test_screen_and_timeline_say_that_it_reverses():
    """In the remark, as a bar of the chain and of the motor, and as legs of the stop until the power is off."""
    s = read_text(press(FOR + 'reverse_speed = "30 %"\nreverse_pause = "0.1 s"\n'))
    result = api.run(s, evidence=False)
    r = result.run("friction disc", "clog")
    at = {v.new: v.time for v in r.events if v.who == "clog watch"}
    assert at["reversing"] - at["pausing"] == pytest.approx(0.1, abs=1e-9)
    assert at["stopped"] - at["reversing"] == pytest.approx(0.8, abs=1e-9)
    remarks = {x.label: x.text for x in result.remarks}
    assert "it reverses the drive until" in remarks["Stop"]
    assert remarks["Reverses"].startswith("'clog watch' in 'clog' turns the load back by ")
    told = float(remarks["Reverses"].split(" by ")[1].split(" deg")[0])
    screw = r.angle[:, r.nodes.index("shaft")]
    within = (r.time >= at["reversing"]) & (r.time <= at["stopped"])
    assert told == pytest.approx(np.degrees(screw[within].max() - screw[within][-1]), rel=0.01)
    assert told > 90.0
    lane = timeline_data(result).lanes[0]
    rows = {row.who: [(b.words, b.meaning) for b in row.bars] for row in lane.rows}
    assert ("reversing", "ramp") in rows["stop chain"]
    assert ("pausing", "rest") in rows["stop chain"]
    assert ("reversing", "ramp") in rows["motor"]
    legs = stopped(result, r)
    assert [leg.what for leg in legs.legs][-2:] == ["pause", "reversing"]
    assert legs.off == pytest.approx(at["stopped"], abs=1e-9)


def test_screen_and_timeline_tell_of_every_attempt():
    """The wall stays: twice reversed, then off; every stretch is a leg of the stop, none is missing, none overlaps."""
    more = FOR + 'reverse_speed = "30 %"\nreverse_pause = "0.1 s"\nattempts = 2\nblanking = "0.3 s"\n'
    result = api.run(read_text(press(more).replace('horizon = "3 s"', 'horizon = "4 s"')), evidence=False)
    r = result.run("friction disc", "clog")
    starts = [v.time for v in r.events if v.who == "clog watch" and v.new == "reversing"]
    (off,) = (v.time for v in r.events if v.who == "clog watch" and v.new == "stopped")
    remarks = {x.label: x.text for x in result.remarks}
    assert "it reverses the drive 2 times, the last time until 2.54 s" in remarks["Stop"]
    assert remarks["Reverses"].count(" to ") == len(starts) == 2
    assert " deg, then " in remarks["Reverses"]
    told = stopped(result, r)
    chain = [leg.what for leg in told.legs]
    again = ["pause", "reversing", "pause", "forward again", "sensor", "scan", "output", "pause", "reversing"]
    assert chain == ["to the trigger", "noticing", "sensor", "scan", "output", *again]
    assert all(a.stop == pytest.approx(b.start, abs=1e-12) for a, b in pairwise(told.legs))
    assert sum(leg.heat for leg in told.legs) == pytest.approx(told.heat, rel=1e-9)
    assert told.off == off == told.legs[-1].stop
    rows = {row.who: [b.words for b in row.bars] for row in timeline_data(result).lanes[0].rows}
    assert rows["stop chain"].count("reversing") == rows["motor"].count("reversing") == 2
    assert rows["stop chain"].count("pausing") == 3


def test_a_reversal_that_frees_the_line_ends_the_stop_with_the_drive_on():
    """The jam is taken away meanwhile: no power off, and the legs end with the reversal."""
    more = FOR + 'reverse_speed = "30 %"\nreverse_pause = "0.1 s"\nattempts = 2\nblanking = "0.3 s"\n'
    text = press(more).replace('horizon = "3 s"', 'horizon = "3 s"\nlasts = "0.9 s"')
    result = api.run(read_text(text), evidence=False)
    r = result.run("friction disc", "clog")
    told = stopped(result, r)
    assert np.isnan(told.off)
    assert [leg.what for leg in told.legs][-2:] == ["pause", "reversing"]
    assert next(x.text for x in result.remarks if x.label == "Reverses").count(" to ") == 1
    assert timeline_data(result).frame.title == "Power stays on to the end"
