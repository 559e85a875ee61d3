"""Poles printed into a hysteresis clutch's ring: amplitude, decay in slip, reversal, energy.  Closed forms of the law
in simcore/parts/_imprint.py; that a current cut at rest makes the clutch cog and one brought down in slip does not, is
common practice, no source."""

from __future__ import annotations

from itertools import pairwise
from math import cos, exp, pi, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import Line, Run, Start, pull, raw_of, run, sheet_of
from scipy.integrate import quad
from states import REGISTRY, row, state

from simcore.contract import N_MEMORY
from simcore.parts import _imprint as im
from simcore.parts import magnetic_hysteresis_clutch as hc

KIND = "magnetic hysteresis clutch"
S, REST, PAIRS, KAPPA, OVER = 10.0, 0.015, 6.0, 0.06, radians(300.0)
COIL = {"setting": S, "rated_current": 1.0, "resistance": 90.0, "inductance": 0.9, "ripple": KAPPA, "wiped_over": OVER,
        "eddy": 0.0, "excitation": "programmed"}  # fmt: skip
TAU = 0.01
SLIPS = 1
RIPPLE, SUPPLIED = 3, 2


def torque_at(x: float) -> float:
    """Slip torque at ``x`` of rated current, written anew."""
    s = 1.0 / 1.4
    return S * (REST + (1.0 - REST) * x * ((1.0 + s**4) / (1.0 + (s * x) ** 4)) ** 0.25)


def at_rest(times: tuple[float, ...], currents: tuple[float, ...], t_end: float, twist: float = 0.0) -> Run:
    """The clutch held still while its current changes."""
    line = Line()
    line.part(KIND, line.lead(0.0, twist), 0, current_times=times, currents=currents, **COIL)
    return run(line, t_end, fast=1.0, h_max=5e-4)


def slipping(speed: float, amps: float, size: float, place: float, seconds: float, against: float = 0.0) -> Run:
    """Led at constant speed from the start of full slip, with a pattern in its ring."""
    line = Line()
    side = 1.0 if speed > 0.0 else -1.0
    cells = {hc.SLIDES + i: side for i in range(8)} | {im.PLACE: place, im.AGAINST: against, hc.SENSE: side}
    start = Start(mode=SLIPS if side > 0.0 else 2, x=(0.0, 0.0, 0.0, size, 0.0), memory=cells)
    line.part(KIND, line.lead(speed), 0, start=start, current_times=(0.0,), currents=(amps,), **COIL)
    return run(line, seconds, h_max=1e-3)


def test_a_cut_at_rest_prints_what_the_torque_loses():
    """i = exp(-t/tau) after the cut; A = kappa*(T(1) - T(i)).  In the end 4 % of setting less residual by default."""
    r = at_rest((0.02, 0.02), (1.0, 0.0), 0.2)
    i = np.where(r.t > 0.02, np.exp(-(r.t - 0.02) / TAU), 1.0)
    want = KAPPA * (S - np.array([torque_at(float(x)) for x in i]))
    assert r.state(0, RIPPLE) == pytest.approx(want, abs=1e-8)
    assert r.state(0, RIPPLE)[-1] == pytest.approx(KAPPA * (1.0 - REST) * S, rel=1e-6)
    assert sheet_of(KIND, setting=S)["ripple after rated current is cut at rest"] == pytest.approx(0.04 * 0.985 * S)
    assert not r.torque(0).any()


@pytest.mark.parametrize("back", [1.0, 1.3])
def test_a_current_that_comes_back_at_rest_takes_the_pattern_back(back):
    """Return point: nothing is left once the torque is where it fell from; a second cut prints anew."""
    r = at_rest((0.02, 0.02, 0.1, 0.1, 0.3, 0.3), (1.0, 0.2, 0.2, back, back, 0.0), 0.5)
    low = float(np.interp(0.0999, r.t, r.state(0, RIPPLE)))
    i = 0.2 + 0.8 * exp(-0.0799 / TAU)
    assert low == pytest.approx(KAPPA * (S - torque_at(i)), abs=1e-6)
    assert float(np.interp(0.2, r.t, r.state(0, RIPPLE))) == pytest.approx(0.0, abs=2e-4)
    assert r.state(0, RIPPLE)[-1] == pytest.approx(KAPPA * (torque_at(back) - torque_at(0.0)), rel=2e-3)
    assert r.state(0, RIPPLE).min() > -1e-9


