"""The kernel's own laws, switches and measures, each behind one compiled call, for a library that takes the steps.

Compiled for the kinds of the lines at hand alone.  The library sees the same right-hand side and the same guards; at a
root the kernel's own chain of switches takes over; peaks are read between the library's steps by the kernel's own
bookkeeping, on a cubic through both ends of each step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from simcore.contract import Part, part_of
from simcore.solver import arrays as ar
from simcore.solver import batch, dispatch, integrate, steady, step, watch
from simcore.solver.compile import load_kernel
from simcore.solver.lean import lean

BREATH = 1e-8
"""Length of the one compiled step [s] that clears guards left at zero by their own switch."""


@dataclass(frozen=True)
class Pieces:
    """Compiled functions; all take the arrays of :mod:`simcore.solver.arrays`."""

    begin: Any
    slopes: Any
    roots: Any
    jacobian: Any
    arrive: Any
    opened: Any
    take_in: Any
    breathe: Any
    close: Any
    nothing: Any
    """Takes what ``slopes`` takes and does nothing: the price of handing the arrays over."""


def begin_with(adopt: Any, njit: Any) -> Any:
    """Start of a case: tables, steady running, first switches."""
    prepare, solve, clear = adopt(batch.prepare), adopt(steady.solve_steady), adopt(watch.clear_measures)
    opened, arrive = adopt(integrate.begin_ledger), adopt(integrate.arrive)
    clock = adopt(integrate.next_clock)

    @njit(error_model="numpy")
    def begin(cases: Any, y: Any, jac: Any, line: Any, state: Any, work: Any) -> tuple[bool, float]:
        clear(line, work)
        prepare(0, cases, y, line, state, work)
        setup = cases.setup[0]
        for j in range(work.count.shape[0]):
            work.count[j] = 0
        fine = True
        if setup[6] > 0.5:
            fine = solve(y, cases.steady[0], line, state, work, jac) == 0
        work.g[:] = 1.0
        work.g[ar.GMAX, :] = 0.0
        t = setup[0]
        if t >= 0.0:
            opened(t, y, line, state, work)
        fine = arrive(t, y, t >= 0.0, line, state, work) and fine
        return fine, clock(t, y, line, state)

    return begin


def laws_with(adopt: Any, njit: Any) -> tuple[Any, Any, Any]:
    """Slopes, guards, and the slopes' differences by the steering states."""
    evaluate = adopt(dispatch.evaluate)

    @njit(error_model="numpy")
    def slopes(t: float, y: Any, dy: Any, line: Any, state: Any, work: Any) -> None:
        evaluate(t, ar.PLAIN, y, dy, work.t[ar.TL], work.g[ar.GR], line, state)

    @njit(error_model="numpy")
    def roots(t: float, y: Any, out: Any, line: Any, state: Any, work: Any) -> None:
        out[:] = 1.0  # guards that are not watched now are left as they are, and the library's memory is not clean
        evaluate(t, ar.FULL, y, work.k[ar.K_PROBE], work.t[ar.TL], out, line, state)

    @njit(error_model="numpy")
    def jacobian(t: float, y: Any, out: Any, n: int, sizes: Any, line: Any, state: Any, work: Any) -> None:
        z, a, b = work.k[ar.PROBE], work.k[ar.K_PROBE], work.k[ar.K_MIDDLE]
        z[:] = y
        for j in range(n):
            d = 1e-6 * sizes[j]
            z[j] = y[j] + d
            slopes(t, z, a, line, state, work)
            z[j] = y[j] - d
            slopes(t, z, b, line, state, work)
            z[j] = y[j]
            for i in range(y.shape[0]):
                out[i, j] = (a[i] - b[i]) / (2.0 * d)

    return slopes, roots, jacobian


