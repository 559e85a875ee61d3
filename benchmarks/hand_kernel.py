"""A crash solver written by hand for the demo line alone: the yardstick for the general kernel.

Same pair of formulas, tolerance, step control, location of switches (mid-step and dips included), dense
peaks, disc measures and ledger; all sizes are constants, every law and guard is spelled out.
"""

from __future__ import annotations

from math import nan
from typing import Any

from numba import njit

from benchmarks.hand_laws import FAST, INLINE, NG, NT, NY, QUAD, hold, laws, stored, switch
from benchmarks.hand_measures import (
    DISC,
    E0,
    E1,
    ENERGY_0,
    IMPULSE_0,
    L0,
    L1,
    N_OUT,
    RESIDUAL,
    RISE_MAX,
    SLIP_MAX,
    STUCK_AGAIN,
    TRIGGER,
    W0,
    W1,
    note_point,
    note_step,
)
from benchmarks.hand_step import (
    CUT,
    CUT_MIDDLE,
    G0,
    G1,
    GL,
    GM,
    GR,
    K_END,
    K_MIDDLE,
    K_PROBE,
    MIDDLE,
    PROBE,
    T0,
    T1,
    TM,
    TP,
    TRIAL,
    dense,
    dense_once,
    laws_once,
    middle_state,
    try_step,
)

STEPS, REJECTED, CALLS, EVENTS = range(4)
SAFETY, SHRINK, GROW, CLOSE, NEAR = 0.88, 0.1, 1.8, 1e-11, 0.05
H_MAX = 0.05


@njit(**FAST)
def guards_at(s: float, h: float, y: Any, k: Any, T: Any, out: Any, m: Any, p: Any, count: Any) -> None:
    dense(s, h, y, k, k[PROBE])
    laws(True, k[PROBE], k[K_PROBE], T[TP], out, m, p)
    count[CALLS] += 1


@njit(**INLINE)
def crossed(g: Any, before: Any) -> bool:
    for j in range(NG):  # noqa: SIM110  (compiled: no generators)
        if g[j] <= 0.0 and not (before[j] <= 0.0 and g[j] >= before[j]):
            return True
    return False


@njit(**FAST)
def crossed_once(g: Any, before: Any) -> bool:
    return crossed(g, before)


@njit(**INLINE)
def copy(a: Any, b: Any) -> None:
    for j in range(NG):
        b[j] = a[j]


@njit(**FAST)
def locate(left: float, right: float, h: float, y: Any, k: Any, T: Any, g: Any, m: Any, p: Any, count: Any) -> float:
    """Illinois method on all guards at once, aiming just past the earliest crossing."""
    moved = 0
    tiny = CLOSE / h
    for i in range(200):
        if right - left <= tiny:
            break
        first = right
        for j in range(NG):
            if g[GR, j] <= 0.0:
                e = 0.5 * (left + right)
                if g[GL, j] > 0.0:
                    e = left + (right - left) * g[GL, j] / (g[GL, j] - g[GR, j])
                first = min(first, e)
        s = min(first + 0.4 * tiny, right - 0.9 * tiny)
        if i % 6 == 5 or not (left < s < right):
            s = 0.5 * (left + right)
        guards_at(s, h, y, k, T, g[G1], m, p, count)
        if crossed_once(g[G1], g[GL]):
            right = s
            copy(g[G1], g[GR])
            if moved == 1:
                for j in range(NG):
                    if g[GL, j] > 0.0:
                        g[GL, j] *= 0.5
            moved = 1
        else:
            left = s
            copy(g[G1], g[GL])
            if moved == -1:
                for j in range(NG):
                    g[GR, j] *= 0.5
            moved = -1
    return right


