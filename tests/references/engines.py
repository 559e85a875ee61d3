"""Two library integrators that carry a system from one switch to the next, and the run around them."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import minimize_scalar

from .hybrid import System

BREATH = 1e-6
"""After a switch the first stretch is this short [s]: guards that just switched get clear of zero."""
RTOL = {"scipy": 1e-11, "cvode": 1e-11}


def tolerances(system: System) -> np.ndarray:
    """Absolute tolerances: rad, rad/s, own states, and energies that steer less."""
    atol = np.full(system.size, 1e-12)
    atol[system.nn : 2 * system.nn] = 1e-10
    atol[system.heat0 :] = 1e-9
    return atol


def by_scipy(system: System, t, y, goal, step):
    """Eighth-order Runge-Kutta of scipy with terminal events.  Gives t, y, instants, interpolant."""
    count = len(system.guards(t, np.array(y)))

    def event(i):
        def g(t, y):
            return system.guards(t, y)[i]

        g.terminal = True
        g.direction = -1
        return g

    s = solve_ivp(
        system.rhs, (t, goal), np.array(y), method="DOP853", rtol=RTOL["scipy"], atol=tolerances(system),
        events=[event(i) for i in range(count)], dense_output=True, max_step=step,
    )  # fmt: skip
    if s.status < 0:
        raise RuntimeError(s.message)
    return float(s.t[-1]), s.y[:, -1].tolist(), s.t, s.sol


def by_cvode(system: System, t, y, goal, step):
    """Adams method of CVODE with root finding.  Gives t, y, instants, interpolant."""
    from sksundae.cvode import CVODE

    count = len(system.guards(t, np.array(y)))

    def rhs(t, y, dy):
        dy[:] = system.evaluate(t, y.tolist())[0]

    def roots(t, y, g):
        g[:] = system.guards(t, y.tolist())

    roots.terminal = [True] * count
    roots.direction = [-1] * count
    more = {"eventsfn": roots, "num_events": count} if count else {}
    solver = CVODE(
        rhs, method="Adams", rtol=RTOL["cvode"], atol=tolerances(system), max_step=step, max_num_steps=10**6,
        **more,
    )  # fmt: skip
    s = solver.solve(np.array([t, goal]), np.array(y))
    if not s.success:
        raise RuntimeError(s.message)
    ts, keep = np.unique(np.asarray(s.t), return_index=True)
    ys = np.asarray(s.y)[keep]
    if len(ts) < 2:
        return float(ts[-1]), ys[-1].tolist(), ts, lambda _: ys[-1]
    slopes = np.array([system.rhs(a, b) for a, b in zip(ts, ys, strict=True)])
    return float(ts[-1]), ys[-1].tolist(), ts, CubicHermiteSpline(ts, ys, slopes)


ENGINES = {"scipy": by_scipy, "cvode": by_cvode}


@dataclass
class Run:
    """What a reference run gives."""

    system: System
    y0: list[float]
    y: list[float]
    t: float
    peaks: list[float]
    t_peaks: list[float]
    e0: float
    classes: list[tuple[float, str, str]] = field(default_factory=list)
    swings: list[tuple[float, float, int, float]] = field(default_factory=list)
    """Begin, end, element, largest |T| of every stretch without a switch."""


def note_peaks(system: System, ts, sol, run: Run, points: int) -> None:
    """Largest |T| of every element in one stretch: sampled between the steps, then refined."""
    s = np.unique(np.concatenate([np.linspace(a, b, points + 1) for a, b in pairwise(ts)]))
    T = np.abs(np.array([system.evaluate(t, np.asarray(sol(t)).tolist())[1] for t in s]))
    for i in range(len(system.elements)):
        v = T[:, i]
        run.swings.append((float(s[0]), float(s[-1]), i, float(v.max())))
        inner = np.flatnonzero((v[1:-1] >= v[:-2]) & (v[1:-1] >= v[2:])) + 1
        for j in [int(v.argmax()), *inner[v[inner] > 0.995 * max(v.max(), run.peaks[i])]]:
            best, at = v[j], s[j]
            if len(s) > 1:
                found = minimize_scalar(
                    lambda t, i=i: -abs(system.evaluate(t, np.asarray(sol(t)).tolist())[1][i]),
                    bounds=(s[max(j - 1, 0)], s[min(j + 1, len(s) - 1)]), method="bounded", options={"xatol": 1e-11},
                )  # fmt: skip
                if -found.fun > best:
                    best, at = -found.fun, found.x
            if best > run.peaks[i]:
                run.peaks[i], run.t_peaks[i] = float(best), float(at)


def simulate(system: System, y, horizon: float, step: float, engine: str = "scipy", most: int = 10**6) -> Run:
    """From t = 0 to the horizon, or until ``most`` switches are logged."""
    advance = ENGINES[engine]
    n = len(system.elements)
    e0 = system.energy(y)
    run = Run(system, list(y), list(y), 0.0, [0.0] * n, [0.0] * n, e0)
    t = 0.0
    y = list(y)
    note_instant(system, t, y, run)
    system.settle(t, y)
    note_instant(system, t, y, run)
    fresh = True
    while t < horizon and len(system.log) < most:
        goal = min(horizon, system.next_clock(), t + BREATH if fresh else horizon)
        t, y, ts, sol = advance(system, t, y, goal, step)
        fresh = not (fresh and t >= goal)
        if len(ts) > 1:
            note_peaks(system, ts, sol, run, 5 if engine == "scipy" else 1)
        note_instant(system, t, y, run)
        system.settle(t, y)
        note_instant(system, t, y, run)
    run.t, run.y = t, y
    return run


def note_instant(system: System, t, y, run: Run) -> None:
    """Torques and classes at one limit of an instant."""
    for i, T in enumerate(system.evaluate(t, y)[1]):
        if abs(T) > run.peaks[i]:
            run.peaks[i], run.t_peaks[i] = abs(T), t
    for e in system.elements:
        c = e.klass()
        last = next((x[2] for x in reversed(run.classes) if x[1] == e.name), "engaged")
        if c != last:
            run.classes.append((t, e.name, c))
