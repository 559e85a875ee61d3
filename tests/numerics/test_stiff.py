"""The L-stable step: its order, stiff problems of the literature, and its handover with the explicit pair."""

from __future__ import annotations

from functools import cache
from math import cos, sin

import numpy as np
import pytest
from crashes import PROTECTIONS, crash
from lines import Line, Start
from lines import run as run_line
from toy_rates import MODULES

from simcore.contract import registry_of
from simcore.solver import arrays as ar
from simcore.solver import rosenbrock as rb
from simcore.solver.compile import plain_kernel
from simcore.solver.kernel import run_one
from simcore.solver.stiff import stiff_step

REGISTRY = registry_of(MODULES)


@cache
def module():
    return plain_kernel(list(REGISTRY.values()))


def toy(kind: str, x: tuple[float, ...]) -> Line:
    line = Line(REGISTRY)
    line.mass(1.0)
    line.part(kind, start=Start(x=x))
    return line


def ended(kind: str, x: tuple[float, ...], t_end: float, rtol: float, h0: float = 1e-6):
    """Own states at the end, by long steps alone."""
    line = toy(kind, x)
    a = line.assembly(t_end, rtol=rtol, stepper=ar.STIFF_ONLY, h0=h0, fast=1.0).with_setup(longest=1e9, most_steps=1e6)
    out = run_one(a, trace=False, module=module())
    assert out.status == ar.Status.DONE
    x0 = int(a.parts[0, ar.X0])
    return out.y[x0 : x0 + len(x)], out.counts


def test_van_der_pol():
    """mu = 1e6, from (2, 0) to t = 2: Hairer and Wanner, Solving ODEs II, 1996 (value recomputed at 1e-12)."""
    y, counts = ended("van der Pol", (2.0, 0.0), 2.0, 1e-8)
    assert y == pytest.approx([1.70616773217, -0.892809701025], rel=2e-5)
    assert counts[ar.STEPS] < 6000


def test_robertson():
    """Three reactions to t = 40: Hairer and Wanner, Solving ODEs II, 1996 (value recomputed at 1e-12)."""
    y, counts = ended("Robertson", (1.0, 0.0, 0.0), 40.0, 1e-6)
    assert y == pytest.approx([0.715827069, 9.18553476e-6, 0.284163746], rel=1e-5)
    assert counts[ar.STEPS] < 400


def one_pass(steps: int) -> float:
    """Largest error at t = 1 with equal steps."""
    line = toy("follower", (0.3, 0.8))
    a = line.assembly(1.0, rtol=1e9, stepper=ar.STIFF_ONLY, fast=1.0)
    from simcore.solver.arrays import working_arrays

    frozen, state, work = working_arrays(a, 0, 0)
    y = a.y0.copy()
    n = int(a.setup[4])
    kernel = module()
    work.scale[:] = 1e3
    step = kernel._adopter.adopt(stiff_step)
    for i in range(steps):
        kernel.evaluate(i / steps, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], frozen, state)
        assert step(i / steps, 1.0 / steps, y, n, frozen, state, work) < 1.0
        y[:] = work.k[ar.TRIAL]
    x0 = int(a.parts[0, ar.X0])
    return float(np.abs(y[x0 : x0 + 2] - reference()).max())


@cache
def reference():
    """The same system by scipy's DOP853 at 1e-13."""
    from scipy.integrate import solve_ivp

    def rates(t, x):
        return [-5.0 * (x[0] - sin(t)) * (1.0 + x[1] * x[1]) + cos(t),
                -3.0 * (x[1] - cos(t)) * (1.5 + x[0]) - sin(t)]  # fmt: skip

    return solve_ivp(rates, (0.0, 1.0), [0.3, 0.8], "DOP853", rtol=1e-13, atol=1e-14).y[:, -1]


def test_order_by_regression():
    steps = np.array([64, 128, 256, 512])
    errors = np.array([one_pass(int(s)) for s in steps])
    order = -np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert 3.8 < order < 4.6


def test_stiffly_accurate_and_l_stable():
    """The last stages are the result, so the stability function ends at zero (Hairer and Wanner, IV.7)."""
    assert rb.A[5][:4] == rb.A[4][:4]
    assert rb.A[5][4] == 1.0
    z = -1e9
    u = []
    for i in range(rb.STAGES):
        x = 1.0 + sum(rb.A[i][m] * u[m] for m in range(i))
        u.append((z * x + sum(rb.COUPLING[i][m] * u[m] for m in range(i))) / (1.0 / rb.GAMMA - z))
    assert abs(1.0 + sum(rb.A[5][m] * u[m] for m in range(5)) + u[5]) < 1e-6


@pytest.mark.parametrize("kind", PROTECTIONS)
def test_handover(kind):
    """The same events and peaks with the L-stable step forced, forbidden, and as it comes."""
    line = crash(kind)
    runs = {s: run_line(line, 0.15, rtol=1e-9, w1=60.0, stepper=s)
            for s in (ar.EXPLICIT_ONLY, ar.AUTOMATIC, ar.STIFF_ONLY)}  # fmt: skip
    first = runs[ar.EXPLICIT_ONLY]
    for r in runs.values():
        n = min(20, len(first.out.events))
        assert np.array_equal(r.out.events[:n, 1:5], first.out.events[:n, 1:5])
        assert r.out.events[:n, 0] == pytest.approx(first.out.events[:n, 0], abs=1e-6)
        assert [r.peak(e) for e in range(5)] == pytest.approx([first.peak(e) for e in range(5)], rel=1e-5)
        assert r.residual < 1e-6


def test_quiet_minutes_cost_little():
    """A line that runs on for ten minutes after its vibrations have died away: a few long steps, no energy lost."""
    line = crash("friction disc", psi=0.8)
    line.elements = line.elements[:-1]
    line.starts = line.starts[:-1]
    short = run_line(line, 20.0, w1=60.0, rtol=1e-6, stepper=ar.EXPLICIT_ONLY)
    long = run_line(line, 600.0, w1=60.0, rtol=1e-6)
    assert long.out.counts[ar.STEPS] < 0.5 * short.out.counts[ar.STEPS]
    assert long.residual < 1e-6
    tight = run_line(line, 20.0, w1=60.0, rtol=1e-9, stepper=ar.EXPLICIT_ONLY)
    assert long.speed(3)[-1] == pytest.approx(tight.speed(3)[-1], rel=1e-9)
