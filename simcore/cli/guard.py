"""What every command ends with when something is in the way: one sentence and an exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import wraps
from typing import NoReturn, ParamSpec

from simcore.cli import stdio
from simcore.errors import InputError, SimcoreError

P = ParamSpec("P")
DONE, OTHER, INPUT, STOPPED = 0, 1, 2, 130


def guarded(command: Callable[P, None]) -> Callable[P, None]:
    """The same command, its faults told in sentences: 2 input at fault, 1 anything else, 130 Ctrl-C."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            command(*args, **kwargs)
            sys.stdout.flush()
        except BaseException as error:
            leave(error)

    return run


def leave(error: BaseException) -> NoReturn:
    """Tell ``error`` in a sentence and end the process."""
    if isinstance(error, SystemExit) or type(error).__name__ == "Exit":
        raise error
    if os.environ.get("SIMCORE_DEBUG") and not isinstance(error, KeyboardInterrupt | BrokenPipeError):
        raise error
    if isinstance(error, BrokenPipeError):
        stdio.silence()
        sys.exit(DONE)
    if isinstance(error, KeyboardInterrupt):
        _stop()
    if isinstance(error, SimcoreError):
        stdio.note(_sentences(error))
        sys.exit(INPUT if isinstance(error, InputError) else OTHER)
    text = " ".join(str(error).split())[:300]
    stdio.note(f"simcore stopped unexpectedly: {type(error).__name__}{': ' if text else ''}{text}")
    stdio.note("Run again with SIMCORE_DEBUG=1 for the traceback.")
    sys.exit(OTHER)


def _stop() -> NoReturn:
    """End at once: threads that still compile or draw are not waited for."""
    stdio.note("\nStopped by Ctrl-C.")
    try:
        sys.stdout.flush()
    finally:
        os._exit(STOPPED)


def _sentences(error: SimcoreError) -> str:
    faults = getattr(error, "faults", ())
    if len(faults) < 2:
        return str(error)
    return f"{error}\n{len(faults)} faults; nothing was run."
