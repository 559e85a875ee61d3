"""Steady running, solved: all accelerations zero, by Newton's method along a quasi-static run-up.

Unknown for every node but the ground: the angle, or for the first node of each group tied together by
stiffness, the group's speed; and the own states that stand still in steady running.  The time step of the
run-up grows until it no longer matters, so the branch found is the stable one a run-up from the speed
without load ends on.  Where the candidate gives way and slides, its two sides are groups of their own from there on.
A line held at rest is found the same way: its table (see simcore.line.weight) ties all nodes to the ground, so that no
speed is left.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import ENGAGED, SLIPPING
from simcore.solver import arrays as ar
from simcore.solver.dispatch import evaluate, part_torque, switch_part

FIRST_STEP = 1e-3
GROW_STEP = 10.0
ROUNDS = 60
SWITCHES = 40
PRECISE = 1e-13
FIRM = 1e-10
FAINT = 1e-15
"""Torque, over its size, that pulls a node at rest back to its place for every angle step it is off, so that none
floats: first firmly, until the play on the way is closed, then faintly."""
AFLOAT = 1e-6
"""No node at rest may lean on that pull by more than this share of its torque."""
OWN_STEP = 1e-3
"""Time [s] by which rates of own states are made comparable with the states."""
IDLE = 1e-9
"""Least slope of an own state's residual against itself, for states that idle."""


