"""Whole powers as products: the same bits compiled and in Python, whose ``**`` rounds otherwise now and then."""

from __future__ import annotations


def square(x: float) -> float:
    return x * x


def cube(x: float) -> float:
    return x * x * x
