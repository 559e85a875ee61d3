"""Starts by the set speed: estimates beside the kernel, and what the warning says of drives that ramp it."""

from __future__ import annotations

from math import isnan, pi, sqrt

import pytest
from line_texts import bare, candidate, fitted, scenario, situation, station

from simcore.conduct import Settings, conduct
from simcore.line.cautions import cautions
from simcore.line.reflect import seen_from, shared
from simcore.line.run_up import carried, run_up, start_by_hand
from simcore.scenario.model import Scenario
from simcore.solver.kernel import run_one

NAME = "start above setting"
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", relative_damping=0, allowable="900 N*m",
                allowable_source="own")  # fmt: skip
SLOT = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
DRUM = station("drum", "flywheel", inertia="0.6 kg*m^2")
PERIOD = 2.0 * pi * sqrt(0.6 / 5e3)


def servo(**motion: object) -> str:
    """A loop so stiff that the shaft's speed is the set speed."""
    return station("servo", "servo motor", rated_torque="200 N*m", inertia="0.38 kg*m^2", bandwidth="80 Hz",
                   tuned_inertia="30 kg*m^2", controller="proportional", lag="0 s", **motion)  # fmt: skip


def converter(ramp: float, name: str = "motor", **more: object) -> str:
    """20 N*m, 31 at its limit."""
    return station(name, "converter-fed motor", rated_power="3 kW", rated_speed="1440 rpm", inertia="0.01 kg*m^2",
                   ramp_up_time=f"{ramp} s", **more)  # fmt: skip


def table(drive: str, setting: float = 40.0, running: float = 0.0, breakaway: float = 0.0) -> Scenario:
    drag = station("drag", "friction load", running=f"{running} N*m", breakaway=f"{breakaway} N*m")
    return scenario(drive, SLOT, SHAFT, DRUM, drag, situation("go", "start", horizon="1.2 s"),
                    candidate("shear pins", setting=f"{setting} N*m", tolerance=0.1, clearance="0 deg"))  # fmt: skip


def by_run_and_hand(s: Scenario) -> tuple[float, float]:
    a = bare(s, "go")
    i = a.index("shaft")
    out = run_one(a, trace=False)
    assert out.status <= 1
    found = start_by_hand(a, i, seen_from(a, i))
    assert found is not None
    return float(out.meas[i, 0]), found[0]


@pytest.mark.parametrize(("running", "breakaway"), [(0.0, 0.0), (10.0, 10.0), (10.0, 40.0)])
def test_a_shaft_speeded_up_suddenly_sees_the_energy_balance(running, breakaway):
    """V = L + J a = L + 0.6*50; V + sqrt((L0 - V)^2 + 2 J a L0): 60 N*m where nothing drags, twice J a."""
    run, hand = by_run_and_hand(
        table(servo(speed="50 rad/s", ramp_up_time="1 s"), running=running, breakaway=breakaway)
    )
    level = running + 30.0
    whole = sqrt((breakaway - level) ** 2 + 60.0 * breakaway)
    assert hand == pytest.approx(level + whole, rel=1e-4)
    assert run == pytest.approx(hand, rel=0.02)


@pytest.mark.parametrize(("law", "steepest"), [("cycloidal", pi), ("harmonic", pi), ("trapezoid speed", 3.0)])
def test_the_acceleration_of_an_index_is_that_of_its_law(law, steepest):
    """Top speed 2 A/B, pi A/2B, 1.5 A/B; of it pi/B, pi/B and 3/B, laws of motion, textbook."""
    a = bare(table(servo(index_angle="90 deg", move_time="0.4 s", dwell_time="1 s", motion=law)), "go")
    top = {"cycloidal": 2.0, "harmonic": 0.5 * pi, "trapezoid speed": 1.5}[law] * 0.5 * pi / 0.4
    up = run_up(a, a.index("shaft"))
    assert up is not None
    assert up.acceleration == pytest.approx(top * steepest / 0.4)
    assert up.rise == pytest.approx(0.1 if law == "cycloidal" else 0.0)


