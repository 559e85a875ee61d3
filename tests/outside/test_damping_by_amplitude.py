"""A coupling whose relative damping follows twist and temperature: energy of a cycle, decay of a swing, ledger.

Closed form of simcore/parts/_flexible.py, made anew by scipy's quadrature; free swings by scipy's DOP853 from the
equation written out here.  The factors of an elastomer are from memory, no source."""

from __future__ import annotations

from math import cos, exp, log, pi, radians, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lines import Line, pull, raw_of, row_of, run, sheet_of
from scipy.integrate import quad, solve_ivp

from simcore.contract import Q
from simcore.parts import REGISTRY

KIND = "flexible coupling"
RATED, TWIST, W1 = 90.0, 0.06, 25.0
SMALL, STATED = 0.3, 0.8
SOFT = {"rated_torque": RATED, "twist_at_rated": TWIST, "relative_damping": STATED, "small_swing_damping": SMALL}


def seen(p, mode, phi, nu) -> Q:
    return Q(mode, 0.0, phi, nu, phi, nu, 0.0, 0.0, (), (), (1.0, 0.0, 0.0), p, (0.0,))


def refused(**raw) -> list[str]:
    part = REGISTRY[KIND]
    return list(part.call("refuse", part.raw(raw_of(part, **raw))))


def share_lost(swing: float, progression: float = 1.0, **more) -> float:
    """Energy of one harmonic cycle at W1 over the elastic energy at its end, by quadrature of the part's own loss."""
    p = row_of(KIND, W1, **SOFT, progression=progression, **more)
    lost = quad(lambda t: REGISTRY[KIND].call("loss", seen(p, 5, swing * sin(W1 * t), swing * W1 * cos(W1 * t)), 0.0),
                0.0, 2 * pi / W1, limit=400, epsabs=0.0, epsrel=1e-11)[0]  # fmt: skip
    return lost / REGISTRY[KIND].call("store", seen(p, 5, swing, 0.0))


def closed_form(swing: float, at: float = TWIST, small: float = SMALL, stated: float = STATED) -> float:
    """psi_0 + (psi_n - psi_0)/h*(1 - 2 mu (sqrt(1 + mu^2) - mu)), mu = phi_d/A."""
    mu = 0.2 / (2 * sqrt(0.8)) * at / swing
    return small + (stated - small) / 0.8 * (1 - 2 * mu * (sqrt(1 + mu * mu) - mu))


@pytest.mark.parametrize("swing", [1e-4, 0.01, 0.03, 0.06, 0.2, 2.0])
def test_relative_damping_over_amplitude(swing):
    assert share_lost(swing) == pytest.approx(closed_form(swing), rel=1e-8)


@pytest.mark.parametrize("progression", [1.0, 2.5, 20.0])
@pytest.mark.parametrize(("small", "stated"), [(0.3, 0.8), (0.9, 0.5), (0.0, 0.7)])
@pytest.mark.parametrize("at", [0.02, 0.06, 0.15])
def test_both_stated_values_come_out(progression, small, stated, at):
    """Very small swings and the one that relative_damping is stated for, with progression too."""
    raw = {"relative_damping": stated, "small_swing_damping": small, "damping_swing": at}
    p = row_of(KIND, W1, **(SOFT | raw), progression=progression)
    part = REGISTRY[KIND]

    def share(swing):
        cycle = lambda t: part.call("loss", seen(p, 5, swing * sin(t), swing * W1 * cos(t)), 0.0) / W1
        return quad(cycle, 0.0, 2 * pi, epsabs=0.0, epsrel=1e-10)[0] / part.call("store", seen(p, 5, swing, 0.0))

    assert share(at) == pytest.approx(stated, rel=1e-8)
    assert share(1e-4 * at) == pytest.approx(small, rel=1e-4, abs=1e-4)


