"""A programme in time: values at instants, straight in between, the first before and the last after.

Two lists of inputs, equally long; the same instant twice is a jump.  A part keeps the number of corners
passed in its memory, so that a jump has two sides, and asks for a switch at every corner by its clock.
Source: straight interpolation, textbook.
"""

from __future__ import annotations

from itertools import pairwise
from math import inf
from typing import Any


def program_length(tab: Any, times: float) -> int:
    """Number of corners of the list at the place ``times``; 0: no programme (place 0)."""
    return int(tab[int(times)]) if times > 0.0 else 0


def program_value(tab: Any, times: float, values: float, passed: float, t: float) -> float:
    """Value at the instant ``t`` [s] with ``passed`` corners behind it; there must be one corner at least."""
    i = int(passed)
    if i == 0:
        return float(tab[int(values) + 1])
    rises = program_slope(tab, times, values, passed)
    return float(tab[int(values) + i] + rises * (t - tab[int(times) + i]))


def program_slope(tab: Any, times: float, values: float, passed: float) -> float:
    """Change of the value in time: 0 before the first corner, after the last and at a jump."""
    i = int(passed)
    if i == 0 or i >= program_length(tab, times):
        return 0.0
    v = int(values) + i
    span = tab[int(times) + i + 1] - tab[int(times) + i]
    return float((tab[v + 1] - tab[v]) / span) if span > 0.0 else 0.0


def program_clock(tab: Any, times: float, passed: float) -> float:
    """Instant [s] of the next corner; infinite if there is none."""
    i = int(passed)
    return float(tab[int(times) + 1 + i]) if i < program_length(tab, times) else inf


def refuse_program(times: tuple[float, ...], values: tuple[float, ...], word: str, words: str) -> list[str]:
    """Sentences on lists called ``word``_times and ``words`` that cannot be a programme."""
    out = []
    if len(times) != len(values):
        out.append(f"{word}_times has {len(times)} values and {words} {len(values)}: they go in pairs")
    if any(b < a for a, b in pairwise(times)):
        out.append(f"{word}_times must not fall from one value to the next")
    return out
