"""The arrays the kernel works on, named once.

``Line`` is frozen while a case runs, ``State`` moves, ``Work`` is scratch that is made once a thread.
Sizes: ``np`` parts, ``nn`` nodes with the ground as node 0, ``ns`` part states, ``nr`` protections.

State vector ``y``: angles (nn), speeds (nn), part states (ns), then quadratures that never steer the
step: power lost of every part (np), three of every protection (impulse |T|, energy T*w_b, slip angle),
and the positive power of sources (1).
"""

from __future__ import annotations

from collections import namedtuple
from enum import IntEnum
from typing import Any

import numpy as np

from simcore.contract import N_READ, N_SENSE, N_WRITE, WIRES

Line = namedtuple("Line", "parts p nodes tab klass")
"""parts (np, 28) uint32, final indices; p (np, 48) rows; nodes (nn, 11); tab (any); klass (np, 16) int mode classes."""

State = namedtuple("State", "mode mem wire wire2 out booked")
"""mode (np + nn) int: parts, then node accounts; mem (np, 64); wire, wire2 (9); out (6); booked (np)."""

Work = namedtuple("Work", "k g t meas due scale rec ev count pace jac lu order u")
"""k (20, ny) slopes and trial states; g (8, ng) guards; t (5, np) torques; meas (np + 1, N_MEAS) measures;
due (np + 2*nn) int; scale (2, ny) error weights, as usual and while a law bends;
rec (rows, columns) trace; ev (rows, 6) events; count (8) int; pace (6) of the
steps; for the L-stable step
jac (ny, n) slopes by states, lu (n, n), order (n) int, u (7, ny) stages."""

Cases = namedtuple("Cases", "rows inertia setup y0 mode0 mem0 wire0 steady scale stop")
"""What differs from case to case; all but mem0 (np, 64) and wire0 (9) begin with an axis over the cases, or of length
1 for what they have in common: rows (n, np, 48), inertia (n, nn), setup (n, 16), y0 (n, ny), mode0 (n, np + nn),
steady (n, 2, nn and the own states that are solved, 5), scale (n, 2, steering states), stop (n, nn) speeds at which a
run ends."""

# columns of Line.parts
(
    KIND,
    ANGLE_A,
    ANGLE_B,
    SPEED_A,
    SPEED_B,
    X0,
    NX,
    PROTECTS,
    ACCOUNT,
    LOSS,
    QUAD,
    G_FIRST,
    G_COUNT,
    W0,
) = range(14)
O0 = W0 + N_READ
SENSED0 = O0 + N_WRITE
SIGNAL0 = SENSED0 + N_SENSE
N_PART = SIGNAL0 + N_SENSE + 1
NO_WIRE = len(WIRES)
"""A wire that nobody writes, for reads that a kind does not have."""
# columns of Line.nodes
INV_J, SUM, HOLD_B, HOLD_F, VARYING, STOP_NOW, INERTIA, STOP_SPEED, SLACK, SWINGS, PULL = range(11)
N_NODE = 11
"""A run ends when all nodes with a STOP_SPEED, signed, have reached it; while something is still due STOP_NOW is 0.
SLACK is what a node held by dry friction is held with besides, SWINGS in a row were too small to matter, PULL is the
most that pulled at their ends (settle.py)."""
# rows of Work.k: nine slopes, of which the last is that of the step's end, then the one of its middle, the states there
K_END, K_MIDDLE, TRIAL, MIDDLE = 8, 9, 10, 11
# ... the same two of a step that ends at a crossing; for looking at any place
CUT, CUT_MIDDLE, PROBE, K_PROBE = 12, 13, 14, 15
# ... and what the dense output of an L-stable step needs; entry 0 of the last row tells which kind the last step was
RISE, BOW_1, BOW_2, KIND_OF_STEP = 16, 17, 18, 19
SHORT = 0.0
"""Kind of step: explicit ..."""
LONG = 1.0
"""... and L-stable."""
# rows of Work.g
G0, G1, GM, GL, GR, GN, GMAX, G3 = range(8)
# rows of Work.t
T0, T1, TM, TN, TL = range(5)
# Work.count
STEPS, REJECTED, CALLS, EVENTS, ROWS, EV_ROWS, CHAIN_PASS, LAST_PART = range(8)
# Work.pace: step that comes next; explicit step before the long ones; steps in a row without an event; whether the last
# trial was refused; crossings in a row that asked for no switch; whether the next step is a long one
STEP, EXPLICIT_STEP, QUIET, REFUSED, FUTILE, GOES_LONG = range(6)
# columns of a case's setup that are used by name
FIRST_TRIGGER, MARK, CYCLE, FINE_UNTIL, COARSE, STEPPER, LONGEST, WAY, WAY_NODE = range(7, 16)
AUTOMATIC, EXPLICIT_ONLY, STIFF_ONLY = 0.0, 1.0, 2.0
NO_ACCOUNT = 9
"""Mode of a node without dry friction."""

