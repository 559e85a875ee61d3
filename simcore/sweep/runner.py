"""The work loop of a sweep: hands out blocks, writes them, tells how far it is, stops in good time.

Whatever ends the process, finished blocks stay, and the same call goes on from them to the same bits.
"""

from __future__ import annotations

import os
import shutil
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from simcore.errors import ResultError
from simcore.results.files import why
from simcore.sweep import ledger
from simcore.sweep.apart import starter
from simcore.sweep.atomic import At, clear_parts, failed, nothing
from simcore.sweep.blocks import BlockKey, BlockList, Store, Tally
from simcore.sweep.book import Book, Setup, made_of, open_book, refuse_foreign
from simcore.sweep.crew import Crew, Done, Threads
from simcore.sweep.lock import Lock
from simcore.sweep.merge import is_merged, mark, merge
from simcore.sweep.result import RESULT
from simcore.sweep.status import Progress
from simcore.sweep.stops import Stops

LOG: Final = "log.txt"
RESERVE: Final = 50_000_000
"""Bytes that are left free on the disk, beside three blocks."""
TRIES: Final = 3
"""How often a block is handed out whose worker died."""
TICK: Final = 0.25
"""Seconds between two looks at clock and Ctrl-C."""


def cores() -> int:
    """Cores this process may use."""
    with suppress(AttributeError):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def free_bytes(folder: Path) -> int:
    return shutil.disk_usage(folder).free


@dataclass(frozen=True, slots=True)
class Options:
    """How to run: who computes (threads on all cores by default), when to stop, whom to tell.

    ``tell`` gets the progress, ``say`` a sentence now and then; ``at`` is called after each named step.
    """

    crew: Callable[[Setup], Crew] | None = None
    workers: int = 0
    stops: Stops | None = None
    tell: Callable[[Progress], None] = lambda p: None
    say: Callable[[str], None] = lambda text: None
    at: At = nothing
    reserve: int = RESERVE
    free: Callable[[Path], int] = free_bytes


@dataclass(frozen=True, slots=True)
class Report:
    """How a call ended: progress, why it stopped (empty: finished), the merged file if there is one.

    Of a sweep that was stopped the file holds the first draws, as far as all cells of all candidates have run them.
    """

    progress: Progress
    reason: str
    result: Path | None


