"""Quantities written by people: one number and one unit, checked by kind of quantity.

Units are a fixed list of spellings for each kind, so that a stiffness cannot pass as a torque although
both have the dimension kg m^2/s^2 (the radian counts as 1).  Conversion factors come from pint, as exact
fractions: a result is the double nearest to the true value.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final

from simcore.quantity import Quantity
from simcore.units.factors import factor
from simcore.units.faults import LONGEST, NUMBER, UnitFault, diagnose, shown, spellings_for, wrong_unit
from simcore.units.table import (
    FAMILIES,
    PRINTED,
    TABLE,
    UNSCALED,
    canonical_in,
    fold,
    listed,
    specific,
    words,
)

__all__ = [
    "UnitFault", "canonical", "kinds", "parse", "plain", "show", "shown", "si_unit", "sorts",
    "spellings_of", "to_unit", "typeset", "units_of", "words",
]  # fmt: skip

_LARGEST: Final = 1e300


def parse(value: object, kind: str) -> Quantity:
    """Read ``value`` (text with a unit, or a bare number if the kind has no dimension) in SI.

    The result's ``kind`` is the specific one: a force given for an ``effort`` comes back as ``force``.
    Raises UnitFault with the reason in a sentence; KeyError if ``kind`` is not a kind of quantity.
    """
    specific(kind)
    got = shown(value)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise UnitFault(f"must be {words(kind)}", got, _written(kind))
    text = value.strip() if isinstance(value, str) else _digits(value)
    match = NUMBER.match(text.replace("−", "-")) if len(text) <= LONGEST else None
    home = canonical_in(fold(text[match.end() :]), kind) if match else None
    if match is None or home is None:
        rule, hint = diagnose(text.replace("−", "-"), kind)
        raise UnitFault(rule, got, hint)
    return Quantity(_in_si(match[0], *home, got), home[0], text)


def show(si: float, kind: str, unit: str | None = None, digits: int = 3) -> str:
    """Write an SI value in ``unit`` (default: a fitting one) with ``digits`` significant digits."""
    unit = _fitting(si, specific(kind)[0]) if unit is None else unit
    return f"{plain(to_unit(si, kind, unit), digits)} {unit}".strip()


def plain(x: float, digits: int = 3) -> str:
    """A number with ``digits`` significant digits, without exponent between 1e-6 and 1e15.

    >>> plain(7747.2), plain(0.012345), plain(20.0)
    ('7750', '0.0123', '20')
    """
    if not math.isfinite(x):
        return "n/a" if math.isnan(x) else ("inf" if x > 0 else "-inf")
    if x == 0:
        return "0"
    mantissa, exponent = f"{x:.{digits - 1}e}".split("e")
    if not -6 <= int(exponent) < 15:
        return f"{_trimmed(mantissa)}e{int(exponent)}"
    return _trimmed(f"{float(f'{mantissa}e{exponent}'):.{max(0, digits - 1 - int(exponent))}f}")


def units_of(kind: str) -> tuple[str, ...]:
    """Canonical spellings of a kind's units, the SI one first; empty text: a bare number."""
    return listed(kind)


def sorts(kind: str) -> tuple[str, str]:
    """Kind of quantity on a station that turns and on one that travels: ``torque, force`` for ``effort``."""
    of = FAMILIES[kind][1] if kind in FAMILIES else (kind, kind)
    return of[0], of[1]


def spellings_of(kind: str) -> tuple[str, ...]:
    """Every spelling read for a kind (once signs and spaces are folded), canonical ones first."""
    return tuple(s for s, _ in spellings_for(kind))


def si_unit(kind: str) -> str:
    """SI unit of a kind, spelled so that pint and UDUNITS both read it: ``N m``, ``kg m^2``, ``rad/s``.

    For a kind with two sorts (``effort``) it is the rotational one.
    """
    return TABLE[specific(kind)[0]][1]


def to_unit(si: float, kind: str, unit: str) -> float:
    """Convert an SI value to ``unit``; UnitFault if the unit does not belong to the kind."""
    return float(si) / float(factor(*_home(unit, kind)))


def canonical(unit: str, kind: str) -> str:
    """The canonical spelling of ``unit`` (``Nm`` -> ``N*m``); UnitFault if it is not of that kind."""
    return _home(unit, kind)[1]


def typeset(unit: str) -> str:
    """A unit for charts: ``N*m`` -> ``N·m``, ``kg*m^2`` -> ``kg·m²``, ``deg`` -> ``°``."""
    text = unit.replace("*", "·").replace("^2", "²")
    return re.sub(r"\bu(?=[ms]\b)", "µ", re.sub(r"\bdeg\b", "°", text))


def kinds() -> tuple[str, ...]:
    """All kinds of quantity, the compound ones last."""
    return (*TABLE, *FAMILIES)


def _home(unit: str, kind: str) -> tuple[str, str]:
    home = canonical_in(fold(unit), kind)
    if home is None:
        rule, hint = wrong_unit(fold(unit), kind)
        raise UnitFault(rule, shown(unit), hint)
    return home


def _in_si(number: str, home: str, unit: str, got: str) -> float:
    value = float(number)
    written_zero = not re.search("[1-9]", re.split("[eE]", number)[0])
    if abs(value) >= _LARGEST:
        raise UnitFault("the number is too large to be computed with (overflow)", got)
    if abs(value) <= 1 / _LARGEST and not written_zero:
        raise UnitFault("the number is too small to be computed with (underflow)", got)
    if home == "count" and not value.is_integer():
        raise UnitFault("must be a whole number", got)
    return float(Fraction(number) * factor(home, unit)) if not written_zero else 0.0


def _digits(value: float) -> str:
    """A TOML number as text, whole floats without ``.0``."""
    if isinstance(value, int):
        return str(value) if abs(value) < 10**40 else "1e999"
    return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)


def _written(kind: str) -> str:
    from simcore.units.faults import example

    return f"write {example(kind)}"


def _fitting(si: float, home: str) -> str:
    if home in UNSCALED:
        return UNSCALED[home]
    base = listed(home)[0]
    ladder = PRINTED.get(home, base).split(" ")
    size = abs(si)
    if not math.isfinite(si) or size == 0 or 1 <= size < 9999.5 or len(ladder) == 1:
        return base
    fits = [u for u in ladder if 0.9995 <= abs(to_unit(si, home, u)) < 999.5]
    return fits[0] if fits else ladder[0 if size < 1 else -1]


def _trimmed(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number
