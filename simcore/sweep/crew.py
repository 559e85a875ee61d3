"""Who computes blocks: threads, most of them in a process of their own.  Whoever computes, the caller alone writes."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.blocks import CRASHED, Block, BlockKey, BlockLike, Fault, Tally, TrialLike, pack, tally

MakeTrial = Callable[[str], TrialLike]
"""From a candidate's name to its trial; picklable where other processes compute."""
Draws = tuple[str, int, int]
"""Candidate, first draw, last draw + 1."""
LONGEST: Final = 300
SETTLED: Final = 3.0
"""Seconds a thread computes before it begins a process of its own, which takes a second or two."""


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


class Process(Protocol):
    """Computes blocks for one thread."""

    def compute(self, key: BlockKey) -> Done:
        """Raises OSError if the process has ended."""

    def close(self) -> None: ...


Start = Callable[[], Process | None]
"""Begins a process; None if none is to be had."""


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
    """Computes in threads; the kernel leaves the interpreter's lock.

    A thread goes on with the draws it has assembled, cell after cell, and leaves those of the others alone while
    there are any else.  All threads but one go on in a process of their own (``start``, see ``simcore.sweep.apart``)
    once that pays.
    """

    def __init__(
        self, make_trial: MakeTrial, expects: Sequence[str], versions: Mapping[str, str], n: int, cells: int = 1,
        start: Start | None = None,
    ) -> None:  # fmt: skip
        self.bench, self.expects, self.versions = Bench(make_trial), expects, versions
        self.size = (n + 1) * max(2, cells)
        self.pool = ThreadPoolExecutor(n, "sweep")
        self.ready: queue.SimpleQueue[tuple[BlockKey, Future[Done]]] = queue.SimpleQueue()
        self.waiting: list[tuple[BlockKey, Future[Done]]] = []
        self.new = 0
        """Blocks handed over since the last look: they begin with it, so that a first thread does not take what
        belongs to another's draws because nothing else is there yet."""
        self.at: dict[int, Draws] = {}
        self.guard = threading.Lock()
        self.start, self.moving = start, n - 1
        self.own = threading.local()
        self.begun: list[Process] = []

    @property
    def idle(self) -> bool:
        return False

    def submit(self, key: BlockKey) -> None:
        future: Future[Done] = Future()
        future.add_done_callback(lambda f: self.ready.put((key, f)))
        with self.guard:
            self.waiting.append((key, future))
        self.new += 1

    def _one(self) -> None:
        """Compute one of the waiting blocks."""
        me = threading.get_ident()
        with self.guard:
            if not self.waiting:
                return
            i = choice([draws_of(key) for key, _ in self.waiting], me, self.at)
            key, future = self.waiting.pop(i)
            self.at[me] = draws_of(key)
            future.set_running_or_notify_cancel()
        try:
            future.set_result(self._computed(key))
        except BaseException as e:
            future.set_exception(e)

    def _computed(self, key: BlockKey) -> Done:
        """The block, by this thread's process if it has one."""
        process = self._process()
        if process is not None:
            try:
                return process.compute(key)
            except BaseException:
                self.own.process = None
                process.close()
                raise
        began = time.monotonic()
        done = compute(self.bench, key, self.expects, self.versions)
        self.own.spent = self._spent() + time.monotonic() - began
        return done

    def _spent(self) -> float:
        return float(getattr(self.own, "spent", 0.0))

    def _process(self) -> Process | None:
        """This thread's own process; None before that pays, and for the one that stays."""
        if not hasattr(self.own, "process"):
            if self._spent() < SETTLED:
                return None
            self.own.process = self._moved()
        process: Process | None = self.own.process
        return process

    def _moved(self) -> Process | None:
        with self.guard:
            self.moving -= 1
            if self.start is None or self.moving < 0:
                return None
        process = self.start()
        if process is not None:
            self.begun.append(process)
        return process

    def collect(self, timeout: float) -> list[tuple[BlockKey, Done | BaseException]]:
        for _ in range(self.new):
            self.pool.submit(self._one)
        self.new = 0
        return [(key, outcome(f)) for key, f in drained(self.ready, timeout)]

    def drop(self) -> None:
        with self.guard:
            dropped, self.waiting = self.waiting, []
        for _, future in dropped:
            future.cancel()

    def close(self) -> None:
        self.drop()
        self.pool.shutdown(wait=True, cancel_futures=True)
        for process in self.begun:
            process.close()


def draws_of(key: BlockKey) -> Draws:
    """What a block shares with those of other cells, so that it is assembled once."""
    return key.candidate, key.first, key.last


def choice(waiting: Sequence[Draws], me: int, at: Mapping[int, Draws]) -> int:
    """Index of the waiting block that thread ``me`` takes: its own draws, else nobody's, else the first."""
    mine = at.get(me)
    others = {d for thread, d in at.items() if thread != me}
    wanted = [d == mine for d in waiting], [d not in others for d in waiting]
    return next((w.index(True) for w in wanted if True in w), 0)


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
