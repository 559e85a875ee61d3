"""Stop chains and commands in whole scenarios: categories, restart, blanking, who is fitted, faults, backwards."""

from __future__ import annotations

import numpy as np
import pytest
from lines import Line, Run, Start, run

from simcore.contract import SIGNALS
from simcore.errors import InputError
from simcore.line.assemble import assemble
from simcore.parts import REGISTRY, stop_chain
from simcore.parts._stopping import OFF_AT_ONCE, RAMP_AND_HOLD, RAMP_THEN_OFF
from simcore.scenario.read import read_text

HEAD = """title = "Laundry folding table"
question = "Does it stop?"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "60 N*m"
speed = "{speed} rad/s"
inertia = "0.02 kg*m^2"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"
[[line]]
name = "gearbox"
part = "gear"
ratio = 4
stiffness = "20 kN*m/rad"
inertia_out = "0.01 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "20 kN*m/rad"
allowable = "900 N*m"
allowable_source = "own"
[[line]]
name = "roller"
part = "flywheel"
inertia = "0.5 kg*m^2"
[[line]]
name = "drag"
part = "friction load"
running = "40 N*m"
"""
DISC = '[candidates."friction disc"]\nsetting = "40 N*m"\n'
BALLS = '[candidates."ball detent"]\nsetting = "40 N*m"\n'
JAM = '[situations."jam"]\nevent = "partial jam"\ndrag = "400 N*m"\nhorizon = "0.6 s"\n'


def chain(senses: str, *more: str, name: str = "watch") -> str:
    return "\n".join([f'[stops."{name}"]', f'senses = "{senses}"', *more, ""])


def case(*tables: str, speed: float = 50.0, candidate: str = "friction disc"):
    s = read_text(HEAD.format(speed=speed) + "".join(tables))
    return assemble(s, s.candidates[candidate], s.situations["jam"], rtol=1e-8)


def off_at(r: Run) -> list[float]:
    return [t for t in r.events(r.a.index("motor"), 0) if t > 0.0]


def noticed(r: Run, name: str = "watch") -> float:
    return r.events(r.a.index(name), stop_chain.NOTICED)[0]


SENSED = {
    "slip angle": 'angle = "20 deg"',
    "slip speed": 'slip = "10 rad/s"',
    "speed loss": 'loss = 0.3\nof = "motor"\nto = "drag"',
    "temperature rise": 'rise = "0.5 K"',
    "letting go": "",
}


@pytest.mark.parametrize("senses", SENSED)
def test_stops_the_drive_and_backwards_the_same(senses):
    """Power off 2 + 20 ms after the notice where it is wired; a line running backwards gives the same instants."""
    text = chain(senses, SENSED[senses], 'scan = "0 s"')
    ahead, back = Run(case(DISC, text, JAM)), Run(case(DISC, text, JAM, speed=-50.0))
    at = noticed(ahead)
    assert 0.0 < at < 0.5
    assert off_at(ahead) == pytest.approx([at + 0.022], abs=1e-9)
    assert [noticed(back), *off_at(back)] == pytest.approx([at, at + 0.022], abs=1e-8)
    assert back.speed(1)[-1] == pytest.approx(-ahead.speed(1)[-1], abs=1e-5)
    assert ahead.residual < 1e-6


def test_speed_lost_is_the_share_of_the_speed_without_load():
    """Motor and roller stand a gear ratio of 4 apart: no loss while both run, 0.3 as the chain notices."""
    r = Run(case(DISC, chain("speed loss", SENSED["speed loss"], 'scan = "0 s"'), JAM))
    places = r.a.graph.places
    at = noticed(r)
    before = r.at(at, r.speed(places["motor"].node)) / 50.0
    behind = r.at(at, r.speed(places["roller"].node)) / 12.5
    assert before - behind == pytest.approx(0.3, abs=1e-6)


def test_fitted_to_one_candidate_only():
    text = chain("letting go", 'fitted_to = "ball detent"')
    assert "watch" not in case(DISC, BALLS, text, JAM).names
    assert "watch" in case(DISC, BALLS, text, JAM, candidate="ball detent").names


def test_an_event_or_a_stop_of_the_same_name_is_refused():
    """A situation called like the station, a chain called like it as well: which is watched would be a guess."""
    jam = JAM.replace('"jam"', '"shaft"')
    with pytest.raises(InputError) as e:
        read_text(
            HEAD.format(speed=50) + DISC + chain("torque", 'torque = "100 N*m"', 'of = "shaft"', name="shaft") + jam
        )
    assert str(e.value).count("have the same name") == 2


FAULTS = [
    (chain("slip angle"), "angle"),
    (chain("torque", 'angle = "5 deg"', 'torque = "5 N*m"'), "angle means nothing to a chain that senses torque"),
    (chain("torque", 'torque = "5 N*m"', 'of = "gearbax"'), "gearbox"),
    (chain("letting go", 'fitted_to = "bal detent"'), "ball detent"),
    ('[situations."hit"]\nevent = "emergency stop"\naction = "ramp and hold"\n', "stop category 0 or 1"),
]


