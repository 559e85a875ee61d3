"""Hand estimates and bounds beside the kernel and beside closed forms."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, sqrt

import pytest
from line_texts import bare, candidate, fitted, motor, scenario, situation, station
from scipy.integrate import solve_ivp

from simcore.conduct import Settings, conduct
from simcore.line.cautions import cautions
from simcore.line.reflect import (
    Seen,
    crash_bound,
    crash_estimate,
    overshoot_bound,
    seen_from,
    start_bound,
    start_estimate,
)
from simcore.solver.kernel import run_one

NONE = {"relative_damping": 0}
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", allowable="900 N*m", allowable_source="own", **NONE)


def peak(a, name: str = "shaft") -> float:
    out = run_one(a, trace=False)
    assert out.status <= 1
    return float(out.meas[a.index(name), 0])


def seen(**given: float | str) -> Seen:
    base = {"speed": 10.0, "up": 2.0, "down": 0.5, "between": 0.1, "running": 40.0, "breakaway": 60.0, "motor": 100.0,
            "stiffness": 5e3, "to_ground": 3e3, "lash": 0.0}  # fmt: skip
    return Seen(**{**base, **given})


def test_crash_estimate_is_exact_for_one_inertia_wound_up():
    """J w'' = M - T against a spring wound by L; integrated by scipy."""
    s = seen()
    way0 = s.running / s.to_ground

    def motion(_, y):
        return y[1], (s.motor - s.to_ground * y[0]) / s.up

    def stands(_, y):
        return y[1]

    run = solve_ivp(motion, (0.0, 0.2), (way0, s.speed), rtol=1e-11, atol=1e-12, events=stands)
    assert crash_estimate(s) == pytest.approx(s.to_ground * run.y_events[0][0][0], rel=1e-8)


def test_crash_estimate_against_the_kernel():
    """A heavy rotor, next to nothing behind a shaft in series with the stop, the drive at its limit throughout."""
    wheel = station("wheel", "flywheel", inertia="1e-6 kg*m^2")
    stop = situation("jam", "hard stop", stiffness="20 kN*m/rad", horizon="0.06 s", **NONE)
    s = scenario(motor(torque="30 N*m", speed="20 rad/s", inertia="1 kg*m^2", droop=1e-4), SHAFT, wheel, stop)
    a = bare(s, "jam")
    hand = crash_estimate(seen_from(a, a.index("shaft")))
    assert hand == pytest.approx(30 + sqrt(30**2 + 4e3 * 1.0 * 400), rel=1e-9)
    assert peak(a) == pytest.approx(hand, rel=2e-3)


@pytest.mark.parametrize("down", [0.02, 0.2, 1.0, 5.0])
@pytest.mark.parametrize("stiff", ["2 kN*m/rad", "200 kN*m/rad"])
def test_crash_bound_is_not_exceeded(down, stiff):
    wheel = station("wheel", "flywheel", inertia=f"{down} kg*m^2")
    load = station("load", "friction load", running="20 N*m")
    stop = situation("jam", "hard stop", stiffness=stiff, horizon="0.2 s", **NONE)
    a = bare(scenario(motor(speed="20 rad/s", inertia="1 kg*m^2"), SHAFT, wheel, load, stop), "jam")
    run, bound = peak(a), crash_bound(seen_from(a, a.index("shaft")))
    assert run <= bound
    assert bound < 8 * run


def test_crash_bound_by_hand():
    """100 + sqrt(5000*((2 + 0.5)*100 + 60^2/3000)); then with 600 N*m/rad before it and 0.01 rad of play."""
    alone = seen(series=5e3, contact=7.5e3)
    assert crash_bound(alone) == pytest.approx(100 + sqrt(5000 * (250 + 1.2)))
    more = replace(alone, series=1.0 / (1.0 / 5e3 + 1.0 / 600), play=0.01)
    assert crash_bound(more) == pytest.approx(100 + sqrt(5000 * (250 + 1.2 + 6.0 + 2.0)))


@pytest.mark.parametrize(("speed", "coupling"), [(6.0, 450), (8.0, 450), (6.0, 700)])
def test_crash_bound_counts_the_springs_before_the_connection(speed, coupling):
    """A slow line, a soft coupling before a stiff shaft: what the motor winds up there ends in the shaft."""
    soft = station("coupling", "shaft", stiffness=f"{coupling} N*m/rad", **NONE)
    hub = station("hub", "flywheel", inertia="0.03 kg*m^2")
    shaft = SHAFT.replace("5 kN*m/rad", "40 kN*m/rad")
    wheel = station("wheel", "flywheel", inertia="0.085 kg*m^2")
    stop = situation("jam", "hard stop", stiffness="80 kN*m/rad", horizon="0.5 s", **NONE)
    drive = motor(torque="100 N*m", speed=f"{speed} rad/s", inertia="0.02 kg*m^2", droop=1e-3)
    a = bare(scenario(drive, soft, hub, shaft, wheel, stop), "jam")
    run, s = peak(a), seen_from(a, a.index("shaft"))
    assert run <= crash_bound(s) < 3 * run
    left_out = sqrt(s.stiffness * ((s.up + s.down) * s.speed**2 + (s.motor - s.running) ** 2 / s.to_ground))
    assert run > s.motor + left_out


def test_crash_bound_counts_what_a_second_drive_winds_up():
    """A pilot motor of 10 N*m before the shaft, one of 1000 N*m behind it on a soft shaft: what that one has wound up
    when the drum stands against the stop passes what the moving energy and the pilot's own torque come to."""
    pilot = motor(torque="10 N*m", speed="15 rad/s", inertia="0.54 kg*m^2", droop=0.026)
    main = motor(name="main motor", torque="1000 N*m", speed="15 rad/s", inertia="0.007 kg*m^2", droop=0.017)
    shaft = SHAFT.replace("5 kN*m/rad", "14 kN*m/rad")
    drum = station("drum", "flywheel", inertia="0.73 kg*m^2")
    load = station("load", "friction load", running="1 N*m")
    second = station("second shaft", "shaft", stiffness="267 N*m/rad", joins="drum", **NONE)
    stop = situation("jam", "hard stop", stiffness="27 kN*m/rad", horizon="0.5 s", **NONE)
    a = bare(scenario(pilot, shaft, drum, load, main, second, stop), "jam")
    run, s = peak(a), seen_from(a, a.index("shaft"))
    assert run <= crash_bound(s) < 4 * run
    assert run > crash_bound(replace(s, others=0.0))


