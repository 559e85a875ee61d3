"""Poles printed into a hysteresis clutch's ring: amplitude, decay in slip, reversal, energy.  Closed forms of the law
in simcore/parts/_imprint.py; that a current cut at rest makes the clutch cog and one brought down in slip does not, is
common practice, no source."""

from __future__ import annotations

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
    start = Start(mode=SLIPS if side > 0.0 else 2, x=(0.0, 0.0, 0.0, size), memory=cells)
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


def test_reversed_at_rest_like_poles_face_each_other():
    """The torque goes with the current's size; the pattern stays, and 2*A/p of energy is the supply's work."""
    r = at_rest((0.02, 0.02), (1.0, -0.8), 0.3)
    A = KAPPA * (S - REST * S)
    assert r.events(0)  # passes zero
    assert r.state(0, RIPPLE)[-1] == pytest.approx(A, rel=1e-6)
    assert r.state(0, SUPPLIED)[-1] == pytest.approx(2.0 * A / PAIRS, rel=1e-6)
    zero = 0.02 + TAU * np.log(1.8 / 0.8)
    assert any(v[0] == pytest.approx(zero, abs=1e-7) for v in r.out.events)
    assert not r.heat(0).any()


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
    rates = part.call("rate", state(part, p, mode, x, nu, (0.0, 0.0, 0.0, size), mem), 0.0)
    h = 1e-6 / abs(nu)
    own = (0.0, 0.0, 0.0, size)
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
