"""A case and a batch of cases: the same compiled code, so that a replay gives the same bits."""

from __future__ import annotations

from typing import Any

from simcore.solver.arrays import (
    DONE,
    FIRST_TRIGGER,
    INERTIA,
    INV_J,
    L_START,
    PULL,
    SLACK,
    STOP_NOW,
    STOP_SPEED,
    STOPPED,
    SWINGS,
    WAY,
    WAY_NODE,
)
from simcore.solver.integrate import integrate
from simcore.solver.steady import solve_steady
from simcore.solver.watch import clear_measures

REHEARSALS = 6
CLOSE = 1e-8
"""Share of the way by which the first event may miss its place."""


def run_case(
    setup: Any, t0: float, t_end: float, y: Any, steady: Any, jac: Any, line: Any, state: Any, work: Any
) -> int:
    """Steady state if asked for, then the run from ``t0`` to ``t_end`` [s].  Gives a Status.

    ``setup``: t0 and t_end of the case, first step, largest step, number of steering states, most steps, solve steady
    (0, 1), place of the protection, from 1, at whose first trigger it ends (0: none), end of the first cycle, length of
    a cycle (0: nothing repeats), instant up to which every step is recorded, time between records after that, stepper
    (0 automatic, 1 explicit only, 2 L-stable only), longest step of the L-stable one, travel before the first event
    [rad or m] (0: t0 holds) and its node.
    """
    clear_measures(line, work)
    for j in range(work.count.shape[0]):
        work.count[j] = 0
    if setup[6] > 0.5:
        status = solve_steady(y, steady, line, state, work, jac)
        if status != DONE:
            return status
    work.meas[line.parts.shape[0], L_START] = y[int(setup[WAY_NODE])]
    return integrate(
        t0,
        t_end,
        setup[2],
        setup[3],
        int(setup[4]),
        int(setup[5]),
        int(setup[FIRST_TRIGGER]),
        setup,
        y,
        line,
        state,
        work,
    )


def own(case: int, count: int) -> int:
    """Where a case finds its entry in an array that holds one for each case, or one for all."""
    return case if count > 1 else 0


def prepare(case: int, cases: Any, y: Any, line: Any, state: Any, work: Any) -> None:
    """Copy one case's rows, inertias, weights and start into the working arrays."""
    r = own(case, cases.rows.shape[0])
    for e in range(cases.rows.shape[1]):
        for j in range(cases.rows.shape[2]):
            line.p[e, j] = cases.rows[r, e, j]
        for j in range(cases.mem0.shape[1]):
            state.mem[e, j] = cases.mem0[e, j]
        state.booked[e] = 0.0
    i = own(case, cases.inertia.shape[0])
    for n in range(line.nodes.shape[0]):
        line.nodes[n, INERTIA] = cases.inertia[i, n]
        line.nodes[n, INV_J] = 1.0 / cases.inertia[i, n] if cases.inertia[i, n] > 0.0 else 0.0
    i = own(case, cases.stop.shape[0])
    for n in range(line.nodes.shape[0]):
        line.nodes[n, STOP_SPEED] = cases.stop[i, n]
        line.nodes[n, STOP_NOW] = 0.0
        line.nodes[n, SLACK] = 0.0
        line.nodes[n, SWINGS] = 0.0
        line.nodes[n, PULL] = 0.0
    i = own(case, cases.y0.shape[0])
    for j in range(cases.y0.shape[1]):
        y[j] = cases.y0[i, j]
    i = own(case, cases.mode0.shape[0])
    for j in range(cases.mode0.shape[1]):
        state.mode[j] = cases.mode0[i, j]
    i = own(case, cases.scale.shape[0])
    for k in range(cases.scale.shape[1]):
        for j in range(cases.scale.shape[2]):
            work.scale[k, j] = cases.scale[i, k, j]
    for j in range(cases.wire0.shape[0]):
        state.wire[j] = cases.wire0[j]
        state.wire2[j] = cases.wire0[j]


def begins(case: int, cases: Any, setup: Any, steady: Any, y: Any, jac: Any, line: Any, state: Any, work: Any) -> float:
    """Instant [s] at which a case begins; before a first event given by its way rehearsed until it meets its place."""
    t0 = float(setup[0])
    node = int(setup[WAY_NODE])
    if setup[WAY] <= 0.0:
        return t0
    for _ in range(REHEARSALS):
        prepare(case, cases, y, line, state, work)
        status = run_case(setup, t0, 0.0, y, steady, jac, line, state, work)
        speed = abs(y[line.nodes.shape[0] + node])
        missing = setup[WAY] - abs(y[node] - work.meas[line.parts.shape[0], L_START])
        if status > STOPPED or speed == 0.0 or abs(missing) <= CLOSE * setup[WAY]:
            break
        t0 = min(t0 - missing / speed, 0.0)
    return t0


def run_batch(
    first: int,
    last: int,
    cases: Any,
    y: Any,
    jac: Any,
    line: Any,
    state: Any,
    work: Any,
    meas: Any,
    counts: Any,
    status: Any,
) -> int:
    """Run cases ``first`` to ``last - 1`` of ``cases`` (see arrays.Cases); gives the number that failed.

    Out: ``meas`` (cases, parts + 1, N_MEAS), ``counts`` (cases, 8), ``status`` (cases).  Writes nothing that
    another thread reads.
    """
    failed = 0
    for case in range(first, last):
        setup = cases.setup[own(case, cases.setup.shape[0])]
        steady = cases.steady[own(case, cases.steady.shape[0])]
        t0 = begins(case, cases, setup, steady, y, jac, line, state, work)
        prepare(case, cases, y, line, state, work)
        s = run_case(setup, t0, setup[1], y, steady, jac, line, state, work)
        status[case] = s
        if s > STOPPED:
            failed += 1
        for e in range(work.meas.shape[0]):
            for j in range(work.meas.shape[1]):
                meas[case, e, j] = work.meas[e, j]
        for j in range(work.count.shape[0]):
            counts[case, j] = work.count[j]
    return failed
