"""What is shown while something takes long: on terminals a bar with the time left, elsewhere a line a minute."""

from __future__ import annotations

import sys
import threading
import time
from types import TracebackType
from typing import Any

from simcore.cli import stdio

PATIENCE = 1.0
"""Seconds before anything is shown."""
EVERY = 60.0
"""Seconds from line to line where there is no terminal."""


class Bar:
    """A bar on standard error that appears after a second; a call tells how far it is."""

    def __init__(self, quiet: bool = False) -> None:
        self.began = time.perf_counter()
        self.wanted = not quiet and sys.stderr.isatty()
        self.bar: Any = None
        self.task: Any = None

    def __call__(self, done: int, of: int, what: str) -> None:
        if not self.wanted or (self.bar is None and time.perf_counter() - self.began < PATIENCE):
            return
        if self.bar is None:
            self._open(of)
        self.bar.update(self.task, completed=done, total=of, description=what[:40])

    def _open(self, of: float) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

        columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("time left"), TimeRemainingColumn())
        self.bar = Progress(*columns, console=Console(stderr=True), transient=True)
        self.task = self.bar.add_task("", total=of)
        self.bar.start()

    def __enter__(self) -> Bar:
        return self

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, t: TracebackType | None) -> None:
        if self.bar is not None:
            self.bar.stop()
            self.bar = None


class Minutes:
    """A line every minute on standard error where it is no terminal; a call tells how far it is.

    ``before``: seconds of getting ready that go ahead of the first run.
    """

    def __init__(self, quiet: bool = False, before: float = 0.0) -> None:
        self.wanted = not quiet and not sys.stderr.isatty()
        self.every, self.began = EVERY, time.monotonic() + before
        self.done, self.of, self.what = 0, 0, ""
        self.over = threading.Event()
        self.thread = threading.Thread(target=self._tick, daemon=True)

    def __call__(self, done: int, of: int, what: str) -> None:
        self.done, self.of, self.what = done, of, what

    def sentence(self) -> str:
        """What is done, of how much, and the time left."""
        from simcore.sweep.status import duration

        if not self.done:
            return "the first run is not done yet"
        if self.done >= self.of:
            return f"all {self.of} runs done, now {self.what}"
        left = (time.monotonic() - self.began) / self.done * (self.of - self.done)
        return f"{self.done} of {self.of} runs done (last {self.what}), about {duration(max(left, 1.0))} left"

    def _tick(self) -> None:
        while not self.over.wait(self.every):
            stdio.note(f"{time.strftime('%H:%M')}  {self.sentence()}")

    def __enter__(self) -> Minutes:
        if self.wanted:
            self.thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, e: BaseException | None, t: TracebackType | None) -> None:
        self.over.set()


class Clock:
    """A bar that runs by the clock until it is stopped, for work that cannot tell how far it is."""

    def __init__(self, seconds: float, what: str, quiet: bool = False) -> None:
        self.seconds, self.what = seconds, what
        self.bar = Bar(quiet)
        self.over = threading.Event()
        self.thread = threading.Thread(target=self._tick, daemon=True)
        if self.bar.wanted:
            self.thread.start()

    def _tick(self) -> None:
        began = time.perf_counter()
        while not self.over.wait(0.5):
            gone = min(time.perf_counter() - began, 0.97 * self.seconds)
            self.bar(int(gone), int(self.seconds), self.what)
        self.bar.__exit__(None, None, None)

    def stop(self) -> None:
        """Take the bar away; more than once is no harm."""
        self.over.set()
        if self.thread.is_alive():
            self.thread.join(2.0)