def test_crash_bound_of_two_drives_by_hand():
    """Each drive has the same share of its torque left over the load: (100 + 300)(1 - 40/100) = 240 N*m."""
    two = seen(series=5e3, contact=7.5e3, others=300.0, play=0.01)
    assert crash_bound(two) == pytest.approx(100 + sqrt(5000 * (250 + 240**2 / 3000 + 2 * 400 * 0.01)))
    behind = replace(two, motor=0.0, running=0.0)
    assert crash_bound(behind) == pytest.approx(sqrt(5000 * (250 + 300**2 / 3000 + 2 * 300 * 0.01)))


@pytest.mark.parametrize(("load", "breakaway"), [(0, 0), (10, 10), (10, 18)])
def test_unwound_start_against_the_kernel(load, breakaway):
    """Two inertias from rest by a torque step; no damping, the drive at its limit."""
    drag = station("load", "friction load", running=f"{load} N*m", breakaway=f"{breakaway} N*m")
    wheel = station("wheel", "flywheel", inertia="0.6 kg*m^2")
    line = (motor(speed="200 rad/s", inertia="0.4 kg*m^2", droop=1e-3), SHAFT, wheel, drag)
    a = bare(scenario(*line, situation("go", "start", horizon="1 s")), "go")
    hand = start_estimate(seen_from(a, a.index("shaft")))
    assert peak(a) == pytest.approx(hand, rel=0.02)


def helped(weight: float, rubs: float, *more: str):
    """A start of two inertias with a hook that pulls onward, drum of 0.1 m; shaft undamped, drive at its limit."""
    wheel = station("wheel", "flywheel", inertia="0.6 kg*m^2")
    drum = station("drum", "drum", radius="0.1 m")
    hook = station("hook", "hoisted mass", mass=f"{weight / 0.981} kg", lifts="backward")
    drag = station("load", "friction load", running=f"{rubs} N*m") if rubs else ""
    line = (motor(speed="200 rad/s", inertia="0.4 kg*m^2", droop=1e-3), *more, SHAFT, wheel, drag, drum, hook)
    return scenario(*line, situation("go", "start", horizon="0.5 s"))


@pytest.mark.parametrize(("weight", "rubs"), [(10, 0), (10, 4), (10, 15), (4, 2)])
def test_start_with_a_load_that_pulls_onward_against_the_kernel(weight, rubs):
    """2|L + s(T - L)| where it moves by itself: not the root of something negative."""
    a = bare(helped(weight, rubs), "go")
    s = seen_from(a, a.index("shaft"))
    assert s.weight == pytest.approx(-weight)
    assert s.running == pytest.approx(rubs - weight)
    assert peak(a) == pytest.approx(start_estimate(s), rel=0.02)


def test_estimate_of_a_start_that_ends_with_braking():
    """At speed the motor holds back all of what pulls, 25 N*m; by the step alone the shaft sees less."""
    a = bare(helped(25, 0), "go")
    assert start_estimate(seen_from(a, a.index("shaft"))) == pytest.approx(25.0)


