"""A stop chain that reverses the drive, against constant deceleration by hand and against scipy's own integration.

Constant torque on an inertia and the decay of a proportional loop: textbook.  The crash is integrated by scipy's DOP853
from equations written here alone: two inertias, a spring between, a wall.
"""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from lines import Line, Run, Start, run, stop_at
from scipy.integrate import solve_ivp

from simcore.contract import SIGNALS
from simcore.parts import _speed_loop as sl
from simcore.parts._stopping import REVERSE_THEN_OFF
from simcore.parts.stop_chain import BACKWARD, BLIND, NOTICED, PAUSING, STOPPED, TORQUE

FULL, LIMIT, KP = 40.0, 12.0, 3.0
SERVO = {"rated_torque": 4.0, "peak": 3.0, "inertia": 0.01, "speed": FULL, "bandwidth": 30.0,
         "tuned_inertia": KP / (2.0 * np.pi * 30.0), "controller": "proportional", "lag": 0.0,
         "ramp_up_time": 0.0, "ramp_down_time": 0.0}  # fmt: skip


def reversing(line: Line, motor: int, limit: float, output: float, **row: float) -> int:
    """A chain on the motor's torque that reverses; gives its number."""
    row = {"what": TORQUE, "limit": limit, "filter": 0.0, "sensor": 0.0, "scan": 0.0, "output": output,
           "action": REVERSE_THEN_OFF, "pause": 0.0, "reverse_speed": 1.0, **row}  # fmt: skip
    out = SIGNALS.index("speed out")
    return line.part("stop chain", start=Start(row=row, mode=BLIND), senses=((motor, 0), (motor, out)))


@pytest.mark.parametrize("share", [1.0, 0.25])
def test_time_to_standstill_and_to_the_reversed_speed(share):
    """Noticed on a passing drag and acted on long after: at its limit L the servo brakes J from w0 to where it asks for
    less than L, L/Kp short of the reversed speed v; from there on the rest dies away with J/Kp."""
    line = Line()
    inertia = 0.5
    n = line.mass(inertia, FULL)
    motor = line.part("servo motor", 0, n, **SERVO)
    e = reversing(line, motor, 5.0, 1.0, reverse_for=4.0, reverse_speed=share)
    line.part("partial jam", n, 0, drag=8.0, when=0.1, lasts=0.5)
    r = run(line, 7.0)
    acts, ends = r.events(e, BACKWARD)[0], r.events(e, STOPPED)[0]
    assert acts - r.events(e, NOTICED)[0] == pytest.approx(1.0, abs=1e-9)
    assert ends - acts == pytest.approx(4.0, abs=1e-12)
    begins = r.at(acts, r.speed(n))
    still = next(t for t in r.zeros(r.speed(n)) if t > acts)
    assert still - acts == pytest.approx(inertia * begins / LIMIT, rel=1e-7)
    leaves = r.events(motor, sl.FOLLOWS)[-1]
    assert leaves - acts == pytest.approx(inertia * (begins + share * FULL - LIMIT / KP) / LIMIT, rel=1e-7)
    left = LIMIT / KP * exp(-KP / inertia * (ends - leaves))
    assert r.at(ends, r.speed(n)) == pytest.approx(-share * FULL + left, rel=1e-7)
    assert r.events(motor, sl.OFF) == [ends]
    assert r.residual < 1e-9


def test_the_pause_lets_it_coast_without_power():
    """Against 6 N*m of dry drag 0.5 kg*m^2 lose 12 rad/s each second of the pause: constant deceleration, textbook."""
    line = Line()
    n = line.mass(0.5, FULL)
    motor = line.part("servo motor", 0, n, **SERVO)
    line.part("friction load", n, 0, running=6.0, breakaway=6.0)
    e = reversing(line, motor, 1.0, 0.2, pause=0.7, reverse_for=1.0)
    r = run(line, 2.5)
    off, back = r.events(e, PAUSING)[0], r.events(e, BACKWARD)[0]
    assert back - off == pytest.approx(0.7, abs=1e-12)
    assert r.events(motor, sl.OFF)[0] == off
    assert r.at(off, r.speed(n)) - r.at(back, r.speed(n)) == pytest.approx(0.7 * 12.0, rel=1e-9)
    assert r.at(r.events(e, STOPPED)[0], r.speed(n)) < 0.0


J1, J2, K, WALL, GAP = 0.2, 0.3, 900.0, 4e3, 2.0
TRIP, DELAY, BACK_FOR, BACK, TAIL = 10.0, 0.06, 0.35, 0.4, 0.12
"""TAIL ends where no speed swings through zero: relative errors mean nothing there."""


def asked(t: float, w: float, acts: float) -> float:
    if t >= acts + BACK_FOR:
        return 0.0
    return float(np.clip(KP * ((FULL if t < acts else -BACK * FULL) - w), -LIMIT, LIMIT))


