"""How long the next step is, and which of the two steppers takes it."""

from __future__ import annotations

from math import inf
from typing import Any

from simcore.solver import arrays as ar
from simcore.solver.stiff import unrest

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
"""After so many steps in a row that ended at a crossing which asked for no switch it was rounding."""


def begin_pace(h: float, setup: Any, pace: Any) -> None:
    """A first step of ``h``, explicit unless long ones alone are wanted."""
    for j in range(pace.shape[0]):
        pace[j] = 0.0
    pace[ar.STEP] = h
    pace[ar.EXPLICIT_STEP] = h
    pace[ar.GOES_LONG] = 1.0 if setup[ar.STEPPER] == ar.STIFF_ONLY else 0.0


def wanted(h_max: float, setup: Any, pace: Any) -> float:
    """The next step, if nothing is due before its end."""
    return min(pace[ar.STEP], setup[ar.LONGEST] if pace[ar.GOES_LONG] > 0.5 else h_max)


def next_step(h: float, error: float, long: bool) -> float:
    """Elementary step control for order 6, or of a long step for order 4."""
    grow = GROW_LONG if long else GROW
    if error <= 0.0:
        return h * grow
    return h * min(grow, max(SHRINK, SAFETY * error ** (-0.25 if long else -1.0 / 6.0)))


def refuse(step: float, error: float, setup: Any, pace: Any) -> bool:
    """A shorter step after one whose error was too large; False once that leads nowhere."""
    h = next_step(step, error, pace[ar.GOES_LONG] > 0.5) if error < inf else NOT_FINITE_SHRINK * step
    if h < LEAST and not error < inf:
        return False
    pace[ar.STEP] = h
    pace[ar.REFUSED] = 1.0
    end_long_unless_worth(setup, pace)
    return True


def accept(
    step: float,
    error: float,
    clipped: bool,
    crossed: bool,
    n: int,
    y: Any,
    line: Any,
    state: Any,
    work: Any,
    setup: Any,
) -> None:
    """The step after an accepted one, that was ``clipped`` to what was due or met a crossing."""
    pace = work.pace
    h = next_step(step, error, pace[ar.GOES_LONG] > 0.5)
    if pace[ar.REFUSED] > 0.5:
        h = min(h, step)
    pace[ar.REFUSED] = 0.0
    pace[ar.STEP] = max(pace[ar.STEP], h) if clipped else h
    idle = not clipped and (not crossed or pace[ar.FUTILE] >= FUTILE)
    pace[ar.QUIET] = pace[ar.QUIET] + 1.0 if idle else 0.0
    if pace[ar.GOES_LONG] > 0.5:
        if idle:
            end_long_unless_worth(setup, pace)
        else:
            end_long(setup, pace)
    elif idle and pace[ar.QUIET] % PATIENCE == 0.0 and may_leap(step, n, y, line, state, work, setup):
        pace[ar.EXPLICIT_STEP] = pace[ar.STEP]
        pace[ar.STEP] *= LEAP
        pace[ar.GOES_LONG] = 1.0


def end_long_unless_worth(setup: Any, pace: Any) -> None:
    """Back to explicit steps where a long one would be hardly longer."""
    worth = pace[ar.STEP] >= WORTH * pace[ar.EXPLICIT_STEP]
    if pace[ar.GOES_LONG] > 0.5 and setup[ar.STEPPER] != ar.STIFF_ONLY and not worth:
        end_long(setup, pace)


def end_long(setup: Any, pace: Any) -> None:
    """Back to the explicit step there was before; where long ones alone are wanted to the first step."""
    if setup[ar.STEPPER] == ar.STIFF_ONLY:
        pace[ar.STEP] = setup[FIRST_STEP]
    else:
        pace[ar.STEP] = pace[ar.EXPLICIT_STEP]
        pace[ar.GOES_LONG] = 0.0


def may_leap(step: float, n: int, y: Any, line: Any, state: Any, work: Any, setup: Any) -> bool:
    """Whether nothing happens any more that would keep a long step short."""
    return setup[ar.STEPPER] == ar.AUTOMATIC and unrest(step, n, y, line, state, work) < CALM
