"""Switches at one instant: chains are followed pass by pass until every mode agrees with the state.

Rules.  Every switch of a pass sees the limit from the left.  A guard at or below zero is due if it
still falls 1 ns later and is then below the noise floor, or if it is clearly negative.  Wires take
effect after the pass.  Dry friction of a node decides from the sum of all other torques on it; one that swings to and
fro by no more than some tolerances, as the loss of a gear lets it that has nothing to hold against, is at rest.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import CLOCK
from simcore.solver.arrays import (
    CALLS,
    CHAIN_PASS,
    EV_ROWS,
    EVENTS,
    FULL,
    G0,
    G_COUNT,
    G_FIRST,
    GMAX,
    GN,
    HOLD_B,
    HOLD_F,
    INV_J,
    K_PROBE,
    LAST_PART,
    NO_ACCOUNT,
    PROBE,
    PULL,
    SLACK,
    SUM,
    SWINGS,
    T0,
    TN,
)
from simcore.solver.dispatch import evaluate, part_clock, switch_part

PASSES = 32
SOON = 1e-9
"""Look-ahead [s] that tells a falling guard from rounding noise."""
COINCIDENT = 1e-2
"""Guards that would fall within this share of the look-ahead belong to the same instant."""
NOISE = 1e-12
CLEAR = 1e-7
HEALS = 1000.0
"""A clearly negative guard that rises above zero within so many look-aheads is left alone."""
FORGET = 1e-6
"""A guard may be another quantity in another mode, so its largest size is nearly forgotten at a switch."""
FAINT = 30.0
"""A swing is faint that reaches no more than so many tolerances of a speed ..."""
RESTLESS = 50.0
"""... and after so many in a row the node is held ..."""
FIRM = 4.0
"""... against so many times what pulls at it, until something happens."""
NOT_DUE = -9


def guard_is_due(g: float, soon: float, size: float) -> bool:
    """Whether a guard of value ``g`` now and ``soon`` 1 ns later asks for its switch."""
    if g < -CLEAR * size and g + HEALS * (soon - g) < 0.0:
        return True
    return g <= COINCIDENT * (g - soon) and soon < g and soon < -NOISE * size


def look_ahead(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Slopes, torques and guards now, and guards 1 ns later."""
    evaluate(t, FULL, y, work.k[0], work.t[T0], work.g[G0], line, state)
    ahead = work.k[PROBE]
    for j in range(y.shape[0]):
        ahead[j] = y[j] + SOON * work.k[0, j]
    evaluate(t + SOON, FULL, ahead, work.k[K_PROBE], work.t[TN], work.g[GN], line, state)
    work.count[CALLS] += 2
    for j in range(work.g.shape[1]):
        a = abs(work.g[G0, j])
        if a > work.g[GMAX, j]:
            work.g[GMAX, j] = a


def first_account(line: Any, work: Any) -> int:
    """Index of the first node's guard; the last guard of all is running speed."""
    return work.g.shape[1] - 1 - line.nodes.shape[0]


def sets_off(n: int, mode: int, y: Any, line: Any, work: Any) -> bool:
    """Whether a node at rest has been let go the way the torques of the next instant push it.

    Friction may grow from nothing together with the torque against it: the pull is then zero, or rounding, at this
    very instant, and the node's choice was made on what comes.
    """
    j = line.nodes.shape[0] + n
    return bool(mode != 0 and y[j] == 0.0 and mode * work.k[K_PROBE, j] > 0.0)


def collect_due(t: float, y: Any, line: Any, state: Any, work: Any) -> int:
    """Mark the lowest due guard of every part and every due node account; gives their number."""
    parts = line.parts.shape[0]
    found = 0
    for e in range(parts):
        work.due[e] = NOT_DUE
        if part_clock(e, t, y, line, state) <= t:
            work.due[e] = CLOCK
        else:
            for i in range(line.parts[e, G_COUNT]):
                j = line.parts[e, G_FIRST] + i
                if guard_is_due(work.g[G0, j], work.g[GN, j], work.g[GMAX, j]):
                    work.due[e] = i
                    break
        if work.due[e] != NOT_DUE:
            found += 1
    for n in range(line.nodes.shape[0]):
        work.due[parts + n] = NOT_DUE
        j = first_account(line, work) + n
        mode = state.mode[parts + n]
        if mode == NO_ACCOUNT or sets_off(n, mode, y, line, work):
            continue
        if guard_is_due(work.g[G0, j], work.g[GN, j], work.g[GMAX, j]):
            work.due[parts + n] = 0
            found += 1
    return found


