"""The ledger: one line a finished block, for whoever wants to know how far a sweep is.

It is a convenience.  The block files are the truth, and a ledger that is torn or says anything else is
written anew from them.
"""

from __future__ import annotations

import errno
import json
import os
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from simcore.sweep.atomic import At, beside, nothing
from simcore.sweep.blocks import Block, Tally

NAME: Final = "ledger.jsonl"


@dataclass(frozen=True, slots=True)
class Row:
    """A finished block: id, candidate, counters, when [s since 1970]."""

    id: str
    candidate: str
    tally: Tally
    when: float

    def line(self) -> str:
        t = self.tally
        return json.dumps({"id": self.id, "candidate": self.candidate, "cases": t.cases, "failed": t.failed,
                           "damaged": t.damaged, "tripped": t.tripped, "when": round(self.when, 3)}) + "\n"  # fmt: skip


def row_of(block: Block, name: str, when: float | None = None) -> Row:
    """The row of a block whose id is ``name``; ``when`` is now if left out."""
    return Row(name, block.key.candidate, block.tally, time.time() if when is None else when)


def rows(path: Path) -> Iterator[Row | None]:
    """The rows in order, None for a line that is no row."""
    try:
        f = path.open("r", encoding="utf-8", errors="replace", newline="\n")
    except OSError:
        return
    with f:
        for line in f:
            yield _row(line)


def _row(line: str) -> Row | None:
    try:
        d: dict[str, Any] = json.loads(line)
        counters = Tally(int(d["cases"]), int(d["failed"]), int(d["damaged"]), int(d["tripped"]))
        return Row(str(d["id"]), str(d["candidate"]), counters, float(d["when"])) if line.endswith("\n") else None
    except (ValueError, KeyError, TypeError):
        return None


class Ledger:
    """Appends rows; made anew where it does not say what the block files say."""

    def __init__(self, folder: Path, at: At = nothing) -> None:
        self.path, self.at = folder / NAME, at

    def settle(self, true: dict[str, Row]) -> bool:
        """Make the ledger agree with the rows of the block files, by id; whether it had to be written anew.

        Raises OSError.
        """
        seen: set[str] = set()
        good = True
        for row in rows(self.path):
            is_new = row is not None and row.id not in seen
            if row is None or not is_new or row.id not in true or row.tally != true[row.id].tally:
                good = False
                break
            seen.add(row.id)
        if good and len(seen) == len(true) and self.path.exists():
            return False
        kept = {r.id: r.when for r in rows(self.path) if r is not None}
        self._write(Row(r.id, r.candidate, r.tally, kept.get(r.id, r.when)) for r in true.values())
        return True

    def _write(self, lines: Iterable[Row]) -> None:
        with beside(self.path, self.at, "ledger") as part, part.open("x", encoding="utf-8", newline="\n") as f:
            f.writelines(r.line() for r in lines)

    def append(self, row: Row) -> None:
        """Add a row in one write.  Raises OSError, also where the disk took only a part of it."""
        data = row.line().encode("utf-8")
        handle = os.open(self.path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
        try:
            if os.write(handle, data) < len(data):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        finally:
            os.close(handle)
        self.at("row in ledger")
