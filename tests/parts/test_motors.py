"""Motors: their curves, ramps, indexes, trips and stops; closed forms by hand unless a source is named."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from lines import Line, Run, row_of, run, sheet_of
from states import REGISTRY, state

from simcore.parts import _set_speed as sp
from simcore.parts import _speed_loop as sl
from simcore.parts import dc_motor as dc
from simcore.parts import induction_motor as im
from simcore.solver import arrays as ar
from simcore.solver import kernel as kn

PLATE = {"rated_power": 7500.0, "rated_speed": 1455.0 * pi / 30.0, "inertia": 0.03}
DC = {"voltage": 48.0, "resistance": 0.8, "inductance": 2e-3, "torque_constant": 0.4, "inertia": 0.01}
SERVO = {"rated_torque": 10.0, "inertia": 0.01, "tuned_inertia": 0.03}
INDEX = {**SERVO, "index_angle": 2.0, "move_time": 0.2, "dwell_time": 0.15, "position_time": 0.02}
TABLE = {"speeds": (-20.0, 0.0, 100.0, 140.0, 157.0), "torques": (21.0, 20.0, 15.0, 28.0, 0.0), "inertia": 0.02}


@pytest.mark.parametrize("slip", [0.005, 0.03, 0.09])
@pytest.mark.parametrize("breakdown", [1.8, 2.9, 3.6])
@pytest.mark.parametrize("locked", [0.92, 1.0])
def test_one_curve_through_three_points(slip, breakdown, locked):
    """Rated, breakdown and locked-rotor torque are met exactly, with one peak between; U^2."""
    sync = 50.0 * pi
    raw = {**PLATE, "rated_speed": sync * (1.0 - slip), "poles": 4, "breakdown": breakdown,
           "locked_rotor": locked * breakdown, "voltage": 0.9}  # fmt: skip
    part, p = REGISTRY["induction motor"], row_of("induction motor", **raw)
    assert part.call("refuse", part.raw({k: float(v) for k, v in raw.items()} | {"starting": 0.0, "ramp": 0.0,
                                                                              "mains": 50.0})) == []  # fmt: skip
    at = lambda s: part.call("torque", state(part, p, im.ON, nu=-sync * (1.0 - s), ground_b=False)) / 0.81
    rated = 7500.0 / raw["rated_speed"]
    assert at(slip) == pytest.approx(rated, rel=1e-9)
    assert at(1.0) == pytest.approx(locked * breakdown * rated, rel=1e-9)
    s = np.linspace(1e-4, 1.0, 4001)
    T = np.array([at(x) for x in s])
    assert T.max() == pytest.approx(breakdown * rated, rel=1e-5)
    assert np.count_nonzero(np.diff(np.sign(np.diff(T)))) <= 1
    assert at(-slip) == pytest.approx(-rated, rel=1e-9)
    if locked < 1.0:
        peak = sheet_of("induction motor", **raw)["slip at breakdown"]
        assert at(peak) == pytest.approx(breakdown * rated, rel=1e-9)


def train(kind: str, f: float = 1.0, sense: float = 1.0, load: float = 4.0, **raw: object) -> Line:
    """Motor, shaft, mass with a friction load; part 0 is the motor."""
    line = Line()
    a, b = line.mass(0.03 * f), line.mass(0.02 * f)
    line.part(kind, 0, a, **raw)
    line.part("shaft", a, b, stiffness=800.0 * f, relative_damping=0.2)
    line.part("friction load", b, 0, running=load * f)
    return line


def scaled(kind: str, f: float, sense: float) -> dict[str, object]:
    """Inputs of a motor with all torques times ``f``, running in ``sense``."""
    plate = {"rated_power": 7500.0 * f, "rated_speed": sense * 1455.0 * pi / 30.0, "inertia": 0.03 * f}
    servo = {"rated_torque": 10.0 * f, "inertia": 0.01 * f, "tuned_inertia": 0.03 * f}
    return {
        "induction motor": {**plate, "lag": 4e-3, "locked_rotor": 2.3},
        "star": {**plate, "locked_rotor": 2.3, "starting": "star-delta", "changeover": 0.1},
        "converter-fed motor": {**plate, "ramp_up_time": 0.2},
        "servo motor": {**servo, "speed": 150.0 * sense},
        "index": {**servo, **{k: v for k, v in INDEX.items() if k not in servo}, "index_angle": 2.0 * sense},
        "DC motor": {**DC, "voltage": 48.0 * sense, "resistance": 0.8 / f, "inductance": 2e-3 / f,
                     "torque_constant": 0.4, "inertia": 0.01 * f},
        "tabled motor": {"speeds": tuple(sorted(sense * w for w in TABLE["speeds"])), "inertia": 0.02,
                         "torques": tuple(f * sense * T for T in TABLE["torques"][:: int(sense)])},
    }[kind]  # fmt: skip


KINDS = {
    "induction motor": "induction motor",
    "star": "induction motor",
    "converter-fed motor": "converter-fed motor",
    "servo motor": "servo motor",
    "index": "servo motor",
    "DC motor": "DC motor",
    "tabled motor": "tabled motor",
}


def start_and_off(name: str, f: float = 1.0, sense: float = 1.0, **how: float) -> Run:
    line = train(KINDS[name], f, **scaled(name, f, sense))
    line.part("start")
    line.part("power off", when=0.3)
    return run(line, 0.4, on=False, fast=150.0, **how)


@pytest.mark.parametrize("name", KINDS)
def test_mirrored_scaled_and_balanced(name):
    """The other way round: the same instants; eight times all torques: the same instants.  The energy balance closes,
    the torque is gone with the command, and no more than the largest torque is ever given."""
    r, back, big = start_and_off(name), start_and_off(name, sense=-1.0), start_and_off(name, f=8.0)
    assert back.torque(0)[-1] == pytest.approx(-r.torque(0)[-1], abs=1e-9)
    assert back.speed(2)[-1] == pytest.approx(-r.speed(2)[-1], rel=1e-9)
    assert back.peak(1) == pytest.approx(r.peak(1), rel=1e-9)
    assert big.peak(1) == pytest.approx(8.0 * r.peak(1), rel=1e-7)
    assert big.events(0) == pytest.approx(r.events(0), abs=1e-8)
    assert r.residual < 1e-7
    assert start_and_off(name, rtol=1e-6).residual < 1e-6
    assert r.torque(0)[-1] == 0.0
    assert r.meas[-1, ar.L_SOURCE1] > 10.0
    top = REGISTRY[KINDS[name]].of_drive("top_torque", r.a.rows[0], r.a.tab)
    assert 0.2 * top < np.abs(r.torque(0)).max() <= top * (1.0 + 1e-9)


@pytest.mark.parametrize("load", [0.0, 7.0])
@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_steady_running_with_own_states(name, load, sense):
    """Currents, lags and integrals stand where nothing changes: torque and speed are constant before the event."""
    line = train(KINDS[name], load=load, **scaled(name, 1.0, sense))
    for n in (1, 2):
        line.speeds[n] = REGISTRY[KINDS[name]].of_drive("free_speed", *free_of(line))
    r = run(line, 0.05, t0=-0.05, steady=True, fast=150.0)
    assert r.torque(0) == pytest.approx(sense * load, abs=1e-6)
    assert np.ptp(r.speed(1)) < 1e-6
    assert abs(r.speed(1)[0]) > 10.0


def free_of(line: Line) -> tuple[object, object]:
    a = line.assembly(1.0, fast=1.0)
    return a.rows[0], a.tab


def test_no_steady_running_beyond_the_limit():
    """Load at 0.999 and 1.001 of what the limiter gives."""
    limit = 1.5 * 7500.0 / PLATE["rated_speed"]
    for share, status in ((0.999, ar.Status.DONE), (1.001, ar.Status.NO_STEADY)):
        line = train("converter-fed motor", load=share * limit, **PLATE)
        line.speeds[1:] = [50.0 * pi] * 2
        assert Run(line.assembly(0.01, t0=-0.01, steady=True, fast=150.0)).status == status


def test_star_delta():
    """A third of the torque for 0.1 s, 50 ms without, then all of it."""
    r = start_and_off("star")
    s = sheet_of("induction motor", **scaled("star", 1.0, 1.0))
    assert r.at(0.0, r.torque(0)) == pytest.approx(s["torque at standstill in star"], rel=1e-9)
    assert r.events(0)[1:3] == pytest.approx([0.1, 0.15], abs=1e-12)
    assert np.all(r.torque(0)[(r.t > 0.1) & (r.t < 0.15)] == 0.0)
    delta = row_of("induction motor", **scaled("induction motor", 1.0, 1.0))
    part = REGISTRY["induction motor"]
    i = int(np.flatnonzero(np.isclose(r.t, 0.15, atol=1e-12))[-1])
    q = state(part, (*delta[:4], 0.0, *delta[5:]), im.ON, nu=-r.speed(1)[i], ground_b=False)
    assert r.torque(0)[i] == pytest.approx(part.call("torque", q), rel=1e-9)


def test_torque_follows_with_its_lag():
    """Locked: T*(1 - exp(-t/tau))."""
    line = Line()
    line.part("induction motor", 0, line.lead(0.0), **PLATE, lag=5e-3, locked_rotor=2.3)
    line.part("start")
    r = run(line, 0.02, on=False, fast=1.0)
    assert r.torque(0) == pytest.approx(2.3 * 7500.0 / PLATE["rated_speed"] * -np.expm1(-r.t / 5e-3), abs=1e-6)


def angle_of(law: str, tau: np.ndarray) -> np.ndarray:
    """Share of an index after the share ``tau`` of its time.  Laws of motion, any text on cams."""
    tau = np.clip(tau, 0.0, 1.0)
    if law == "cycloidal":
        return tau - np.sin(2.0 * pi * tau) / (2.0 * pi)
    if law == "harmonic":
        return 0.5 * (1.0 - np.cos(pi * tau))
    up, down = 2.25 * tau**2, 1.0 - 2.25 * (1.0 - tau) ** 2
    return np.where(tau < 1.0 / 3.0, up, np.where(tau < 2.0 / 3.0, 0.25 + 1.5 * (tau - 1.0 / 3.0), down))


@pytest.mark.parametrize("law", sp.LAWS)
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_index_after_index(law, sense):
    """Angle plus following error is the law of motion, twice, from 0.05 s on; it stands on the index at the end."""
    line = train("servo motor", **(INDEX | {"index_angle": 2.0 * sense}), motion=law, starts=0.05)
    line.part("start")
    r = run(line, 0.75, on=False, fast=20.0)
    want = angle_of(law, (r.t - 0.05) / 0.2) + angle_of(law, (r.t - 0.4) / 0.2)
    assert r.angle(1) + r.state(0, sl.BEHIND) == pytest.approx(2.0 * sense * want, abs=1e-7)
    assert r.angle(1)[-1] == pytest.approx(4.0 * sense, abs=0.005)
    assert np.abs(r.state(0, sl.BEHIND)).max() > 1e-3


def test_ramp_down_within_an_index():
    """Asked to ramp down in mid-index it stops by the ramp; with the ramp taken back it goes on with whole indexes."""
    line = train("servo motor", **INDEX, ramp_down_time=0.1)
    line.part("start")
    line.part("emergency stop", when=0.1, delay=0.0, action="ramp and hold")
    line.part("restart", when=0.4)
    r = run(line, 0.62, on=False, fast=20.0)
    goes, stood = r.at(0.1, r.angle(1) + r.state(0, sl.BEHIND)), r.at(0.4, r.angle(1) + r.state(0, sl.BEHIND))
    assert goes == pytest.approx(1.0, abs=1e-7)
    assert stood - goes == pytest.approx(0.5 * 20.0 * 0.1, abs=1e-7)
    assert r.angle(1)[-1] + r.state(0, sl.BEHIND)[-1] - stood == pytest.approx(2.0, abs=1e-7)


def most_behind() -> float:
    line = train("servo motor", **INDEX)
    line.part("start")
    r = run(line, 0.3, on=False, fast=20.0, h_max=1e-4)
    return float(np.abs(r.state(0, sl.BEHIND)).max())


@pytest.mark.parametrize(("share", "trips"), [(0.999, True), (1.001, False)])
def test_trips_by_following_error(share, trips):
    line = train("servo motor", **INDEX, following_error=share * most_behind())
    line.part("start")
    r = run(line, 0.3, on=False, fast=20.0)
    assert (r.mode(0)[-1] == sl.TRIPPED) == trips
    assert (r.torque(0)[-1] == 0.0) == trips


def locked(kind: str, **raw: object) -> tuple[Line, int]:
    line = Line()
    e = line.part(kind, 0, line.lead(0.0), **raw)
    line.part("start")
    return line, e


def test_locked_it_trips_by_angle_and_by_stall():
    """Set angle v*t past 0.5 rad; held at the limit for 0.2 s: both instants by hand.  Reset lets it try again."""
    line, e = locked("servo motor", **SERVO, speed=10.0, ramp_up_time=0.0, position_time=0.02, following_error=0.5)
    r = run(line, 0.1, on=False, fast=1.0)
    assert r.events(e, sl.TRIPPED) == pytest.approx([0.05], abs=1e-9)
    line, e = locked("converter-fed motor", **PLATE, ramp_up_time=0.0, stall_time=0.2)
    line.part("reset", when=0.5)
    r = run(line, 0.8, on=False, fast=1.0)
    assert r.events(e, sl.TRIPPED) == pytest.approx([0.2, 0.701], abs=2e-3)
    assert r.torque(e).max() == pytest.approx(1.5 * 7500.0 / PLATE["rated_speed"], rel=1e-9)


def test_trips_by_the_torque_asked():
    """Locked, the set speed rises at 157.08/2 rad/s^2; 2.2 times rated torque is asked at
    2.2*slip/that, off 1 ms on."""
    line, e = locked("converter-fed motor", **PLATE, trip=2.2)
    r = run(line, 0.3, on=False, fast=1.0)
    at = 2.2 * 45.0 / 1500.0 * 2.0
    assert r.events(e, sl.TRIPPED) == pytest.approx([at + 1e-3], abs=1e-9)


def test_reverse_ramps_through_zero():
    """Down in 0.2 s, up the other way in 0.4 s; corners at both ends; it settles at minus its speed."""
    line = Line()
    n = line.mass(0.05, 50.0 * pi)
    e = line.part("converter-fed motor", 0, n, **PLATE, ramp_up_time=0.4, ramp_down_time=0.2, limit=2.5)
    line.part("reverse")
    r = run(line, 1.0, fast=150.0)
    assert r.events(e)[-2:] == pytest.approx([0.2, 0.6], abs=1e-12)
    assert r.speed(n)[-1] == pytest.approx(-50.0 * pi, rel=1e-6)
    mid = (r.t > 0.3) & (r.t < 0.55)
    assert r.torque(e)[mid] == pytest.approx(-0.05 * 50.0 * pi / 0.4, rel=0.01)


def test_coasts_and_is_caught():
    """Without permit the torque is gone at once; on again the set speed begins at the speed it finds."""
    line = train("converter-fed motor", **PLATE)
    line.speeds[1:] = [50.0 * pi] * 2
    line.part("emergency stop", delay=0.0)
    line.part("restart", when=0.3)
    r = run(line, 0.32, t0=-0.01, steady=True, fast=150.0)
    off = (r.t > 0.0) & (r.t < 0.3)
    assert np.all(r.torque(0)[off] == 0.0)
    w = r.at(0.3, r.speed(1))
    assert w == pytest.approx(150.0, abs=30.0)
    assert r.out.trace[-1, 1 + r.nn + 1] == pytest.approx(w + (50.0 * pi / 2.0) * 0.02, abs=1.5)
    assert np.abs(r.torque(0)[r.t >= 0.3]).max() < 0.5 * 7500.0 / PLATE["rated_speed"]


def test_dc_motor_plugged_keeps_its_current_balance():
    """Reversed at speed: current swings over, loss in the armature is R*i^2 and the supply gives U*i."""
    line = train("DC motor", **DC)
    line.speeds[1:] = [100.0] * 2
    line.part("reverse", when=0.05)
    r = run(line, 0.3, fast=100.0, rtol=1e-8)
    assert r.residual < 1e-6
    assert r.state(0, dc.CURRENT).min() < -60.0


def test_table_turned_back_over_its_corners():
    """Pushed up and down through all pieces, the torque is that of plain interpolation at every point of the trace."""
    line = Line()
    n = line.mass(0.2, 120.0)
    line.part("tabled motor", 0, n, **TABLE)
    line.part("shaft", line.mass(1e9), n, stiffness=40.0)
    r = run(line, 1.0, fast=100.0)
    want = np.interp(r.speed(n), TABLE["speeds"], TABLE["torques"])
    assert r.torque(0) == pytest.approx(want, abs=1e-6)
    assert r.speed(n).min() < -20.0
    assert r.residual < 1e-6
    assert len(set(r.events(0))) > 6


def test_last_slope_beyond_the_table():
    part = REGISTRY["tabled motor"]
    tab = [0.0, 2.0, 0.0, 100.0, 2.0, 30.0, 10.0]
    sloped, held = (1.0, 4.0, 1.0, 0.0), (1.0, 4.0, 0.0, 0.0)
    at = lambda p, w: part.call("torque", state(part, p, 1, nu=-w, ground_b=False)._replace(tab=tab))
    assert [at(sloped, w) for w in (-50.0, 50.0, 150.0)] == pytest.approx([40.0, 20.0, 0.0])
    assert [at(held, w) for w in (-50.0, 50.0, 150.0)] == pytest.approx([30.0, 20.0, 10.0])
    assert part.of_drive("free_speed", sloped, tab) == pytest.approx(150.0)
    assert part.of_drive("top_torque", sloped, tab) == 30.0


def test_crash_within_an_index():
    """Start first, a hard stop 0.1 s on, in mid-index: contact there, then off by the following error."""
    line = train("servo motor", **INDEX, following_error=0.3)
    line.part("start")
    stop = line.part("hard stop", 2, 0, stiffness=2e4, when=0.1)
    r = run(line, 0.4, on=False, fast=20.0)
    assert r.events(stop)[0] == pytest.approx(0.1, abs=1e-12)
    assert r.peak(1) > 15.0
    trip = r.events(0, sl.TRIPPED)[0]
    assert 0.1 < trip < 0.2
    assert abs(r.at(trip, r.state(0, sl.BEHIND))) == 0.0
    i = int(np.flatnonzero(np.isclose(r.t, trip, rtol=0.0, atol=1e-11))[0])
    assert abs(r.state(0, sl.BEHIND)[i]) == pytest.approx(0.3, abs=1e-9)
    assert r.residual < 1e-7


def test_a_batch_gives_the_same_bits():
    """Own states are solved in a batch as in a single run, from case to case anew."""
    line = train("converter-fed motor", load=7.0, **PLATE)
    line.speeds[1:] = [50.0 * pi] * 2
    line.part("load step", 2, 0, extra=20.0)
    a = line.assembly(0.1, t0=-0.02, steady=True, fast=150.0)
    one = kn.run_one(a)
    meas, _, status = kn.run_many(a, np.stack([a.rows] * 3))
    assert not status.any()
    for m in meas:
        assert np.array_equal(m, one.meas, equal_nan=True)


def test_droop_at_rated_torque():
    """Without slip compensation a converter loses the plate's slip at rated torque, in steady running; with a tenth of
    it left, that.  Slip in proportion to torque at constant flux, textbook."""
    rated = 7500.0 / PLATE["rated_speed"]
    for raw, lost in (({}, 45.0 * pi / 30.0), ({"droop": 0.003}, 4.5 * pi / 30.0)):
        line = train("converter-fed motor", load=rated, **PLATE, **raw)
        line.speeds[1:] = [50.0 * pi] * 2
        r = run(line, 0.01, t0=-0.01, steady=True, fast=150.0)
        assert 50.0 * pi - r.speed(1)[-1] == pytest.approx(lost, rel=1e-7)
        assert r.state(0, sl.TORQUE)[0] == pytest.approx(1.0, rel=1e-9)