def note_event(t: float, who: int, which: int, old: int, new: int, work: Any) -> None:
    """Write one line of the event list, if there is room."""
    work.count[EVENTS] += 1
    i = work.count[EV_ROWS]
    if i < work.ev.shape[0]:
        work.ev[i, 0] = t
        work.ev[i, 1] = who
        work.ev[i, 2] = which
        work.ev[i, 3] = old
        work.ev[i, 4] = new
        work.count[EV_ROWS] = i + 1


def forget_size(first: int, last: int, work: Any) -> None:
    for j in range(first, last):
        work.g[GMAX, j] *= FORGET


def switch_parts(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Let every due part switch once, on the limit from the left."""
    for i in range(state.wire.shape[0]):
        state.wire2[i] = state.wire[i]
    for e in range(line.parts.shape[0]):
        k = work.due[e]
        if k == NOT_DUE:
            continue
        old = state.mode[e]
        new, heat = switch_part(e, k, t, y, work.t[T0], line, state)
        state.mode[e] = new
        state.booked[e] += heat
        forget_size(line.parts[e, G_FIRST], line.parts[e, G_FIRST] + line.parts[e, G_COUNT], work)
        work.count[LAST_PART] = e
        note_event(t, e, k, old, new, work)
    for i in range(state.wire.shape[0]):
        state.wire[i] = state.wire2[i]


def faint_torque(n: int, line: Any, work: Any) -> float:
    """Torque on node ``n`` that swings it on its springs by no speed that matters."""
    angle, speed = work.scale[0, n], work.scale[0, line.nodes.shape[0] + n]
    return float(FAINT * angle / (speed * speed * line.nodes[n, INV_J])) if speed > 0.0 else 0.0


def beyond(n: int, line: Any) -> float:
    """By how much the torques on node ``n`` pass what friction holds; below zero if they do not."""
    return float(max(line.nodes[n, SUM] - line.nodes[n, HOLD_F], -line.nodes[n, HOLD_B] - line.nodes[n, SUM]))


def slack_of(n: int, moved: bool, line: Any, work: Any) -> float:
    """What node ``n`` that has come to rest is held with besides, after faint swings alone; a torque that overcame it
    begins the count anew."""
    if not moved:
        if line.nodes[n, SLACK] > 0.0:
            line.nodes[n, SWINGS] = 0.0
            line.nodes[n, PULL] = 0.0
        return 0.0
    over = beyond(n, line)
    if over > 0.0:
        faint = over < faint_torque(n, line, work)
        line.nodes[n, SWINGS] = line.nodes[n, SWINGS] + 1.0 if faint else 0.0
        line.nodes[n, PULL] = max(line.nodes[n, PULL], over) if faint else 0.0
    return FIRM * line.nodes[n, PULL] if line.nodes[n, SWINGS] >= RESTLESS else 0.0


def take_slack(line: Any) -> None:
    """Something happens: nodes that are held besides are so with no more than they need now."""
    for n in range(line.nodes.shape[0]):
        if line.nodes[n, SLACK] > 0.0:
            line.nodes[n, SLACK] = min(line.nodes[n, SLACK], FIRM * max(beyond(n, line), 0.0))


def settle_accounts(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Let every due node account choose: hold, or move in the direction of the sum."""
    parts = line.parts.shape[0]
    nodes = line.nodes.shape[0]
    old = parts + nodes
    any_due = False
    for n in range(nodes):
        work.due[old + n] = state.mode[parts + n]
        if work.due[parts + n] != NOT_DUE:
            any_due = True
            state.mode[parts + n] = 0
            if work.due[old + n] != 0:
                y[nodes + n] = 0.0
    if not any_due:
        return
    look_ahead(t, y, line, state, work)
    for n in range(nodes):
        if work.due[parts + n] == NOT_DUE:
            continue
        s = line.nodes[n, SUM]
        slack = slack_of(n, work.due[old + n] != 0, line, work)
        new = 0
        if s > line.nodes[n, HOLD_F] * (1.0 + 1e-12) + slack:
            new = 1
        elif s < -line.nodes[n, HOLD_B] * (1.0 + 1e-12) - slack:
            new = -1
        elif work.due[old + n] == 0:
            new = 1 if s > 0.0 else -1
        line.nodes[n, SLACK] = slack if new == 0 else 0.0
        state.mode[parts + n] = new
        j = first_account(line, work) + n
        forget_size(j, j + 1, work)
        if new != work.due[old + n]:
            note_event(t, parts + n, work.due[parts + n], work.due[old + n], new, work)


def settle(t: float, y: Any, line: Any, state: Any, work: Any) -> bool:
    """Follow the chain of switches at ``t``; False if it does not end."""
    for i in range(PASSES):
        look_ahead(t, y, line, state, work)
        if i == 0:
            take_slack(line)
        if collect_due(t, y, line, state, work) == 0:
            work.count[CHAIN_PASS] = i
            return True
        switch_parts(t, y, line, state, work)
        settle_accounts(t, y, line, state, work)
    return False
