"""A load that the line cannot carry is refused before any run, also in a corner, and a run says the same numbers."""

from __future__ import annotations

import pytest
from line_texts import candidate, motor, scenario, situation, station

from simcore import api
from simcore.errors import InputError
from simcore.line.cautions import cautions

SLOT = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", allowable="900 N*m", allowable_source="own")
DRUM = station("drum", "flywheel", inertia="0.5 kg*m^2")
VEE = station("vee", "V-belt", radius_in="60 mm", radius_out="60 mm", wrap_angle="180 deg", stiffness="100 kN/m",
              pretension="600 N", inertia_out="0.01 kg*m^2")  # fmt: skip
"""Slips at 2 * 600 N * tanh(0.5 * 0.3 / sin(18 deg) * pi) * 0.06 m = 65.48 N*m, of 300 N * 0.06 m * 2 * 2."""
COLD = (
    "the motor cannot carry in the corner 'cold': ordinary running asks for 31 N*m at 'shaft', the motor gives 30 N*m"
)


def drum(*belt: str, drag: float, cold: float | None = None, torque: float = 30.0) -> tuple[str, ...]:
    where = {} if cold is None else {"corner": "cold"}
    corner = [] if cold is None else [f'[corners.cold]\n"line[\\"drag\\"].running" = "{cold} N*m"\n']
    return (motor(torque=f"{torque} N*m"), *belt, SLOT, SHAFT, DRUM,
            station("drag", "friction load", running=f"{drag} N*m"), candidate("shear pins", setting="200 N*m"),
            situation("jam", "partial jam", drag="1 kN*m", horizon="0.2 s", **where), *corner)  # fmt: skip


def refusal(*tables: str) -> str:
    with pytest.raises(InputError) as error:
        cautions(scenario(*tables))
    return str(error.value)


def test_a_corner_that_the_motor_cannot_carry_is_named():
    assert COLD in refusal(*drum(drag=20.0, cold=31.0))
    cautions(scenario(*drum(drag=20.0, cold=29.0)))


def test_a_corner_under_which_nothing_takes_place_is_not_asked_after():
    tables = [t.replace('corner = "cold"\n', "") for t in drum(drag=20.0, cold=31.0)]
    cautions(scenario(*tables))


def test_a_belt_drive_that_slips_under_the_running_load_is_named():
    said = "the belt drive 'vee' cannot carry{}: ordinary running asks for 66 N*m at 'vee', it slips at 65.5 N*m"
    assert said.format("") in refusal(*drum(VEE, drag=66.0, torque=90.0))
    assert said.format(" in the corner 'cold'") in refusal(*drum(VEE, drag=20.0, cold=66.0, torque=90.0))
    cautions(scenario(*drum(VEE, drag=65.0, torque=90.0)))


@pytest.mark.parametrize(("tables", "why"), [
    (drum(drag=31.0), "the motor cannot carry it: ordinary running asks for 31 N*m at 'shaft', the motor gives 30 N*m"),
    (drum(VEE, drag=66.0, torque=90.0), "the belt drive 'vee' cannot carry it: ordinary running asks for 66 N*m at"),
])  # fmt: skip
def test_a_run_says_the_same_numbers(kernel: object, tables: tuple[str, ...], why: str):
    with pytest.raises(InputError) as error:
        api.run(scenario(*tables), evidence=False)
    assert "no steady running state (bare line in 'jam'): the motor cannot carry the load, a" in str(error.value)
    assert f"by hand {why}" in str(error.value)


def test_what_passes_by_hand_runs(kernel: object):
    """Just under the belt's grip: hand value and kernel agree on where it slips."""
    done = api.run(scenario(*drum(VEE, drag=65.3, torque=90.0)), evidence=False)
    assert done.answers


def hoist(speed: str, strands: str = "one") -> tuple[str, ...]:
    """25 kg on a drum: 245 N, upward or downward."""
    more = {"strands": "two", "pretension": "400 N"} if strands == "two" else {}
    drum = station("drum", "drum", radius="0.1 m", inertia="0.1 kg*m^2")
    rope = station("rope", "belt or chain", stiffness="200 kN/m", **more)
    return (motor(torque="60 N*m", speed=speed), SLOT, SHAFT, drum, rope, station("sack", "hoisted mass", mass="25 kg"),
            candidate("shear pins", setting="90 N*m"), situation("jam", "hard stop", stiffness="1 MN/m"))  # fmt: skip


def test_one_strand_that_would_have_to_push_is_named():
    told = "'rope' cannot carry: ordinary running pulls it backward with 245 N, and one strand pulls in the sense of"
    assert told in refusal(*hoist("-20 rad/s"))
    cautions(scenario(*hoist("20 rad/s")))
    cautions(scenario(*hoist("-20 rad/s", "two")))
