"""Charts drawn in a second process while the first one writes the result; in this one if that fails.

Drawing takes about as long as storing the result, so the two overlap; the second process is started before the run,
and imports the plotting library while that is computed.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

from simcore import child
from simcore.cli.waiting import Bar
from simcore.errors import ResultError

if TYPE_CHECKING:
    from simcore.results.model import ResultSet

Job = tuple[Any, str, list[str], list[str]]
"""Result, folder, formats, kinds (none: all that have something to show)."""


class Drawing:
    """Charts of a result on their way into ``folder``; by ``process`` (see ``draughtsman``) if there is one."""

    def __init__(
        self, result: ResultSet, folder: Path, formats: Sequence[str], kinds: Sequence[str] = (),
        process: subprocess.Popen[bytes] | None = None,
    ) -> None:  # fmt: skip
        self.job: Job = (result, str(folder), list(formats), list(kinds))
        self.process = process
        if process is not None:
            Thread(target=_hand_over, args=(process, pickle.dumps(self.job, 5)), daemon=True).start()

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
        try:
            kinds = pickle.load(self.process.stdout)
            for n, kind in enumerate(kinds):
                bar(n, len(kinds), f"drawing {kind}")
                got = pickle.load(self.process.stdout)
                if isinstance(got, str):
                    raise ResultError(got)
                files += map(Path, got)
        except (EOFError, pickle.UnpicklingError, OSError):
            self.stop()
            return None
        return files

    def stop(self) -> None:
        """End the other process if it still draws."""
        if self.process is not None:
            child.end(self.process)


@contextmanager
def draughtsman(wanted: bool = True) -> Iterator[subprocess.Popen[bytes] | None]:
    """A second process that gets ready to draw; gone at the end.  None if not ``wanted`` or it cannot be started."""
    process = None
    if wanted:
        with suppress(OSError):
            process = child.started("simcore.cli.drawing")
    try:
        yield process
    finally:
        if process is not None:
            child.end(process)


def _hand_over(process: subprocess.Popen[bytes], job: bytes) -> None:
    """Beside everything else: the other process may not yet be ready to read, or gone."""
    assert process.stdin is not None
    with suppress(OSError), process.stdin as pipe:
        pipe.write(job)


def main() -> int:
    """What the second process does: get ready, wait for its job, say which charts, and answer after each.

    An answer is the chart's files, or why they could not be written.
    """
    out = child.own_output()
    import matplotlib.backends.backend_agg  # noqa: F401

    import simcore.charts.page  # noqa: F401
    from simcore.charts.draw import telling

    try:
        result, folder, formats, kinds = pickle.load(sys.stdin.buffer)
    except EOFError:
        return 0
    kinds = kinds or telling(result)
    child.put(out, kinds)
    for kind in kinds:
        try:
            answer: Any = [str(p) for p in _one(result, folder, formats, kind)]
        except ResultError as error:
            answer = str(error)
        child.put(out, answer)
    return 0


def _draw(job: Job, bar: Bar) -> list[Path]:
    from simcore.charts.draw import telling

    result, folder, formats, kinds = job
    kinds = kinds or telling(result)
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


if __name__ == "__main__":
    sys.exit(main())
