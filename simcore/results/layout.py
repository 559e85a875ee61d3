"""What a result file holds, described before it is stored: groups of named variables with units.

One description serves the writer, xarray objects and tables.  Units are spelled so that pint and UDUNITS
both read them; '1' means without dimension.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

FORMAT: Final = "simcore result"
FORMAT_NUMBER: Final = 1
"""Raised when an older reader could no longer understand a file; additions leave it."""

TORQUE: Final = "N m"
FORCE: Final = "N"

Array = NDArray[Any]

_UNSAFE: Final = re.compile(r"[/%\x00-\x1f\x7f]|^[. ]|[. ]$")


@dataclass(frozen=True, slots=True)
class Variable:
    """Values over named dimensions; a variable named like its only dimension holds its labels."""

    name: str
    dims: tuple[str, ...]
    data: Array
    unit: str
    long_name: str
    attrs: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Group:
    """Variables that are opened together; ``labels`` names further coordinates of its dimensions."""

    path: str
    attrs: Mapping[str, Any]
    variables: tuple[Variable, ...]
    labels: tuple[str, ...] = ()


def texts(values: Iterable[str]) -> Array:
    """A column of texts, free of what a file cannot hold (NUL, lone surrogates)."""
    out = [clean(v) for v in values]
    array = np.empty(len(out), dtype=object)
    array[:] = out
    return array


def clean(text: str) -> str:
    """Text that UTF-8 can hold; what it cannot becomes a replacement character."""
    return text.encode("utf-8", "replace").decode("utf-8").replace("\x00", "\ufffd")


def words(name: str, dims: tuple[str, ...], values: Iterable[str], long_name: str) -> Variable:
    """A variable of texts, one-dimensional or without dimension."""
    data = texts(values)
    return Variable(name, dims, data if dims else data.reshape(()), "1", long_name)


def escaped(name: str) -> str:
    """A name that can stand in a path of groups: slashes, controls and outer dots or spaces as %XX.

    >>> escaped("full start 1/2")
    'full start 1%2F2'
    """
    safe = _UNSAFE.sub(lambda m: f"%{ord(m[0]):02X}", clean(name))
    return safe or "%"


def slug(name: str) -> str:
    """A variable name for a phrase: ``lowest mode`` -> ``lowest_mode``."""
    return escaped(re.sub(r"\s+", "_", name.strip()))


def distinct(names: Iterable[str]) -> list[str]:
    """The names, a second one of the same wording marked ' (2)'."""
    out: list[str] = []
    for name in names:
        n, unique = 2, name
        while unique in out:
            unique, n = f"{name} ({n})", n + 1
        out.append(unique)
    return out


def union(lists: Iterable[Sequence[str]]) -> list[str]:
    """All names of several lists, in order of first appearance."""
    return list(dict.fromkeys(name for names in lists for name in names))


def measure_unit(name: str, protected: str = TORQUE) -> tuple[str, str]:
    """Unit and long name of a measure; ``protected`` is the unit at the protected connection."""
    unit, long_name = _MORE.get(name) or _defined(name) or _guess(name)
    return (protected if name in _AT_PROTECTED else unit), long_name


_AT_PROTECTED: Final = ("peak", "first_peak", "overshoot")

_MORE: Final[dict[str, tuple[str, str]]] = {
    "end": ("s", "end of the run after the event"),
    "peak_protection": (TORQUE, "peak torque at the protection's own shaft"),
    "end_class": ("1", "class of the protection's mode at the end: 0 engaged ... 4 broken"),
    "speed_kept": (
        "1",
        "speed of the driven hub at the end, or its mean over the last fifth if nearer, over its speed at the event",
    ),
    "speed_reached": (
        "1",
        "largest share of running speed that drive and load reach at once in a start; NaN elsewhere",
    ),
    "failed": ("1", "status with which the solver gave up"),
}


def _defined(name: str) -> tuple[str, str] | None:
    from simcore.definitions import MEASURES

    m = MEASURES.get(name)
    return None if m is None else (m.unit, m.long_name)


def _guess(name: str) -> tuple[str, str]:
    """Measures without a definition: instants by their name, anything else without dimension."""
    return ("s" if name.endswith("_time") else "1"), name.replace("_", " ")
