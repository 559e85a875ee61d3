"""Unequal and tired shear pins against scipy, energy and closed forms.  Kernel runs at 1e-10."""

from __future__ import annotations

from math import ceil, log2, pi, sqrt
from typing import Any

import numpy as np
import pytest
from lines import Line, Run, Start, pull, run, sheet_of
from scipy.integrate import solve_ivp

from simcore.parts import _pins as pn

K, C, PLASTIC, RATE, V0 = 1.2e4, 6.0, 5e-3, 0.15, 4.0
TOP = (95.0, 100.0, 105.0)
HALF = (0.0015, 0.0, 0.0008)
J1, J2, SHAFT, START_SPEED = 0.06, 0.09, 2.5e4, 16.0


class Unzipping:
    """Three pins between two inertias, the second on a shaft to the ground: own solution, forward only.

    Each pin is away, touching, stretching or gone; equations from statics and the rate law as documented.
    """

    def __init__(self) -> None:
        self.mode = ["away", "away", "away"]
        self.stretched_at = [0.0, 0.0, 0.0]
        self.instants: list[tuple[float, int, str]] = []

    def pin(self, i: int, phi: float, nu: float) -> float:
        if self.mode[i] == "touching":
            return K * (phi - HALF[i]) + C * nu
        return self.top(i, nu) if self.mode[i] == "stretching" else 0.0

    def top(self, i: int, nu: float) -> float:
        return TOP[i] * (1.0 + RATE * log2(1.0 + max(nu, 0.0) / V0))

    def slopes(self, t: float, y: np.ndarray) -> list[float]:
        T = sum(self.pin(i, y[0] - y[1], y[2] - y[3]) for i in range(3))
        return [y[2], y[3], -T / J1, (T - SHAFT * y[1]) / J2]

    def left(self, i: int, y: np.ndarray) -> float:
        """Falls to zero when the pin goes on to its next state."""
        phi, nu = y[0] - y[1], y[2] - y[3]
        if self.mode[i] == "away":
            return HALF[i] - phi
        if self.mode[i] == "touching":
            return self.top(i, nu) - self.pin(i, phi, nu)
        return self.stretched_at[i] + PLASTIC - phi if self.mode[i] == "stretching" else 1.0

    def stop(self, i: int) -> Any:
        """Terminal event of pin ``i``."""

        def event(_t: float, y: np.ndarray) -> float:
            return self.left(i, y)

        event.terminal, event.direction = True, -1.0
        return event

    def go(self, y: np.ndarray, t_end: float) -> np.ndarray:
        after = {"away": "touching", "touching": "stretching", "stretching": "gone"}
        t = 0.0
        events = [self.stop(i) for i in range(3)]
        while t < t_end:
            s = solve_ivp(self.slopes, (t, t_end), y, events=events, rtol=1e-11, atol=1e-14, dense_output=True)
            assert set(self.mode) == {"gone"} or np.all(s.y[2] > s.y[3]), "written for one stroke"
            t, y = float(s.t[-1]), s.y[:, -1]
            for i in range(3):
                if len(s.t_events[i]):
                    self.mode[i] = after[self.mode[i]]
                    self.stretched_at[i] = y[0] - y[1]
                    self.instants.append((t, i, self.mode[i]))
        return y


def test_unzipping_of_three_unequal_pins():
    """Every contact, yield and fracture to 1e-6 s, and the speeds afterwards."""
    own = Unzipping()
    own.mode[1] = "touching"
    y = own.go(np.array([0.0, 0.0, START_SPEED, 0.0]), 0.002)
    line = Line()
    a, b = line.mass(J1, START_SPEED), line.mass(J2)
    e = line.part(
        "shear pins", a, b, setting=300.0, stiffness=3 * K, pins=3, pin_strengths=tuple(v / 100.0 for v in TOP),
        clearances=tuple(2.0 * v for v in HALF), twist_to_fracture=PLASTIC, rate_factor=1.0 + RATE,
        rate_reference=V0, relative_damping=2.0 * pi * 3.0 * C / (3.0 * K), start=Start(mode=0),
    )  # fmt: skip
    line.part("shaft", b, 0, stiffness=SHAFT)
    r = run(line, 0.002)
    assert [m for _, _, m in own.instants].count("gone") == 3
    at = [t for t in r.events(e) if t > 0.0]
    assert at == pytest.approx([t for t, _, _ in own.instants], abs=1e-6)
    assert (r.speed(a)[-1], r.speed(b)[-1]) == pytest.approx((y[2], y[3]), rel=1e-6)