@njit(**FAST)
def refine_dip(j: int, s: float, h: float, y: Any, k: Any, T: Any, g: Any, m: Any, p: Any, count: Any) -> float:
    s0, g0, s1, g1, s2, g2 = 0.0, g[G0, j], 0.5, g[GM, j], 1.0, g[G1, j]
    for _ in range(4):
        guards_at(s, h, y, k, T, g[GR], m, p, count)
        v = g[GR, j]
        if v <= 0.0:
            return s
        if s < s1:
            if v < g1:
                s1, g1, s2, g2 = s, v, s1, g1
            else:
                s0, g0 = s, v
        elif v < g1:
            s0, g0, s1, g1 = s1, g1, s, v
        else:
            s2, g2 = s, v
        a = (s1 - s0) * (g1 - g2)
        b = (s1 - s2) * (g1 - g0)
        if a == b:
            return 2.0
        nxt = s1 - 0.5 * ((s1 - s0) * a - (s1 - s2) * b) / (a - b)
        if not (s0 < nxt < s2) or abs(nxt - s) < 1e-9:
            return 2.0
        s = nxt
    return 2.0


@njit(**INLINE)
def share_of_crossing(h: float, y: Any, k: Any, T: Any, g: Any, m: Any, p: Any, count: Any) -> float:
    """Share of the step just past the first switch inside; 2 if there is none."""
    copy(g[G0], g[GL])
    if crossed(g[GM], g[G0]):
        copy(g[GM], g[GR])
        return locate(0.0, 0.5, h, y, k, T, g, m, p, count)
    first = 2.0
    for j in range(NG):
        a = 2.0 * (g[G0, j] - 2.0 * g[GM, j] + g[G1, j])
        b = 4.0 * g[GM, j] - 3.0 * g[G0, j] - g[G1, j]
        if a <= 0.0 or b >= 0.0 or -b >= 2.0 * a or g[G0, j] <= 0.0:
            continue
        if g[G0, j] - 0.25 * b * b / a > NEAR * max(g[G0, j], g[G1, j]):
            continue
        first = min(first, refine_dip(j, -0.5 * b / a, h, y, k, T, g, m, p, count))
    if first <= 1.0:
        guards_at(first, h, y, k, T, g[GR], m, p, count)
        return locate(0.0, first, h, y, k, T, g, m, p, count)
    if crossed(g[G1], g[G0]):
        copy(g[GM], g[GL])
        copy(g[G1], g[GR])
        return locate(0.5, 1.0, h, y, k, T, g, m, p, count)
    return 2.0


@njit(**FAST)
def arrive(t: float, y: Any, k: Any, T: Any, g: Any, m: Any, p: Any, out: Any, count: Any) -> float:
    """Switch what was crossed, until every mode agrees with the state; heat booked [J], < 0: no end."""
    heat = 0.0
    done = False
    for i in range(32):
        any_due = False
        last_part = -2
        old1, old5 = m[5], m[6]
        due1 = due5 = False
        for j in range(NG):
            v = g[G1, j]
            tol = 0.0 if i == 0 else -1e-9
            if v > tol or (i == 0 and g[GL, j] <= 0.0 and v >= g[GL, j]):
                continue
            if j == 10:
                due1 = True
            elif j == 11:
                due5 = True
            else:
                part = (0, 0, 2, 3, 3, 3, 6, 6, 8, 8)[j]
                if part != last_part:
                    heat += switch(j, y, T[T1], m, p)
                    last_part = part
            any_due = True
            count[EVENTS] += 1
        if not any_due:
            done = True
            break
        if due1:
            m[5] = 0
            if old1 != 0:
                y[5] = 0.0
        if due5:
            m[6] = 0
            if old5 != 0:
                y[9] = 0.0
        laws_once(True, y, k[0], T[T1], g[G1], m, p)
        count[CALLS] += 1
        if due1 or due5:
            if due1:
                m[5] = hold(5, old1, m, y, T[T1], p)
            if due5:
                m[6] = hold(6, old5, m, y, T[T1], p)
            laws_once(True, y, k[0], T[T1], g[G1], m, p)
            count[CALLS] += 1
    for e in range(NT):
        T[T0, e] = T[T1, e]
    copy(g[G1], g[G0])
    if m[2] != 0 and out[TRIGGER] != out[TRIGGER]:
        out[TRIGGER] = t
        out[IMPULSE_0] = y[QUAD]
        out[ENERGY_0] = y[QUAD + 1]
    if m[2] == 0 and out[TRIGGER] == out[TRIGGER] and out[STUCK_AGAIN] != out[STUCK_AGAIN]:
        out[STUCK_AGAIN] = t
    note_point(t, y, T[T0], p, out)
    return heat if done else -1.0


