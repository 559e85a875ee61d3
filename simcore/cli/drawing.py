"""Charts drawn in a second process while the first one writes the result; in this one if that fails.

Importing the plotting library and drawing take about as long as storing the result, so the two overlap.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from simcore.cli.waiting import Bar
from simcore.errors import ResultError

if TYPE_CHECKING:
    from simcore.results.model import ResultSet

_CHILD = (
    "import sys, pickle\n"
    "data = sys.stdin.buffer.read()\n"
    "sys.path[:], rest = pickle.loads(data)\n"
    "from simcore.cli.drawing import child\n"
    "child(rest)\n"
)
Job = tuple[Any, str, list[str], list[str]]
"""Result, folder, formats, kinds."""


class Drawing:
    """Charts of a result on their way into ``folder``; ``apart``: in a second process."""

    def __init__(
        self, result: ResultSet, folder: Path, formats: Sequence[str], kinds: Sequence[str] = (), apart: bool = True
    ) -> None:
        from simcore.charts.draw import telling

        self.job: Job = (result, str(folder), list(formats), list(kinds or telling(result)))
        self.process = _start(self.job) if apart else None

    def finish(self, quiet: bool = False) -> list[Path]:
        """Wait for the charts, with a bar on the terminal; their files.  Raises ResultError."""
        with Bar(quiet) as bar:
            files = self._received(bar)
            return _draw(self.job, bar) if files is None else files

    def _received(self, bar: Bar) -> list[Path] | None:
        """What the other process has drawn; None if it did not come through."""
        if self.process is None or self.process.stdout is None:
            return None
        files: list[Path] = []
        kinds = self.job[3]
        for n, kind in enumerate(kinds):
            bar(n, len(kinds), f"drawing {kind}")
            got = _answer(self.process.stdout)
            if got is None:
                self.stop()
                return None
            if isinstance(got, str):
                raise ResultError(got)
            files += got
        self.process.wait()
        return files

    def stop(self) -> None:
        """End the other process if it still draws."""
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait()


def _start(job: Job) -> subprocess.Popen[bytes] | None:
    if not sys.executable:
        return None
    try:
        process = subprocess.Popen(
            [sys.executable, "-c", _CHILD],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )
        assert process.stdin is not None
        process.stdin.write(pickle.dumps((sys.path, pickle.dumps(job, 5)), 5))
        process.stdin.close()
    except OSError:
        return None
    return process


def _answer(stream: IO[bytes]) -> list[Path] | str | None:
    """Files of one chart, or why they could not be written; None if the other process is gone."""
    try:
        got = pickle.load(stream)
    except (EOFError, pickle.UnpicklingError, OSError):
        return None
    return got if isinstance(got, str) else [Path(p) for p in got]


def child(data: bytes) -> None:
    """What the second process does: draw, and answer after each chart."""
    result, folder, formats, kinds = pickle.loads(data)
    for kind in kinds:
        try:
            answer: Any = [str(p) for p in _one(result, folder, formats, kind)]
        except ResultError as error:
            answer = str(error)
        sys.stdout.buffer.write(pickle.dumps(answer))
        sys.stdout.buffer.flush()


def _draw(job: Job, bar: Bar) -> list[Path]:
    result, folder, formats, kinds = job
    out: list[Path] = []
    for n, kind in enumerate(kinds):
        bar(n, len(kinds), f"drawing {kind}")
        out += _one(result, folder, formats, kind)
    return out


def _one(result: ResultSet, folder: str, formats: list[str], kind: str) -> list[Path]:
    from simcore.charts.draw import draw_all

    try:
        return draw_all(result, folder, formats, [kind])
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ResultError(f"{folder}: the charts could not be written, {reason}") from None