@pytest.mark.parametrize(("swing", "psi"), [(6e-6, SMALL), (0.06, STATED), (0.3, closed_form(0.3))])
def test_through_the_kernel(swing, psi):
    """Led by a swing so heavy that it does not feel the coupling: heat of one cycle over the energy at its end."""
    line = Line()
    n = line.mass(1e13, 0.0, swing)
    line.part("shaft", n, 0, stiffness=1e13 * W1**2)
    e = line.part(KIND, n, 0, **SOFT)
    r = run(line, 2 * pi / W1, w1=W1, fast=swing * W1, h_max=1e-4)
    assert r.heat(e)[-1] / (0.5 * RATED / TWIST * swing**2) == pytest.approx(psi, rel=2e-6)


def test_beyond_a_quarter_more_at_most():
    assert closed_form(1e4) == pytest.approx(SMALL + 1.25 * (STATED - SMALL), rel=2e-6)
    s = sheet_of(KIND, **SOFT)
    assert s["damping at large twists"] / s["damping"] == pytest.approx((SMALL + 1.25 * (STATED - SMALL)) / SMALL)
    assert "damping at large twists" not in sheet_of(KIND, **(SOFT | {"small_swing_damping": STATED}))


@pytest.mark.parametrize("kind", [KIND, "misaligned coupling"])
@pytest.mark.parametrize(("small", "progression"), [(0.2, 1.0), (0.2, 2.5), (1.2, 1.0)])
def test_a_free_swing_dies_away(kind, small, progression):
    """J*phi'' + c(phi)*phi' + k(phi)*phi = 0 over eight swings, scipy's DOP853."""
    j, start = 0.4, 0.1
    q = (progression - 1) / 3
    k = RATED / TWIST / (1 + q)
    raw = SOFT | {"small_swing_damping": small, "progression": progression}
    line = Line()
    n = line.mass(j, 0.0, start)
    e = line.part(kind, n, 0, **raw)
    t_end = 16 * pi * sqrt(j / k)
    r = run(line, t_end, w1=W1, fast=1.0)
    unit = k / (2 * pi * W1)
    wide = 0.0125 * TWIST**2
    added = (STATED - small) * (1 + q / 2) / (0.8 + 0.5 * q - 0.02 * q)

    def slopes(t, y):
        u = (y[0] / TWIST) ** 2
        c = unit * (small + added * y[0] ** 2 / (y[0] ** 2 + wide)) * (1 + 2 * q * u)
        return [y[1], -(c * y[1] + k * y[0] * (1 + q * u)) / j]

    ref = solve_ivp(slopes, (0.0, t_end), (start, 0.0), method="DOP853", rtol=1e-12, atol=1e-14)
    assert [r.angle(n)[-1], r.speed(n)[-1]] == pytest.approx([ref.y[0, -1], ref.y[1, -1]], rel=1e-5, abs=1e-9)
    first = 0.5 * k * start**2 * (1 + 0.5 * q * (start / TWIST) ** 2)
    assert r.heat(e)[-1] == pytest.approx(first, rel=0.05)
    assert r.residual < 1e-9
    assert np.diff(r.heat(e)).min() > -1e-12


def test_small_swings_of_a_softly_damped_coupling_last_longer():
    """A crash rings down at first as fast as with the stated damping, then slower: log decrement psi/2 a swing."""
    j, peaks = 0.4, []
    for raw in (SOFT, SOFT | {"small_swing_damping": STATED}):
        line = Line()
        n = line.mass(j, 0.0, 0.06)
        line.part(KIND, n, 0, **raw)
        r = run(line, 20 * pi * sqrt(j * TWIST / RATED), w1=sqrt(RATED / TWIST / j), fast=1.0)
        peaks.append([abs(v) for _, v in r.turning(n)])
    grows, same = (np.array(p) for p in peaks)
    assert grows[1] / grows[0] == pytest.approx(same[1] / same[0], rel=0.05)
    assert log(grows[-3] / grows[-1]) < 0.75 * log(same[-3] / same[-1])
    assert log(grows[-3] / grows[-1]) > 0.5 * SMALL


def test_ledger_in_a_driven_line_with_play():
    line = Line()
    a, b = line.mass(0.02, 41.0), line.mass(0.05, 40.0)
    pull(line, a, 7.0)
    e = line.part(KIND, a, b, lash=0.006, progression=2.5, stiffness=6000.0, rated_torque=90.0, relative_damping=1.5,
                  small_swing_damping=0.2)  # fmt: skip
    line.part("friction load", b, 0, running=0.0, viscous=0.15)
    r = run(line, 0.6, w1=300.0, rtol=1e-9)
    assert len(r.events(e)) > 4
    assert r.residual < 1e-8
    assert np.diff(r.heat(e)).min() > -1e-12


