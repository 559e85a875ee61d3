"""A case and a batch of cases: the same compiled code, so that a replay gives the same bits."""

from __future__ import annotations

from typing import Any

from simcore.contract import COL_RA
from simcore.solver.arrays import ANGLE_A, SPEED_A
from simcore.solver.integrate import integrate
from simcore.solver.steady import solve_steady
from simcore.solver.watch import clear_measures


def run_case(setup: Any, y: Any, steady: Any, jac: Any, line: Any, state: Any, work: Any) -> int:
    """Steady state if asked for, then the run to the horizon.  Gives a Status.

    ``setup``: t0, t_end, first step, largest step, number of steering states, most steps, solve steady
    (0, 1), end at the first trigger (0, 1), index of the part with a gap (-1: none), its gap column.
    """
    clear_measures(line, work)
    for j in range(work.count.shape[0]):
        work.count[j] = 0
    if setup[6] > 0.5:
        status = solve_steady(y, steady, line, state, work, jac)
        if status != 0:
            return status
        place_gap(setup, y, line)
    return integrate(
        setup[0],
        setup[1],
        setup[2],
        setup[3],
        int(setup[4]),
        int(setup[5]),
        setup[7] > 0.5,
        y,
        line,
        state,
        work,
    )


def place_gap(setup: Any, y: Any, line: Any) -> None:
    """Put the stop where the load is at t = 0 when it runs on steadily."""
    e = int(setup[8])
    if e < 0:
        return
    ra = line.p[e, COL_RA]
    angle = ra * y[line.parts[e, ANGLE_A]]
    speed = ra * y[line.parts[e, SPEED_A]]
    sense = 1.0 if speed >= 0.0 else -1.0
    line.p[e, int(setup[9])] = sense * (angle - setup[0] * speed)
    line.p[e, int(setup[9]) + 1] = sense


def prepare(case: int, rows: Any, y0: Any, mode0: Any, mem0: Any, wire0: Any, y: Any, line: Any, state: Any) -> None:
    """Copy one case's rows and the common start into the working arrays."""
    for e in range(rows.shape[1]):
        for j in range(rows.shape[2]):
            line.p[e, j] = rows[case, e, j]
        for j in range(mem0.shape[1]):
            state.mem[e, j] = mem0[e, j]
        state.booked[e] = 0.0
    for j in range(y0.shape[0]):
        y[j] = y0[j]
    for j in range(mode0.shape[0]):
        state.mode[j] = mode0[j]
    for j in range(wire0.shape[0]):
        state.wire[j] = wire0[j]


def run_batch(
    first: int,
    last: int,
    rows: Any,
    setup: Any,
    start: Any,
    y: Any,
    steady: Any,
    jac: Any,
    line: Any,
    state: Any,
    work: Any,
    meas: Any,
    counts: Any,
    status: Any,
) -> int:
    """Run cases ``first`` to ``last - 1`` of ``rows`` (cases, parts, 48); gives the number that failed.

    ``start``: y0, mode0, mem0, wire0.  Out: ``meas`` (cases, parts + 1, N_MEAS), ``counts`` (cases, 8),
    ``status`` (cases).  Writes nothing that another thread reads.
    """
    failed = 0
    for case in range(first, last):
        prepare(case, rows, start[0], start[1], start[2], start[3], y, line, state)
        s = run_case(setup, y, steady, jac, line, state, work)
        status[case] = s
        if s > 1:
            failed += 1
        for e in range(work.meas.shape[0]):
            for j in range(work.meas.shape[1]):
                meas[case, e, j] = work.meas[e, j]
        for j in range(work.count.shape[0]):
            counts[case, j] = work.count[j]
    return failed
