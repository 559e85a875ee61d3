"""Blocks: the unit of work of a sweep and of its storage.

A block is one candidate at one cell for the draws ``first`` to ``last - 1``.  Its file holds its arrays,
its failed cases and counters under a checksum; a block counts as finished if and only if that file is
whole and its name is the hash of what it says it holds.
"""

from __future__ import annotations

import io
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from hashlib import blake2b
from itertools import pairwise, takewhile
from pathlib import Path
from typing import Any, Final, Protocol, overload

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.atomic import At, nothing, put, sealed, unsealed

Cell = tuple[float, ...]
Fault = tuple[int, int, str]
"""Draw, situation, message."""

CRASHED: Final = 99
"""Status of a case in which the program itself went wrong."""
ENDING: Final = ".npz"
FOLDER: Final = "blocks"
SET_ASIDE: Final = "set_aside"


class BlockLike(Protocol):
    """What a trial gives back: arrays (draws, situations)."""

    @property
    def status(self) -> NDArray[Any]: ...
    @property
    def measures(self) -> Mapping[str, NDArray[np.float64]]: ...
    @property
    def faults(self) -> Sequence[Fault]: ...


class TrialLike(Protocol):
    """One candidate, ready to be run in cells and draws."""

    def run(self, cell: Cell, first: int, last: int) -> BlockLike: ...


@dataclass(frozen=True, slots=True)
class BlockKey:
    """Which block: candidate, values of the grid factors, draws ``first`` to ``last - 1``."""

    candidate: str
    cell: Cell
    first: int
    last: int

    def id(self, fingerprint: str) -> str:
        """Name of the block's file: a hash of what it holds and of the sweep it belongs to."""
        words = [self.candidate, [float(v).hex() for v in self.cell], self.first, self.last, fingerprint]
        return blake2b(json.dumps(words).encode(), digest_size=16).hexdigest()


HARMS: Final = {"use": 1.0, "mates": 0.0, "burnt": 0.0}
"""Measures that tell what a crash has damaged, each with the largest value that is no damage: a limit passed, a one-way
clutch broken, the protection's heat limit passed."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Counters of a block; shares of them steer nothing, they are shown while the sweep runs."""

    cases: int = 0
    failed: int = 0
    damaged: int = 0
    tripped: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(self.cases + other.cases, self.failed + other.failed, self.damaged + other.damaged,
                     self.tripped + other.tripped)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Block:
    """A block with its results; arrays (draws, situations)."""

    key: BlockKey
    status: NDArray[Any]
    measures: Mapping[str, NDArray[np.float64]]
    faults: tuple[Fault, ...] = ()
    tally: Tally = field(default_factory=Tally)


class BlockList(Sequence[BlockKey]):
    """Every block of a sweep in order (draws, candidate, cell), made when asked for: stopped early all candidates have
    run the same draws, and a trial that is given the same draws cell after cell need not assemble them anew.

    ``edges`` are the draws at which blocks begin, and the number of draws.
    """

    def __init__(self, candidates: Sequence[str], cells: Sequence[Cell], edges: Sequence[int]) -> None:
        self.candidates, self.cells, self.edges = tuple(candidates), tuple(cells), tuple(edges)
        self._candidate = {c: i for i, c in enumerate(self.candidates)}
        self._cell = {c: i for i, c in enumerate(self.cells)}
        self._first = {e: i for i, e in enumerate(self.edges[:-1])}

    def __len__(self) -> int:
        return len(self.candidates) * len(self.cells) * (len(self.edges) - 1)

    @overload
    def __getitem__(self, i: int) -> BlockKey: ...
    @overload
    def __getitem__(self, i: slice) -> list[BlockKey]: ...
    def __getitem__(self, i: int | slice) -> BlockKey | list[BlockKey]:
        if isinstance(i, slice):
            return [self[j] for j in range(*i.indices(len(self)))]
        if not 0 <= i < len(self):
            raise IndexError(i)
        rest, cell = divmod(i, len(self.cells))
        k, c = divmod(rest, len(self.candidates))
        return BlockKey(self.candidates[c], self.cells[cell], self.edges[k], self.edges[k + 1])

    def __iter__(self) -> Iterator[BlockKey]:
        return (self[i] for i in range(len(self)))

    def place(self, key: BlockKey) -> int | None:
        """Index of ``key``; None if the sweep has no such block."""
        c, cell, k = self._candidate.get(key.candidate), self._cell.get(key.cell), self._first.get(key.first)
        if c is None or cell is None or k is None or self.edges[k + 1] != key.last:
            return None
        return (k * len(self.candidates) + c) * len(self.cells) + cell

    def ready(self, finished: Sequence[int]) -> BlockList:
        """Those of the first draws, as far as every block of them is finished; ``finished`` by index."""
        each = len(self.candidates) * len(self.cells)
        whole = (all(finished[k * each : (k + 1) * each]) for k in range(len(self.edges) - 1))
        k = sum(1 for _ in takewhile(bool, whole))
        return BlockList(self.candidates, self.cells, self.edges[: k + 1])

    def by_cell(self) -> Iterator[tuple[int, int, BlockKey]]:
        """Candidate's and cell's index with each block, in order (candidate, cell, draws)."""
        for c, candidate in enumerate(self.candidates):
            for n, cell in enumerate(self.cells):
                for first, last in pairwise(self.edges):
                    yield c, n, BlockKey(candidate, cell, first, last)


