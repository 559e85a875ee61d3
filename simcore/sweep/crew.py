"""Who computes blocks: threads of this process.  Whoever computes, the caller alone writes."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.blocks import CRASHED, Block, BlockKey, BlockLike, Fault, Tally, TrialLike, pack, tally

MakeTrial = Callable[[str], TrialLike]
"""From a candidate's name to its trial; picklable where other processes compute."""
LONGEST: Final = 300


@dataclass(frozen=True, slots=True)
class Done:
    """A computed block: its file's bytes, counters, first failure in words, versions it was computed with."""

    data: bytes
    tally: Tally
    trouble: str
    versions: Mapping[str, str]


class Crew(Protocol):
    """Takes blocks and gives them back computed, in any order."""

    @property
    def size(self) -> int:
        """How many blocks to hand over at most."""

    @property
    def idle(self) -> bool:
        """Whether nobody is there to compute now."""

    def submit(self, key: BlockKey) -> None: ...
    def collect(self, timeout: float) -> list[tuple[BlockKey, Done | BaseException]]: ...
    def drop(self) -> None:
        """Take back what was not begun, if that can be known; it comes back as cancelled."""

    def close(self) -> None:
        """End; what was not begun is dropped."""


class Bench:
    """Trials, made once a thread and candidate; the last two are kept."""

    def __init__(self, make_trial: MakeTrial) -> None:
        self.make_trial, self.own = make_trial, threading.local()

    def trial(self, candidate: str) -> TrialLike:
        kept: dict[str, TrialLike] = self.own.__dict__.setdefault("kept", {})
        if candidate not in kept:
            while len(kept) > 1:
                del kept[next(iter(kept))]
            kept[candidate] = self.make_trial(candidate)
        return kept[candidate]


def compute(bench: Bench, key: BlockKey, expects: Sequence[str], versions: Mapping[str, str]) -> Done:
    """Run a block; if it goes wrong as a whole, case by case, so that only the failing cases are lost."""
    trial = bench.trial(key.candidate)
    width = len(expects)
    try:
        found = _checked(trial.run(key.cell, key.first, key.last), key.last - key.first, width)
        block = Block(key, found.status, found.measures, tuple(found.faults), tally(found, expects))
    except Exception as e:
        block = _case_by_case(trial, key, width, e)
        block = Block(key, block.status, block.measures, block.faults, tally(block, expects))
    trouble = block.faults[0][2] if block.faults else ""
    return Done(pack(block), block.tally, trouble, versions)


def _checked(block: BlockLike, draws: int, situations: int) -> BlockLike:
    shapes = {np.shape(v) for v in block.measures.values()} | {np.shape(block.status)}
    if shapes != {(draws, situations)}:
        raise ValueError(f"arrays of shape {sorted(shapes)} instead of {(draws, situations)}")
    return block


def _case_by_case(trial: TrialLike, key: BlockKey, width: int, error: Exception) -> Block:
    """Every case alone; one that fails has status 99, no measures and a row that says why."""
    n = key.last - key.first
    status = np.full((n, width), CRASHED, dtype=np.int16)
    measures: dict[str, NDArray[np.float64]] = {}
    faults: list[Fault] = []
    for i in range(n):
        draw = key.first + i
        try:
            one = _checked(trial.run(key.cell, draw, draw + 1), 1, width) if n > 1 else _again(error)
        except Exception as e:
            faults += [(draw, s, _words(e)) for s in range(width)]
            continue
        status[i] = one.status[0]
        faults += one.faults
        for name, values in one.measures.items():
            measures.setdefault(name, np.full((n, width), np.nan))[i] = values[0]
    return Block(key, status, measures, tuple(faults))


def _again(error: Exception) -> BlockLike:
    raise error


def _words(e: Exception) -> str:
    text = " ".join(str(e).split())
    return f"{type(e).__name__}{': ' if text else ''}{text}"[:LONGEST]


class Threads:
    """Computes in threads; the kernel leaves the interpreter's lock."""

    def __init__(self, make_trial: MakeTrial, expects: Sequence[str], versions: Mapping[str, str], n: int) -> None:
        self.bench, self.expects, self.versions = Bench(make_trial), expects, versions
        self.n = n
        self.pool = ThreadPoolExecutor(n, "sweep")
        self.ready: queue.SimpleQueue[tuple[BlockKey, Future[Done]]] = queue.SimpleQueue()
        self.flying: list[Future[Done]] = []

    @property
    def size(self) -> int:
        return 2 * self.n

    @property
    def idle(self) -> bool:
        return False

    def submit(self, key: BlockKey) -> None:
        future = self.pool.submit(compute, self.bench, key, self.expects, self.versions)
        self.flying = [*(f for f in self.flying if not f.done()), future]
        future.add_done_callback(lambda f: self.ready.put((key, f)))

    def collect(self, timeout: float) -> list[tuple[BlockKey, Done | BaseException]]:
        return [(key, outcome(f)) for key, f in drained(self.ready, timeout)]

    def drop(self) -> None:
        for future in self.flying:
            future.cancel()

    def close(self) -> None:
        self.pool.shutdown(wait=True, cancel_futures=True)


def drained(ready: queue.SimpleQueue[Any], timeout: float) -> list[Any]:
    """Everything in the queue; waits for the first."""
    out = []
    try:
        out.append(ready.get(timeout=timeout))
        while True:
            out.append(ready.get_nowait())
    except queue.Empty:
        return out


def outcome(future: Any) -> Done | BaseException:
    """Result of a finished future, or what went wrong."""
    try:
        done: Done = future.result()
    except BaseException as e:
        return e
    return done
