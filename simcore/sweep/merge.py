"""From block files to one file: block by block, so that memory stays flat."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Final

import numpy as np

from simcore.sweep.atomic import At, beside, digest, is_whole, nothing, seal
from simcore.sweep.blocks import Block, BlockKey, BlockList, Store
from simcore.sweep.result import SweepResult
from simcore.sweep.sheet import Sheet, attributes

MARK: Final = "blocks"


def mark(made_of: str, fingerprint: str, blocks: BlockList) -> str:
    """Hash of what a merged file is made from: its blocks, and what it tells beside them (``book.made_of``)."""
    cells = [[float(v).hex() for v in c] for c in blocks.cells]
    return digest(repr((made_of, fingerprint, blocks.candidates, cells, blocks.edges)).encode())


def is_merged(path: Path, source: str) -> bool:
    """Whether the file is whole and made from what this :func:`mark` stands for."""
    return is_whole(path) and attributes(path).get(MARK) == source


def merge(
    path: Path, head: SweepResult, blocks: BlockList, store: Store, source: str, at: At = nothing
) -> list[BlockKey]:
    """Write the blocks as one file; atomic, and the same values in whatever order they were computed.

    ``head`` is the result without its numbers, ``source`` the :func:`mark`.  Gives the blocks that are damaged or
    absent; if there are any, no file is written.  Raises OSError.
    """
    bad = []
    try:
        with beside(path, at, "result") as part:
            with Sheet(part, head, {MARK: source}) as sheet:
                for c, cell, key in blocks.by_cell():
                    block = store.get(key)
                    if block is None:
                        bad.append(key)
                    elif not bad:
                        _place(sheet, head, c, cell, block)
                        at("block merged")
            if bad:
                raise _DamagedError
            seal(part)
    except _DamagedError:
        return bad
    except RuntimeError as e:  # h5py where the disk is full on closing
        raise OSError(errno.ENOSPC, f"{os.strerror(errno.ENOSPC)} ({e})"[:200]) from e
    return []


class _DamagedError(Exception):
    """A block is damaged; the half-made file is taken away."""


def _place(sheet: Sheet, head: SweepResult, c: int, cell: int, block: Block) -> None:
    shape = tuple(len(g) for g in head.grids.values())
    where = (c, *(int(i) for i in np.unravel_index(cell, shape))) if shape else (c,)
    draws = slice(block.key.first, block.key.last)
    sheet.lay(["status", *block.measures])
    sheet.put("status", (*where, draws), block.status)
    for name, values in block.measures.items():
        if name != "asks":
            sheet.put(name, (*where, draws), values)
    if cell == 0 and "asks" in block.measures:
        sheet.put("asks", (c, draws), block.measures["asks"])