@pytest.mark.parametrize("move", [4.0, 8.0, 16.0])
def test_a_cycloidal_index_leaves_little_of_the_swing(move):
    """J a (1 + P/(pi B/4)): the shock spectrum's envelope, textbook; of a sine that begins at rest 1/(1 - P/B)."""
    length = move * PERIOD
    run, hand = by_run_and_hand(
        table(servo(index_angle="90 deg", move_time=f"{length} s", dwell_time="2 s", motion="cycloidal"))
    )
    inertial = 0.6 * pi * (pi / length) / length
    assert hand == pytest.approx(inertial * (1.0 + 4.0 / (pi * move)))
    assert 0.85 * hand < run < hand


def test_no_ramp_of_the_speed_is_a_torque_step():
    a = bare(table(converter(0.0)))
    assert run_up(a, a.index("shaft")) is None


def test_the_estimate_of_a_ramp_is_never_above_a_torque_step_s():
    a = bare(table(converter(1e-3)))
    i = a.index("shaft")
    s = seen_from(a, i)
    assert start_by_hand(a, i, s) == pytest.approx((2.0 * s.motor * s.down / (s.up + s.down), 0.0))


def told(s: Scenario) -> list[str]:
    return [c.text for c in cautions(s) if c.name == NAME]


def test_a_ramp_of_the_speed_is_reckoned_with():
    """0.61*39.3 = 24 N*m, and by 20 N*m at 60 rpm of slip little of a swing; 36 N*m by a torque step at its limit."""
    assert told(table(converter(4.0), setting=30.0)) == []
    assert "by a torque step" in told(table(converter(0.0), setting=30.0))[0]
    (text,) = told(table(converter(4.0), setting=20.0))
    assert "with the acceleration that is given" in text
    assert text.endswith("a longer ramp takes more")


def test_the_remedy_is_one_that_the_drive_has():
    assert told(table(converter(0.0), setting=30.0))[0].endswith("a ramp of the speed takes most of it")
    plate = {"rated_power": "3 kW", "rated_speed": "1440 rpm", "locked_rotor": 2.2, "inertia": "0.01 kg*m^2"}
    direct = station("motor", "induction motor", **plate)
    assert told(table(direct, setting=30.0))[0].endswith("a torque ramp of three periods takes most of it")
    star = station("motor", "induction motor", starting="star-delta", **plate)
    assert told(table(star, setting=30.0))[0].endswith("a softer start takes most of it")


def test_no_ramp_of_the_speed_helps_against_what_breaks_the_load_loose():
    (text,) = told(table(converter(4.0), running=5.0, breakaway=25.0, setting=22.0))
    assert text.endswith("no ramp takes that away, it is what breaks the load loose")


def test_two_drives_share_the_load_and_each_bring_their_own_rotor():
    drag = station("drag", "friction load", running="0 N*m", breakaway="0 N*m")
    s = scenario(converter(2.0), SLOT, SHAFT, DRUM, drag, converter(2.0, "second"),
                 station("link", "shaft", stiffness="5 kN*m/rad", joins="drum"), situation("go", "start"),
                 candidate("shear pins", setting="40 N*m"))  # fmt: skip
    a = fitted(s, "shear pins")
    i = a.candidate
    assert i is not None
    with_others = shared(a, i)
    assert with_others == pytest.approx((0.5, 0.01))
    seen = seen_from(a, i)
    assert carried(with_others, seen) == pytest.approx(0.5 * (seen.down - 0.01))


def test_one_drive_that_steps_makes_it_a_torque_step():
    drag = station("drag", "friction load", running="0 N*m", breakaway="0 N*m")
    s = scenario(converter(2.0), SLOT, SHAFT, DRUM, drag, converter(0.0, "second"),
                 station("link", "shaft", stiffness="5 kN*m/rad", joins="drum"), situation("go", "start"),
                 candidate("shear pins", setting="40 N*m"))  # fmt: skip
    a = fitted(s, "shear pins")
    assert run_up(a, a.index("shaft")) is None


def test_beside_the_peak_stands_what_belongs_to_the_drive():
    by_speed, by_step = (conduct(table(converter(r), running=5.0, breakaway=6.0), Settings(evidence=False)).bounds[-1]
                         for r in (4.0, 0.0))  # fmt: skip
    assert by_speed.what == "start by the set speed"
    assert by_step.what == "start by a torque step"
    assert by_speed.value < by_speed.estimate < by_step.estimate
    assert isnan(by_speed.bound)