@pytest.mark.parametrize(("text", "said"), FAULTS)
def test_faults_name_file_line_and_what_would_do(text, said):
    whole = HEAD.format(speed=50) + DISC + BALLS + JAM
    with pytest.raises(InputError) as e:
        read_text(whole + text)
    first = whole.count("\n") + 1
    lines = [m for m in str(e.value).splitlines() if said in m]
    assert lines, str(e.value)
    assert first <= int(lines[0].split(":")[1]) <= first + 5


CONSTANT = '[[line]]\nname = "motor"\npart = "constant-torque motor"\ntorque = "60 N*m"\n'
DIRECT, CONVERTER = (
    f'[[line]]\nname = "motor"\npart = "{part}"\nrated_power = "3 kW"\nrated_speed = "1420 rpm"\n{{more}}inertia'
    for part in ("induction motor", "converter-fed motor")
)
HARD = 'speed = "{speed} rad/s"\ninertia'
HELPER = (
    '[[line]]\nname = "helper"\npart = "constant-torque motor"\njoins = "roller"\ntorque = "9 N*m"\n'
    'speed = "12 rad/s"\ninertia = "0.02 kg*m^2"\n'
)


def folding(drive: str, *tables: str, jam: str = JAM) -> str:
    """The table with another motor, no speeds to fill in."""
    line = HEAD.replace(CONSTANT + HARD, drive.format(more="locked_rotor = 2.2\n" if drive is DIRECT else ""))
    assert line != HEAD
    return line + "".join(tables) + DISC + jam


def watch(action: str) -> str:
    return chain("slip angle", 'angle = "20 deg"', f'action = "{action}"')


def button(action: str) -> str:
    return f'[situations."button"]\nevent = "emergency stop"\nexpect = "hold"\naction = "{action}"\n'


LATER = '[[situations."jam".then]]\nevent = "emergency stop"\nwhen = "0.1 s"\naction = "ramp, then off"\n'
NO_RAMP = [
    (watch("ramp, then off"), 'stops["watch"].action', "ramp, then off"),
    (watch("ramp and hold"), 'stops["watch"].action', "ramp and hold"),
    (button("ramp, then off"), 'situations["button"].action', "ramp, then off"),
    (LATER, 'situations["jam"].then[1].action', "ramp, then off"),
]


@pytest.mark.parametrize(("stop", "path", "value"), NO_RAMP, ids=["category 1", "category 2", "button", "later"])
def test_a_ramp_is_refused_where_a_motor_knows_none(stop, path, value):
    """On the mains it would drive on at full speed: for the whole ramp, or for good (category 2)."""
    with pytest.raises(InputError) as e:
        read_text(folding(DIRECT) + stop)
    (fault,) = e.value.faults
    assert (fault.path, value in str(fault)) == (path, True)
    assert fault.rule.startswith("'motor', a induction motor, has no speed loop and cannot ramp down")
    assert fault.hint == 'take action = "power off" or make it a converter-fed motor or a servo motor'
    assert fault.line is not None
    read_text(folding(CONVERTER) + stop)
    read_text(folding(DIRECT) + stop.replace(value, "power off"))


@pytest.mark.parametrize("stop", [watch("ramp and hold"), button("ramp, then off")], ids=["chain", "button"])
def test_of_two_motors_the_one_that_knows_no_ramp_is_named(stop):
    with pytest.raises(InputError) as e:
        read_text(folding(CONVERTER, HELPER) + stop)
    assert [f.rule.split(",")[0] for f in e.value.faults] == ["'helper'"]


def driven(*events: tuple[str, float], action: int = OFF_AT_ONCE, ramp: float = 0.5, blanking: float = 0.0, on=True):
    """A motor at 10 rad/s on an inertia; its chain trips on 5 N*m, the events are named with their instants."""
    line = Line()
    n = line.mass(2.0, 10.0 if on else 0.0)
    speed = {"torque": 40.0, "speed": 10.0, "inertia": 1.0, "droop": 0.01}
    m = line.part("constant-torque motor", 0, n, **speed)
    row = {"what": stop_chain.TORQUE, "limit": 5.0, "sensor": 0.0, "scan": 0.0, "output": 0.01, "action": action,
           "ramp": ramp, "blanking": blanking}  # fmt: skip
    code = SIGNALS.index("torque")
    begins = stop_chain.BLIND if on else stop_chain.IDLE
    e = line.part("stop chain", start=Start(row=row, mode=begins), senses=((m, code), (m, SIGNALS.index("speed out"))))
    for kind, when in events:
        if kind == "drag":
            line.part("partial jam", n, 0, drag=20.0, when=when, lasts=0.05)
        elif kind == "start":
            line.part("start")
        else:
            line.part(kind, when=when)
    return run(line, 1.5, on=on), m, e


def modes(r: Run, e: int) -> list[int]:
    return [int(x[4]) for x in r.out.events if x[1] == e]


