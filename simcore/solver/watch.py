"""Measures taken while a case runs: peaks, trigger, disconnect, let-through, ledger.

Everything is read off the dense output or at both limits of an event and never steers the step.
Definitions stand in :mod:`simcore.definitions`.
"""

from __future__ import annotations

from math import inf, nan
from typing import Any

from simcore.contract import COL_BURNT, COL_RB, COL_SETTING, COL_TALLY, ENGAGED, OPEN, SLIPPING
from simcore.solver import arrays as ar
from simcore.solver.dispatch import evaluate, part_store, part_torque
from simcore.solver.step import dense, dense_one

LOW_SHARE = 0.1
HOLDS_FOR = 5e-3
"""A part is disconnected once |T| stays at or below LOW_SHARE of the setting for this long [s]."""
LOCATED = 1e-10
"""Bracket [s] within which an instant of the measures counts as located."""
UNLOADED = 0.5
"""The first impact is over when |T| has fallen below this share of its peak."""
DWARFS = 1e3
"""Times the first peak past which a later torque shows that it was none, but the noise of a line at rest."""
ALIKE = 1e-6
"""A later peak that is no higher than the first by more than this share is the same peak again."""
FLAT = 1e-4
"""Least size of the cubic at a turning point from which its own share of the torque can be told."""


def clear_measures(line: Any, work: Any) -> None:
    for e in range(work.meas.shape[0]):
        for j in range(work.meas.shape[1]):
            work.meas[e, j] = nan
    for e in range(line.parts.shape[0]):
        for j in (ar.PEAK, ar.FIRST_PEAK, ar.FIRST_DONE, ar.X_MAX, ar.X_MAX2):
            work.meas[e, j] = 0.0


def part_class(e: int, line: Any, state: Any) -> int:
    return line.klass[e, state.mode[e]]


def note_torque(e: int, t: float, T: float, meas: Any) -> None:
    a = abs(T)
    if a > DWARFS * meas[e, ar.FIRST_PEAK]:
        meas[e, ar.FIRST_DONE] = 0.0
    first_over = meas[e, ar.FIRST_DONE] != 0.0
    if a > meas[e, ar.PEAK] and not (first_over and a <= meas[e, ar.FIRST_PEAK] * (1.0 + ALIKE)):
        meas[e, ar.PEAK] = a
        meas[e, ar.T_PEAK] = t
    if not first_over:
        if a > meas[e, ar.FIRST_PEAK]:
            meas[e, ar.FIRST_PEAK] = a
            meas[e, ar.T_FIRST] = t
        elif a < UNLOADED * meas[e, ar.FIRST_PEAK]:
            meas[e, ar.FIRST_DONE] = 1.0


def note_point(t: float, y: Any, T: Any, line: Any, state: Any, work: Any) -> None:
    """Take in one instant: torques, states, and whether protections are open and without load."""
    for e in range(line.parts.shape[0]):
        note_torque(e, t, T[e], work.meas)
        if line.parts[e, ar.PROTECTS] != 0:
            note_states(e, y, line, work.meas)
            note_late(e, t, y, line, state, work.meas)
            note_load(e, t, T[e], y, line, state, work.meas)


def note_states(e: int, y: Any, line: Any, meas: Any) -> None:
    """Largest size of the first two states of a protection."""
    for i in range(min(2, line.parts[e, ar.NX])):
        x = abs(y[line.parts[e, ar.X0] + i])
        if x > meas[e, ar.X_MAX + i]:
            meas[e, ar.X_MAX + i] = x


def note_late(e: int, t: float, y: Any, line: Any, state: Any, meas: Any) -> None:
    """Instant, driven angle and heat from which speed and power are averaged."""
    if t >= meas[line.parts.shape[0], ar.L_LATE] and meas[e, ar.T_LATE] != meas[e, ar.T_LATE]:
        meas[e, ar.T_LATE] = t
        meas[e, ar.ANGLE_LATE] = driven_angle(e, y, line)
        meas[e, ar.HEAT_LATE] = y[line.parts[e, ar.LOSS]] + state.booked[e]