def ends_with(adopt: Any, njit: Any) -> tuple[Any, Any, Any]:
    """Switches at an instant, start and end of the ledger."""
    arrive, clock = adopt(integrate.arrive), adopt(integrate.next_clock)
    begin, end, evaluate = adopt(integrate.begin_ledger), adopt(watch.close_ledger), adopt(dispatch.evaluate)

    @njit(error_model="numpy")
    def settled(t: float, y: Any, live: bool, line: Any, state: Any, work: Any) -> tuple[bool, float]:
        fine = arrive(t, y, live, line, state, work)
        return fine, clock(t, y, line, state)

    @njit(error_model="numpy")
    def opened(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
        begin(t, y, line, state, work)

    @njit(error_model="numpy")
    def close(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
        evaluate(t, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
        end(t, y, work.k[0], line, state, work)

    return settled, opened, close


def steps_with(adopt: Any, njit: Any) -> tuple[Any, Any]:
    """Measures over a stretch of library steps, and one tiny compiled step."""
    evaluate, note, dense = adopt(dispatch.evaluate), adopt(watch.note_step), adopt(step.dense)
    trial = adopt(step.try_step)

    @njit(error_model="numpy")
    def one(t: float, h: float, y: Any, y1: Any, line: Any, state: Any, work: Any) -> None:
        k, T, G = work.k, work.t, work.g[ar.GR]
        f0, f1 = k[0], k[ar.K_END]
        evaluate(t, ar.PLAIN, y, f0, T[ar.T0], G, line, state)
        evaluate(t + h, ar.PLAIN, y1, f1, T[ar.T1], G, line, state)
        k[ar.KIND_OF_STEP, 0] = ar.LONG
        for j in range(y.shape[0]):
            rise = y1[j] - y[j]
            k[ar.RISE, j] = rise
            k[ar.BOW_1, j] = h * f0[j] - rise
            k[ar.BOW_2, j] = 2.0 * rise - h * (f0[j] + f1[j])
        dense(0.5, h, y, k, k[ar.MIDDLE])
        evaluate(t + 0.5 * h, ar.PLAIN, k[ar.MIDDLE], k[ar.K_MIDDLE], T[ar.TM], G, line, state)
        note(t, h, 1.0, y, k[ar.MIDDLE], y1, line, state, work)

    @njit(error_model="numpy")
    def take_in(ts: Any, ys: Any, line: Any, state: Any, work: Any) -> None:
        for i in range(ts.shape[0] - 1):
            if ts[i + 1] > ts[i]:
                one(ts[i], ts[i + 1] - ts[i], ys[i], ys[i + 1], line, state, work)

    @njit(error_model="numpy")
    def breathe(t: float, h: float, y: Any, n: int, live: bool, line: Any, state: Any, work: Any) -> None:
        evaluate(t, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
        trial(t, h, y, n, line, state, work)
        if live:
            note(t, h, 1.0, y, work.k[ar.MIDDLE], work.k[ar.TRIAL], line, state, work)
        for j in range(y.shape[0]):
            y[j] = work.k[ar.TRIAL, j]

    return take_in, breathe


def pieces(kinds: Sequence[Part]) -> Pieces:
    """Compiled for ``kinds``, which keep their numbers."""
    from numba import njit as compiled

    def njit(**options: Any) -> Any:
        """As the kernel's own entry: it links all that it calls."""
        return compiled(**lean(options, entry=True))

    own = [part_of(p.module, p.index) for p in sorted(kinds, key=lambda p: p.index)]
    adopt = load_kernel(own)._adopter.adopt
    slopes, roots, jacobian = laws_with(adopt, njit)
    settled, opened, close = ends_with(adopt, njit)
    take_in, breathe = steps_with(adopt, njit)

    @njit(error_model="numpy")
    def nothing(t: float, y: Any, dy: Any, line: Any, state: Any, work: Any) -> None:
        pass

    return Pieces(begin_with(adopt, njit), slopes, roots, jacobian, settled, opened, take_in, breathe, close, nothing)
