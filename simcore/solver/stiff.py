"""One L-stable step, for quiet stretches in which the explicit pair is held short by stability alone.

The Jacobian is taken by differences; quadratures ride along and never steer.  What a finished
step leaves in ``work.k`` for its dense output: rows RISE (whole change), BOW_1 and BOW_2, and LONG set.

Angles are taken in a frame that turns on at the speeds of the step's start: in a long step a shaft turns many times,
and what rounding leaves of the Jacobian's cancelling entries must not act on that.  The method itself is unchanged by
it (a linear change of variables).
"""

from __future__ import annotations

from math import copysign, sqrt
from typing import Any

from simcore.solver.arrays import (
    BOW_1,
    BOW_2,
    FULL,
    G1,
    GM,
    K_END,
    K_MIDDLE,
    KIND_OF_STEP,
    LONG,
    LOSS,
    MIDDLE,
    PLAIN,
    PROBE,
    RISE,
    T1,
    TL,
    TM,
    TRIAL,
)
from simcore.solver.dispatch import evaluate
from simcore.solver.rosenbrock import COUPLING, GAMMA, STAGES, A, C, D, H
from simcore.solver.step import bending, dense

SHARE = 1e-2
"""Difference for the Jacobian over a state's tolerance ..."""
FINE_SHARE = 1e-8
"""... and, added to it, over its size: of an angle past 1 rad over the root of it, as parts feel twists, not angles.
After an hour's turning the plain share would be a twist far past the kinks of play and loss."""
ROUNDING = 2e-13
"""Error of an angle, over its size, below which it is rounding: a thousand units in the last place."""
TINY = 1e-300
SOON = 1e-3
"""Difference in time, to both sides, over the step, for the slope's own change."""


def differences(t: float, h: float, y: Any, n: int, weights: Any, line: Any, state: Any, work: Any) -> None:
    """Jacobian of all slopes by the ``n`` steering states, and the slopes' change with time.

    Differences lead away from zero, so that a mirrored line gives the mirrored bits.
    """
    base, moved = work.k[0], work.k[PROBE]
    for j in range(n):
        keep = y[j]
        size = abs(keep)
        if j < line.nodes.shape[0] and size > 1.0:
            size = sqrt(size)
        d = FINE_SHARE * size + (SHARE / weights[j] if weights[j] > 0.0 else FINE_SHARE)
        d = (keep + copysign(d, keep if keep != 0.0 else base[j])) - keep
        y[j] = keep + d
        evaluate(t, PLAIN, y, moved, work.t[TL], work.g[G1], line, state)
        y[j] = keep
        for i in range(y.shape[0]):
            work.jac[i, j] = (moved[i] - base[i]) / d
    ahead, behind, turning = work.k[TRIAL], work.k[MIDDLE], line.nodes.shape[0]
    for side in (-1.0, 1.0):
        for j in range(y.shape[0]):
            ahead[j] = y[j] + (side * SOON * h * base[j] if j < turning else 0.0)
        slopes = behind if side < 0.0 else moved
        evaluate(t + side * SOON * h, PLAIN, ahead, slopes, work.t[TL], work.g[G1], line, state)
    for i in range(y.shape[0]):
        work.u[STAGES, i] = 0.5 * (moved[i] - behind[i]) / SOON


def factorise(h: float, n: int, work: Any) -> bool:
    """LU with partial pivoting of ``1/(g h) - J``; False if singular."""
    a, order = work.lu, work.order
    for i in range(n):
        order[i] = i
        for j in range(n):
            a[i, j] = -work.jac[i, j]
        a[i, i] += 1.0 / (GAMMA * h)
    for i in range(n):
        p = i
        for r in range(i + 1, n):
            if abs(a[r, i]) > abs(a[p, i]):
                p = r
        if not abs(a[p, i]) > 0.0:
            return False
        if p != i:
            for c in range(n):
                x = a[i, c]
                a[i, c] = a[p, c]
                a[p, c] = x
            swap = order[i]
            order[i] = order[p]
            order[p] = swap
        for r in range(i + 1, n):
            f = a[r, i] / a[i, i]
            a[r, i] = f
            if f != 0.0:
                for c in range(i + 1, n):
                    a[r, c] -= f * a[i, c]
    return True


def solve(n: int, work: Any, b: Any, x: Any) -> None:
    """``x`` (n leading entries) from the right side ``b``."""
    a = work.lu
    for i in range(n):
        s = b[work.order[i]]
        for c in range(i):
            s -= a[i, c] * x[c]
        x[i] = s
    for i in range(n - 1, -1, -1):
        s = x[i]
        for c in range(i + 1, n):
            s -= a[i, c] * x[c]
        x[i] = s / a[i, i]


