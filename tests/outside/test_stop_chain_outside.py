"""Stop chains against arithmetic done by hand: delays, scans in exact fractions, filters in closed form.

Reaction time as a sum of delays: common practice, no source.  First-order lag: textbook.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, exp, log

import pytest
from lines import SLIDES, Line, Start, ideal_disc, pull, run, sliding
from scipy.optimize import brentq

from simcore.contract import SIGNALS
from simcore.parts._stopping import RAMP_AND_HOLD
from simcore.parts.stop_chain import (
    LETTING_GO,
    NOTICED,
    SLIP_ANGLE,
    SLIP_SPEED,
    SPEED_LOSS,
    STOPPED,
    TEMPERATURE,
    TORQUE,
    WATCHING,
)

OUT = SIGNALS.index("speed out")
FIRST = {LETTING_GO: "class", SLIP_ANGLE: "twist", SLIP_SPEED: "slip speed", TORQUE: "torque", SPEED_LOSS: "speed in"}
PLAIN = {"filter": 0.0, "sensor": 0.0, "scan": 0.0, "output": 0.0, "action": RAMP_AND_HOLD}


def watch(line: Line, what: int, limit: float, of: int, to: int | None = None, code: int | None = None, **row: float):
    """A chain on part ``of``, without delays unless told otherwise; gives its number."""
    first = SIGNALS.index(FIRST[what]) if code is None else code
    start = Start(row={"what": what, "limit": limit, **PLAIN, **row})
    return line.part("stop chain", start=start, senses=((of, first), (of if to is None else to, OUT)))


def slipping(w: float = 9.0, **more: float) -> tuple[Line, int]:
    line = Line()
    inputs = ideal_disc(190.0, 1e6) | more
    return line, line.part("friction disc", line.lead(w), 0, start=sliding(190.0, 1e6), **inputs)


def by_hand(noticed: Fraction, sensor: str, scan: str, phase: str, scans: int, output: str) -> float:
    """Instant of the action, in exact fractions: the first reading at or after the sensor's answer, and on."""
    at, period, shift = noticed + Fraction(sensor), Fraction(scan), Fraction(phase)
    if period:
        at = (ceil(at / period - shift) + shift + scans - 1) * period
    return float(at + Fraction(output))


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_reaction_is_the_sum_of_delays_for_every_phase(sense):
    """A slip angle of 0.1 rad at 2 rad/s is passed at 50 ms; phases that meet the reading exactly are among them."""
    line, disc = slipping(2.0 * sense)
    if sense < 0.0:
        line.starts[disc] = Start(mode=4, x=(190.0 / 1e6,))
    cases = []
    for phase in ("0", "0.1", "0.25", "0.5", "0.75", "0.8", "0.8000001", "0.7999999", "0.999", "1"):
        for sensor, scans in (("0.008", 2), ("0.002", 1)):
            row = {"sensor": float(sensor), "scan": 0.01, "phase": float(phase), "scans": scans, "output": 0.025}
            e = watch(line, SLIP_ANGLE, 0.1, disc, **row)
            cases.append((e, by_hand(Fraction("0.05"), sensor, "0.01", phase, scans, "0.025")))
    wired = watch(line, SLIP_ANGLE, 0.1, disc, sensor=0.001, output=0.005)
    r = run(line, 0.12)
    assert r.events(wired, STOPPED) == pytest.approx([0.056], abs=1e-9)
    for e, expected in cases:
        assert r.events(e, NOTICED) == pytest.approx([0.05], abs=1e-9)
        assert r.events(e, STOPPED) == pytest.approx([expected], abs=1e-9)


def test_worst_case_of_scan_phase():
    """8 ms sensor, two scans of 10 ms and 25 ms contactor at 9 rad/s and 190 N*m: 53 ms, 0.477 rad, 90.63 J."""
    line, disc = slipping()
    e = watch(line, SLIP_SPEED, 8.9, disc, sensor=0.008, scan=0.01, scans=2, phase=0.8 - 2e-9, output=0.025)
    r = run(line, 0.1)
    (noticed,), (stopped,) = r.events(e, NOTICED), r.events(e, STOPPED)
    assert stopped - noticed == pytest.approx(0.053, abs=1e-9)
    assert r.at(stopped, r.angle(1)) - r.at(noticed, r.angle(1)) == pytest.approx(0.477, rel=1e-6)
    assert r.at(stopped, r.heat(disc)) - r.at(noticed, r.heat(disc)) == pytest.approx(90.63, rel=1e-6)


@pytest.mark.parametrize("slow", [2e-3, 0.5, 30.0])
def test_threshold_equal_to_breakaway_still_trips(slow):
    """The torque reaches 190 N*m and falls at once as the disc breaks away."""
    line = Line()
    ideal = ideal_disc(150.0, 1e4, 190.0 / 150.0)
    disc = line.part("friction disc", line.lead(slow), 0, dwell_growth=0.0, **ideal)
    at = watch(line, TORQUE, 190.0, disc)
    above = watch(line, TORQUE, 190.0 * (1.0 + 1e-6), disc)
    r = run(line, 0.03 / slow)
    slips = r.events(disc, SLIDES)[0]
    assert slips == pytest.approx(0.019 / slow, rel=1e-8)
    assert r.events(at, NOTICED) == pytest.approx([slips], rel=2e-9)
    assert r.events(above, NOTICED) == []


