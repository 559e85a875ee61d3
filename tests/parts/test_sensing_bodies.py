"""Stop chains that sense the speed of a body, and what is refused because it could never be noticed."""

from __future__ import annotations

import pytest
from lines import Run
from test_stop_chain import DISC, HEAD, JAM, chain, noticed, off_at

from simcore.errors import InputError
from simcore.line.assemble import assemble
from simcore.scenario.read import read_text

DRUM = """[[line]]
name = "table drum"
part = "drum"
radius = "0.2 m"
[[line]]
name = "linen"
part = "moving mass"
mass = "3 kg"
"""
LOSS = ("loss = 0.3", 'scan = "0 s"')


def run_with(*stop: str, more: str = "", speed: float = 50.0) -> Run:
    s = read_text(HEAD.format(speed=speed) + more + DISC + chain("speed loss", *LOSS, *stop) + JAM + 'at = "roller"\n')
    return Run(assemble(s, s.candidates["friction disc"], s.situations["jam"], rtol=1e-12))


@pytest.mark.parametrize("speed", [50.0, -50.0])
@pytest.mark.parametrize("body", ["roller", "table drum", "linen"])
def test_a_body_is_sensed_at_the_place_where_it_stands(body, speed):
    """Flywheel, drum and mass turn with the load beside them: noticed and off at the same instants as by that load."""
    load, own = (run_with('of = "motor"', f'to = "{to}"', more=DRUM, speed=speed) for to in ("drag", body))
    assert noticed(own) == pytest.approx(noticed(load), abs=1e-9)
    assert off_at(own) == pytest.approx(off_at(load), abs=1e-9)
    assert own.speed(1)[-1] == pytest.approx(load.speed(1)[-1], rel=1e-9)
    assert own.residual < 1e-6


def test_the_first_place_may_be_a_body_as_well():
    """From the body to the motor the loss is a gain; the chain acts on either sign."""
    assert noticed(run_with('of = "roller"', 'to = "motor"')) == pytest.approx(
        noticed(run_with('of = "motor"', 'to = "roller"')), abs=1e-9
    )


def test_an_event_of_the_same_name_is_refused():
    text = HEAD.format(speed=50) + DISC + chain("speed loss", *LOSS, 'of = "motor"', 'to = "roller"')
    with pytest.raises(InputError, match=r'this situation and the station line\["roller"\] have the same name'):
        read_text(text + JAM.replace('"jam"', '"roller"'))


def test_the_bare_line_is_watched_too():
    s = read_text(HEAD.format(speed=50) + DISC + chain("speed loss", *LOSS, 'of = "motor"', 'to = "roller"') + JAM)
    assert "watch" in assemble(s, None, s.situations["jam"]).names


BODY = "a flywheel, has a speed and nothing else that could be sensed"
NEVER = [
    ("letting go", 'of = "roller"', "of", BODY, "shaft"),
    ("temperature rise", 'rise = "5 K"\nof = "roller"', "of", BODY, "shaft"),
    ("torque", 'torque = "5 N*m"\nof = "roller"', "of", "a flywheel, has no torque that could be sensed", "shaft"),
    ("torque", 'torque = "5 N*m"\nof = "drag"', "of", "a friction load, has no torque that could be sensed", "shaft"),
    (
        "slip angle",
        'angle = "5 deg"\nof = "roller"',
        "of",
        "a flywheel, is joined at one place and cannot slip",
        "shaft",
    ),
    ("slip speed", 'slip = "5 rpm"\nof = "motor"', "of", "is joined at one place and cannot slip", "gearbox"),
    ("speed loss", 'loss = 0.3\nof = "roller"', "to", "a loss of speed is between two places", "second station"),
    ("speed loss", 'loss = 0.3\nof = "drag"\nto = "drag"', "to", "a loss of speed is between two places", "second"),
]


@pytest.mark.parametrize(("senses", "inputs", "field", "rule", "hint"), NEVER)
def test_what_could_never_be_noticed_is_refused(senses, inputs, field, rule, hint):
    """With the line of the file, the field, and the nearest part that has it."""
    whole = HEAD.format(speed=50) + DISC + JAM
    with pytest.raises(InputError) as e:
        read_text(whole + chain(senses, *inputs.split("\n")))
    (fault,) = e.value.faults
    assert fault.path == f'stops["watch"].{field}'
    assert rule in fault.rule
    assert hint in str(fault.hint)
    first = whole.count("\n") + 1
    assert fault.line is not None
    assert first <= fault.line <= first + 5


def test_a_motor_s_torque_and_a_shaft_s_twist_can_be_sensed():
    for senses, inputs in (
        ("torque", 'torque = "50 N*m"\nof = "motor"'),
        ("slip angle", 'angle = "1 deg"\nof = "shaft"'),
    ):
        read_text(HEAD.format(speed=50) + DISC + JAM + chain(senses, inputs))
