"""The instant from which a protection is without load: |T| at or below a tenth of the setting."""

from __future__ import annotations

from math import exp, isnan, nan, sin, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from lines import Line, ideal_disc, run
from scipy.optimize import brentq

from simcore.contract import COL_SETTING, OPEN
from simcore.solver import arrays as ar
from simcore.solver import watch

SPEED, STIFFNESS, VISCOUS, SETTING = 3.0, 100.0, 4.0, 100.0


@pytest.mark.parametrize("inertia", [1.0, 1.7, 2.3])
@pytest.mark.parametrize(("rtol", "error"), [(1e-6, 1e-7), (1e-10, 1e-9)])
def test_of_a_damped_swing(inertia, rtol, error):
    """Closed form of the damped swing: T = k v/w exp(-z t) sin(w t), the last time it passes a tenth."""
    line = Line()
    n, end = line.mass(inertia, speed=SPEED), line.lead(0.0)
    disc = line.part("friction disc", n, end, **ideal_disc(SETTING, STIFFNESS))
    line.part("friction load", n, running=0.0, viscous=VISCOUS)
    z = 0.5 * VISCOUS / inertia
    w = sqrt(STIFFNESS / inertia - z * z)

    def over(t):
        return abs(STIFFNESS * SPEED / w * exp(-z * t) * sin(w * t)) - 0.1 * SETTING

    t = np.linspace(1e-3, 4.0, 100_000)
    last = np.flatnonzero([over(x) > 0.0 for x in t])[-1]
    exact = brentq(over, t[last], t[last + 1], xtol=1e-14)
    assert run(line, 4.0, rtol=rtol, fast=SPEED).meas[disc, ar.LOW] == pytest.approx(exact, abs=error)


def noted(torque, first, last, since):
    """Measures of an open protection of setting 10 after :func:`watch.note_low` between two instants, one step."""
    line = SimpleNamespace(
        parts=np.zeros((1, ar.N_PART), dtype=np.int64), p=np.zeros((1, 48)), klass=np.array([[OPEN]])
    )
    line.klass = np.array([[OPEN]])
    line.parts[0, ar.PROTECTS] = 1
    line.p[0, COL_SETTING] = 10.0
    work = SimpleNamespace(k=np.zeros((20, 4)), t=np.zeros((5, 1)), meas=np.full((1, ar.N_MEAS), nan))
    work.k[ar.KIND_OF_STEP, 0] = ar.LONG
    work.t[ar.T0, 0], work.t[ar.T1, 0] = torque(first), torque(last)
    work.meas[0, ar.LOW] = work.meas[0, ar.LOW_OPEN] = since
    state = SimpleNamespace(mode=[0])
    watch.note_low(0.0, 1.0, ar.T0, ar.T1, first, last - first, np.zeros(4), line, state, work)
    return work.meas[0]


@pytest.mark.parametrize("torque", [lambda t: 200.0 * t, lambda t: -200.0 * t, lambda t: 1.0 + np.expm1(t - 0.005)])
@pytest.mark.parametrize(("since", "long_enough"), [(-0.5e-3, True), (0.5e-3, False)])
def test_what_rises_between_two_looks_was_low_until_then(monkeypatch, torque, since, long_enough):
    """Low from ``since`` until 5 ms: a disconnection only if that makes five."""
    monkeypatch.setattr(watch, "torque_at", lambda e, s, t, h, *rest: torque(t + s * h))
    m = noted(torque, 0.0, 0.02, since)
    assert (m[ar.DISCONNECT] == since) if long_enough else isnan(m[ar.DISCONNECT])


def test_what_falls_between_two_looks_is_low_from_then_on(monkeypatch):
    monkeypatch.setattr(watch, "torque_at", lambda e, s, t, h, *rest: exp(90.0 * (0.012 - t - s * h)))
    m = noted(lambda t: exp(90.0 * (0.012 - t)), 0.0, 0.02, nan)
    assert m[ar.LOW] == m[ar.LOW_OPEN] == pytest.approx(0.012, abs=2e-10)