def test_check_of_a_line_that_its_load_helps_to_start():
    slot = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
    s = helped(10, 0, slot, candidate("friction disc", setting="60 N*m"))
    assert "load not held" in {c.name for c in cautions(s)}


def test_unwound_start_without_load_is_twice_the_share():
    """2 T J2/(J1 + J2)."""
    s = seen(up=0.4, down=0.6, running=0.0, breakaway=0.0, motor=30.0)
    assert start_estimate(s) == pytest.approx(2 * 30 * 0.6)


def test_start_that_never_breaks_loose_winds_up_to_twice_the_torque():
    assert start_estimate(seen(motor=29.0, breakaway=60.0)) == 58.0


def test_lash_adds_to_the_start():
    """Play on the motor side: s*2 T b k under the root."""
    s = seen(up=0.4, down=0.6, running=0.0, breakaway=0.0, motor=30.0, lash=1e-3)
    assert start_estimate(s) == pytest.approx(18 + sqrt(18**2 + 0.6 * 2 * 30 * 1e-3 * 5e3))


def test_motor_side_lash_is_found():
    """30 arcmin at the gear's output, which is the shaft."""
    gear = station("gear", "gear", ratio=10, stiffness="2 kN*m/rad", lash="30 arcmin", inertia_out="0.1 kg*m^2")
    a = bare(scenario(motor(), gear, SHAFT, station("wheel", "flywheel", inertia="0.6 kg*m^2")))
    assert seen_from(a, a.index("shaft")).lash == pytest.approx(0.5 * 3.141592653589793 / 180)


def test_overshoot_bound_holds_for_an_ideal_limiter():
    """A disc lets go at once: only what lies between it and the stop reaches the shaft."""
    slot = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.3 kg*m^2")
    wheel = station("wheel", "flywheel", inertia="0.2 kg*m^2")
    stop = situation("jam", "hard stop", stiffness="1 MN*m/rad", horizon="0.1 s", **NONE)
    disc = candidate("friction disc", setting="60 N*m", breakaway=1.0, stiffness="100 kN*m/rad", rise="0 %/(rad/s)")
    s = scenario(motor(speed="20 rad/s", inertia="1 kg*m^2"), slot, SHAFT, wheel, stop, disc)
    a = fitted(s, "friction disc", "jam")
    found = seen_from(a, a.index("shaft"))
    bound = overshoot_bound(found)
    assert found.between == pytest.approx(0.3 + 0.2)
    assert seen_from(bare(s, "jam"), bare(s, "jam").index("shaft")).between == pytest.approx(0.2)
    over = peak(a) - 60.0
    assert 0.3 * bound < over <= bound
    assert over > 20.0 * sqrt(5e3 * 0.2)  # what lies behind the shaft alone would not bound it


def test_series_stiffness_to_the_stop():
    """1/(1/5000 + 1/20000) = 4000."""
    stop = situation("jam", "hard stop", stiffness="20 kN*m/rad")
    a = bare(scenario(motor(), SHAFT, station("wheel", "flywheel", inertia="1 kg*m^2"), stop), "jam")
    assert seen_from(a, a.index("shaft")).to_ground == pytest.approx(4000.0)


@pytest.mark.parametrize("sense", [1, -1])
def test_no_stop_is_in_the_way_of_steady_running(sense):
    """Before the contact the shaft carries the load's 20 N*m, whichever way the line turns."""
    wheel = station("wheel", "flywheel", inertia="0.2 kg*m^2")
    load = station("load", "friction load", running="20 N*m")
    stop = situation("jam", "hard stop", stiffness="20 kN*m/rad", after="0.02 s", horizon="0.05 s")
    a = bare(scenario(motor(speed=f"{20 * sense} rad/s", inertia="1 kg*m^2"), SHAFT, wheel, load, stop), "jam")
    out = run_one(a)
    shaft = out.trace[:, 1 + len(a.y0) + a.index("shaft")]
    before = out.trace[:, 0] < 0.0
    assert shaft[before] == pytest.approx(20.0 * sense, rel=1e-6)
    touches = next(e for e in out.events if int(e[1]) == a.index("jam"))
    assert (round(touches[0], 9), touches[3], touches[4]) == (0.0, 3, 1)


def chain(breakaway: float, lash: float, coupling: float):
    """Rotor, gear with play, coupling, hub, shaft, wheel with dry friction: three inertias and play."""
    gear = station("gear", "gear", ratio=10, efficiency=1, stiffness="8 kN*m/rad", lash=f"{lash} arcmin",
                   inertia_out="0.05 kg*m^2", allowable="9 kN*m", allowable_source="own", **NONE)  # fmt: skip
    own = station("coupling", "shaft", stiffness=f"{coupling} kN*m/rad", **NONE)
    hub = station("hub", "flywheel", inertia="0.5 kg*m^2")
    wheel = station("wheel", "flywheel", inertia="3 kg*m^2")
    load = station("load", "friction load", running="60 N*m", breakaway=f"{breakaway} N*m")
    drive = motor(torque="30 N*m", speed="900 rad/s", inertia="0.02 kg*m^2", droop=1e-3)
    return scenario(drive, gear, own, hub, SHAFT, wheel, load, situation("go", "start", horizon="0.8 s"))


