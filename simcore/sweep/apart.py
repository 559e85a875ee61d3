"""A process of its own for a thread of the crew: threads share one interpreter, and assembling draws needs it.

The process is this very simcore on this machine; where it could know other parts (registered while the program runs) it
is not used.  It ends with its input.
"""

from __future__ import annotations

import pickle
import signal
import sys
from collections.abc import Mapping, Sequence
from typing import Any

from simcore import child
from simcore.sweep.blocks import BlockKey
from simcore.sweep.crew import Bench, Done, MakeTrial, Start, compute


def starter(make_trial: MakeTrial, expects: Sequence[str], versions: Mapping[str, str]) -> Start:
    """What begins such a process, or gives None where none is to be had."""

    def start() -> Apart | None:
        if not _kernel_is_shared():
            return None
        try:
            return Apart(pickle.dumps((make_trial, tuple(expects), dict(versions), _parts())))
        except (OSError, pickle.PicklingError, AttributeError, TypeError):
            return None

    return start


def _kernel_is_shared() -> bool:
    """Whether another process finds the compiled kernel, so that it need not compile its own."""
    from simcore.solver.compile import cache_folder, is_private

    return not is_private(cache_folder())


def _parts() -> str:
    """Name of the kernel of all parts known here."""
    from simcore.parts import REGISTRY
    from simcore.solver.compile import kernel_name

    return kernel_name(list(REGISTRY.values()))


class Apart:
    """The process, seen from its thread."""

    def __init__(self, known: bytes) -> None:
        """Raises OSError if it cannot be had."""
        self.process = child.started("simcore.sweep.apart")
        try:
            if self._asked(known) != "ready":
                raise OSError("it knows other parts")
        except BaseException:
            self.close()
            raise

    def _asked(self, thing: Any) -> Any:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        try:
            child.put(self.process.stdin, thing)
            return pickle.load(self.process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError):
            code = self.process.wait()
            raise OSError(f"a worker process ended with code {code}") from None

    def compute(self, key: BlockKey) -> Done:
        """As ``crew.compute``.  Raises OSError if the process ended."""
        done: Done = self._asked(key)
        return done

    def close(self) -> None:
        child.end(self.process)
        if self.process.stdout is not None:
            self.process.stdout.close()


def main() -> int:
    """Compute the blocks asked for, one after the other."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the process that hands out the work
    out, asked = child.own_output(), sys.stdin.buffer
    make_trial, expects, versions, parts = pickle.loads(pickle.load(asked))
    child.put(out, "ready" if parts == _parts() else "other parts")
    bench = Bench(make_trial)
    while True:
        try:
            key = pickle.load(asked)
        except EOFError:
            return 0
        child.put(out, compute(bench, key, expects, versions))


if __name__ == "__main__":
    sys.exit(main())
