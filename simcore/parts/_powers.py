"""Whole powers as products: the same bits compiled and in Python, whose ``**`` rounds otherwise now and then."""

from __future__ import annotations


def square(x: float) -> float:
    return x * x


def cube(x: float) -> float:
    return x * x * x


def whole_power(x: float, n: float) -> float:
    """``x`` times itself, ``n`` factors; a part of a factor is left out."""
    out = 1.0
    for _ in range(int(n)):
        out *= x
    return out