@pytest.mark.parametrize("speed", [3.0, -3.0])
@pytest.mark.parametrize("against", [0.0, 1.0])
def test_ripple_without_current_stays(speed, against):
    """T = +-T(0) +- A*sin p(phi - phi0), turn after turn: no field, no wiping."""
    r = slipping(speed, 0.0, 0.5, 0.1, 2.0, against)
    ripple = r.torque(0) - np.sign(speed) * torque_at(0.0)
    sense = 1.0 - 2.0 * against
    assert ripple == pytest.approx(sense * 0.5 * np.sin(PAIRS * (r.angle(1) - 0.1)), abs=1e-9)
    assert abs(r.angle(1)[-1]) > 5.0
    assert np.ptp(r.state(0, RIPPLE)) == 0.0


@pytest.mark.parametrize("x", [0.25, 1.0])
def test_slip_with_current_wipes_the_ripple(x):
    """A = A0*exp(-x*p*phi/lambda) over the slip; the pattern's energy A(1 - cos)/p becomes heat on the way."""
    r = slipping(4.0, x, 0.5, 0.2, 1.5)
    phi = r.angle(1)
    size = 0.5 * np.exp(-x * PAIRS * phi / OVER)
    assert r.state(0, RIPPLE) == pytest.approx(size, rel=1e-8)
    assert r.torque(0) == pytest.approx(torque_at(x) + size * np.sin(PAIRS * (phi - 0.2)), abs=1e-8)
    end = float(phi[-1])
    falls = lambda a: 0.5 * x / OVER * exp(-x * PAIRS * a / OVER) * (1.0 - cos(PAIRS * (a - 0.2)))
    wiped = quad(falls, 0.0, end, limit=400, epsabs=1e-12)[0]
    assert r.heat(0)[-1] == pytest.approx(torque_at(x) * end + wiped, rel=1e-9)
    assert wiped > 0.02
    pole = 0.5 * exp(-x * pi / OVER)
    assert float(np.interp(pi / PAIRS, phi, r.state(0, RIPPLE))) == pytest.approx(pole, rel=1e-4)


def test_a_current_brought_down_in_slip_prints_nothing():
    line = Line()
    line.part(KIND, line.lead(5.0), 0, current_times=(0.2, 0.5), currents=(1.0, 0.0), **COIL)
    r = run(line, 1.0, h_max=1e-3)
    assert not r.state(0, RIPPLE).any()
    assert r.torque(0)[-1] == pytest.approx(REST * S, rel=1e-4)


@pytest.mark.parametrize("back", [-0.3, -0.8, -0.999])
def test_a_field_against_the_pattern_overwrites_it_at_rest(back):
    """A = kappa*(T(1) - T(i)) for a current reversed to -i; the supply has paid 2*A/p at zero, now heat."""
    r = at_rest((0.02, 0.02), (1.0, back), 0.3)
    A = KAPPA * (S - REST * S)
    assert r.events(0)  # passes zero
    left = KAPPA * (S - torque_at(-back))
    assert r.state(0, RIPPLE).max() == pytest.approx(A, rel=1e-3)
    assert r.state(0, RIPPLE)[-1] == pytest.approx(left, rel=1e-5)
    assert r.state(0, SUPPLIED)[-1] == pytest.approx(2.0 * A / PAIRS, rel=1e-6)
    assert r.heat(0)[-1] == pytest.approx(2.0 * (A - left) / PAIRS, rel=1e-6)
    zero = 0.02 + TAU * np.log((1.0 - back) / -back)
    assert any(v[0] == pytest.approx(zero, abs=1e-7) for v in r.out.events)
    i = back + (1.0 - back) * np.exp(-(r.t - 0.02) / TAU)
    size = [KAPPA * (S - torque_at(abs(float(x)))) for x in i]
    assert r.state(0, RIPPLE)[r.t > 0.02] == pytest.approx(np.array(size)[r.t > 0.02], abs=1e-6)


