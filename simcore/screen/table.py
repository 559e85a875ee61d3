"""A table for a terminal: wrapped cells, broken into blocks where it is too wide, nothing lost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.screen.words import Line, Word, pad, width, wrap

GAP: Final = 2
LONGEST: Final = 24
"""Columns past which a cell of text is wrapped."""
NARROW: Final = 12
"""Columns that a column of text keeps."""


class Column(NamedTuple):
    """Head (one or two lines), cells, and whether they are numbers set to the right."""

    head: tuple[str, str]
    cells: Sequence[Word]
    right: bool = True
    most: int = LONGEST

    @property
    def wide(self) -> int:
        texts = [*self.head, *(c.text for c in self.cells)]
        return min(self.most, max(width(t) for t in texts))


def table(columns: Sequence[Column], wide: int) -> list[Line]:
    """Lines of the table.  Too wide: a column of text is wrapped; else a further block follows, names again."""
    columns = _narrowed(columns, wide)
    out: list[Line] = []
    for n, block in enumerate(_blocks(columns, wide)):
        out += [[]] if n else []
        out += _block(block)
    return out


def _narrowed(columns: Sequence[Column], wide: int) -> list[Column]:
    """The last column of text made narrower if that lets the whole table fit."""
    over = sum(c.wide for c in columns) + GAP * (len(columns) - 1) - wide
    last = max((n for n, c in enumerate(columns) if n and not c.right), default=0)
    if over <= 0 or not last or columns[last].wide - over < NARROW:
        return list(columns)
    return [c._replace(most=c.wide - over) if n == last else c for n, c in enumerate(columns)]


def _blocks(columns: Sequence[Column], wide: int) -> list[list[Column]]:
    first, rest = columns[0], columns[1:]
    blocks = [[first]]
    used = first.wide
    for column in rest:
        if len(blocks[-1]) > 1 and used + GAP + column.wide > wide:
            blocks.append([first])
            used = first.wide
        blocks[-1].append(column)
        used += GAP + column.wide
    return blocks


def _block(columns: Sequence[Column]) -> list[Line]:
    out = [_row([Word(c.head[n], "quiet") for c in columns], columns) for n in range(2)]
    out = [line for line in out if any(w.text.strip() for w in line)]
    for n in range(len(columns[0].cells)):
        cells = [[Word(t, c.cells[n].style) for t in wrap(c.cells[n].text, c.wide)] for c in columns]
        for k in range(max(len(c) for c in cells)):
            out.append(_row([c[k] if k < len(c) else Word("") for c in cells], columns))
    return out


def _row(cells: Sequence[Word], columns: Sequence[Column]) -> Line:
    line: Line = []
    for n, (cell, column) in enumerate(zip(cells, columns, strict=True)):
        gap = " " * GAP if n else ""
        line.append(Word(gap + pad(cell.text, column.wide, column.right), cell.style))
    return line
