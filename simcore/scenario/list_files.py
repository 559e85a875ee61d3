"""Lists of parts that are columns of CSV files: ``loads = { file = "trace.csv", column = "torque" }``.

The files lie beside the scenario or in folders below it; how they are read, see :mod:`.csv_columns`.  Their texts are
kept with the scenario, so that a result can be run again from what it holds.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Iterator, Mapping
from math import ceil
from pathlib import Path
from typing import Any, Final

from simcore import units
from simcore.contract import Param, Part
from simcore.scenario.csv_columns import Columns, FileFault, quantities, split, text_of, told
from simcore.scenario.findings import Faulty, Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Series
from simcore.scenario.models import FROM_FILE, bounds_of, has_hidden
from simcore.scenario.paths import settable
from simcore.scenario.words import nearest
from simcore.units.faults import NUMBER

MOST_ROWS: Final = 20_000
LARGEST: Final = 10_000_000
"""Bytes of the largest file: its text is kept with every result."""
WORDS: Final = ("file", "column")


class Store:
    """Files of lists: read from ``folder``, or taken from ``kept`` alone; ``texts`` are those used, by name."""

    def __init__(self, folder: str, kept: Mapping[str, str] | None = None) -> None:
        self.folder, self.kept = folder, kept
        self.texts: dict[str, str] = {}
        self._read: dict[str, Columns | FileFault] = {}

    def columns(self, name: str) -> Columns:
        """The columns of the file ``name``, read once; FileFault in a sentence."""
        if name not in self._read:
            try:
                self._read[name] = self._columns(name)
            except FileFault as fault:
                self._read[name] = fault
        found = self._read[name]
        if isinstance(found, FileFault):
            raise found
        return found

    def _columns(self, name: str) -> Columns:
        text = self._text(name)
        try:
            c = split(text, name)
        except csv.Error as error:
            raise FileFault(f"the file {name} is no table: {error}") from None
        if len(c.rows) > MOST_ROWS:
            rule = f"the file {name} has {len(c.rows)} rows, a list has at most {MOST_ROWS}"
            raise FileFault(rule, f"keep one row in {ceil(len(c.rows) / MOST_ROWS)}")
        self.texts[name] = text
        return c

    def _text(self, name: str) -> str:
        if self.kept is not None:
            if name not in self.kept:
                raise FileFault(f"the text of {name} was not kept with the result")
            return self.kept[name]
        if re.match(r"[A-Za-z]:|[/\\~]", name) or ".." in re.split(r"[/\\]", name):
            hint = "put it there, so that the two go together"
            raise FileFault("the file must lie beside the scenario, or in a folder below it", hint)
        try:
            return text_of(self.folder, name, LARGEST)
        except FileFault as fault:
            if fault.rule.startswith("there is no file"):
                raise FileFault(fault.rule, self._near(name) or fault.hint) from None
            raise

    def _near(self, name: str) -> str:
        try:
            there = sorted(p.name for p in Path(self.folder or ".").iterdir() if p.suffix.lower() == ".csv")[:500]
        except OSError:
            return ""
        hit = difflib.get_close_matches(name[:100], there, n=1, cutoff=0.5)
        return f"nearest: {hit[0]}" if hit else ""


def fill(raw: dict[str, Any], registry: Mapping[str, Part], store: Store) -> None:
    """Put the values of files in place of the tables that name them, in the document; Faulty where that fails."""
    for spot, param in settable(raw, registry).items():
        if not param.many:
            continue
        table: Any = raw
        for step in spot[:-1]:
            table = table[step]
        written = table.get(spot[-1])
        if isinstance(written, dict):
            table[spot[-1]] = _read(param, written, spot, store)


def _read(param: Param, written: Mapping[str, Any], spot: Spot, store: Store) -> Series | Faulty:
    found = list(_words(written, spot))
    name, column = written.get("file"), written.get("column")
    if any(f.spot[-1] == "file" for f in found) or not isinstance(name, str):
        return Faulty(tuple(found))
    try:
        c = store.columns(name)
    except FileFault as fault:
        return Faulty((*found, Finding((*spot, "file"), fault.rule, units.shown(name), fault.hint)))
    if not isinstance(column, str) or found:
        names = f"headings of {name}: {', '.join(c.names[:8])}"
        return Faulty(tuple(f._replace(hint=names) if f.spot[-1] == "column" else f for f in found))
    try:
        return _series(param, c, _place(c, column))
    except FileFault as fault:
        return Faulty((Finding((*spot, "column"), fault.rule, units.shown(column), fault.hint),))


def _words(written: Mapping[str, Any], spot: Spot) -> Iterator[Finding]:
    """What is wrong with the words themselves."""
    for word in [w for w in written if w not in WORDS][:5]:
        hint = "a list or a column of a file, not both" if word in ("values", "list") else nearest(word, WORDS)
        yield Finding((*spot, word), "is not a word of a list from a file", units.shown(written[word]), hint)
    for word in WORDS:
        value = written.get(word)
        if word not in written:
            yield Finding((*spot, word), f"is missing: the {word} that the list is in", "", f"write {FROM_FILE}")
        elif not isinstance(value, str) or not value.strip() or has_hidden(value):
            yield Finding((*spot, word), f"must be the name of a {word} in quotes", units.shown(value))


def _place(c: Columns, name: str) -> int:
    if name not in c.names:
        raise FileFault(f"{c.file} has no column of this heading", nearest(name, c.names))
    if c.names.count(name) > 1:
        raise FileFault(f"two columns of {c.file} have this heading", "give each its own")
    return c.names.index(name)


def _series(param: Param, c: Columns, column: int) -> Series:
    """The column as an input; FileFault names what is wrong, line by line."""
    name, bare = c.names[column], NUMBER.fullmatch(c.rows[0][1][column])
    every = units.units_of(param.kind)
    if bare and not c.units[column] and "" not in every and param.kind != "count":
        raise FileFault(f'the heading "{name}" of {c.file} has no unit', f'write "{name} [{every[0]}]"')
    values = quantities(c, column, param.kind)
    sorts = list(dict.fromkeys(q.kind for q in values))
    if len(sorts) > 1:
        mixed = " and a ".join(s.replace("_", " ") for s in sorts)
        raise FileFault(f'column "{name}" of {c.file} must be of one sort, it has a {mixed}')
    broken = bounds_of(param)
    wrong = [
        f'line {n} of {c.file}, column "{name}", has {q.text}: {rule}'
        for (n, _), q in zip(c.rows, values, strict=True)
        if (rule := broken(q.si))
    ]
    if wrong:
        raise FileFault(told(wrong))
    return Series(tuple(q.si for q in values), sorts[0], f'column "{name}" of {c.file}, {len(values)} values', c.file)