def by_scipy() -> tuple[float, np.ndarray, np.ndarray]:
    """Instant of the notice, end state, and the state every millisecond from the start."""

    def slopes(t, y, acts):
        spring = K * (y[0] - y[1])
        wall = WALL * max(0.0, y[1] - GAP)
        return [y[2], y[3], (asked(t, y[2], acts) - spring) / J1, (spring - wall) / J2]

    def trips(t, y, acts):
        return asked(t, y[2], acts) - TRIP

    trips.terminal = True
    how = {"method": "DOP853", "rtol": 1e-13, "atol": 1e-13, "max_step": 1e-4, "dense_output": True}
    first = solve_ivp(slopes, (0.0, 1.0), [0.0, 0.0, FULL, FULL], args=(np.inf,), events=trips, **how)
    y, t, acts = first.y[:, -1], first.t[-1], first.t[-1] + DELAY
    legs = [first]
    for end in (acts, acts + BACK_FOR, acts + BACK_FOR + TAIL):
        legs.append(solve_ivp(slopes, (t, end - 1e-13), y, args=(acts,), **how))
        y, t = legs[-1].y[:, -1], end
    at = np.arange(0.0, t, 1e-3)
    return first.t[-1], y, np.array([next(s for s in legs if u <= s.t[-1]).sol(u) for u in at])


def simulated(end: float) -> tuple[Run, int, int]:
    line = Line()
    n, m = line.mass(J1, FULL), line.mass(J2, FULL)
    motor = line.part("servo motor", 0, n, **SERVO)
    line.part("shaft", n, m, stiffness=K)
    e = reversing(line, motor, TRIP, DELAY, reverse_for=BACK_FOR, reverse_speed=BACK)
    line.part("hard stop", m, 0, stiffness=WALL, start=stop_at(GAP))
    return run(line, end), e, m


def test_a_jam_reversed_out_agrees_with_scipy():
    """Into the wall, noticed by the motor's torque, out again at two fifths of the speed, power off."""
    noticed, y, states = by_scipy()
    end = noticed + DELAY + BACK_FOR + TAIL
    r, e, m = simulated(end)
    assert r.events(e, NOTICED)[0] == pytest.approx(noticed, abs=1e-8)
    assert r.events(e, BACKWARD)[0] == pytest.approx(noticed + DELAY, abs=1e-8)
    got = [r.angle(1)[-1], r.angle(2)[-1], r.speed(1)[-1], r.speed(2)[-1]]
    assert got == pytest.approx(y, rel=1e-6)
    furthest = float(r.angle(m).max())
    assert furthest > GAP
    assert furthest == pytest.approx(states[:, 1].max(), abs=1e-5)
    assert r.angle(m)[-1] < GAP - 1.0
    assert r.residual < 1e-8


JAM, DRAG_BACK, AWAY, LOAD = 0.4, 0.05, 0.02, 0.4
"""A wall JAM [rad] on from where the load stands first; reversing time, pause and delay [s]; inertia [kg*m^2]."""


def by_hand(pause: float, attempts: int, blanking: float, share: float, off: float) -> list[float]:
    """Instants at which the drive is reversed and, last, taken off, by scipy: one inertia, a speed loop, a wall."""

    def course(w_asked):
        def slopes(t, y):
            wall = 2e3 * max(0.0, y[0] - JAM)
            return [y[1], ((np.clip(KP * (w_asked - y[1]), -LIMIT, LIMIT) if w_asked else 0.0) - wall) / LOAD]

        return slopes

    how = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-12, "max_step": 1e-3}
    t, y, out = 0.0, np.array([0.0, FULL]), []

    def go(w_asked: float, until: float) -> None:
        nonlocal t, y
        y, t = solve_ivp(course(w_asked), (t, until), y, **how).y[:, -1], until

    for n in range(attempts):
        if n:
            go(FULL, t + blanking)
        trips = lambda t, y: KP * (FULL - y[1]) - TRIP
        trips.terminal = True
        if trips(t, y) < 0.0:
            found = solve_ivp(course(FULL), (t, off), y, events=trips, **how)
            t, y = found.t[-1], found.y[:, -1]
        go(FULL, t + AWAY)
        for asked_for, last in ((0.0, pause), (-share * FULL, DRAG_BACK)):
            if last and asked_for:
                out.append(t)
            if last:
                go(asked_for, t + last)
        if n < attempts - 1 and pause:
            go(0.0, t + pause)
    return [*out, t]


@pytest.mark.parametrize("attempts", [1, 2, 3])
@pytest.mark.parametrize("pause", [0.0, 0.03])
def test_it_reverses_as_often_as_asked_while_the_jam_stays(attempts, pause):
    """The wall never goes: every time forward the same torque is met; instants against scipy's integration."""
    line = Line()
    n = line.mass(LOAD, FULL)
    motor = line.part("servo motor", 0, n, **SERVO)
    e = reversing(line, motor, TRIP, AWAY, reverse_for=DRAG_BACK, reverse_speed=0.5, pause=pause, blanking=0.2,
                  attempts=float(attempts))  # fmt: skip
    line.part("hard stop", n, 0, stiffness=2e3, start=stop_at(JAM))
    r = run(line, 3.0)
    want = by_hand(pause, attempts, 0.2, 0.5, 3.0)
    assert len(r.events(e, BACKWARD)) == attempts
    assert [*r.events(e, BACKWARD), *r.events(e, STOPPED)] == pytest.approx(want, abs=1e-6)
    assert len(r.events(e, PAUSING)) == (2 * attempts - 1 if pause else 0)
    assert r.mode(motor)[-1] == sl.OFF
    assert r.residual < 1e-8