@pytest.mark.parametrize("back", [-1.05, -1.4])
def test_driven_past_where_it_was_printed_nothing_of_the_old_pattern_is_left(back):
    """Return point: -i_0 makes the mirror image of what i_0 made.  All of 2*A/p has become heat."""
    r = at_rest((0.02, 0.02), (1.0, back), 0.3)
    assert r.state(0, RIPPLE)[-1] == 0.0
    assert r.heat(0)[-1] == pytest.approx(2.0 * KAPPA * (1.0 - REST) * S / PAIRS, rel=1e-6)


def test_what_is_overwritten_does_not_come_back():
    """Reversed to -0.4 and let fall, and again to -0.4: as after the first; -0.4 could print less."""
    r = at_rest((0.02, 0.02, 0.2, 0.2, 0.4, 0.4), (1.0, -0.4, -0.4, -0.1, -0.1, -0.4), 0.6)
    left = KAPPA * (S - torque_at(0.4))
    assert left > KAPPA * torque_at(0.4)
    for t in (0.19, 0.39, 0.59):
        assert float(np.interp(t, r.t, r.state(0, RIPPLE))) == pytest.approx(left, rel=1e-5)
    assert np.diff(r.heat(0)).min() >= 0.0


def test_alternating_currents_that_fade_leave_next_to_nothing():
    """Reversed time and again, each time a tenth less: what is left is at most what the last swing printed.
    That a fading alternating field takes remanence away is textbook."""
    swings = [1.0] + [(-1.0) ** n * 0.9**n for n in range(1, 22)] + [0.0]
    times = tuple(t for n in range(1, len(swings)) for t in (0.06 * n, 0.06 * n))
    currents = tuple(c for a, b in pairwise(swings) for c in (a, b))
    r = at_rest(times, currents, 0.06 * len(swings) + 0.1)
    assert r.state(0, RIPPLE).max() > 0.9 * KAPPA * (1.0 - REST) * S
    assert r.state(0, RIPPLE)[-1] <= KAPPA * (torque_at(abs(swings[-2])) - REST * S) * (1.0 + 1e-6)
    assert r.state(0, RIPPLE)[-1] > 0.0
    assert np.diff(r.heat(0)).min() >= -1e-12
    kept = r.state(0, SUPPLIED)[-1] - r.heat(0)[-1]  # of what the supply put in, at twist 0 in the pattern
    assert kept == pytest.approx(0.0, abs=1e-9) or kept == pytest.approx(2.0 * r.state(0, RIPPLE)[-1] / PAIRS, rel=1e-6)


def test_a_field_at_an_angle_counts_with_its_share():
    """Printed, turned by x without current, reversed: |cos p x| of the current stands against the pattern."""
    for x in (0.05, 0.12):
        line = Line()
        cells = {im.PLACE: 0.0, im.FROM: 1.0, im.UP_TO: REST, im.REVERSED: 1.0, im.AGAINST: 1.0}
        size = KAPPA * (1.0 - REST) * S
        start = Start(mode=0, x=(0.0, 0.0, 0.0, size), memory=cells | {hc.ANCHOR + i: x for i in range(8)})
        line.part(KIND, line.lead(0.0, x), 0, start=start, current_times=(0.0, 0.1), currents=(0.0, -0.7), **COIL)
        r = run(line, 0.3, fast=1.0, h_max=1e-3)
        met = 0.7 * cos(PAIRS * x)
        assert r.state(0, RIPPLE)[-1] == pytest.approx(KAPPA * (S - torque_at(met)), rel=1e-5)
        assert r.heat(0)[-1] == pytest.approx((size - r.state(0, RIPPLE)[-1]) / PAIRS * (1 + cos(PAIRS * x)), rel=1e-6)


def test_rayleighs_loops_would_leave_a_quarter_less_at_most():
    """Return point law with M = i^2: the pattern after -h is ((i0 - h)/i0)^2 of the one after 0; in between the linear
    law of the part is above it by at most a quarter.  Rayleigh's law, textbook."""
    branch = lambda h: 1.0 - 2.0 * ((1.0 + h) / 2.0) ** 2  # from +1 down to -h
    h = np.linspace(0.0, 1.0, 101)
    pattern = branch(h) + h**2  # less the fresh state of -h
    assert pattern / pattern[0] == pytest.approx((1.0 - h) ** 2, abs=1e-12)
    assert ((1.0 - h) - pattern / pattern[0]).max() == pytest.approx(0.25, abs=1e-12)