def test_energy_of_fracture_is_taken_from_the_mass():
    """Brittle and tough pins on one flange: 1/2 J (v0^2 - v1^2) = the areas under their curves.  Closed form."""
    line = Line()
    n = line.mass(0.5, 6.0)
    e = line.part("shear pins", n, 0, setting=400.0, stiffness=4e4, pins=2, pin_strengths=(0.7, 1.3),
                  clearances=(0.0, 0.002), twist_to_fracture=0.012, start=Start(mode=0))  # fmt: skip
    r = run(line, 0.05)
    area = sum(0.5 * s * s / 2e4 + s * 0.012 for s in (140.0, 260.0))
    assert len(r.events(e, pn.GONE)) == 1
    assert 0.25 * (36.0 - r.speed(n)[-1] ** 2) == pytest.approx(area, rel=1e-7)
    assert r.heat(e)[-1] == pytest.approx(area, rel=1e-7)


OMEGA = sqrt(3e4 / 0.05)


def swinging(peak: float, t: float, **raw: float) -> tuple[Run, int]:
    """A mass that swings for ever on tight pins with the torque amplitude ``peak``."""
    line = Line()
    n = line.mass(0.05, peak / sqrt(3e4 * 0.05))
    e = line.part("shear pins", n, 0, setting=420.0, stiffness=3e4, clearance=0.0, fatigue=1.0, **raw)
    return run(line, t), e


@pytest.mark.parametrize("unequal", [{}, {"pins": 2, "pin_strengths": (1.0, 1.0), "clearances": (0.0, 0.0)}])
@pytest.mark.parametrize(("peak", "b"), [(200.0, -0.3), (300.0, -0.25), (380.0, -0.2)])
def test_life_at_constant_amplitude(peak, b, unequal):
    """N = (T_a/T_f')^(1/b)/2 cycles: breaks at the first turning point at which the sum of half cycles is 1.

    The first half cycle goes from nothing to the peak.  Basquin and Miner, textbook; turning point m at
    (m - 1/2) pi/omega of the free swing, closed form.
    """
    half = (peak / (1.5 * 420.0)) ** (-1.0 / b)
    first = (0.5 * peak / (1.5 * 420.0)) ** (-1.0 / b)
    m = 1 + ceil((1.0 - first) / half)
    assert m > 8
    r, e = swinging(peak, (m + 2) * pi / OMEGA, fatigue_exponent=b, **unequal)
    assert r.events(e, pn.GONE) == pytest.approx([(m - 0.5) * pi / OMEGA], abs=1e-6)
    assert r.state(e, pn.WORN)[-1] == pytest.approx(first + (m - 1) * half, rel=1e-6)
    assert r.heat(e)[-1] == pytest.approx(0.5 * peak * peak / 3e4, rel=1e-6)
    assert np.all(r.torque(e)[r.t > (m - 0.4) * pi / OMEGA] == 0.0)


def test_no_damage_up_to_the_knee():
    """Amplitude just below and just above the knee.  Common practice, no source."""
    below, e = swinging(188.9, 0.05, fatigue_knee=0.45)
    above, _ = swinging(189.1, 0.05, fatigue_knee=0.45)
    assert below.state(e, pn.WORN)[-1] == 0.0
    assert above.state(e, pn.WORN)[-1] > 0.0


def test_small_swings_fade_out_of_the_count():
    """A damped swing: sum of its half cycles, each from one turning point to the next, though they are more
    than the stack holds.  Amplitudes from the damped oscillator, textbook."""
    line = Line()
    psi, b = 0.05, -0.4
    n = line.mass(0.05, 100.0 / sqrt(3e4 * 0.05))
    e = line.part("shear pins", n, 0, setting=420.0, stiffness=3e4, clearance=0.0, fatigue=1.0, fatigue_exponent=b,
                  relative_damping=psi)  # fmt: skip
    r = run(line, 0.4, w1=OMEGA)
    d = psi / (4.0 * pi)
    w = OMEGA * sqrt(1.0 - d * d)
    t = (np.arange(1000) * pi + np.arctan2(sqrt(1.0 - d * d), d)) / w
    t = t[t < 0.4]
    v = 100.0 / (3e4 * w) * OMEGA * np.exp(-d * OMEGA * t) * np.sin(w * t) * 3e4
    assert len(t) > pn.DEPTH + 10
    ranges = np.abs(np.diff(np.concatenate([[0.0], v])))
    assert r.state(e, pn.WORN)[-1] == pytest.approx(((0.5 * ranges / 630.0) ** (1.0 / -b)).sum(), rel=1e-5)