def stage(i: int, t: float, h: float, y: Any, n: int, line: Any, state: Any, work: Any) -> None:
    """Row ``i`` of ``work.u``."""
    u, b, x = work.u, work.k[PROBE], work.k[TRIAL]
    turning = line.nodes.shape[0]
    if i == 0:
        for j in range(y.shape[0]):
            b[j] = work.k[0, j]
    else:
        for j in range(y.shape[0]):
            s = y[j]
            if j < turning:
                s += C[i] * h * work.k[0, j]
            for m in range(i):
                s += A[i][m] * u[m, j]
            x[j] = s
        evaluate(t + C[i] * h, PLAIN, x, b, work.t[TL], work.g[G1], line, state)
    for j in range(y.shape[0]):
        s = b[j] + D[i] * u[STAGES, j]
        if j < turning:
            s -= work.k[0, j]
        for m in range(i):
            s += COUPLING[i][m] / h * u[m, j]
        b[j] = s
    solve(n, work, b, u[i])
    for j in range(n, y.shape[0]):
        s = b[j]
        for m in range(n):
            s += work.jac[j, m] * u[i, m]
        u[i, j] = GAMMA * h * s


def stiff_step(t: float, h: float, y: Any, n: int, line: Any, state: Any, work: Any) -> float:
    """Take one trial step; gives the error over tolerance.  Leaves what ``try_step`` leaves."""
    k, u = work.k, work.u
    weights = work.scale[bending(y, line, state)]
    differences(t, h, y, n, weights, line, state, work)
    if not factorise(h, n, work):
        return 1e9
    for i in range(STAGES):
        stage(i, t, h, y, n, line, state, work)
    error = 0.0
    for j in range(n):
        r = abs(u[STAGES - 1, j]) * weights[j]
        if j < line.nodes.shape[0]:
            r = min(r, abs(u[STAGES - 1, j]) / (ROUNDING * abs(y[j]) + TINY))
        if not r <= error:
            error = r
    if not error <= 1.0:
        return error
    k[KIND_OF_STEP, 0] = LONG
    for j in range(y.shape[0]):
        x = u[STAGES - 1, j]
        if j < line.nodes.shape[0]:
            x += h * k[0, j]
        bow_1 = 0.0
        bow_2 = 0.0
        for m in range(STAGES - 1):
            x += A[STAGES - 1][m] * u[m, j]
            bow_1 += H[0][m] * u[m, j]
            bow_2 += H[1][m] * u[m, j]
        k[RISE, j] = x
        k[BOW_1, j] = bow_1
        k[BOW_2, j] = bow_2
        k[TRIAL, j] = y[j] + x
    evaluate(t + h, FULL, k[TRIAL], k[K_END], work.t[T1], work.g[G1], line, state)
    keep_heat(y, line, k)
    dense(0.5, h, y, k, k[MIDDLE])
    evaluate(t + 0.5 * h, FULL, k[MIDDLE], k[K_MIDDLE], work.t[TM], work.g[GM], line, state)
    return error


def keep_heat(y: Any, line: Any, k: Any) -> None:
    """No heat is taken back: where power is lost at both ends a long step finds no less than nothing, half way too.

    Quadratures do not steer, and this one is open by less than the tolerance; the ledger keeps the difference.
    """
    for e in range(line.parts.shape[0]):
        j = line.parts[e, LOSS]
        if k[0, j] < 0.0 or k[K_END, j] < 0.0:
            continue
        k[RISE, j] = max(k[RISE, j], 0.0)
        k[TRIAL, j] = y[j] + k[RISE, j]
        half = 0.5 * k[RISE, j] + 0.25 * (k[BOW_1, j] + 0.5 * k[BOW_2, j])
        if half < 0.0 or half > k[RISE, j]:
            k[BOW_1, j] = 0.0
            k[BOW_2, j] = 0.0


def unrest(h: float, n: int, y: Any, line: Any, state: Any, work: Any) -> float:
    """How much the slopes changed over the last step, in tolerances: little where nothing happens any more."""
    weights = work.scale[bending(y, line, state)]
    worst = 0.0
    for j in range(n):
        r = abs(h * (work.k[K_END, j] - work.k[0, j])) * weights[j]
        if not r <= worst:
            worst = r
    return worst
