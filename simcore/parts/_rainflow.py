r"""Rainflow counting of turning points held in memory cells, and the damage of a cycle.

A new turning point closes ranges on the stack as ASTM E1049-85, 5.4.4, rules: with X the newest range and Y
the one before it, Y is counted once X is not smaller; as a full cycle, or as a half cycle and its first point
dropped where Y holds the first point of all.  What is left at the end counts as half cycles.

.. math:: D = \sum \frac{1}{N}, \qquad T_a = T'_f\,(2N)^b

Sources: ASTM E1049-85, Standard Practices for Cycle Counting in Fatigue Analysis; O. H. Basquin, 1910, and
M. A. Miner, Cumulative Damage in Fatigue, J. Appl. Mech. 12 (1945), both cited from memory.
"""

from __future__ import annotations

from typing import Any


def closed_range(M: Any, first: int, n: int) -> tuple[float, float, float, int]:
    """Close one range of the stack ``M[first : first + n]``, the newest point last.

    Gives its weight (1 a full cycle, 0.5 a half cycle, 0 none closes), its two ends, and the points left.
    """
    if n < 3:
        return 0.0, 0.0, 0.0, n
    a, b, c = M[first + n - 3], M[first + n - 2], M[first + n - 1]
    if abs(c - b) < abs(b - a):
        return 0.0, 0.0, 0.0, n
    if n == 3:
        M[first] = b
        M[first + 1] = c
        return 0.5, a, b, 2
    M[first + n - 3] = c
    return 1.0, a, b, n - 2


def drop_oldest(M: Any, first: int, n: int) -> int:
    """Take the oldest point off the stack; its range is to be counted as a half cycle before."""
    for j in range(first, first + n - 1):
        M[j] = M[j + 1]
    return n - 1


def cycle_damage(amplitude: float, strength: float, exponent: float, knee: float) -> float:
    """Damage of one full cycle, ``2 (T_a/T_f')^(-1/b)``; ``exponent`` is -1/b; none up to the knee."""
    if amplitude <= knee:
        return 0.0
    return float(2.0 * (amplitude / strength) ** exponent)