def test_reversed_current_carries_what_its_size_carries():
    line = Line()
    raw = COIL | {"ripple": 0.0}
    e = line.part(KIND, line.lead(5.0), 0, current_times=(0.2, 0.2), currents=(1.0, -0.6), **raw)
    r = run(line, 0.5, h_max=1e-3)
    after = r.t > 0.2
    i = -0.6 + 1.6 * np.exp(-(r.t[after] - 0.2) / TAU)
    assert r.torque(e)[after] == pytest.approx([torque_at(abs(float(v))) for v in i], abs=1e-7)
    assert r.torque(e).min() >= 0.0


def let_slip(sense: float, **more: object) -> Run:
    """Held at rest at 2 N*m; the current is cut, the ring slips and ripples, the current comes back and wipes."""
    line = Line()
    n = line.mass(0.02, 0.0)
    raw = COIL | {"current_times": (0.1, 0.1, 0.5, 0.5), "currents": (1.0, 0.0, 0.0, 0.15)} | more
    line.part(KIND, n, 0, **raw)
    pull(line, n, 2.0 * sense)
    return run(line, 1.2, fast=5.0, rtol=1e-8, h_max=2e-3)


@pytest.mark.parametrize("back", [0.15, -0.15])
def test_ledger_and_mirror_through_printing_and_wiping(back):
    raw = {"currents": (1.0, 0.0, 0.0, back)}
    there, other = let_slip(1.0, **raw), let_slip(-1.0, **raw)
    for r in (there, other):
        assert r.residual < 1e-6
        assert np.diff(r.heat(0)).min() > -1e-9
        assert r.state(0, RIPPLE).max() == pytest.approx(KAPPA * (1.0 - REST) * S, rel=1e-2)
        assert r.state(0, RIPPLE)[-1] < 0.01
    assert other.torque(0) == pytest.approx(-there.torque(0), rel=1e-8, abs=1e-8)
    assert other.heat(0) == pytest.approx(there.heat(0), rel=1e-8, abs=1e-8)


def test_without_ripple_the_clutch_is_as_before():
    """The same instants and torques, bit for bit, whether the ripple is asked for or not, where nothing is cut."""
    held = {"excitation": "fixed current", "current_times": (), "currents": ()}
    one, none = let_slip(1.0, **held), let_slip(1.0, ripple=0.0, **held)
    assert np.array_equal(one.out.trace, none.out.trace)


@given(x=st.floats(-7.0, 7.0), size=st.floats(0.0, 2.0), nu=st.floats(0.01, 60.0), place=st.floats(-3.0, 3.0),
       against=st.sampled_from([0.0, 1.0]), mode=st.sampled_from([1, 2]),
       amps=st.floats(0.0, 1.4))  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_passive(x, size, nu, place, against, mode, amps):
    """In slip: loss >= 0, and power in = change of the store + loss, by central differences."""
    part = REGISTRY[KIND]
    p = row(part, COIL | {"excitation": "fixed current", "current": amps})
    mem = [0.0] * N_MEMORY
    mem[im.PLACE], mem[im.AGAINST] = place, against
    nu = nu if mode == 1 else -nu
    rates = part.call("rate", state(part, p, mode, x, nu, (0.0, 0.0, 0.0, size, 0.0), mem), 0.0)
    h = 1e-6 / abs(nu)
    own = (0.0, 0.0, 0.0, size, 0.0)
    at = lambda s: state(part, p, mode, x + s * nu, nu, [v + s * d for v, d in zip(own, rates, strict=True)], mem)
    q = at(0.0)
    T = part.call("torque", q)
    loss = part.call("loss", q, T)
    assert loss >= 0.0
    change = (part.call("store", at(h)) - part.call("store", at(-h))) / (2.0 * h)
    assert T * nu == pytest.approx(change + loss, rel=1e-6, abs=1e-6 * abs(nu))


def test_a_negative_current_is_the_hysteresis_clutchs_alone():
    assert REGISTRY[KIND].kind.param("currents").low == "-100 A"
    assert REGISTRY["magnetic particle clutch"].kind.param("currents").low == "0 A"
    raw = REGISTRY[KIND].raw_lists(raw_of(REGISTRY[KIND], **COIL, current_times=(0.0, 1.0), currents=(0.3, -0.3)))
    assert REGISTRY[KIND].call("refuse", raw) == []
