"""Measures of a crash of the demo line, taken while it runs: dense peaks, trigger, standstill, ledger's columns."""

from __future__ import annotations

from math import nan
from typing import Any

from numba import njit

from benchmarks.hand_laws import FAST, INLINE, NT, QUAD, laws
from benchmarks.hand_step import GR, K_PROBE, PROBE, T0, T1, TM, TP, dense

FLAT, ALIKE = 1e-4, 1e-6
# measures: peak, its instant, first peak, its instant, first peak over (7 each), then of the disc
(FIRST, DISC) = (2 * NT, 5 * NT)
TRIGGER, IMPULSE_0, ENERGY_0, STAND, IMPULSE_1, ENERGY_1, SLIP_MAX, RISE_MAX, STUCK_AGAIN, LOW = range(DISC, DISC + 10)
E0, W0, L0, E1, W1, L1, RESIDUAL = range(DISC + 10, DISC + 17)
N_OUT = DISC + 17


@njit(**INLINE)
def note(e: int, t: float, v: float, out: Any) -> None:
    a = abs(v)
    over = out[FIRST + 2 * NT + e] != 0.0
    if a > out[e] and not (over and a <= out[FIRST + e] * (1.0 + ALIKE)):
        out[e] = a
        out[NT + e] = t
    if not over:
        if a > out[FIRST + e]:
            out[FIRST + e] = a
            out[FIRST + NT + e] = t
        elif a < 0.5 * out[FIRST + e]:
            out[FIRST + 2 * NT + e] = 1.0


@njit(**INLINE)
def note_point(t: float, y: Any, T: Any, p: Any, out: Any) -> None:
    for e in range(NT):
        note(e, t, T[e], out)
    out[SLIP_MAX] = max(out[SLIP_MAX], abs(y[10]))
    out[RISE_MAX] = max(out[RISE_MAX], abs(y[11]))
    if abs(T[2]) > 0.1 * p[10]:
        out[LOW] = nan
    elif out[LOW] != out[LOW]:
        out[LOW] = t


@njit(**FAST)
def note_turn(
    e: int, t: float, h: float, share: float, y: Any, k: Any, T: Any, G: Any, m: Any, p: Any, out: Any
) -> None:
    """Where the parabola turns, then where the cubic through what was found there does."""
    t0 = T[T0, e]
    b = 4.0 * T[TM, e] - 3.0 * t0 - T[T1, e]
    a = 2.0 * (t0 - 2.0 * T[TM, e] + T[T1, e])
    u = -0.5 * b / a
    dense(u * share, h, y, k, k[PROBE])
    laws(False, k[PROBE], k[K_PROBE], T[TP], G, m, p)
    v = T[TP, e]
    note(e, t + u * share * h, v, out)
    cubic = u * (u - 0.5) * (u - 1.0)
    if abs(cubic) < FLAT:
        return
    c = (v - t0 - u * (b + u * a)) / cubic
    u -= c * (3.0 * u * (u - 1.0) + 0.5) / (2.0 * a + c * (6.0 * u - 3.0))
    if 0.0 < u < 1.0:
        dense(u * share, h, y, k, k[PROBE])
        laws(False, k[PROBE], k[K_PROBE], T[TP], G, m, p)
        note(e, t + u * share * h, T[TP, e], out)


@njit(**FAST)
def note_stand(t: float, h: float, share: float, y: Any, k: Any, out: Any) -> None:
    """The disc's driving side first stands still after the trigger."""
    a, b = 0.0, share
    for _ in range(50):
        s = 0.5 * (a + b)
        dense(s, h, y, k, k[PROBE])
        if k[PROBE, 6] * y[6] > 0.0:
            a = s
        else:
            b = s
    dense(b, h, y, k, k[PROBE])
    out[STAND] = t + b * h
    out[IMPULSE_1] = k[PROBE, QUAD]
    out[ENERGY_1] = k[PROBE, QUAD + 1]


@njit(**INLINE)
def note_step(
    t: float, h: float, share: float, y: Any, middle: Any, end: Any, k: Any, T: Any, g: Any, m: Any, p: Any, out: Any
) -> None:
    for e in range(NT):
        a = 2.0 * (T[T0, e] - 2.0 * T[TM, e] + T[T1, e])
        b = 4.0 * T[TM, e] - 3.0 * T[T0, e] - T[T1, e]
        if a == 0.0 or -b * a <= 0.0 or abs(b) >= 2.0 * abs(a):
            continue
        if abs(T[T0, e] - 0.25 * b * b / a) > out[e] * (1.0 - 1e-3):
            note_turn(e, t, h, share, y, k, T, g[GR], m, p, out)
    if y[6] * end[6] <= 0.0 and out[TRIGGER] == out[TRIGGER] and out[STAND] != out[STAND]:
        note_stand(t, h, share, y, k, out)
    note_point(t + 0.5 * share * h, middle, T[TM], p, out)
    note_point(t + share * h, end, T[T1], p, out)
