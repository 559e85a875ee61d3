"""One step of the pair of formulas, its error and its dense output, for the demo line alone: sizes are constants."""

from __future__ import annotations

from typing import Any

from numba import njit

from benchmarks.hand_laws import FAST, INLINE, NY, STUCK, V_STRIBECK, N, laws
from simcore.solver.step import BENDS
from simcore.solver.tableau import ERROR, HALF, A, dense_weights

weights = njit(**INLINE)(dense_weights)

K_END, K_MIDDLE, TRIAL, MIDDLE, CUT, CUT_MIDDLE, PROBE, K_PROBE = range(8, 16)
G0, GM, G1, GL, GR = range(5)
T0, TM, T1, TP = range(4)


@njit(**INLINE)
def dense(s: float, h: float, y: Any, k: Any, out: Any) -> None:
    half, whole, start, middle, end = weights(s)
    for j in range(NY):
        out[j] = (
            y[j]
            + (half * (k[MIDDLE, j] - y[j]) + whole * (k[TRIAL, j] - y[j]))
            + h * (start * k[0, j] + middle * k[K_MIDDLE, j] + end * k[K_END, j])
        )


@njit(**FAST)
def dense_once(s: float, h: float, y: Any, k: Any, out: Any) -> None:
    dense(s, h, y, k, out)


@njit(**FAST)
def laws_once(full: bool, y: Any, dy: Any, T: Any, G: Any, m: Any, p: Any) -> None:
    laws(full, y, dy, T, G, m, p)


@njit(**INLINE)
def try_step(h: float, y: Any, k: Any, T: Any, G: Any, m: Any, p: Any, scale: Any) -> float:
    out = k[TRIAL]
    for j in range(N):
        out[j] = y[j] + h * (A[1][0] * k[0, j])
    laws(False, out, k[1], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (A[2][0] * k[0, j] + A[2][1] * k[1, j])
    laws(False, out, k[2], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (A[3][0] * k[0, j] + A[3][2] * k[2, j])
    laws(False, out, k[3], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (A[4][0] * k[0, j] + A[4][2] * k[2, j] + A[4][3] * k[3, j])
    laws(False, out, k[4], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (A[5][0] * k[0, j] + A[5][2] * k[2, j] + A[5][3] * k[3, j] + A[5][4] * k[4, j])
    laws(False, out, k[5], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (
            A[6][0] * k[0, j] + A[6][2] * k[2, j] + A[6][3] * k[3, j] + A[6][4] * k[4, j] + A[6][5] * k[5, j]
        )
    laws(False, out, k[6], T, G, m, p)
    for j in range(N):
        out[j] = y[j] + h * (
            A[7][0] * k[0, j] + A[7][2] * k[2, j] + A[7][3] * k[3, j] + A[7][4] * k[4, j] + A[7][5] * k[5, j]
            + A[7][6] * k[6, j]
        )  # fmt: skip
    laws(False, out, k[7], T, G, m, p)
    for j in range(NY):
        out[j] = y[j] + h * (
            A[8][0] * k[0, j] + A[8][3] * k[3, j] + A[8][4] * k[4, j] + A[8][5] * k[5, j] + A[8][6] * k[6, j]
            + A[8][7] * k[7, j]
        )  # fmt: skip
    laws(True, out, k[K_END], T, G, m, p)
    worst = 0.0
    near = m[2] != STUCK and abs(y[6] - y[7]) < BENDS * p[V_STRIBECK]
    sizes = scale[1 if near else 0]
    for j in range(N):
        e = h * (
            ERROR[0] * k[0, j] + ERROR[3] * k[3, j] + ERROR[4] * k[4, j] + ERROR[5] * k[5, j]
            + ERROR[6] * k[6, j] + ERROR[7] * k[7, j] + ERROR[8] * k[8, j]
        )  # fmt: skip
        r = abs(e) * sizes[j]
        if not r <= worst:
            worst = r
    return worst


@njit(**INLINE)
def middle_state(h: float, y: Any, k: Any) -> None:
    out = k[MIDDLE]
    for j in range(NY):
        out[j] = y[j] + h * (
            HALF[0] * k[0, j] + HALF[3] * k[3, j] + HALF[4] * k[4, j] + HALF[5] * k[5, j] + HALF[6] * k[6, j]
            + HALF[7] * k[7, j] + HALF[8] * k[8, j]
        )  # fmt: skip