def test_motor_torque_through_a_filter():
    """60 N*m held against 20: the filter that has settled at 20 passes 50 after tau ln(40/10).  First-order lag."""
    line = Line()
    n = line.mass(1.0)
    motor = line.part("constant-torque motor", 0, n, torque=60.0, speed=100.0, inertia=1.0, start=Start(mode=2))
    e = watch(line, TORQUE, 50.0, motor, filter=0.05)
    line.starts[e].mode = WATCHING
    line.starts[e].x = (20.0,)
    assert run(line, 0.2).events(e, NOTICED) == pytest.approx([0.05 * log(4.0)], abs=1e-9)


def test_filter_has_settled_when_watching_begins():
    """A slip speed of 9 rad/s that was there before is no news to the filter: at once, not after its lag."""
    line, disc = slipping()
    e = watch(line, SLIP_SPEED, 8.0, disc, filter=0.2)
    assert run(line, 0.3).events(e, NOTICED) == pytest.approx([0.0], abs=1e-9)


def test_slip_speed_of_a_slowing_axis():
    """Inertia 0.6, pulled by 300 against 190 N*m: slip rises from 1 by 110/0.6 per second to 5 rad/s."""
    line = Line()
    n = line.mass(0.6, 1.0)
    disc = line.part("friction disc", n, 0, start=sliding(190.0, 1e6), **ideal_disc(190.0, 1e6))
    pull(line, n, 300.0)
    e = watch(line, SLIP_SPEED, 5.0, disc)
    assert run(line, 0.05).events(e, NOTICED) == pytest.approx([4.0 * 0.6 / 110.0], abs=1e-9)


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("tau", [0.0, 0.03])
def test_speed_loss_between_two_places(sense, tau):
    """The second place loses 2 of its 10 rad/s per unit of time and 1/s of the share: 0.2 lost after 0.1 s.

    With a filter x = 2 (t - tau (1 - exp(-t/tau))), root by brentq.  First-order lag on a ramp.
    """
    line = Line()
    before = line.part("friction disc", line.lead(30.0 * sense), 0, start=sliding(1.0, 1e6), **ideal_disc(1.0, 1e6))
    n = line.mass(1.0, 10.0 * sense)
    behind = line.part("shaft", line.lead(10.0 * sense), n, stiffness=1e-6)
    pull(line, n, -20.0 * sense)
    free = {
        "speed without load at the first place": 30.0 * sense,
        "speed without load at the second place": 10.0 * sense,
    }
    e = watch(line, SPEED_LOSS, 0.2, before, behind, filter=tau, **free)
    expected = 0.1
    if tau > 0.0:
        expected = brentq(lambda t: 2.0 * (t - tau * (1.0 - exp(-t / tau))) - 0.2, 0.0, 1.0, xtol=1e-14)
    assert run(line, 0.2).events(e, NOTICED) == pytest.approx([expected], abs=1e-8)


@pytest.mark.parametrize("tau", [0.0, 0.4])
def test_temperature_rise_of_a_friction_disc(tau):
    """1710 W into 100 J/K with 3.5 W/K; a sensor that lags by tau: two exponentials, root by brentq."""
    line, disc = slipping(9.0, heat_capacity=100.0, heat_limit=500.0, cooling=3.5)
    e = watch(line, TEMPERATURE, 20.0, disc, code=len(SIGNALS) + 1, filter=tau)
    slow = 100.0 / 3.5
    top = 1710.0 / 3.5

    def sensed(t: float) -> float:
        if tau == 0.0:
            return top * (1.0 - exp(-t / slow))
        return top * (1.0 - (slow * exp(-t / slow) - tau * exp(-t / tau)) / (slow - tau))

    expected = brentq(lambda t: sensed(t) - 20.0, 0.0, 10.0, xtol=1e-13)
    assert run(line, 3.0).events(e, NOTICED) == pytest.approx([expected], abs=1e-6)


@pytest.mark.parametrize(("kind", "passed"), [("ball detent", 3), ("shear pins", 9), ("tipping sprag", 1)])
def test_letting_go_is_a_switch(kind, passed):
    """Noticed in the instant the mode changes; behind a filter tau ln 2 later, whatever class it falls into."""
    line = Line()
    e = line.part(kind, line.lead(2.0), 0, setting=60.0)
    plain = watch(line, LETTING_GO, 0.5, e)
    slow = watch(line, LETTING_GO, 0.5, e, filter=0.004)
    r = run(line, 0.2)
    instant = r.events(e, passed)[0]
    assert r.events(plain, NOTICED) == pytest.approx([instant], abs=1e-10)
    assert r.events(slow, NOTICED) == pytest.approx([instant + 0.004 * log(2.0)], abs=1e-8)