@given(small=st.floats(0.0, 3.0), stated=st.floats(0.0, 3.0), progression=st.floats(1.0, 20.0),
       at=st.floats(0.01, 10.0), phi=st.floats(-20.0, 20.0))  # fmt: skip
@settings(max_examples=300, deadline=None)
def test_never_pushes_whatever_is_let_in(small, stated, progression, at, phi):
    """Loss >= 0 at any twist for all inputs that are not refused."""
    raw = {"rated_torque": RATED, "twist_at_rated": TWIST, "relative_damping": stated, "small_swing_damping": small,
           "progression": progression, "damping_swing": at * TWIST}  # fmt: skip
    if refused(**raw):
        assert small > 4.0 * stated
        return
    p = row_of(KIND, W1, **raw)
    assert REGISTRY[KIND].call("loss", seen(p, 5, phi * TWIST, 1.0), 0.0) >= 0.0


@pytest.mark.parametrize("raw", [{}, {"progression": 2.5}, {"warmer_by": 30.0, "damping_factor": 0.7}])
def test_without_the_new_inputs_the_same_bits(raw):
    """The law of before: c*(1 + 2 q d^2/phi_r^2), to the last bit."""
    p = row_of(KIND, W1, rated_torque=RATED, twist_at_rated=TWIST, **raw)
    k, c = p[0], 0.8 * raw.get("damping_factor", 1.0) * p[0] / (2.0 * pi * W1)
    assert p[1] == c
    for phi in np.linspace(-0.2, 0.2, 41):
        d = float(phi)
        T = k * (1.0 + 1.0 * p[3] * d * d) * d + c * (1.0 + 2.0 * p[3] * d * d) * 3.7
        assert REGISTRY[KIND].call("torque", seen(p, 5, d, 3.7)) == T


@pytest.mark.parametrize(
    ("by", "factor"), [(40.0, 0.75), (-40.0, 1.4), (-20.0, 1.4**0.5), (10.0, 0.75**0.25), (0.0, 1)]
)
def test_damping_follows_the_temperature_by_stated_factors(by, factor):
    """As the stiffness does: a power of the share of 40 K; both stated values of the damping change alike."""
    raw = SOFT | {"damping_when_warm": 0.75, "damping_when_cold": 1.4, "warmer_by": by}
    warm, plain = row_of(KIND, W1, **raw), row_of(KIND, W1, **SOFT)
    stiff = exp(log(0.7 if by > 0 else 1 / 1.6) * by / 40.0)
    assert warm[0] / plain[0] == pytest.approx(stiff, rel=1e-12)
    assert warm[1] / plain[1] == pytest.approx(stiff * factor, rel=1e-12)
    assert warm[5] / plain[5] == pytest.approx(stiff * factor, rel=1e-12)
    assert row_of(KIND, W1, **(SOFT | {"damping_when_warm": 0.75})) == plain


@pytest.mark.parametrize(("raw", "words"), [
    ({"small_swing_damping": 2.6, "relative_damping": 0.5}, "five times is the most"),
    ({"small_swing_damping": 0.4, "stiffness": 900.0, "rated_torque": None, "twist_at_rated": None}, "damping_swing"),
    ({"damping_swing": radians(1.0), "small_swing_damping": None}, "needs small_swing_damping"),
    ({"damping_when_warm": 0.8, "temperature_factor": 0.7}, "warmer_by"),
    ({"damping_when_cold": 1.3, "damping_factor": 0.7}, "not both"),
])  # fmt: skip
def test_refused(raw, words):
    given = {k: v for k, v in (SOFT | raw).items() if v is not None}
    found = refused(**given)
    assert len(found) == 1
    assert words in found[0]


@pytest.mark.parametrize("small", [0.0, 2.49])
def test_just_let_in(small):
    assert refused(**(SOFT | {"small_swing_damping": small, "relative_damping": 0.5})) == []
