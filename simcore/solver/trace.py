"""Rows of the trace: where there is none nothing is written."""

from __future__ import annotations

from typing import Any

from simcore.solver import arrays as ar


def record(t: float, y: Any, T: Any, line: Any, state: Any, work: Any) -> None:
    """One row of the trace: t, y, torques, heat booked, modes."""
    if work.rec.shape[0] == 0:
        return
    i = work.count[ar.ROWS]
    work.count[ar.ROWS] = i + 1
    if i >= work.rec.shape[0]:
        return
    n = y.shape[0]
    parts = line.parts.shape[0]
    work.rec[i, 0] = t
    for j in range(n):
        work.rec[i, 1 + j] = y[j]
    for e in range(parts):
        work.rec[i, 1 + n + e] = T[e]
        work.rec[i, 1 + n + parts + e] = state.booked[e]
    for j in range(state.mode.shape[0]):
        work.rec[i, 1 + n + 2 * parts + j] = state.mode[j]


def record_step(
    t: float, share: float, step: float, middle: Any, end: Any, line: Any, state: Any, work: Any, setup: Any
) -> None:
    """Middle and end of a step; in a long run, past its first cycle, only every so often."""
    rows = work.count[ar.ROWS]
    last = t + share * step
    if rows == 0:
        return
    before = work.rec[min(rows, work.rec.shape[0]) - 1, 0]
    if last > setup[ar.FINE_UNTIL] and last - before < setup[ar.COARSE]:
        return
    record(t + 0.5 * share * step, middle, work.t[ar.TM], line, state, work)
    record(last, end, work.t[ar.T1], line, state, work)
