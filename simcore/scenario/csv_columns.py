"""Columns of numbers beside a scenario: measured samples, tables of draws, lists of parts.

The first line has the headings, ``name`` or ``name [unit]``; columns are parted by comma, semicolon or tabulator;
lines that are empty or begin with # are passed over.
"""

from __future__ import annotations

import csv
import os
import re
import stat
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from simcore import units
from simcore.quantity import Quantity
from simcore.units.faults import NUMBER

T = TypeVar("T")

LARGEST: Final = 200_000_000
"""Bytes of the largest file that is read."""
FEWEST: Final = 2
MOST_TOLD: Final = 5
"""Faults of one column that are told one by one."""
_HEADING: Final = re.compile(r"\s*(?P<name>.*?)\s*(?:\[(?P<unit>[^\[\]]*)\])?\s*")


class FileFault(Exception):  # noqa: N818 - a Fault, as in simcore.errors
    """A file that cannot be used; ``hint`` may hold a way out."""

    def __init__(self, rule: str, hint: str = "") -> None:
        self.rule, self.hint = rule, hint
        super().__init__(rule)


@dataclass(frozen=True)
class Columns:
    """Headings, their units (empty: none) and the rows as text, each with its line in the file."""

    file: str
    names: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def columns(folder: str, name: str) -> Columns:
    """Read the file ``name``, which lies beside the scenario in ``folder``; FileFault in a sentence."""
    return split(text_of(folder, name), name)


def split(text: str, name: str) -> Columns:
    """The columns of the ``text`` of the file ``name``; FileFault in a sentence."""
    lines = list(_lines(text))
    if not lines:
        raise FileFault(f"the file {name} is empty")
    first, *rest = lines
    sign = max(",;\t", key=first[1].count)
    table = [(n, tuple(c.strip() for c in row)) for n, row in _split([first, *rest], sign)]
    headings = table[0][1]
    if any(NUMBER.match(h) for h in headings):
        raise FileFault(f"line {first[0]} of {name} must have headings, it has numbers", "write the names above them")
    for n, row in table[1:]:
        if len(row) != len(headings):
            what = f"line {n} of {name} has {_some(len(row))}, the headings have {len(headings)}"
            raise FileFault(what, "write numbers with a decimal point")
    if len(table) - 1 < FEWEST:
        raise FileFault(f"the file {name} must have at least {FEWEST} rows below the headings, it has {len(table) - 1}")
    parts = [_HEADING.fullmatch(h) for h in headings]
    names = tuple(p["name"] if p else h for p, h in zip(parts, headings, strict=True))
    return Columns(name, names, tuple((p["unit"] or "").strip() if p else "" for p in parts), tuple(table[1:]))


def only_column(c: Columns) -> int:
    """Place of the one column of a measured sample; FileFault if there are more."""
    if len(c.names) != 1:
        raise FileFault(f"the file {c.file} has {_some(len(c.names))}, one is needed", "keep the measured values only")
    return 0


def numbers(c: Columns, column: int, kind: str) -> tuple[tuple[float, ...], str]:
    """Values of a column in SI and the unit they are written in; FileFault names the lines at fault."""
    unit = c.units[column]
    factor = _factor(c, column, kind)

    def value(text: str) -> float:
        if factor is not None and NUMBER.fullmatch(text) and abs(float(text)) < 1e300:
            return float(text) * factor
        return units.parse(f"{text} {unit}".strip(), kind).si

    return _each(c, column, value), unit or written_unit(c.rows[0][1][column], kind)


def quantities(c: Columns, column: int, kind: str) -> tuple[Quantity, ...]:
    """The column as quantities, to the last bit as if written out; FileFault names the lines at fault."""
    unit = c.units[column]
    _factor(c, column, kind)
    return _each(c, column, lambda text: units.parse(f"{text} {unit}".strip(), kind))


def _each(c: Columns, column: int, read: Callable[[str], T]) -> tuple[T, ...]:
    """What ``read`` makes of every row; FileFault names the lines at fault."""
    out, wrong = [], []
    for n, row in c.rows:
        try:
            out.append(read(row[column]))
        except units.UnitFault as fault:
            wrong.append(f'line {n} of {c.file}, column "{c.names[column]}", has {fault.got}: {fault.rule}')
    if wrong:
        raise FileFault(told(wrong))
    return tuple(out)


def told(wrong: Sequence[str]) -> str:
    """Faults of the lines of one column in one sentence."""
    more = f"; and {len(wrong) - MOST_TOLD} more lines" if len(wrong) > MOST_TOLD else ""
    return "; ".join(wrong[:MOST_TOLD]) + more


def written_unit(value: object, kind: str) -> str:
    """The unit that a sound value is written in, in its canonical spelling."""
    text = str(value).strip().replace("−", "-")
    match = NUMBER.match(text)
    rest = text[match.end() :].strip() if match else ""
    return units.canonical(rest, kind) if rest else ""


def _factor(c: Columns, column: int, kind: str) -> float | None:
    """SI value of one unit of a column; None if its numbers must be read one by one."""
    if kind == "count":
        return None
    try:
        return units.parse(f"1 {c.units[column]}".strip(), kind).si
    except units.UnitFault as fault:
        if c.units[column]:
            what = f'the heading "{c.names[column]} [{c.units[column]}]" of {c.file}: {fault.rule}'
            raise FileFault(what, fault.hint) from None
        return None


def text_of(folder: str, name: str, largest: int = LARGEST) -> str:
    """The text of the file ``name``, of ``largest`` bytes at most; FileFault in a sentence."""
    path = os.path.join(folder, name)
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):
            raise FileFault(f"{name} is not a file")
        if os.path.getsize(path) > largest:
            raise FileFault(f"the file {name} is larger than {largest / 1e6:.0f} MB")
        with open(path, encoding="utf-8-sig", newline="") as file:
            return file.read()
    except FileNotFoundError:
        raise FileFault(f"there is no file {name}", "it is looked for beside the scenario") from None
    except UnicodeDecodeError:
        raise FileFault(f"the file {name} is not UTF-8 text", "save it as UTF-8") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "is not a name of a file"
        raise FileFault(f"the file {name} cannot be read: {why.lower()}") from None


def _lines(text: str) -> Iterator[tuple[int, str]]:
    for n, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            yield n, line


def _split(lines: list[tuple[int, str]], sign: str) -> Iterator[tuple[int, list[str]]]:
    rows = csv.reader((line for _, line in lines), delimiter=sign, skipinitialspace=True)
    yield from zip((n for n, _ in lines), rows, strict=False)


def _some(n: int) -> str:
    return f"{n} column" if n == 1 else f"{n} columns"
