"""The main loop: steps, crossings, switches, measures, trace."""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.solver import arrays as ar
from simcore.solver.dispatch import evaluate, part_clock
from simcore.solver.locate import (
    all_clear,
    any_crossed_since,
    copy_row,
    dip_share,
    guards_at,
    is_down,
    locate,
    overlook,
    pass_over,
)
from simcore.solver.settle import settle
from simcore.solver.step import dense, try_step
from simcore.solver.stiff import stiff_step, unrest
from simcore.solver.watch import (
    close_ledger,
    note_cycle,
    note_modes,
    note_point,
    note_step,
    open_ledger,
    triggered,
)

SAFETY, SHRINK, GROW = 0.88, 0.1, 1.8
GROW_LONG = 5.0
PATIENCE = 50
"""Explicit steps without an event after which a long step may be tried, and again."""
CALM = 100.0
"""Change of the slopes over an explicit step, in tolerances, below which it is."""
LEAP = 20.0
"""The first long step over the explicit one; back where it would be less than WORTH times."""
WORTH = 8.0
FIRST_STEP = 2
"""Column of ``setup`` with the first step."""
NOT_FINITE_SHRINK, LEAST = 0.1, 1e-13
"""Share of a step whose error is no number that is tried next, and the smallest such step [s]."""
FUTILE = 5
"""After so many steps in a row that ended at a crossing which asked for no switch it was rounding ..."""
HOPELESS = 10
"""... and after so many guards that are down end no more steps, until none is: whether they ask for a switch is looked
at after each step."""
SMALLEST = 1e-14
"""Smallest step over the size of the instant (or 1 s)."""


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


