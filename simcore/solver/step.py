"""One step of the Runge-Kutta pair: trial states, error, dense output."""

from __future__ import annotations

from typing import Any

from simcore.contract import COL_BEND, COL_RA, COL_RB, SLIPPING
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
    MIDDLE,
    PLAIN,
    RISE,
    SHORT,
    SPEED_A,
    SPEED_B,
    T1,
    TM,
    TRIAL,
)
from simcore.solver.dispatch import evaluate
from simcore.solver.tableau import ERROR, HALF, A, C, dense_weights

SHARE = (*C, 0.5)
"""Instants of the nine stages and of mid-step over the step."""


def trial_state(i: int, h: float, y: Any, k: Any, n: int, out: Any) -> None:
    """State at which stage ``i`` is evaluated, after the last the one at mid-step; ``n`` leading entries."""
    if i == 1:
        for j in range(n):
            out[j] = y[j] + h * (A[1][0] * k[0, j])
    elif i == 2:
        for j in range(n):
            out[j] = y[j] + h * (A[2][0] * k[0, j] + A[2][1] * k[1, j])
    elif i == 3:
        for j in range(n):
            out[j] = y[j] + h * (A[3][0] * k[0, j] + A[3][2] * k[2, j])
    elif i == 4:
        for j in range(n):
            out[j] = y[j] + h * (A[4][0] * k[0, j] + A[4][2] * k[2, j] + A[4][3] * k[3, j])
    elif i == 5:
        for j in range(n):
            out[j] = y[j] + h * (A[5][0] * k[0, j] + A[5][2] * k[2, j] + A[5][3] * k[3, j] + A[5][4] * k[4, j])
    elif i == 6:
        for j in range(n):
            out[j] = y[j] + h * (
                A[6][0] * k[0, j] + A[6][2] * k[2, j] + A[6][3] * k[3, j] + A[6][4] * k[4, j] + A[6][5] * k[5, j]
            )
    elif i == 7:
        for j in range(n):
            out[j] = y[j] + h * (
                A[7][0] * k[0, j]
                + A[7][2] * k[2, j]
                + A[7][3] * k[3, j]
                + A[7][4] * k[4, j]
                + A[7][5] * k[5, j]
                + A[7][6] * k[6, j]
            )
    elif i == 8:
        for j in range(n):
            out[j] = y[j] + h * (
                A[8][0] * k[0, j]
                + A[8][3] * k[3, j]
                + A[8][4] * k[4, j]
                + A[8][5] * k[5, j]
                + A[8][6] * k[6, j]
                + A[8][7] * k[7, j]
            )
    else:
        for j in range(n):
            out[j] = y[j] + h * (
                HALF[0] * k[0, j]
                + HALF[3] * k[3, j]
                + HALF[4] * k[4, j]
                + HALF[5] * k[5, j]
                + HALF[6] * k[6, j]
                + HALF[7] * k[7, j]
                + HALF[8] * k[8, j]
            )


def error_norm(h: float, k: Any, scale: Any, n: int, out: Any) -> float:
    """Largest error of the step over its tolerance; no number if one of them is none.  ``out``: room for all."""
    for j in range(n):
        e = h * (
            ERROR[0] * k[0, j]
            + ERROR[3] * k[3, j]
            + ERROR[4] * k[4, j]
            + ERROR[5] * k[5, j]
            + ERROR[6] * k[6, j]
            + ERROR[7] * k[7, j]
            + ERROR[8] * k[8, j]
        )
        out[j] = abs(e) * scale[j]
    worst = 0.0
    for j in range(n):
        if not out[j] <= worst:
            worst = out[j]
            if worst != worst:
                break
    return worst


def dense(s: float, h: float, y: Any, k: Any, out: Any) -> None:
    """State at the share ``s`` of a finished step."""
    if k[KIND_OF_STEP, 0] == LONG:
        for j in range(y.shape[0]):
            out[j] = y[j] + s * (k[RISE, j] + (1.0 - s) * (k[BOW_1, j] + s * k[BOW_2, j]))
        return
    half, whole, start, middle, end = dense_weights(s)
    for j in range(y.shape[0]):
        out[j] = (
            y[j]
            + (half * (k[MIDDLE, j] - y[j]) + whole * (k[TRIAL, j] - y[j]))
            + h * (start * k[0, j] + middle * k[K_MIDDLE, j] + end * k[K_END, j])
        )


def dense_one(s: float, h: float, y: Any, k: Any, j: int) -> float:
    """Entry ``j`` of the state at the share ``s`` of a finished step."""
    if k[KIND_OF_STEP, 0] == LONG:
        return float(y[j] + s * (k[RISE, j] + (1.0 - s) * (k[BOW_1, j] + s * k[BOW_2, j])))
    half, whole, start, middle, end = dense_weights(s)
    return float(
        y[j]
        + (half * (k[MIDDLE, j] - y[j]) + whole * (k[TRIAL, j] - y[j]))
        + h * (start * k[0, j] + middle * k[K_MIDDLE, j] + end * k[K_END, j])
    )


LANES = 4
"""Entries a processor computes at once: to fill the last lot with some that nobody reads costs less than to take what
is left over one by one."""
BENDS = 6.0
"""A law counts as bending while its part slides slower than so many of its bending speeds."""


def bending(y: Any, line: Any, state: Any) -> int:
    """1 while some protection slides where its law bends, else 0: the row of error weights that holds."""
    for e in range(line.parts.shape[0]):
        bend = line.p[e, COL_BEND]
        if bend > 0.0 and line.klass[e, state.mode[e]] == SLIPPING:
            row = line.parts[e]
            slip = line.p[e, COL_RA] * y[row[SPEED_A]] - line.p[e, COL_RB] * y[row[SPEED_B]]
            if abs(slip) < BENDS * bend:
                return 1
    return 0


def try_step(t: float, h: float, y: Any, n: int, line: Any, state: Any, work: Any) -> float:
    """Take one trial step; gives the error over tolerance.

    The new state lies in row TRIAL of ``work.k``, its torques and guards in rows T1 and G1; if the error is
    small enough, so does the state at mid-step, in rows MIDDLE, TM and GM.
    """
    k = work.k
    k[KIND_OF_STEP, 0] = SHORT
    error = 0.0
    wide = min((n + LANES - 1) // LANES * LANES, y.shape[0])
    weights = work.scale[bending(y, line, state)]
    for i in range(1, 10):
        last = FULL if i >= K_END else PLAIN
        x, slopes, torques, guards, share = k[TRIAL], k[i], work.t[T1], work.g[G1], SHARE[i]
        if i == K_MIDDLE:
            error = error_norm(h, k, weights, n, k[MIDDLE])
            if not error <= 1.0:
                break
            x, torques, guards = k[MIDDLE], work.t[TM], work.g[GM]
        trial_state(i, h, y, k, y.shape[0] if last > 0.5 else wide, x)
        evaluate(t + share * h, last, x, slopes, torques, guards, line, state)
    return error