def chain_started(breakaway: float, lash: float, coupling: float):
    return bare(chain(breakaway, lash, coupling), "go")


@pytest.mark.parametrize("breakaway", [60, 400, 590, 650, 900])
@pytest.mark.parametrize("lash", [0, 90])
@pytest.mark.parametrize("coupling", [1.0, 5.0, 60.0])
def test_start_bound_is_not_exceeded(breakaway, lash, coupling):
    """Neither where the load is held past twice the motor's torque nor with play or several inertias."""
    a = chain_started(breakaway, lash, coupling)
    for name in ("gear", "shaft"):
        bound = start_bound(seen_from(a, a.index(name)))
        assert peak(a, name) <= bound < 15 * peak(a, name)


def test_a_start_passes_twice_the_torque_where_the_load_sticks():
    """30 N*m at 10 to 1: held by 900 N*m, two inertias before the shaft wind it past 600 N*m, play further still."""
    tight, loose = (peak(chain_started(900, lash, 5.0)) for lash in (0, 90))
    assert 600.0 < tight < loose <= 900.0
    told = conduct(chain(900, 90, 5.0), Settings(evidence=False)).bounds
    assert [b.what for b in told] == ["start by a torque step"]
    assert told[0].value == pytest.approx(loose)
    assert told[0].value < told[0].bound


def test_start_bound_by_hand():
    """K = k/4 = 1250: N = 100 + sqrt(100^2 + 2*100*1e-3*1250) = 201.2423; 100 + sqrt(4*(10250 + 2*20*N))."""
    s = seen(series=1250.0, play=1e-3)
    assert start_bound(s) == pytest.approx(100 + sqrt(4 * (10250 + 40 * (100 + sqrt(10250)))))
    assert start_bound(seen(series=5e3, breakaway=40.0)) == pytest.approx(200.0)


def test_start_that_never_breaks_loose_takes_play_and_weight_into_account():
    """29 + sqrt((29 - W)^2 + 2*29*b*k)."""
    stuck = {"motor": 29.0, "breakaway": 90.0}
    assert start_estimate(seen(**stuck, lash=1e-3)) == pytest.approx(29 + sqrt(29**2 + 2 * 29 * 1e-3 * 5e3))
    assert start_estimate(seen(**stuck, weight=9.0, held="before")) == pytest.approx(49.0)


def test_play_and_springs_of_the_whole_line():
    """Gear, coupling and shaft at the shaft: 1/(1/8 + 1/1 + 1/5) = 0.75472 kN*m/rad, 90 arcmin."""
    a = chain_started(60, 90, 1.0)
    s = seen_from(a, a.index("gear"))
    assert s.series == pytest.approx(1e3 / (1 / 8 + 1 + 1 / 5))
    assert s.play == pytest.approx(1.5 * 3.141592653589793 / 180)


DIRECT = {"rated_power": "1.1 kW", "rated_speed": "1420 rpm", "inertia": "0.0035 kg*m^2"}
LIMITED = {"rated_power": "1.1 kW", "rated_speed": "1420 rpm", "inertia": "0.0035 kg*m^2", "limit": 1.5}


@pytest.mark.parametrize(("kind", "given", "known"), [
    ("torque-speed motor", DIRECT, False),  # its torque rises up to breakdown: that feeds a swing
    ("torque-speed motor", LIMITED, True),
    ("induction motor", DIRECT, False),
])  # fmt: skip
def test_no_bound_of_a_start_is_told_where_none_is_known(kind, given, known):
    drag = station("drag", "friction load", running="1 N*m", breakaway="2 N*m")
    slot = station("slot", "slot", hub_in="1 kg*cm^2", hub_out="1 kg*cm^2")
    drum = station("drum", "flywheel", inertia="0.02 kg*m^2")
    s = scenario(station("motor", kind, **given), slot, SHAFT, drum, drag, situation("go", "start", horizon="2 s"),
                 candidate("shear pins", setting="60 N*m"))  # fmt: skip
    a = bare(s, "go")
    assert isnan(start_bound(seen_from(a, a.index("shaft")))) is not known
    (b,) = conduct(s, Settings(evidence=False)).bounds
    assert isnan(b.bound) is not known


def test_no_bound_where_a_load_before_the_connection_breaks_loose_or_two_drives_start():
    assert isnan(start_bound(seen(alone=False)))