def crossing_share(t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Share of the step just past its first guard crossing; 2 if there is none."""
    if all_clear(work.g[ar.G0], work.g[ar.GM], work.g[ar.G1]):
        return 2.0
    copy_row(work.g[ar.G0], work.g[ar.GL])
    if any_crossed_since(work.g[ar.GM], work.g[ar.G0], work.g[ar.GMAX]):
        copy_row(work.g[ar.GM], work.g[ar.GR])
        copy_row(work.g[ar.G1], work.g[ar.G3])
        return locate(0.0, 0.5, 1.0, t, h, y, line, state, work)
    dip = dip_share(t, h, y, line, state, work)
    if dip <= 1.0:
        guards_at(dip, t, h, y, work.g[ar.GR], line, state, work)
        copy_row(work.g[ar.G1], work.g[ar.G3])
        return locate(0.0, dip, 1.0, t, h, y, line, state, work)
    if any_crossed_since(work.g[ar.G1], work.g[ar.G0], work.g[ar.GMAX]):
        copy_row(work.g[ar.GM], work.g[ar.GL])
        copy_row(work.g[ar.G1], work.g[ar.GR])
        copy_row(work.g[ar.G0], work.g[ar.G3])
        return locate(0.5, 1.0, 0.0, t, h, y, line, state, work)
    return 2.0


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


def next_step(h: float, error: float, long: bool) -> float:
    """Elementary step control for order 6, or of a long step for order 4."""
    grow = GROW_LONG if long else GROW
    if error <= 0.0:
        return h * grow
    return h * min(grow, max(SHRINK, SAFETY * error ** (-0.25 if long else -1.0 / 6.0)))


def clear(work: Any) -> None:
    """Counts to zero, guards to a harmless value whose size is not known yet."""
    for j in range(work.count.shape[0]):
        work.count[j] = 0
    for i in range(work.g.shape[0]):
        for j in range(work.g.shape[1]):
            work.g[i, j] = 1.0 if i != ar.GMAX else 0.0


def one_step(t: float, step: float, y: Any, n: int, long: bool, line: Any, state: Any, work: Any) -> float:
    """Take one trial step, L-stable if ``long``; gives its error over tolerance."""
    if long:
        work.count[ar.CALLS] += n + 8
        return stiff_step(t, step, y, n, line, state, work)
    work.count[ar.CALLS] += 8
    return try_step(t, step, y, n, line, state, work)


def may_leap(step: float, n: int, y: Any, line: Any, state: Any, work: Any, setup: Any) -> bool:
    """Whether nothing happens any more that would keep a long step short."""
    return setup[ar.STEPPER] == ar.AUTOMATIC and unrest(step, n, y, line, state, work) < CALM


def end_cycle(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Balance of the cycle that ends here; inertias that vary are those of now."""
    evaluate(t, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
    note_cycle(t, y, line, state, work)


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
        return 4
    clock = next_clock(t, y, line, state)
    forced = setup[ar.STEPPER] == ar.STIFF_ONLY
    long = forced
    short, quiet, refused, futile = h, 0, False, 0
    mark = setup[ar.MARK] if setup[ar.CYCLE] > 0.0 else inf
    while t < t_end and not stop_reached(work):
        if first_trigger > 0 and triggered(first_trigger - 1, work):
            break
        if work.count[ar.STEPS] + work.count[ar.REJECTED] >= max_steps:
            return 2
        if h < SMALLEST * max(1.0, abs(t)):
            return 3
        goal = min(clock, t_end, mark, inf if live else 0.0)
        step = min(h, setup[ar.LONGEST] if long else h_max)
        clipped = t + step * (1.0 + 1e-9) >= goal
        if clipped:
            step = goal - t
        error = one_step(t, step, y, n, long, line, state, work)
        if not error <= 1.0:
            h = next_step(step, error, long) if error < inf else NOT_FINITE_SHRINK * step
            if h < LEAST and not error < inf:
                return 5
            if long and not forced and h < WORTH * short:
                long, h = False, short
            work.count[ar.REJECTED] += 1
            refused = True
            continue
        work.count[ar.STEPS] += 1
        work.count[ar.CALLS] += 1
        if futile >= HOPELESS:
            pass_over(work.g[ar.G0])
        share = crossing_share(t, step, y, line, state, work)
        crossed = share <= 1.0
        middle, end = work.k[ar.MIDDLE], work.k[ar.TRIAL]
        if crossed:
            truncate(share, t, step, y, line, state, work)
            middle, end = work.k[ar.CUT_MIDDLE], work.k[ar.CUT]
        share = min(share, 1.0)
        if live:
            note_step(t, step, share, y, middle, end, line, state, work)
        if work.rec.shape[0] > 0:
            record_step(t, share, step, middle, end, line, state, work, setup)
        copy_state(y, end)
        t = goal if clipped and not crossed else t + share * step
        grown = next_step(step, error, long)
        if refused:
            grown = min(grown, step)
        refused = False
        h = max(h, grown) if clipped else grown
        idle = not clipped and (not crossed or futile >= FUTILE)
        quiet = quiet + 1 if idle else 0
        if long and quiet == 0:
            long, h = forced, setup[FIRST_STEP] if forced else short
        elif long and not forced and h < WORTH * short:
            long, h = False, short
        elif quiet > 0 and not long and quiet % PATIENCE == 0 and may_leap(step, n, y, line, state, work, setup):
            long, short, h = True, h, LEAP * h
        if not crossed and not clipped and futile < HOPELESS:
            futile = 0
            advance_slopes(work)
            continue
        if not live and t >= 0.0:
            live = True
            begin_ledger(t, y, line, state, work)
        if t >= mark:
            end_cycle(t, y, line, state, work)
            mark += setup[ar.CYCLE]
        if not arrive(t, y, live, line, state, work):
            return 4
        if work.count[ar.CHAIN_PASS] > 0 or not is_down(work.g[ar.G0]):
            futile = 0
        elif crossed:
            futile += 1
        if futile >= FUTILE:
            overlook(work)
        clock = next_clock(t, y, line, state)
        if clock <= t:
            return 8
    close_ledger(t, y, work.k[0], line, state, work)
    if work.rec.shape[0] > 0 and work.count[ar.ROWS] > work.rec.shape[0]:
        return 6
    return 0 if t >= t_end else 1


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