# columns of Work.meas, one row a part ...
(
    PEAK,
    T_PEAK,
    FIRST_PEAK,
    T_FIRST,
    FIRST_DONE,
    TRIGGER,
    LETS_GO,
    LOW_OPEN,
    DISCONNECT,
    REENGAGE,
    LOW,
    STAND,
    IMP_TRIGGER,
    EN_TRIGGER,
    IMP_LOW,
    EN_LOW,
    IMP_STAND,
    EN_STAND,
    X_MAX,
    X_MAX2,
    HEAT_0,
    SLIP_0,
    IMP_END,
    EN_END,
    SLIP_END,
    HEAT_END,
    TALLY,
    CLASS_END,
    HEAT_RATE,
    SPEED_0,
    SPEED_1,
    BURNT,
    T_LATE,
    ANGLE_LATE,
    SPEED_LATE,
    BEGAN,
    HEAT_LATE,
    POWER_LATE,
) = range(38)
N_MEAS = 38
# ... and the row after the last part: the energy ledger
(L_E0, L_SOURCE0, L_LOSS0, L_E1, L_SOURCE1, L_LOSS1, L_TURNED, L_RESIDUAL, L_T_END) = range(9)
L_START = 15
"""Angle of the node whose way before the first event counts, at the start."""
L_LATE, L_REACHED = 16, 17
"""Instant from which the driven speed is averaged; largest share of STOP_SPEED that all nodes have reached at once."""
# ... where an event repeats, also each cycle's: snapshot at its start, how many, the most energy turned over in one so
# far, and the largest residual over that
(L_CYCLE_E, L_CYCLE_SOURCE, L_CYCLE_LOSS, L_CYCLES, L_CYCLE_WORST, L_CYCLE_MOST) = range(9, 15)


FULL = 1.0
"""Evaluate guards too; a float, because numba compiles a function anew for every literal integer."""
PLAIN = 0.0


class Status(IntEnum):
    """How a case ended."""

    DONE = 0
    STOPPED = 1
    TOO_MANY_STEPS = 2
    STEP_TOO_SMALL = 3
    ENDLESS_CHAIN = 4
    NOT_FINITE = 5
    TRACE_FULL = 6
    NO_STEADY = 7
    CLOCK_STUCK = 8


(
    DONE, STOPPED, TOO_MANY_STEPS, STEP_TOO_SMALL, ENDLESS_CHAIN, NOT_FINITE, TRACE_FULL, NO_STEADY, CLOCK_STUCK,
) = map(int, Status)  # fmt: skip
"""Plain numbers, which compiled code wants."""

MESSAGES = {
    Status.DONE: "reached the horizon",
    Status.STOPPED: "reached running speed",
    Status.TOO_MANY_STEPS: "more steps than allowed, a shorter horizon needs fewer",
    Status.STEP_TOO_SMALL: "the step shrank to nothing",
    Status.ENDLESS_CHAIN: "parts switch each other endlessly at one instant",
    Status.NOT_FINITE: "a number became infinite or undefined",
    Status.TRACE_FULL: "the trace is longer than its buffer",
    Status.NO_STEADY: "no steady running state was found",
    Status.CLOCK_STUCK: "a part's clock does not move on",
}


def working_arrays(a: Any, rows: int, events: int) -> tuple[Any, Any, Any]:
    """Line, state and work arrays for one thread; ``a`` is an Assembly."""
    np_, nn, ny = len(a.parts), len(a.nodes), len(a.y0)
    guards = int(a.parts[:, G_COUNT].sum())
    n = a.scale.shape[1]
    columns = 1 + ny + 2 * np_ + len(a.mode0)
    line = Line(a.parts, a.rows.copy(), a.nodes.copy(), a.tab, a.klass)
    state = State(a.mode0.copy(), a.mem0.copy(), a.wire0.copy(), a.wire0.copy(), np.zeros(N_WRITE), np.zeros(np_))
    work = Work(
        np.zeros((20, ny)),
        np.zeros((8, guards + nn + 1)),
        np.zeros((5, np_)),
        np.zeros((np_ + 1, N_MEAS)),
        np.zeros(np_ + 2 * nn, dtype=np.int64),
        a.scale.copy(),
        np.zeros((rows, columns)),
        np.zeros((events, 6)),
        np.zeros(8, dtype=np.int64),
        np.zeros(6),
        np.zeros((ny, n)),
        np.zeros((n, n)),
        np.zeros(n, dtype=np.int64),
        np.zeros((7, ny)),
    )
    return line, state, work