def edges(draws: int, block: int, earlier: Sequence[int] = ()) -> list[int]:
    """Where blocks begin and end: every ``block`` draws, and where an earlier, shorter sweep ended.

    >>> edges(1200, 500, [700])
    [0, 500, 700, 1000, 1200]
    """
    return sorted({*range(0, draws, block), *(e for e in earlier if 0 < e < draws), draws})


def tally(block: BlockLike, expects: Sequence[str]) -> Tally:
    """Counters of a block: a case is damaged by one of HARMS where something must let go, tripped if a service
    situation was not met or what comes before a jam was not held; failed cases count as neither."""
    bad: NDArray[np.bool_] = np.any(np.asarray(block.status) > 1, axis=1)
    crash = np.array([e == "let go" for e in expects], dtype=bool)
    shape = block.status.shape
    unknown = np.full(shape, np.nan)
    met = block.measures.get("met", unknown)[:, ~crash]
    damaged = np.zeros(len(bad), dtype=bool)
    for name, most in HARMS.items():
        damaged |= (block.measures.get(name, unknown)[:, crash] > most).any(axis=1)
    tripped = (met == 0.0).any(axis=1) | (block.measures.get("too_soon", unknown)[:, crash] > 0.0).any(axis=1)
    return Tally(len(bad), int(bad.sum()), int((damaged & ~bad).sum()), int((tripped & ~bad).sum()))


def pack(block: Block) -> bytes:
    """The block's file: the same bytes for the same block."""
    meta = {
        "format": "simcore sweep block 1", "candidate": block.key.candidate,
        "cell": [float(v).hex() for v in block.key.cell], "first": block.key.first, "last": block.key.last,
        "measures": list(block.measures), "faults": [list(f) for f in block.faults], "tally": asdict(block.tally),
    }  # fmt: skip
    shape = (len(block.measures), *np.shape(block.status))
    stack = np.array([*block.measures.values()], dtype=np.float64).reshape(shape)
    out = io.BytesIO()
    np.savez_compressed(out, meta=np.frombuffer(json.dumps(meta).encode(), dtype=np.uint8),
                        status=np.asarray(block.status, dtype=np.int16), measures=stack)  # fmt: skip
    return sealed(out.getvalue())


def unpack(data: bytes) -> Block | None:
    """The block in a file's bytes; None if they are not whole or not a block's."""
    body = unsealed(data)
    if body is None:
        return None
    try:
        with np.load(io.BytesIO(body), allow_pickle=False) as stored:
            meta = json.loads(stored["meta"].tobytes())
            key = BlockKey(meta["candidate"], tuple(map(float.fromhex, meta["cell"])), meta["first"], meta["last"])
            measures = dict(zip(meta["measures"], stored["measures"], strict=True))
            faults = tuple((int(d), int(s), str(m)) for d, s, m in meta["faults"])
            return Block(key, stored["status"], measures, faults, Tally(**meta["tally"]))
    except Exception:  # a file with a right checksum that another program wrote
        return None


class Store:
    """The block files of a sweep folder."""

    def __init__(self, folder: Path, fingerprint: str, at: At = nothing) -> None:
        self.root, self.folder = folder, folder / FOLDER
        self.fingerprint, self.at = fingerprint, at

    def path(self, key: BlockKey) -> Path:
        return self.folder / f"{key.id(self.fingerprint)}{ENDING}"

    def put(self, key: BlockKey, data: bytes) -> None:
        """Write one block.  Raises OSError; then nothing is there."""
        put(self.path(key), data, self.at, "block")

    def get(self, key: BlockKey) -> Block | None:
        """A finished block; None if its file is absent, damaged or another block's."""
        try:
            block = unpack(self.path(key).read_bytes())
        except OSError:
            return None
        return block if block is not None and block.key == key else None

    def files(self) -> Iterator[Path]:
        """What lies in the folder of blocks, in no order."""
        return (p for p in self.folder.iterdir() if not p.name.startswith("."))

    def read(self, path: Path) -> Block | None:
        """The block at ``path``; None unless it is whole and named as it must be."""
        try:
            block = unpack(path.read_bytes())
        except OSError:
            return None
        return block if block is not None and self.path(block.key) == path else None

    def set_aside(self, path: Path) -> Path:
        """Move a file out of the way, over nothing that lies there already.  Raises OSError."""
        there = self.root / SET_ASIDE
        there.mkdir(exist_ok=True)
        target, n = there / path.name, 2
        while target.exists():
            target, n = there / f"{path.stem} ({n}){path.suffix}", n + 1
        path.rename(target)
        return target