def note_load(e: int, t: float, T: float, y: Any, line: Any, state: Any, meas: Any) -> None:
    """Bookkeeping of 'at most 10 % of the setting', alone and together with an open class."""
    if abs(T) > LOW_SHARE * line.p[e, COL_SETTING]:
        meas[e, ar.LOW] = nan
        if meas[e, ar.DISCONNECT] != meas[e, ar.DISCONNECT]:
            meas[e, ar.LOW_OPEN] = nan
        return
    if meas[e, ar.LOW] != meas[e, ar.LOW]:
        meas[e, ar.LOW] = t
    if meas[e, ar.DISCONNECT] == meas[e, ar.DISCONNECT]:
        return
    if part_class(e, line, state) < OPEN:
        meas[e, ar.LOW_OPEN] = nan
        return
    if meas[e, ar.LOW_OPEN] != meas[e, ar.LOW_OPEN]:
        q = line.parts[e, ar.QUAD]
        meas[e, ar.LOW_OPEN] = t
        meas[e, ar.IMP_LOW] = y[q]
        meas[e, ar.EN_LOW] = y[q + 1]
    elif t - meas[e, ar.LOW_OPEN] >= HOLDS_FOR:
        meas[e, ar.DISCONNECT] = meas[e, ar.LOW_OPEN]


