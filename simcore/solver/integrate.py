"""The main loop: steps, crossings, switches, measures, trace."""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.solver import arrays as ar
from simcore.solver.dispatch import evaluate, part_clock
from simcore.solver.locate import crossing_share, is_down, overlook, pass_over
from simcore.solver.pace import FUTILE, accept, begin_pace, refuse, wanted
from simcore.solver.settle import settle
from simcore.solver.step import dense, try_step
from simcore.solver.stiff import stiff_step
from simcore.solver.trace import record, record_step
from simcore.solver.watch import (
    close_ledger,
    note_cycle,
    note_modes,
    note_point,
    note_step,
    open_ledger,
    triggered,
)

HOPELESS = 10
"""After so many futile crossings guards that are down end no more steps, until none is: each step then ends with a look
at whether they ask for a switch."""
LATE = 0.2
"""Share of the horizon, its last, over which the driven speed is averaged."""
SMALLEST = 1e-14
"""Smallest step over the size of the instant (or 1 s)."""


def begin_ledger(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Snapshot at t = 0; inertias that vary are those of now."""
    evaluate(t, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
    open_ledger(t, y, line, state, work)


def next_clock(t: float, y: Any, line: Any, state: Any) -> float:
    """Earliest instant any part knows of."""
    first = inf
    for e in range(line.parts.shape[0]):
        c = part_clock(e, t, y, line, state)
        first = min(first, c)
    return first


def await_stop(clock: float, t_end: float, line: Any) -> None:
    """Running speed ends the run only while no part has anything in store up to ``t_end``."""
    for n in range(line.nodes.shape[0]):
        line.nodes[n, ar.STOP_NOW] = line.nodes[n, ar.STOP_SPEED] if clock >= t_end else 0.0


def stop_reached(work: Any) -> bool:
    """Whether the last guard, running speed, has been crossed."""
    return work.g[ar.G0, work.g.shape[1] - 1] <= 0.0


def arrive(t: float, y: Any, live: bool, line: Any, state: Any, work: Any) -> bool:
    """Settle all switches due at ``t`` and take in both limits; False if they do not end."""
    fine = settle(t, y, line, state, work)
    if live:
        note_modes(t, y, line, state, work)
        note_point(t, y, work.t[ar.T0], line, state, work)
    record(t, y, work.t[ar.T0], line, state, work)
    return fine


def truncate(s: float, t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """States, torques and guards at the end and the middle of the share ``s`` of the step, in rows CUT, CUT_MIDDLE."""
    k = work.k
    dense(s, h, y, k, k[ar.CUT])
    dense(0.5 * s, h, y, k, k[ar.CUT_MIDDLE])
    evaluate(t + s * h, ar.FULL, k[ar.CUT], k[ar.K_PROBE], work.t[ar.T1], work.g[ar.G1], line, state)
    evaluate(t + 0.5 * s * h, ar.PLAIN, k[ar.CUT_MIDDLE], k[ar.K_PROBE], work.t[ar.TM], work.g[ar.GM], line, state)
    work.count[ar.CALLS] += 2


def copy_state(y: Any, source: Any) -> None:
    for j in range(y.shape[0]):
        y[j] = source[j]


def clear(work: Any) -> None:
    """Counts to zero, guards to a harmless value whose size is not known yet."""
    for j in range(work.count.shape[0]):
        work.count[j] = 0
    for i in range(work.g.shape[0]):
        for j in range(work.g.shape[1]):
            work.g[i, j] = 1.0 if i != ar.GMAX else 0.0


def end_cycle(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Balance of the cycle that ends here; inertias that vary are those of now."""
    evaluate(t, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
    note_cycle(t, y, line, state, work)


def give_up(t: float, max_steps: int, work: Any) -> int:
    """The Status with which a run ends that goes on for ever, else DONE."""
    if work.count[ar.STEPS] + work.count[ar.REJECTED] >= max_steps:
        return ar.TOO_MANY_STEPS
    return ar.STEP_TOO_SMALL if work.pace[ar.STEP] < SMALLEST * max(1.0, abs(t)) else ar.DONE


def take_in(
    t: float, step: float, live: bool, futile: bool, y: Any, line: Any, state: Any, work: Any, setup: Any
) -> float:
    """Measures and trace of an accepted step up to its first crossing, where ``y`` then is; its share, 2 without one.

    With ``futile`` guards that are down are none.
    """
    if futile:
        pass_over(work.g[ar.G0])
    share = crossing_share(t, step, y, line, state, work)
    middle, end = work.k[ar.MIDDLE], work.k[ar.TRIAL]
    if share <= 1.0:
        truncate(share, t, step, y, line, state, work)
        middle, end = work.k[ar.CUT_MIDDLE], work.k[ar.CUT]
    taken = min(share, 1.0)
    if live:
        note_step(t, step, taken, y, middle, end, line, state, work)
    if work.rec.shape[0] > 0:
        record_step(t, taken, step, middle, end, line, state, work, setup)
    copy_state(y, end)
    return share


def one_step(t: float, step: float, y: Any, n: int, line: Any, state: Any, work: Any) -> float:
    """Take one trial step, explicit or L-stable; gives its error over tolerance."""
    if work.pace[ar.GOES_LONG] > 0.5:
        work.count[ar.CALLS] += n + 8
        return stiff_step(t, step, y, n, line, state, work)
    work.count[ar.CALLS] += 8
    return try_step(t, step, y, n, line, state, work)


def count_futile(crossed: bool, work: Any) -> None:
    """Count steps that end at a crossing which asks for no switch; after a few it is taken for rounding."""
    if work.count[ar.CHAIN_PASS] > 0 or not is_down(work.g[ar.G0]):
        work.pace[ar.FUTILE] = 0.0
    elif crossed:
        work.pace[ar.FUTILE] += 1.0
    if work.pace[ar.FUTILE] >= FUTILE:
        overlook(work)


def advance_slopes(work: Any) -> None:
    """The last slopes, torques and guards of a step are the first of the next."""
    for j in range(work.k.shape[1]):
        work.k[0, j] = work.k[ar.K_END, j]
    for j in range(work.t.shape[1]):
        work.t[ar.T0, j] = work.t[ar.T1, j]
    for j in range(work.g.shape[1]):
        work.g[ar.G0, j] = work.g[ar.G1, j]
        a = abs(work.g[ar.G1, j])
        if a > work.g[ar.GMAX, j]:
            work.g[ar.GMAX, j] = a


def integrate(
    t: float,
    t_end: float,
    h: float,
    h_max: float,
    n: int,
    max_steps: int,
    first_trigger: int,
    setup: Any,
    y: Any,
    line: Any,
    state: Any,
    work: Any,
) -> int:
    """Run one case from ``t`` to ``t_end``; measures count from t = 0.  Gives a Status.

    With ``first_trigger`` it ends as soon as the protection in that place, counted from 1, triggers.
    ``setup`` (see ``run_case``) has more.
    """
    clear(work)
    live = t >= 0.0
    if live:
        begin_ledger(t, y, line, state, work)
    if not arrive(t, y, live, line, state, work):
        return ar.ENDLESS_CHAIN
    begin_pace(h, setup, work.pace)
    work.meas[line.parts.shape[0], ar.L_LATE] = (1.0 - LATE) * t_end
    clock = next_clock(t, y, line, state)
    await_stop(clock, t_end, line)
    mark = setup[ar.MARK] if setup[ar.CYCLE] > 0.0 else inf
    while t < t_end and not (clock >= t_end and stop_reached(work)):
        if first_trigger > 0 and triggered(first_trigger - 1, work):
            break
        status = give_up(t, max_steps, work)
        if status != ar.DONE:
            return status
        goal = min(clock, t_end, mark, inf if live else 0.0)
        step = wanted(h_max, setup, work.pace)
        clipped = t + step * (1.0 + 1e-9) >= goal
        if clipped:
            step = goal - t
        error = one_step(t, step, y, n, line, state, work)
        if not error <= 1.0:
            if not refuse(step, error, setup, work.pace):
                return ar.NOT_FINITE
            work.count[ar.REJECTED] += 1
            continue
        work.count[ar.STEPS] += 1
        work.count[ar.CALLS] += 1
        hopeless = work.pace[ar.FUTILE] >= HOPELESS
        share = take_in(t, step, live, hopeless, y, line, state, work, setup)
        crossed = share <= 1.0
        t = goal if clipped and not crossed else t + min(share, 1.0) * step
        accept(step, error, clipped, crossed, n, y, line, state, work, setup)
        if not crossed and not clipped and not hopeless:
            work.pace[ar.FUTILE] = 0.0
            advance_slopes(work)
            continue
        if not live and t >= 0.0:
            live = True
            begin_ledger(t, y, line, state, work)
        if t >= mark:
            end_cycle(t, y, line, state, work)
            mark += setup[ar.CYCLE]
        if not arrive(t, y, live, line, state, work):
            return ar.ENDLESS_CHAIN
        count_futile(crossed, work)
        clock = next_clock(t, y, line, state)
        await_stop(clock, t_end, line)
        if clock <= t:
            return ar.CLOCK_STUCK
    close_ledger(t, y, work.k[0], line, state, work)
    if work.rec.shape[0] > 0 and work.count[ar.ROWS] > work.rec.shape[0]:
        return ar.TRACE_FULL
    return ar.DONE if t >= t_end else ar.STOPPED