class Log:
    """Lines with the time in ``log.txt``; a full disk does not stop them being tried."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / LOG

    def __call__(self, text: str) -> None:
        with suppress(OSError), self.path.open("a", encoding="utf-8") as f:
            f.write(f"{time.strftime('%Y-%m-%d %H:%M:%S')}  {text}\n")


def sweep(folder: Path, setup: Setup, options: Options | None = None) -> Report:
    """Run every block of a sweep that is not finished in ``folder``, then merge them.

    Raises InputError if the folder holds another sweep; ResultError if another process is at work there, the
    disk is full, or blocks could not be computed.  Finished blocks stay in every case.
    """
    options = options or Options()
    refuse_foreign(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as e:
        raise ResultError(f"{folder}: the folder cannot be made, {why(e)}") from None
    with Lock(folder) as lock, options.stops or Stops(say=options.say) as stops:
        run = _Run(folder, setup, options, lock, stops)
        stops.last = run.leave_at_once
        return run.whole()


class _Run:
    """One call of :func:`sweep`, the folder being ours."""

    def __init__(self, folder: Path, setup: Setup, options: Options, lock: Lock, stops: Stops) -> None:
        self.folder, self.setup, self.options, self.lock, self.stops = folder, setup, options, lock, stops
        self.log = Log(folder)
        if lock.stale:
            self.log(f"process {lock.stale.get('pid', '?')} on {lock.stale.get('host', '?')} ended without a word")
        self.book: Book = open_book(folder, setup, options.at)
        self.store = Store(folder, self.book.fingerprint, options.at)
        self.ledger = ledger.Ledger(folder, options.at)
        self.finished = bytearray(len(self.book.blocks))
        each = len(setup.cells) * int(setup.plan.draws)
        self.totals = dict.fromkeys(setup.candidates, each)
        self.tallies = dict.fromkeys(setup.candidates, Tally())
        self.stored, self.largest, self.cases = 0, 0, 0
        self.tries: dict[BlockKey, int] = {}
        self.given_up: list[str] = []
        self.again: deque[BlockKey] = deque()
        self.began = time.monotonic()

    def whole(self) -> Report:
        self._take_stock()
        before = self._progress("running")
        self.log(f"sweep {self.book.note}: {before.done} of {before.total} cases are finished")
        self.options.tell(before)
        for _ in range(TRIES):  # a block may turn out damaged while it is merged
            reason = self._work()
            if reason or self.given_up:
                break
            result = self._merged(self.book.blocks)
            if result is not None:
                self.log("finished")
                return Report(self._progress("finished"), "", result)
        if not reason:
            reason = self._unfinished()
            self.log(reason)
            raise ResultError(f"{self.folder}: {reason}")
        self.log(reason)
        return Report(self._progress(reason), reason, self._so_far())

    def _so_far(self) -> Path | None:
        """The merged file of the first draws that are whole, of a sweep that was stopped; None if there are none."""
        ready = self.book.blocks.ready(self.finished)
        with suppress(ResultError):
            return self._merged(ready) if len(ready) else None
        return None

    def leave_at_once(self) -> None:
        """What is said last where the process is asked a second time to end."""
        self.log("stopped at once")
        self.lock.leave()

    def _unfinished(self) -> str:
        if self.given_up:
            return (f"{len(self.given_up)} blocks could not be computed ({self.given_up[0]}); all others are "
                    "finished, the same command tries again")  # fmt: skip
        return "block files are damaged again and again; look after the disk, then give the same command"

    def _take_stock(self) -> None:
        """Count what is finished; move out of the way what is damaged or foreign; mend the ledger."""
        true: dict[str, ledger.Row] = {}
        self.finished[:] = bytes(len(self.finished))
        self.tallies = dict.fromkeys(self.setup.candidates, Tally())
        self.stored = 0
        try:
            left = clear_parts(self.store.folder) + clear_parts(self.folder)
            if left:
                self.log(f"{left} half-written files of a killed process taken away")
            for path in list(self.store.files()):
                block = self.store.read(path)
                place = None if block is None else self.book.blocks.place(block.key)
                if block is None or place is None:
                    self._aside(path, "damaged" if block is None else "of another sweep")
                    continue
                size = path.stat()
                self._count(place, block.key.candidate, block.tally, size.st_size)
                true[path.stem] = ledger.row_of(block, path.stem, size.st_mtime)
            if self.ledger.settle(true):
                self.log("ledger written from the block files")
        except OSError as e:
            raise ResultError(f"{self.folder}: cannot be put in order, {why(e)}") from None

    def _aside(self, path: Path, what: str) -> None:
        target = self.store.set_aside(path)
        text = f"{path.name} is {what}: set aside as {target.relative_to(self.folder)}, computed again if needed"
        self.log(text)
        self.options.say(text)

    def _count(self, place: int, candidate: str, tally: Tally, size: int) -> None:
        self.finished[place] = 1
        self.tallies[candidate] += tally
        self.stored += size
        self.largest = max(self.largest, size)

    def _progress(self, state: str) -> Progress:
        spent = time.monotonic() - self.began
        rate = self.cases / spent if self.cases and spent > 0.0 else float("nan")
        return Progress(self.totals, dict(self.tallies), rate, state)

    def _open(self) -> Iterator[BlockKey]:
        return (self.book.blocks[i] for i, done in enumerate(self.finished) if not done)

    def _work(self) -> str:
        """Compute what is open; why it was left, empty if nothing is open any more."""
        if all(self.finished):
            return ""
        crew = self._crew()
        self.began, self.cases = time.monotonic(), 0
        waiting, flying = self._open(), 0
        reason = ""
        try:
            while True:
                if not reason and (reason := self.stops.reason):
                    crew.drop()
                while not reason and flying < crew.size and (key := self._next(waiting)) is not None:
                    crew.submit(key)
                    flying += 1
                if not flying or (reason and crew.idle):
                    return reason
                for key, done in crew.collect(TICK):
                    flying -= 1
                    self._take(key, done)
                self._beat()
                self.options.tell(self._progress("running"))
        finally:
            crew.close()

    def _next(self, waiting: Iterator[BlockKey]) -> BlockKey | None:
        return self.again.popleft() if self.again else next(waiting, None)

    def _crew(self) -> Crew:
        if self.options.crew is not None:
            return self.options.crew(self.setup)
        s, work = self.setup, (self.setup.make_trial, self.setup.expects, self.setup.versions)
        return Threads(*work, self.options.workers or cores(), len(s.cells), starter(*work))

    def _beat(self) -> None:
        with suppress(OSError):
            self.lock.beat()

    def _take(self, key: BlockKey, done: Done | BaseException) -> None:
        if isinstance(done, CancelledError):
            return
        if isinstance(done, BaseException):
            self._retry(key, f"{type(done).__name__}: {str(done)[:200]}")
            return
        if dict(done.versions) != dict(self.setup.versions):
            apart = [n for n, v in self.setup.versions.items() if done.versions.get(n) != v]
            raise ResultError(f"{self.folder}: a worker has another version of {', '.join(apart)}; make them alike")
        self._write(key, done)
        if done.trouble:
            self.log(f"{key.candidate}, cell {key.cell}, draws {key.first} to {key.last - 1}: {done.tally.failed} "
                     f"of {done.tally.cases} cases failed; first: {done.trouble}")  # fmt: skip

    def _retry(self, key: BlockKey, text: str) -> None:
        self.tries[key] = self.tries.get(key, 0) + 1
        self.log(f"{key.candidate}, draws {key.first} to {key.last - 1}: not computed, {text}")
        if self.tries[key] < TRIES:
            self.again.append(key)
        else:
            self.given_up.append(text)

    def _write(self, key: BlockKey, done: Done) -> None:
        self.largest = max(self.largest, len(done.data))
        self._room(3 * self.largest, "the sweep stopped before it was full")
        place = self.book.blocks.place(key)
        assert place is not None
        try:
            self.store.put(key, done.data)
            self._count(place, key.candidate, done.tally, len(done.data))
            self.cases += done.tally.cases
            self.ledger.append(ledger.Row(key.id(self.store.fingerprint), key.candidate, done.tally, time.time()))
        except OSError as e:
            error = failed(self.folder, "block", e)
            self.log(str(error))
            raise ResultError(f"{error}; finished blocks stay, the same command goes on") from None

    def _room(self, wanted: int, consequence: str) -> None:
        """Raise ResultError before the disk is full."""
        free = self.options.free(self.folder)
        if free >= wanted + self.options.reserve or not self.options.reserve:
            return
        need = (wanted + self.options.reserve) / 1e6
        text = f"only {free / 1e6:.0f} MB are free on the disk of {self.folder} and {need:.0f} MB are needed: "
        self.log(text + consequence)
        raise ResultError(f"{text}{consequence}; make room, the same command goes on")

    def _merged(self, blocks: BlockList) -> Path | None:
        """The merged file of the blocks, made anew if need be; None if one was found damaged on the way."""
        path = self.folder / RESULT
        source = mark(made_of(self.setup), self.store.fingerprint, blocks)
        if not self.cases and is_merged(path, source):
            return path
        self._room(self.stored, "its results were not merged")
        self.options.say("merging")
        try:
            bad = merge(path, self.setup.head(blocks.edges[-1]), blocks, self.store, source, self.options.at)
        except OSError as e:
            raise ResultError(f"{failed(path, 'result', e)}; finished blocks stay") from None
        if not bad:
            return path
        for broken in bad:
            if self.store.path(broken).exists():
                self._aside(self.store.path(broken), "damaged")
        self._take_stock()
        return None