def note_modes(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Trigger, letting go and re-engaging, from the classes after a switch; of what protects nothing the instant it
    first leaves the mode it began in."""
    for e in range(line.parts.shape[0]):
        if line.parts[e, ar.PROTECTS] == 0:
            note_first_switch(e, t, state, work.meas)
            continue
        c = part_class(e, line, state)
        m = work.meas
        if c != ENGAGED and m[e, ar.TRIGGER] != m[e, ar.TRIGGER]:
            q = line.parts[e, ar.QUAD]
            m[e, ar.TRIGGER] = t
            m[e, ar.IMP_TRIGGER] = y[q]
            m[e, ar.EN_TRIGGER] = y[q + 1]
        if c >= SLIPPING and m[e, ar.LETS_GO] != m[e, ar.LETS_GO]:
            m[e, ar.LETS_GO] = t
        if c == ENGAGED and m[e, ar.DISCONNECT] == m[e, ar.DISCONNECT]:
            if m[e, ar.REENGAGE] != m[e, ar.REENGAGE]:
                m[e, ar.REENGAGE] = t


def note_first_switch(e: int, t: float, state: Any, meas: Any) -> None:
    if meas[e, ar.BEGAN] != meas[e, ar.BEGAN]:
        meas[e, ar.BEGAN] = state.mode[e]
    elif state.mode[e] != meas[e, ar.BEGAN] and meas[e, ar.TRIGGER] != meas[e, ar.TRIGGER]:
        meas[e, ar.TRIGGER] = t


def note_step(
    t: float, h: float, share: float, y: Any, middle: Any, end: Any, line: Any, state: Any, work: Any
) -> None:
    """Take in the first ``share`` of a step, without a switch inside: states at its start, middle and end.

    What stands in ``work.k`` is that of the whole step ``h``.
    """
    for e in range(line.parts.shape[0]):
        if may_turn(work.t[ar.T0, e], work.t[ar.TM, e], work.t[ar.T1, e], work.meas[e, ar.PEAK]):
            note_turn(e, t, h, share, y, line, state, work)
        if line.parts[e, ar.PROTECTS] != 0:
            j = line.parts[e, ar.SPEED_A]
            if y[j] * end[j] <= 0.0 and work.meas[e, ar.TRIGGER] == work.meas[e, ar.TRIGGER]:
                note_standstill(e, t, h, share, y, line, work)
    note_low(0.0, 0.5 * share, ar.T0, ar.TM, t, h, y, line, state, work)
    note_point(t + 0.5 * share * h, middle, work.t[ar.TM], line, state, work)
    note_low(0.5 * share, share, ar.TM, ar.T1, t, h, y, line, state, work)
    note_point(t + share * h, end, work.t[ar.T1], line, state, work)
    note_speed(end, line, work.meas)


def note_speed(y: Any, line: Any, meas: Any) -> None:
    """Keep the largest share of their STOP_SPEED at which all nodes that have one run at once."""
    row, nodes = line.parts.shape[0], line.nodes.shape[0]
    least = inf
    for n in range(nodes):
        if line.nodes[n, ar.STOP_SPEED] != 0.0:
            least = min(least, y[nodes + n] / line.nodes[n, ar.STOP_SPEED])
    if least < inf and not meas[row, ar.L_REACHED] >= least:
        meas[row, ar.L_REACHED] = least


def may_turn(t0: float, tm: float, t1: float, peak: float) -> bool:
    """Whether the parabola through three torques turns inside, near or above the peak so far."""
    a = 2.0 * (t0 - 2.0 * tm + t1)
    b = 4.0 * tm - 3.0 * t0 - t1
    if a == 0.0 or -b * a <= 0.0 or abs(b) >= 2.0 * abs(a):
        return False
    return abs(t0 - 0.25 * b * b / a) > peak * (1.0 - 1e-3)


def note_turn(e: int, t: float, h: float, share: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Read the torque at the turning point of the parabola through the three known values, then of the cubic that
    also goes through the torque read."""
    t0 = work.t[ar.T0, e]
    b = 4.0 * work.t[ar.TM, e] - 3.0 * t0 - work.t[ar.T1, e]
    a = 2.0 * (t0 - 2.0 * work.t[ar.TM, e] + work.t[ar.T1, e])
    u = -0.5 * b / a
    T = torque_at(e, u * share, t, h, y, line, state, work)
    note_torque(e, t + u * share * h, T, work.meas)
    cubic = u * (u - 0.5) * (u - 1.0)
    if abs(cubic) < FLAT:
        return
    c = (T - t0 - u * (b + u * a)) / cubic
    u -= c * (3.0 * u * (u - 1.0) + 0.5) / (2.0 * a + c * (6.0 * u - 3.0))
    if 0.0 < u < 1.0:
        note_torque(e, t + u * share * h, torque_at(e, u * share, t, h, y, line, state, work), work.meas)


def torque_at(e: int, s: float, t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Torque of part ``e`` at the share ``s`` of the step."""
    row = line.parts[e]
    probe = work.k[ar.PROBE]
    for i in range(ar.ANGLE_A, ar.SPEED_B + 1):
        probe[row[i]] = dense_one(s, h, y, work.k, row[i])
    for j in range(row[ar.X0], row[ar.X0] + row[ar.NX]):
        probe[j] = dense_one(s, h, y, work.k, j)
    return part_torque(e, t + s * h, probe, line, state)


def note_low(
    a: float, b: float, first: int, last: int, t: float, h: float, y: Any, line: Any, state: Any, work: Any
) -> None:
    """Of each protection the instant between the shares ``a`` and ``b`` at which |T| falls to 10 % of the setting; of
    one that is open also the last before it rises past that again.  Rows ``first`` and ``last``: torques at both ends.
    """
    for e in range(line.parts.shape[0]):
        if line.parts[e, ar.PROTECTS] != 0:
            low = LOW_SHARE * line.p[e, COL_SETTING]
            fa, fb = abs(work.t[first, e]) - low, abs(work.t[last, e]) - low
            is_open = work.meas[e, ar.LOW_OPEN] == work.meas[e, ar.LOW_OPEN]
            if (fa > 0.0 and fb <= 0.0) or (fa <= 0.0 and fb > 0.0 and is_open):
                s = low_share(e, low, a, b, fa, fb, t, h, y, line, state, work)
                dense(s, h, y, work.k, work.k[ar.PROBE])
                note_load(e, t + s * h, low, work.k[ar.PROBE], line, state, work.meas)


def low_share(
    e: int, low: float, a: float, b: float, fa: float, fb: float, t: float, h: float, y: Any, line: Any, state: Any,
    work: Any,
) -> float:  # fmt: skip
    """Share between ``a`` and ``b`` at which |T| is ``low`` or just less, to 1e-10 s (Illinois rule, aiming at the side
    that is low); ``fa``, ``fb``: |T| less ``low`` there."""
    half = 0.5 * LOCATED / h
    aim = half if fa > 0.0 else -half
    for _ in range(40):
        if (b - a) * h <= LOCATED or fa == 0.0 or fb == 0.0:
            break
        s = max(a + half, min(a + (b - a) * fa / (fa - fb) + aim, b - half))
        f = abs(torque_at(e, s, t, h, y, line, state, work)) - low
        if (f > 0.0) == (fa > 0.0):
            a, fa, fb = s, f, 0.5 * fb
        else:
            b, fb, fa = s, f, 0.5 * fa
    return a if fa <= 0.0 else b


def note_standstill(e: int, t: float, h: float, share: float, y: Any, line: Any, work: Any) -> None:
    """The instant hub a first stands still after the trigger, with the quadratures there."""
    m = work.meas
    if m[e, ar.STAND] == m[e, ar.STAND]:
        return
    j = line.parts[e, ar.SPEED_A]
    a, b = 0.0, share
    for _ in range(50):
        s = 0.5 * (a + b)
        if dense_one(s, h, y, work.k, j) * y[j] > 0.0:
            a = s
        else:
            b = s
    q = line.parts[e, ar.QUAD]
    m[e, ar.STAND] = t + b * h
    m[e, ar.IMP_STAND] = dense_one(b, h, y, work.k, q)
    m[e, ar.EN_STAND] = dense_one(b, h, y, work.k, q + 1)


def driven_angle(e: int, y: Any, line: Any) -> float:
    """Angle of hub b at the part's own shaft."""
    return line.p[e, COL_RB] * y[line.parts[e, ar.ANGLE_B]]


def driven_speed(e: int, y: Any, line: Any) -> float:
    """Speed of hub b at the part's own shaft."""
    return line.p[e, COL_RB] * y[line.parts[e, ar.SPEED_B]]


def triggered(e: int, work: Any) -> bool:
    """Whether the protection ``e`` has left its engaged modes."""
    return bool(work.meas[e, ar.TRIGGER] == work.meas[e, ar.TRIGGER])


def energy(t: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Kinetic and stored energy of the line [J], inertias that vary taken at this very state."""
    evaluate(t, ar.PLAIN, y, work.k[ar.K_PROBE], work.t[ar.TN], work.g[ar.GN], line, state)
    total = 0.0
    nodes = line.nodes.shape[0]
    for n in range(nodes):
        if line.nodes[n, ar.INV_J] > 0.0:
            total += 0.5 * y[nodes + n] * y[nodes + n] / line.nodes[n, ar.INV_J]
    for e in range(line.parts.shape[0]):
        total += part_store(e, t, y, line, state)
    return total


def total_loss(y: Any, line: Any, state: Any) -> float:
    """Energy lost by all parts, sources negative [J]."""
    total = 0.0
    for e in range(line.parts.shape[0]):
        total += y[line.parts[e, ar.LOSS]] + state.booked[e]
    return total


def open_ledger(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Snapshot at t = 0."""
    row = line.parts.shape[0]
    work.meas[row, ar.L_E0] = energy(t, y, line, state, work)
    work.meas[row, ar.L_SOURCE0] = y[y.shape[0] - 1]
    work.meas[row, ar.L_LOSS0] = total_loss(y, line, state)
    open_cycle(work.meas, row, ar.L_E0)
    work.meas[row, ar.L_CYCLES] = 0.0
    work.meas[row, ar.L_CYCLE_WORST] = 0.0
    work.meas[row, ar.L_CYCLE_MOST] = 0.0
    for e in range(row):
        work.meas[e, ar.HEAT_0] = y[line.parts[e, ar.LOSS]] + state.booked[e]
        if line.parts[e, ar.PROTECTS] != 0:
            work.meas[e, ar.SLIP_0] = y[line.parts[e, ar.QUAD] + 2]
            work.meas[e, ar.SPEED_0] = driven_speed(e, y, line)


def open_cycle(m: Any, row: int, first: int) -> None:
    """The snapshot whose energy stands in column ``first`` (L_E0 or L_E1) is the start of a cycle."""
    for j in range(3):
        m[row, ar.L_CYCLE_E + j] = m[row, first + j]


def note_cycle(t: float, y: Any, line: Any, state: Any, work: Any) -> None:
    """Balance of the cycle that ends at ``t``, over the most that one has turned over: a stopped line turns none."""
    row = line.parts.shape[0]
    m = work.meas
    m[row, ar.L_E1] = energy(t, y, line, state, work)
    m[row, ar.L_SOURCE1] = y[y.shape[0] - 1]
    m[row, ar.L_LOSS1] = total_loss(y, line, state)
    gone = m[row, ar.L_LOSS1] - m[row, ar.L_CYCLE_LOSS]
    turned = m[row, ar.L_CYCLE_E] + m[row, ar.L_SOURCE1] - m[row, ar.L_CYCLE_SOURCE]
    m[row, ar.L_CYCLE_MOST] = max(turned, m[row, ar.L_CYCLE_MOST])
    open_by = abs((m[row, ar.L_CYCLE_E] - m[row, ar.L_E1] - gone) / m[row, ar.L_CYCLE_MOST])
    m[row, ar.L_CYCLES] += 1.0
    if not open_by <= m[row, ar.L_CYCLE_WORST]:
        m[row, ar.L_CYCLE_WORST] = open_by
    open_cycle(m, row, ar.L_E1)


def close_ledger(t: float, y: Any, dy: Any, line: Any, state: Any, work: Any) -> None:
    """Snapshot at the horizon, and the balance between the two."""
    row = line.parts.shape[0]
    m = work.meas
    m[row, ar.L_E1] = energy(t, y, line, state, work)
    m[row, ar.L_SOURCE1] = y[y.shape[0] - 1]
    m[row, ar.L_LOSS1] = total_loss(y, line, state)
    m[row, ar.L_TURNED] = m[row, ar.L_E0] + m[row, ar.L_SOURCE1] - m[row, ar.L_SOURCE0]
    gone = m[row, ar.L_LOSS1] - m[row, ar.L_LOSS0]
    m[row, ar.L_RESIDUAL] = m[row, ar.L_E0] - m[row, ar.L_E1] - gone
    m[row, ar.L_T_END] = t
    for e in range(row):
        m[e, ar.HEAT_END] = y[line.parts[e, ar.LOSS]] + state.booked[e]
        m[e, ar.HEAT_RATE] = dy[line.parts[e, ar.LOSS]]
        m[e, ar.CLASS_END] = part_class(e, line, state)
        if line.parts[e, ar.PROTECTS] != 0:
            q = line.parts[e, ar.QUAD]
            m[e, ar.IMP_END] = y[q]
            m[e, ar.EN_END] = y[q + 1]
            m[e, ar.SLIP_END] = y[q + 2]
            m[e, ar.SPEED_1] = driven_speed(e, y, line)
            if t > m[e, ar.T_LATE]:
                m[e, ar.SPEED_LATE] = (driven_angle(e, y, line) - m[e, ar.ANGLE_LATE]) / (t - m[e, ar.T_LATE])
                m[e, ar.POWER_LATE] = (m[e, ar.HEAT_END] - m[e, ar.HEAT_LATE]) / (t - m[e, ar.T_LATE])
            m[e, ar.TALLY] = state.mem[e, int(line.p[e, COL_TALLY])]
            m[e, ar.BURNT] = state.mem[e, int(line.p[e, COL_BURNT])]
            open_now = part_class(e, line, state) >= OPEN
            if open_now and t - m[e, ar.LOW_OPEN] >= HOLDS_FOR:
                m[e, ar.DISCONNECT] = m[e, ar.LOW_OPEN]
