"""Inputs that may be left out without a declared default."""

from __future__ import annotations

from math import isnan


def or_else(x: float, otherwise: float) -> float:
    """``x`` if given, else ``otherwise``; NaN stands for not given."""
    return otherwise if isnan(x) else x
