"""Guard crossings inside a finished step, on its dense output only.

A guard that is zero or just negative at the start of the step is no crossing: it has just switched.
Nor is one that falls below zero by no more than rounding: a load that creeps to rest does so endlessly.
Two crossings inside one step are found from the value at mid-step and the parabola through the three
values, refined on the dense output.  The earliest crossing wins.
"""

from __future__ import annotations

from math import inf, sqrt
from typing import Any

from simcore.solver.arrays import CALLS, FULL, G0, G1, G3, GL, GM, GMAX, GR, K_PROBE, PROBE, TL
from simcore.solver.dispatch import evaluate
from simcore.solver.settle import NOISE
from simcore.solver.step import dense

CLOSE = 1e-11
"""Bracket [s] within which a crossing counts as located."""
PAST = 1.0
"""A located instant may lie so many brackets past its crossing."""
PATIENCE = 6
LATE = 100.0
"""After so many looks a bracket of so many times that size will do: the guard is down in its rounding."""
STUBBORN = 3
"""After so many estimates on one side the bracket is halved."""
NOTHING = 1e-9
"""What is no size in any SI unit of a guard."""
LOUDER = 4.0
NEAR = 0.05
"""A dip of the parabola within this share of the larger end is looked at closely."""
FAR = 0.2
"""A guard whose least value is above this share of its largest cannot dip as low as NEAR."""


def guards_at(s: float, t: float, h: float, y: Any, out: Any, line: Any, state: Any, work: Any) -> None:
    """Guards at the share ``s`` of the step into ``out``."""
    dense(s, h, y, work.k, work.k[PROBE])
    evaluate(t + s * h, FULL, work.k[PROBE], work.k[K_PROBE], work.t[TL], out, line, state)
    work.count[CALLS] += 1