@njit(**INLINE)
def next_step(h: float, error: float) -> float:
    if error <= 0.0:
        return h * GROW
    return h * min(GROW, max(SHRINK, SAFETY * error ** (-1.0 / 6.0)))


@njit(**FAST)
def crash(
    t_end: float, h: float, y: Any, m: Any, p: Any, scale: Any, k: Any, T: Any, g: Any, out: Any, count: Any
) -> bool:
    """From t = 0 to ``t_end``; ``out`` (N_OUT) measures, ``count`` (4); False if it failed."""
    for j in range(N_OUT):
        out[j] = 0.0 if j < DISC else nan
    out[SLIP_MAX] = out[RISE_MAX] = 0.0
    for j in range(4):
        count[j] = 0
    t = 0.0
    out[E0] = stored(y, m, p)
    out[W0] = y[22]
    out[L0] = y[12] + y[13] + y[14] + y[15] + y[16] + y[17] + y[18]
    laws_once(True, y, k[0], T[T1], g[G1], m, p)
    copy(g[G1], g[GL])
    heat = arrive(t, y, k, T, g, m, p, out, count)
    refused = False
    while t < t_end:
        if count[STEPS] + count[REJECTED] > 400_000 or not h > 1e-14:
            return False
        step = min(h, H_MAX)
        clipped = t + step * (1.0 + 1e-9) >= t_end
        if clipped:
            step = t_end - t
        error = try_step(step, y, k, T[T1], g[G1], m, p, scale)
        count[CALLS] += 8
        if not error <= 1.0:
            h = next_step(step, error) if error == error else 0.1 * step
            count[REJECTED] += 1
            refused = True
            continue
        count[STEPS] += 1
        middle_state(step, y, k)
        laws(True, k[MIDDLE], k[K_MIDDLE], T[TM], g[GM], m, p)
        count[CALLS] += 1
        share = share_of_crossing(step, y, k, T, g, m, p, count)
        inside = share <= 1.0
        middle, end = k[MIDDLE], k[TRIAL]
        if inside:
            middle, end = k[CUT_MIDDLE], k[CUT]
            dense_once(share, step, y, k, end)
            dense_once(0.5 * share, step, y, k, middle)
            laws_once(True, end, k[K_PROBE], T[T1], g[G1], m, p)
            laws_once(False, middle, k[K_PROBE], T[TM], g[GM], m, p)
            count[CALLS] += 2
        else:
            share = 1.0
        note_step(t, step, share, y, middle, end, k, T, g, m, p, out)
        for j in range(NY):
            y[j] = end[j]
        grown = next_step(step, error)
        if refused:
            grown = min(grown, step)
            refused = False
        h = max(h, grown) if clipped else grown
        t = t_end if clipped and not inside else t + share * step
        if inside:
            more = arrive(t, y, k, T, g, m, p, out, count)
            if more < 0.0:
                return False
            heat += more
        else:
            for j in range(NY):
                k[0, j] = k[K_END, j]
            for e in range(NT):
                T[T0, e] = T[T1, e]
            copy(g[G1], g[G0])
    out[E1] = stored(y, m, p)
    out[W1] = y[22]
    out[L1] = y[12] + y[13] + y[14] + y[15] + y[16] + y[17] + y[18] + heat
    out[RESIDUAL] = out[E0] - out[E1] - (out[L1] - out[L0])
    return True


@njit(error_model="numpy", nogil=True)
def crashes(
    params: Any, t_end: float, h: float, y0: Any, m0: Any, scale: Any, y: Any, m: Any, k: Any, T: Any, g: Any,
    out: Any, counts: Any, fine: Any,
) -> int:  # fmt: skip
    """One crash for each row of ``params`` (cases, 36); gives the number that failed."""
    failed = 0
    for i in range(params.shape[0]):
        for j in range(NY):
            y[j] = y0[j]
        for j in range(8):
            m[j] = m0[j]
        fine[i] = 1 if crash(t_end, h, y, m, params[i], scale, k, T, g, out[i], counts[i]) else 0
        failed += 1 - fine[i]
    return failed
