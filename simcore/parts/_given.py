"""Inputs that may be left out without a declared default."""

from __future__ import annotations

import re
from collections.abc import Iterable
from math import isnan
from typing import Any


def or_else(x: float, otherwise: float) -> float:
    """``x`` if given, else ``otherwise``; NaN stands for not given."""
    return otherwise if isnan(x) else x


def either(r: Any, first: Iterable[str], second: Iterable[str]) -> tuple[str, ...]:
    """Names of the second way of giving something if any of them is given, else of the first."""
    return tuple(second if any(not isnan(getattr(r, n)) for n in second) else first)


def lacking(r: Any, needs: Iterable[str], instead: str) -> list[str]:
    """A sentence that names what is missing of ``needs`` where some of it is given; nothing if all or none is."""
    absent = [n for n in needs if isnan(getattr(r, n))]
    if not absent or len(absent) == len(tuple(needs)):
        return []
    names = " and ".join(filter(None, (", ".join(absent[:-1]), absent[-1])))
    return [f"the geometry lacks {names}: give {'it' if len(absent) == 1 else 'them'} too, or the {instead}"]


def named_in(r: Any, text: str) -> tuple[str, ...]:
    """Inputs that a text names, in its order."""
    return tuple(w for w in re.findall(r"\w+", text) if hasattr(r, w))


def narrower(r: Any, inner: str, outer: str, why: str = "") -> list[str]:
    """A sentence with both values [m] if the length ``inner`` is not below ``outer``."""
    a, b = getattr(r, inner), getattr(r, outer)
    return [f"{inner} {1e3 * a:.4g} mm must be smaller than {outer} {1e3 * b:.4g} mm{why}"] if a >= b else []