def test_stretching_counts_up_to_the_strength():
    """Stretched once, then swinging about the lasting twist: half a cycle from nothing to the strength, then half
    cycles between the strength and its mirror.  Closed form, elastic and perfectly plastic."""
    line = Line()
    v = 550.0 / sqrt(3e4 * 0.05)
    n = line.mass(0.05, v)
    e = line.part("shear pins", n, 0, setting=420.0, stiffness=3e4, clearance=0.0, twist_to_fracture=0.1, fatigue=1.0,
                  fatigue_exponent=-0.3)  # fmt: skip
    r = run(line, 0.02)
    turns = [v for v in r.out.events if v[1] == e and v[2] == 4]
    half = (1.0 / 1.5) ** (1.0 / 0.3)
    wanted = (0.5 / 1.5) ** (1.0 / 0.3) + (len(turns) - 2) * half
    assert r.events(e, pn.STRETCH_F)
    assert r.state(e, pn.WORN)[-1] == pytest.approx(wanted, rel=1e-6)


START_PEAK = 2.0 * 150.0 * 0.04 / 0.10
"""Two inertias, 150 N*m at once on the first: the joint swings between nothing and 2 T J2/(J1 + J2).  Textbook."""
PINS = {"setting": 200.0, "stiffness": 2e4, "clearance": 0.0, "fatigue": 1.0, "fatigue_exponent": -0.4}


def started(done: float, **more: object) -> tuple[Run, int]:
    """One start on pins that have seen ``done`` others."""
    line = Line()
    a, b = line.mass(0.06), line.mass(0.04)
    pull(line, a, 150.0)
    e = line.part("shear pins", a, b, start_peak=START_PEAK, starts_done=done, **(PINS | more))
    return run(line, 1.2 * 2.0 * pi / sqrt(2e4 / 0.024)), e


def test_starts_until_it_breaks():
    """N = (T_a/T_f')^(1/b)/2 with half the peak as amplitude; after N starts the next one breaks the pins."""
    n = sheet_of("shear pins", start_peak=START_PEAK, **PINS)["starts until it breaks"]
    assert n == pytest.approx(0.5 * (0.5 * START_PEAK / 300.0) ** (1.0 / -0.4), rel=1e-9)
    r, e = started(0.0)
    assert r.peak(e) == pytest.approx(START_PEAK, rel=1e-6)
    assert r.state(e, pn.WORN)[-1] == pytest.approx(1.0 / n, rel=1e-4)
    held, _ = started(int(n) - 1.0)
    assert held.mode(e)[-1] != pn.GONE
    assert held.state(e, pn.WORN)[-1] == pytest.approx(int(n) / n, rel=1e-4)
    breaks, _ = started(float(int(n) + 1))
    assert breaks.events(e, pn.GONE)
    assert breaks.peak(e) < PINS["setting"]
    assert breaks.out.meas[e, 26] == 1.0


@pytest.mark.parametrize(("short", "broken"), [(1e-4, False), (-1e-4, True)])
def test_threshold_of_the_nuisance_break(short, broken):
    """The run's own half cycle up to the peak makes the sum just less, or just more, than 1."""
    n = sheet_of("shear pins", start_peak=START_PEAK, **PINS)["starts until it breaks"]
    r, e = started(n - 1.0 - short)
    assert bool(r.events(e, pn.GONE)) is broken


def test_the_tight_pin_tires_first():
    """Of two pins the one without clearance takes the larger share of each start: it breaks alone, by fatigue, and
    the other carries on.  Shares at the peak by hand: 2 k phi = T + k h."""
    more = {"pins": 2, "pin_strengths": (1.0, 1.0), "clearances": (0.0, 0.004)}
    k, h = 1e4, 0.002
    phi = (START_PEAK + k * h) / (2.0 * k)
    life = 0.5 * (0.5 * k * phi / 150.0) ** (1.0 / -0.4)
    r, e = started(life + 1.0, **more)
    assert len([v for v in r.out.events if v[1] == e and v[2] == 4 and v[4] >= pn.BROKEN_PLAY]) >= 1
    assert r.mode(e)[-1] in (pn.BROKEN_PLAY, pn.BROKEN_CARRY)
    fresh, _ = started(0.5 * life, **more)
    assert fresh.mode(e)[-1] < pn.BROKEN_PLAY


def test_strength_from_the_tensile_strength():
    """tau = 0.577 R: von Mises, textbook (Shigley).  Two pins of 6 mm, 500 MPa, on a circle of 50 mm radius."""
    s = sheet_of("shear pins", pins=2, pin_diameter=6e-3, radius=0.05, tensile_strength=5e8, shear_ratio=1 / sqrt(3.0))
    assert s["setting"] == pytest.approx(2 * 5e8 / sqrt(3.0) * pi * 36e-6 / 4 * 0.05, rel=1e-12)
