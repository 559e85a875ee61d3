"""A Python process of our own that is spoken to through its standard input and output, in pickles."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from pathlib import Path
from typing import IO, Any


def started(module: str, *args: str) -> subprocess.Popen[bytes]:
    """A process that runs ``module`` of this very simcore.  Raises OSError.

    What it prints is lost; it ends by itself when its input does, as when this process is killed.
    """
    if not sys.executable:
        raise OSError("the interpreter is unknown")
    path = os.pathsep.join([str(Path(__file__).parents[1]), *filter(None, [os.environ.get("PYTHONPATH")])])
    return subprocess.Popen(
        [sys.executable, "-m", module, *args], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, env={**os.environ, "PYTHONPATH": path},
    )  # fmt: skip


def own_output() -> IO[bytes]:
    """In the process: the way back, which nothing that prints can disturb any more."""
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    return out


def put(pipe: IO[bytes], thing: Any) -> None:
    """Send one thing."""
    pickle.dump(thing, pipe)
    pipe.flush()


def end(process: subprocess.Popen[bytes]) -> None:
    """Stop the process at once; returns when it is gone."""
    process.kill()
    process.wait()
    if process.stdin is not None:
        try:
            process.stdin.close()
        except OSError:  # what it had not read yet
            return
