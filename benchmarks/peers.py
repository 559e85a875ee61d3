"""The same crash by two general-purpose libraries: compiled right-hand side, switches, peaks and ledger.

Both get the compiled laws of :mod:`benchmarks.hand_laws`, one compiled call a right-hand side, one for all
guards, a compiled Jacobian where the method wants one, and peaks read between their steps in one compiled
pass.  Between two switches a library integrates on its own; at a root the compiled switching takes over.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from benchmarks import hand_kernel as hk
from benchmarks import hand_laws as hl
from benchmarks import hand_measures as hm
from benchmarks import hand_step as hs
from benchmarks.hand_line import HandLine

NUDGE, BREATH = 1e-11, 1e-8
"""A located root is passed by NUDGE [s]; after a switch one tiny compiled step of BREATH [s] clears guards."""
FREE = 1e30
"""Absolute tolerance of quadratures: they never steer a step."""


@njit(error_model="numpy")
def slopes(t: float, y: Any, m: Any, p: Any, T: Any, G: Any) -> Any:
    dy = np.empty(hl.NY)
    hl.laws(False, y, dy, T, G, m, p)
    return dy


@njit(error_model="numpy")
def slopes_into(t: float, y: Any, dy: Any, m: Any, p: Any, T: Any, G: Any) -> None:
    hl.laws(False, y, dy, T, G, m, p)


@njit(error_model="numpy")
def guards_into(t: float, y: Any, G: Any, m: Any, p: Any, T: Any, dy: Any) -> None:
    hl.laws(True, y, dy, T, G, m, p)


@njit(error_model="numpy")
def lowest_guard(t: float, y: Any, m: Any, p: Any, T: Any, G: Any, dy: Any) -> float:
    """The smallest guard is zero where the first of all is: one event instead of twelve."""
    hl.laws(True, y, dy, T, G, m, p)
    low = G[0]
    for j in range(1, hl.NG):
        low = min(low, G[j])
    return low


@njit(error_model="numpy")
def jacobian_into(t: float, y: Any, J: Any, m: Any, p: Any, T: Any, G: Any, sizes: Any) -> None:
    """Central differences; quadratures have no columns."""
    z = y.copy()
    a = np.empty(hl.NY)
    b = np.empty(hl.NY)
    for j in range(hl.N):
        d = 1e-6 / sizes[j]
        z[j] = y[j] + d
        hl.laws(False, z, a, T, G, m, p)
        z[j] = y[j] - d
        hl.laws(False, z, b, T, G, m, p)
        z[j] = y[j]
        for i in range(hl.NY):
            J[i, j] = (a[i] - b[i]) / (2.0 * d)


@njit(error_model="numpy")
def advance(t: float, h: float, y: Any, s_k: Any, s_T: Any, s_g: Any, m: Any, p: Any, scale: Any) -> None:
    """One compiled step of the pair."""
    hl.laws(True, y, s_k[0], s_T[hs.T1], s_g[hs.G1], m, p)
    hs.try_step(h, y, s_k, s_T[hs.T1], s_g[hs.G1], m, p, scale)
    for j in range(hl.NY):
        y[j] = s_k[hs.TRIAL, j]
    hl.laws(True, y, s_k[0], s_T[hs.T1], s_g[hs.G1], m, p)


@njit(error_model="numpy")
def switch_here(t: float, y: Any, k: Any, T: Any, g: Any, m: Any, p: Any, out: Any, count: Any) -> float:
    """Switch all that is negative at ``t``; heat booked [J]."""
    for j in range(hl.NG):
        g[hs.GL, j] = 1.0
    hl.laws(True, y, k[0], T[hs.T1], g[hs.G1], m, p)
    return hk.arrive(t, y, k, T, g, m, p, out, count)


@njit(error_model="numpy")
def between(s: float, h: float, a: Any, fa: Any, b: Any, fb: Any, out: Any) -> None:
    """Cubic Hermite interpolation in a step."""
    for j in range(hl.NY):
        d = b[j] - a[j]
        out[j] = a[j] + s * d + s * (1.0 - s) * ((1.0 - s) * (h * fa[j] - d) - s * (h * fb[j] - d))


@njit(error_model="numpy")
def peaks_between(
    ts: Any, ys: Any, middles: Any, have_middles: bool, k: Any, T: Any, G: Any, m: Any, p: Any, out: Any
) -> None:
    """Peaks of all torques over one stretch: both ends, mid-step, and where the parabola turns."""
    for i in range(len(ts) - 1):
        h = ts[i + 1] - ts[i]
        if h <= 0.0:
            continue
        hl.laws(False, ys[i], k[1], T[hs.T0], G, m, p)
        hl.laws(False, ys[i + 1], k[2], T[hs.T1], G, m, p)
        if have_middles:
            for j in range(hl.NY):
                k[3, j] = middles[i, j]
        else:
            between(0.5, h, ys[i], k[1], ys[i + 1], k[2], k[3])
        hl.laws(False, k[3], k[4], T[hs.TM], G, m, p)
        for e in range(hl.NT):
            a = 2.0 * (T[hs.T0, e] - 2.0 * T[hs.TM, e] + T[hs.T1, e])
            b = 4.0 * T[hs.TM, e] - 3.0 * T[hs.T0, e] - T[hs.T1, e]
            if a == 0.0 or -b * a <= 0.0 or abs(b) >= 2.0 * abs(a):
                continue
            if abs(T[hs.T0, e] - 0.25 * b * b / a) > out[e] * (1.0 - 1e-3):
                s = -0.5 * b / a
                if s < 0.5:
                    between(2.0 * s, 0.5 * h, ys[i], k[1], k[3], k[4], k[5])
                else:
                    between(2.0 * s - 1.0, 0.5 * h, k[3], k[4], ys[i + 1], k[2], k[5])
                hl.laws(False, k[5], k[6], T[hs.TP], G, m, p)
                hm.note(e, ts[i] + s * h, T[hs.TP, e], out)
        hm.note_point(ts[i] + 0.5 * h, k[3], T[hs.TM], p, out)
        hm.note_point(ts[i + 1], ys[i + 1], T[hs.T1], p, out)


@dataclass(frozen=True)
class Setup:
    """One way to run a peer."""

    library: str
    method: str
    tolerance: float
    dense: bool = False

    def __str__(self) -> str:
        return f"{self.method} at {self.tolerance:.0e}" + (", dense output" if self.dense else "")


class Peer:
    """Runs the crash of a :class:`HandLine` by a library; gives the measures as the hand-written solver."""

    def __init__(self, line: HandLine, setup: Setup) -> None:
        self.line, self.setup = line, setup
        self.sizes = line.scale[1] * 1e-6 if line.scale.max() > 0 else line.scale[1]
        self.atol = np.full(hl.NY, FREE)
        self.atol[: hl.N] = setup.tolerance / np.maximum(self.sizes, 1e-300)

    def run(self, params: Any = None) -> Any:
        """Measures (N_OUT)."""
        line = self.line
        p = line.params if params is None else params
        y, m, k, T, g, outs, counts, _ = line.scratch(1)
        out, count = outs[0], counts[0]
        y[:], m[:] = line.y0, line.m0
        out[hm.DISC :] = np.nan
        out[hm.SLIP_MAX] = out[hm.RISE_MAX] = 0.0
        out[hm.E0], out[hm.L0] = stored(y, m, p), y[12:19].sum()
        t, heat, h = 0.0, switch_here(0.0, y, k, T, g, m, p, out, count), line.h0
        stretch = self.by_scipy if self.setup.library == "scipy" else self.by_cvode
        while t < line.t_end:
            advance(t, BREATH, y, k, T, g, m, p, line.scale)
            t += BREATH
            if g[hs.G1].min() > 0.0:
                ts, ys, middles, rooted = stretch(t, y, h, m, p, k, T, g)
                peaks_between(ts, ys, middles, len(middles) > 0, k, T, g[hs.GR], m, p, out)
                t = float(ts[-1])
                y[:] = ys[-1]
                if len(ts) > 2:
                    h = 0.3 * float(ts[-2] - ts[-3])
                if not rooted:
                    break
            advance(t, NUDGE, y, k, T, g, m, p, line.scale)
            t += NUDGE
            heat += switch_here(t, y, k, T, g, m, p, out, count)
        out[hm.E1], out[hm.L1] = stored(y, m, p), y[12:19].sum() + heat
        out[hm.RESIDUAL] = out[hm.E0] - out[hm.E1] - (out[hm.L1] - out[hm.L0])
        return out

    def by_scipy(self, t: float, y: Any, h: float, m: Any, p: Any, k: Any, T: Any, g: Any) -> Any:
        from scipy.integrate import solve_ivp

        G, dy, Tl = g[hs.GR], k[hs.K_PROBE], T[hs.TP]

        def event(t: float, y: Any) -> float:
            return lowest_guard(t, y, m, p, Tl, G, dy)

        event.terminal, event.direction = True, -1  # type: ignore[attr-defined]
        more: dict[str, Any] = {}
        if self.setup.method in ("Radau", "BDF", "LSODA"):

            def jac(t: float, y: Any) -> Any:
                J = np.zeros((hl.NY, hl.NY))
                jacobian_into(t, y, J, m, p, Tl, G, self.sizes)
                return J

            more["jac"] = jac
        s = solve_ivp(
            lambda t, y: slopes(t, y, m, p, Tl, G), (t, self.line.t_end), y, method=self.setup.method,
            rtol=1e-13, atol=self.atol, events=event, dense_output=self.setup.dense,
            first_step=min(h, 0.5 * (self.line.t_end - t)), **more,
        )  # fmt: skip
        if s.status < 0:
            raise RuntimeError(s.message)
        middles = np.zeros((0, hl.NY))
        if self.setup.dense:
            mids = 0.5 * (s.t[1:] + s.t[:-1])
            middles = np.array([f(x) for f, x in zip(s.sol.interpolants, mids, strict=True)])
        return s.t, np.ascontiguousarray(s.y.T), middles, s.status == 1

    def by_cvode(self, t: float, y: Any, h: float, m: Any, p: Any, k: Any, T: Any, g: Any) -> Any:
        from sksundae.cvode import CVODE

        G, dy, Tl = g[hs.GR], k[hs.K_PROBE], T[hs.TP]

        def rhs(t: float, y: Any, yp: Any) -> None:
            slopes_into(t, y, yp, m, p, Tl, G)

        def roots(t: float, y: Any, out: Any) -> None:
            guards_into(t, y, out, m, p, Tl, dy)

        def jac(t: float, y: Any, yp: Any, JJ: Any) -> None:
            jacobian_into(t, y, JJ, m, p, Tl, G, self.sizes)

        roots.terminal, roots.direction = [True] * hl.NG, [-1] * hl.NG  # type: ignore[attr-defined]
        solver = CVODE(
            rhs, method=self.setup.method, rtol=1e-15, atol=self.atol, max_num_steps=10**6, eventsfn=roots,
            num_events=hl.NG, jacfn=jac, first_step=min(h, 0.5 * (self.line.t_end - t)),
        )  # fmt: skip
        s = solver.solve(np.array([t, self.line.t_end]), y)
        if not s.success:
            raise RuntimeError(s.message)
        ts, ys = np.asarray(s.t), np.ascontiguousarray(s.y)
        return ts, ys, np.zeros((0, hl.NY)), bool(ts[-1] < self.line.t_end)


@njit(error_model="numpy")
def stored(y: Any, m: Any, p: Any) -> float:
    return hl.stored(y, m, p)
