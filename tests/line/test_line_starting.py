"""Starts by a torque ramp: estimates beside the kernel, and what the warning says."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from line_texts import bare, candidate, motor, scenario, situation, station

from simcore.line.cautions import cautions
from simcore.line.reflect import seen_from, start_estimate
from simcore.line.run_up import left_of_swing
from simcore.line.starting import ramped_estimate, torque_at_speed
from simcore.solver.kernel import run_one

NAME = "start above setting"
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", relative_damping=0, allowable="900 N*m",
                allowable_source="own")  # fmt: skip
SLOT = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
PERIOD = 2.0 * pi / sqrt(5e3 * (1 / 0.4 + 1 / 0.6))


def laundry(ramp: float, speed: float = 200.0, running: float = 0.0, breakaway: float = 0.0, setting: float = 40.0,
            own: float | None = None):  # fmt: skip
    """30 N*m; 0.4 kg*m^2 before the shaft, 0.6 behind it."""
    drive = motor(speed=f"{speed} rad/s", inertia="0.38 kg*m^2", droop=1e-3).replace('"0 s"', f'"{ramp} s"')
    drag = station("drag", "friction load", running=f"{running} N*m", breakaway=f"{breakaway} N*m")
    go = situation("go", "start", horizon=f"{2 + 1.2 * ramp} s", **({} if own is None else {"ramp": f"{own} s"}))
    return scenario(drive, SLOT, SHAFT, station("drum", "flywheel", inertia="0.6 kg*m^2"), drag, go,
                    candidate("shear pins", setting=f"{setting} N*m", tolerance=0.1, clearance="0 deg"))  # fmt: skip


def peaks(s, ramp: float) -> tuple[float, float]:
    """By the run and by hand."""
    a = bare(s, "go")
    out = run_one(a, trace=False)
    assert out.status <= 1
    i = a.index("shaft")
    return float(out.meas[i, 0]), ramped_estimate(seen_from(a, i), ramp, PERIOD)[0]


@pytest.mark.parametrize("periods", [0.5, 1.5, 2.5])
def test_a_ramp_leaves_what_the_shock_spectrum_says(periods):
    """At its crests ``|sin(pi r/P)|/(pi r/P)`` is its envelope: 18*(1 + P/(pi r)), shock spectrum, textbook."""
    ramp = periods * PERIOD
    run, hand = peaks(laundry(ramp), ramp)
    assert hand == pytest.approx(18.0 * (1.0 + 1.0 / (pi * periods)))
    assert run == pytest.approx(hand, rel=0.01)


@pytest.mark.parametrize("periods", [0.25, 0.8, 1.0, 1.9, 3.3, 7.0])
@pytest.mark.parametrize(("running", "breakaway"), [(0.0, 0.0), (10.0, 10.0), (10.0, 18.0)])
def test_between_its_crests_a_ramp_leaves_less(periods, running, breakaway):
    ramp = periods * PERIOD
    run, hand = peaks(laundry(ramp, running=running, breakaway=breakaway), ramp)
    assert 0.55 * hand < run < 1.01 * hand


def test_a_motor_may_reach_its_speed_before_the_ramp_is_over():
    """L + sqrt((L0 - L)^2 + 2 T J w/r) = 10 + sqrt(4^2 + 2*30*1*4/20) = 15.3 of 30 N*m; that far it winds the shaft."""
    s = laundry(20.0, speed=4.0, running=10.0, breakaway=14.0)
    seen = seen_from(bare(s), bare(s).index("shaft"))
    assert torque_at_speed(seen, 20.0) == pytest.approx(10.0 + sqrt(16.0 + 12.0))
    run, hand = peaks(s, 20.0)
    assert run == pytest.approx(hand, rel=0.03)


def test_no_ramp_is_a_step():
    seen = seen_from(bare(laundry(0.0)), 1)
    assert ramped_estimate(seen, 0.0, PERIOD)[0] == start_estimate(seen)
    assert left_of_swing(0.0, PERIOD) == left_of_swing(0.1 * PERIOD, PERIOD) == 1.0


def told(s) -> list[str]:
    return [c.text for c in cautions(s) if c.name == NAME]


def test_the_warning_reckons_with_the_ramp_that_is_given():
    """At the pins 0.61 of the inertia lies behind: a step reaches 36.6 N*m, above 0.9 of 39 but not of 41.  A ramp of
    100 ms leaves 18.3*(1 + 0.0435/(pi 0.1)) = 20.8 N*m."""
    assert told(laundry(0.0, setting=41.0)) == []
    assert "by a torque step" in told(laundry(0.0, setting=39.0))[0]
    assert told(laundry(3.0 * PERIOD, setting=39.0)) == []
    (text,) = told(laundry(0.1, setting=21.0))
    assert "with the torque ramp of 100 ms would still reach about 20.8 N*m" in text
    assert text.endswith("a longer ramp takes more")


def test_the_start_has_a_ramp_of_its_own():
    assert told(laundry(0.0, setting=39.0, own=0.3)) == []
    assert "by a torque step" in told(laundry(0.3, setting=39.0, own=0.0))[0]


def test_no_ramp_helps_against_what_breaks_the_load_loose():
    (text,) = told(laundry(1.0, running=5.0, breakaway=25.0, setting=22.0))
    assert text.endswith("no ramp takes that away, it is what breaks the load loose")


@pytest.mark.parametrize("breakaway", [50.0, 70.0])
def test_what_never_breaks_loose_winds_the_line_up_to_the_motor_s_torque(breakaway):
    """30 N*m by a ramp of 2 s against more: statics, and the little that is left of the swing."""
    run, hand = peaks(laundry(2.0, breakaway=breakaway), 2.0)
    assert run == pytest.approx(30.0, rel=0.02)
    assert run <= hand < 31.0
    (text,) = told(laundry(2.0, running=5.0, breakaway=breakaway, setting=22.0))
    assert text.endswith("no ramp takes that away, the load does not break loose")