def crossing_share(t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Share of the step just past its first guard crossing; 2 if there is none."""
    if all_clear(work.g[G0], work.g[GM], work.g[G1]):
        return 2.0
    copy_row(work.g[G0], work.g[GL])
    dip = dip_share(t, h, y, line, state, work)
    if dip >= 0.5 and any_crossed_since(work.g[GM], work.g[G0], work.g[GMAX]):
        copy_row(work.g[GM], work.g[GR])
        copy_row(work.g[G1], work.g[G3])
        return locate(0.0, 0.5, 1.0, t, h, y, line, state, work)
    if dip <= 1.0:
        guards_at(dip, t, h, y, work.g[GR], line, state, work)
        copy_row(work.g[G1], work.g[G3])
        return locate(0.0, dip, 1.0, t, h, y, line, state, work)
    if any_crossed_since(work.g[G1], work.g[G0], work.g[GMAX]):
        copy_row(work.g[GM], work.g[GL])
        copy_row(work.g[G1], work.g[GR])
        copy_row(work.g[G0], work.g[G3])
        return locate(0.5, 1.0, 0.0, t, h, y, line, state, work)
    return 2.0


def dip_share(t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Share of the step at which some guard dips to zero between positive ends; 2 if none does."""
    first = 2.0
    for j in range(work.g.shape[1]):
        a = 2.0 * (work.g[G0, j] - 2.0 * work.g[GM, j] + work.g[G1, j])
        b = 4.0 * work.g[GM, j] - 3.0 * work.g[G0, j] - work.g[G1, j]
        if a <= 0.0 or b >= 0.0 or -b >= 2.0 * a or work.g[G0, j] <= 0.0:
            continue
        low = work.g[G0, j] - 0.25 * b * b / a
        if low > NEAR * max(work.g[G0, j], work.g[G1, j]):
            continue
        s = refine_dip(j, -0.5 * b / a, t, h, y, line, state, work)
        first = min(first, s)
    return first


def refine_dip(j: int, s: float, t: float, h: float, y: Any, line: Any, state: Any, work: Any) -> float:
    """Follow the dip of guard ``j`` by parabolas; share at which it is <= 0, else 2."""
    s0, g0, s1, g1, s2, g2 = 0.0, work.g[G0, j], 0.5, work.g[GM, j], 1.0, work.g[G1, j]
    for _ in range(4):
        guards_at(s, t, h, y, work.g[GR], line, state, work)
        g = work.g[GR, j]
        if g <= -NOISE * work.g[GMAX, j]:
            return s
        if s < s1:
            if g < g1:
                s1, g1, s2, g2 = s, g, s1, g1
            else:
                s0, g0 = s, g
        elif g < g1:
            s0, g0, s1, g1 = s1, g1, s, g
        else:
            s2, g2 = s, g
        p = (s1 - s0) * (g1 - g2)
        q = (s1 - s2) * (g1 - g0)
        if p == q:
            return 2.0
        nxt = s1 - 0.5 * ((s1 - s0) * p - (s1 - s2) * q) / (p - q)
        if not (s0 < nxt < s2) or abs(nxt - s) < 1e-9:
            return 2.0
        s = nxt
    return 2.0


def locate(
    left: float, right: float, third: float, t: float, h: float, y: Any, line: Any, state: Any, work: Any
) -> float:
    """Share of the step just past the earliest crossing in ``(left, right]``.

    Guards at ``left`` are in row GL, those at ``right`` (some <= 0) in row GR, those at ``third``, outside, in row
    G3; all are used up.  The parabola through the three gives the next share, the earliest of all crossed guards
    first; it aims just past the crossing, so that the bracket closes from both sides.
    """
    same = 0
    tiny = CLOSE / h
    for i in range(200):
        wide = tiny if i < PATIENCE else LATE * tiny
        if right - left <= wide or overrun(left, right, work.g, work.g[GMAX]) <= PAST * tiny:
            break
        s = min(earliest(left, right, third, work.g, work.g[GMAX]) + 0.4 * tiny, right - 0.9 * tiny)
        if abs(same) >= STUBBORN or not (left < s < right):
            s = 0.5 * (left + right)
        guards_at(s, t, h, y, work.g[G1], line, state, work)
        if any_crossed_since(work.g[G1], work.g[GL], work.g[GMAX]):
            third = right
            right = s
            copy_row(work.g[GR], work.g[G3])
            copy_row(work.g[G1], work.g[GR])
            same = max(same, 0) + 1
        else:
            third = left
            left = s
            copy_row(work.g[GL], work.g[G3])
            copy_row(work.g[G1], work.g[GL])
            same = min(same, 0) - 1
        if abs(same) > STUBBORN:
            same = 0
    return right


def all_clear(first: Any, middle: Any, last: Any) -> bool:
    """Whether no guard can have been crossed or have dipped between its three values.

    The parabola through them goes below the least by no more than an eighth of their range.
    """
    near = 0
    for j in range(first.shape[0]):
        least = min(first[j], min(middle[j], last[j]))
        most = max(first[j], max(middle[j], last[j]))
        near += least <= 0.0 or least < FAR * most
    return near == 0


def any_crossed_since(g: Any, before: Any, size: Any) -> bool:
    """Whether some guard is <= 0 beyond rounding (one that was <= 0 at the left and only rises is none)."""
    for j in range(g.shape[0]):
        if g[j] <= -NOISE * size[j] and not (before[j] <= 0.0 and g[j] >= before[j]):
            return True
    return False


def overlook(work: Any) -> None:
    """Take guards at zero for rounding up to the size they have now: they were located and asked for no switch.

    A guard's size is nearly forgotten at a switch; one that then stays about zero has no size to tell its noise by.
    """
    for j in range(work.g.shape[1]):
        a = abs(work.g[G0, j])
        if work.g[G0, j] <= 0.0 and a < NOTHING:
            work.g[GMAX, j] = max(work.g[GMAX, j], LOUDER * a / NOISE)


def is_down(g: Any) -> bool:
    """Whether some guard is at zero or below."""
    for j in range(g.shape[0]):
        if g[j] <= 0.0:
            return True
    return False


def pass_over(g: Any) -> None:
    """Put guards that are down as low as can be: from there they can only rise, which is no crossing."""
    for j in range(g.shape[0]):
        if g[j] <= 0.0:
            g[j] = -inf


def overrun(left: float, right: float, g: Any, size: Any) -> float:
    """How far ``right`` lies past the earliest crossing, by the chord; the noise of a guard does not matter."""
    far = 0.0
    for j in range(size.shape[0]):
        if g[GR, j] <= -NOISE * size[j]:
            s = right - left
            if g[GL, j] > 0.0:
                s = (right - left) * g[GR, j] / (g[GR, j] - g[GL, j])
            far = max(far, s)
    return far


def earliest(left: float, right: float, third: float, g: Any, size: Any) -> float:
    """Earliest estimate of all guards crossed at the right."""
    s = right
    for j in range(size.shape[0]):
        if g[GR, j] <= -NOISE * size[j]:
            e = 0.5 * (left + right)
            if g[GL, j] > 0.0:
                e = left + parabola_root(right - left, third - left, g[GL, j], g[GR, j], g[G3, j])
            s = min(s, e)
    return s


def parabola_root(r: float, q: float, g0: float, gr: float, gq: float) -> float:
    """Root in (0, r] of the parabola through (0, g0 > 0), (r, gr <= 0) and (q, gq), q outside."""
    slope = (gr - g0) / r
    a = ((gq - g0) / q - slope) / (q - r)
    b = slope - a * r
    root = sqrt(max(b * b - 4.0 * a * g0, 0.0))
    if b < 0.0:
        return 2.0 * g0 / (root - b)
    return -0.5 * (b + root) / a


def copy_row(source: Any, target: Any) -> None:
    for j in range(source.shape[0]):
        target[j] = source[j]