def residual(
    y: Any, before: Any, dt: float, pull: float, steady: Any, line: Any, state: Any, work: Any, r: Any
) -> None:
    """Torque missing on every node [N*m], over its size there."""
    nodes = line.nodes.shape[0]
    evaluate(0.0, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
    for n in range(1, nodes):
        if steady[n, 2] == 0.0:
            r[n] = y[n]
            continue
        root = int(steady[n, 0])
        slow = steady[n, 1] * (y[nodes + root] - before[root]) / dt
        r[n] = (line.nodes[n, ar.SUM] - line.nodes[n, ar.INERTIA] * slow) / steady[n, 2]
        if root == 0:
            r[n] -= pull * y[n] / steady[n, 3]
    for n in range(nodes, steady.shape[0]):
        j = int(steady[n, 0])
        r[n] = (OWN_STEP * work.k[0, j] - OWN_STEP / dt * (y[j] - before[n])) / steady[n, 2]


def unknown(n: int, steady: Any, nodes: int) -> int:
    """Place in the state vector of the unknown number ``n``."""
    root = int(steady[n, 0])
    return root if n >= nodes else (nodes + n if root == n else n)


def unit(n: int, y: Any, steady: Any, nodes: int) -> float:
    """Step of the differences of the unknown number ``n``, and the size its convergence is judged by."""
    if n >= nodes:
        return float(max(steady[n, 4], 1e-6 * abs(y[int(steady[n, 0])])))
    return float(steady[n, 4] if int(steady[n, 0]) == n else steady[n, 3])


def spread_speed(y: Any, steady: Any, nodes: int) -> None:
    """Every node turns with its group."""
    for n in range(1, nodes):
        root = int(steady[n, 0])
        if root != n:
            y[nodes + n] = steady[n, 1] * y[nodes + root]


def solve_dense(a: Any, b: Any, n: int) -> bool:
    """Gaussian elimination with partial pivoting on rows and columns 1..n-1, in place."""
    for i in range(1, n):
        p = i
        for r in range(i + 1, n):
            if abs(a[r, i]) > abs(a[p, i]):
                p = r
        if a[p, i] == 0.0 or a[p, i] != a[p, i]:
            return False
        if p != i:
            for c in range(1, n):
                x = a[i, c]
                a[i, c] = a[p, c]
                a[p, c] = x
            x = b[i]
            b[i] = b[p]
            b[p] = x
        for r in range(i + 1, n):
            f = a[r, i] / a[i, i]
            if f != 0.0:
                for c in range(i, n):
                    a[r, c] -= f * a[i, c]
                b[r] -= f * b[i]
    for i in range(n - 1, 0, -1):
        for c in range(i + 1, n):
            b[i] -= a[i, c] * b[c]
        b[i] /= a[i, i]
    return True


def jacobian(
    y: Any, before: Any, dt: float, pull: float, steady: Any, line: Any, state: Any, work: Any, jac: Any
) -> None:
    """Central differences of the residual by every unknown."""
    nodes = line.nodes.shape[0]
    size = steady.shape[0]
    plus = work.k[1]
    minus = work.k[2]
    for n in range(1, size):
        j = unknown(n, steady, nodes)
        keep = y[j]
        d = unit(n, y, steady, nodes)
        y[j] = keep + d
        spread_speed(y, steady, nodes)
        residual(y, before, dt, pull, steady, line, state, work, plus)
        y[j] = keep - d
        spread_speed(y, steady, nodes)
        residual(y, before, dt, pull, steady, line, state, work, minus)
        y[j] = keep
        spread_speed(y, steady, nodes)
        for r in range(1, size):
            jac[r, n] = 0.5 * (plus[r] - minus[r]) / d
        if n >= nodes:
            jac[n, n] -= IDLE / steady[n, 2]


def run_up(y: Any, pull: float, steady: Any, line: Any, state: Any, work: Any, jac: Any) -> bool:
    """Newton's method in the present modes; True if all accelerations vanish."""
    nodes = line.nodes.shape[0]
    before = work.k[3]
    r = work.k[4]
    dt = FIRST_STEP
    for _ in range(ROUNDS):
        for n in range(nodes):
            before[n] = y[nodes + n]
        for n in range(nodes, steady.shape[0]):
            before[n] = y[int(steady[n, 0])]
        jacobian(y, before, dt, pull, steady, line, state, work, jac)
        residual(y, before, dt, pull, steady, line, state, work, r)
        if not solve_dense(jac, r, steady.shape[0]):
            return False
        size = 0.0
        for n in range(1, steady.shape[0]):
            y[unknown(n, steady, nodes)] -= r[n]
            fine = unit(n, y, steady, nodes)
            if n < nodes and int(steady[n, 0]) != n:  # an angle: to its rounding
                fine += 1e-6 * abs(y[n])
            size = max(size, abs(r[n]) / fine)
        spread_speed(y, steady, nodes)
        if not size < 1e300:
            return False
        if dt > 1e12 and size < 1e-7:
            return True
        dt = min(dt * GROW_STEP, 1e15)
    return False


def violated_guard(e: int, line: Any, work: Any) -> int:
    """The lowest guard of part ``e`` below zero; -1 if none is."""
    found = -1
    for i in range(line.parts[e, ar.G_COUNT]):
        if found < 0 and work.g[ar.G0, line.parts[e, ar.G_FIRST] + i] < 0.0:
            found = i
    return found


def keep(y: Any, there: Any) -> None:
    """Copy ``y``."""
    for j in range(y.shape[0]):
        there[j] = y[j]


def which_table(e: int, now: int, tables: Any, line: Any, state: Any) -> int:
    """The table to go on with after a switch of part ``e``: the second one cuts the line at what slides."""
    a, b = line.parts[e, ar.ANGLE_A], line.parts[e, ar.ANGLE_B]
    if line.parts[e, ar.PROTECTS] == 0 or tables[1, a, 0] == tables[1, b, 0]:
        return now
    return 1 if line.klass[e, state.mode[e]] == SLIPPING else 0


def cross_play(e: int, old: int, y: Any, line: Any, state: Any, work: Any) -> None:
    """On to the other flank if part ``e`` has left ``old`` for its play: a line that runs does not rest there."""
    now = state.mode[e]
    if line.klass[e, old] != ENGAGED or line.klass[e, now] != ENGAGED or part_torque(e, 0.0, y, line, state) != 0.0:
        return
    for k in range(min(2, line.parts[e, ar.G_COUNT])):
        new, _heat = switch_part(e, k, 0.0, y, work.t[ar.T0], line, state)
        if new != old:
            state.mode[e] = new
            return


def solve_steady(y: Any, tables: Any, line: Any, state: Any, work: Any, jac: Any) -> int:
    """Bring ``y`` and the modes to steady running; 0 if found, 7 if there is none.

    ``tables`` (2, nn + own states solved, 5), as the line starts and with a sliding candidate: group's first node (0:
    at rest), speed ratio to it, torque scale (0: held where it is), angle and speed steps of the differences; see
    ``steady_groups``.  Violated guards switch their part and the state is solved again.
    """
    now = 0
    steady = tables[0]
    parts = line.parts.shape[0]
    nodes = line.nodes.shape[0]
    pull = FIRM
    spread_speed(y, steady, nodes)
    keep(y, work.k[ar.TRIAL])
    for _ in range(SWITCHES):
        keep(y, work.k[ar.PROBE])
        ran = run_up(y, pull, steady, line, state, work, jac)
        evaluate(0.0, ar.FULL, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
        violated = False
        for e in range(parts):
            work.due[e] = violated_guard(e, line, work)
            if work.due[e] >= 0 and not violated:
                old = state.mode[e]
                new, _heat = switch_part(e, work.due[e], 0.0, y, work.t[ar.T0], line, state)
                state.mode[e] = new
                if steady[1, 0] > 0.0 and line.parts[e, ar.ANGLE_A] > 0 and line.parts[e, ar.ANGLE_B] > 0:
                    cross_play(e, old, y, line, state, work)
                now = which_table(e, now, tables, line, state)
                work.count[ar.LAST_PART] = e
                violated = True
        steady = tables[now]
        if not ran:
            keep(work.k[ar.PROBE], y)
        if violated:
            if now == 1 or not ran:  # a drive that is relieved is not sought from where it was dragged down to
                for n in range(nodes):
                    y[nodes + n] = work.k[ar.TRIAL, nodes + n]
            continue
        if not ran:
            return ar.NO_STEADY
        if pull == FAINT or steady[1, 0] > 0.0:
            return ar.DONE if stands(y, steady, parts, nodes, state) else ar.NO_STEADY
        pull = FAINT
    return ar.NO_STEADY


def stands(y: Any, steady: Any, parts: int, nodes: int, state: Any) -> bool:
    """Whether every node runs in the sense that its dry friction was taken for, or is held if the line rests."""
    for n in range(1, nodes):
        account = state.mode[parts + n]
        if steady[n, 0] == 0.0:
            if steady[n, 2] > 0.0 and abs(FAINT * y[n] / steady[n, 3]) > AFLOAT:
                return False
        elif account != ar.NO_ACCOUNT and account * y[nodes + n] <= 0.0:
            return False
    return True