def test_category_0_then_restart_and_it_watches_again():
    r, m, e = driven(("drag", 0.1), ("restart", 0.4), blanking=0.3)
    assert modes(r, e) == [stop_chain.WATCHING, stop_chain.NOTICED, stop_chain.STOPPED, stop_chain.IDLE,
                           stop_chain.BLIND, stop_chain.WATCHING]  # fmt: skip
    off, back = r.events(m)[-3], r.events(m, 2)[-1]
    assert r.events(e, stop_chain.STOPPED)[0] - r.events(e, stop_chain.NOTICED)[0] == pytest.approx(0.01, abs=1e-9)
    assert off < 0.2 < back
    assert back == pytest.approx(0.4, abs=1e-12)
    assert r.speed(1)[-1] == pytest.approx(10.0, rel=1e-6)


def test_category_1_and_a_restart_that_calls_it_off():
    r, m, e = driven(("drag", 0.1), action=RAMP_THEN_OFF)
    begun = r.events(e, stop_chain.RAMPING)[0]
    assert r.events(m, 0) == pytest.approx([begun + 0.5], abs=1e-9)
    r, m, e = driven(("drag", 0.1), ("restart", 0.3), action=RAMP_THEN_OFF)
    assert modes(r, e)[-2:] == [stop_chain.IDLE, stop_chain.WATCHING]
    assert r.events(m, 0) == []


def test_category_2_keeps_the_power_on_until_restart():
    r, m, e = driven(("drag", 0.1), ("restart", 0.6), action=RAMP_AND_HOLD)
    assert r.events(m, 0) == []
    assert modes(r, e)[-3:] == [stop_chain.STOPPED, stop_chain.IDLE, stop_chain.WATCHING]
    assert r.events(e, stop_chain.WATCHING)[-1] == pytest.approx(0.6, abs=1e-12)


def test_noticed_is_carried_through_when_the_power_goes_meanwhile():
    r, _, e = driven(("drag", 0.1), ("power off", 0.105))
    assert modes(r, e)[1:] == [stop_chain.NOTICED, stop_chain.STOPPED, stop_chain.IDLE]


def test_a_line_that_runs_already_is_watched_whatever_the_blanking():
    """Blanking counts from power-on, and that was long ago: the jam is noticed as early as without it."""
    jams = [Run(case(DISC, chain("slip angle", SENSED["slip angle"], b), JAM)) for b in ("", 'blanking = "0.3 s"')]
    assert noticed(jams[1]) == pytest.approx(noticed(jams[0]), abs=1e-9)
    assert noticed(jams[0]) < 0.1


@pytest.mark.parametrize(("blanking", "trips"), [(0.0, True), (0.3, True), (0.9, False)])
def test_blanking_keeps_a_start_from_tripping(blanking, trips):
    """40 N*m on 2 kg*m^2 take 0.5 s to 10 rad/s: blind for 0.9 s is enough, 0.3 s is not."""
    r, m, e = driven(("start", 0.0), blanking=blanking, on=False)
    assert bool(r.events(e, stop_chain.NOTICED)) == trips
    if trips:
        assert r.events(e, stop_chain.NOTICED)[0] == pytest.approx(blanking, abs=1e-9)
        assert r.events(m, 0) == pytest.approx([blanking + 0.01], abs=1e-9)


@pytest.mark.parametrize(("action", "extra"), [("power off", 0.0), ("ramp, then off", 0.2)])
def test_emergency_stop_by_category(action, extra):
    """Power goes 30 ms after the button, in category 1 a ramp later."""
    jam = f'[situations."jam"]\nevent = "emergency stop"\naction = "{action}"\nramp_time = "0.2 s"\nhorizon = "0.5 s"\n'
    s = read_text(folding(CONVERTER, jam=jam))
    r = Run(assemble(s, s.candidates["friction disc"], s.situations["jam"]))
    assert off_at(r) == pytest.approx([0.03 + extra], abs=1e-9)
    assert np.abs(r.speed(1)[-1]) < 0.98 * r.speed(1)[0]


@pytest.mark.parametrize(("again", "off"), [(0.1, False), (0.3, True)])
def test_a_restart_calls_off_what_follows_the_ramp(again, off):
    """Power would go 30 ms + 0.2 s after the button: a restart at 0.1 s keeps it on, one at 0.3 s finds it off."""
    line = Line()
    n = line.mass(2.0, 10.0)
    m = line.part("constant-torque motor", 0, n, torque=40.0, speed=10.0, inertia=1.0, droop=0.01)
    line.part("emergency stop", action="ramp, then off", ramp_time=0.2)
    line.part("restart", when=again)
    r = run(line, 0.6)
    assert [t for t in r.events(m, 0) if t > 0.0] == pytest.approx([0.23] if off else [], abs=1e-9)
    assert r.mode(m)[-1] != 0


def test_a_sheet_tells_the_range_of_reactions():
    part = REGISTRY["stop chain"]
    p = part.call(
        "resolve", part.raw({"senses": 0.0, "sensor": 0.008, "scan": 0.01, "scans": 2.0, "output": 0.025}), 1.0
    )
    assert part.call("sheet", p)["longest reaction"][0] == pytest.approx(0.053)
    assert part.call("sheet", p)["shortest reaction"][0] == pytest.approx(0.043)
