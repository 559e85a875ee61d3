"""Printing: colour only on a terminal that wants it, nothing lost elsewhere, a closed pipe is no fault."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterable
from typing import Any, TextIO

from simcore.screen.words import STYLES, Line, plain

PIPED = 100
"""Columns where the output is no terminal."""


def prepare() -> None:
    """Let signs that the terminal's encoding lacks appear as words, other characters as codes, instead of failing."""
    import simcore.formula  # noqa: F401 - it knows the words

    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="spelled")


def columns(stream: TextIO | None = None) -> int:
    """Width to write for: the terminal's, COLUMNS, or 100 in a pipe."""
    stream = stream or sys.stdout
    if not stream.isatty() and not os.environ.get("COLUMNS"):
        return PIPED
    return shutil.get_terminal_size((80, 24)).columns


def coloured(stream: TextIO) -> bool:
    """A terminal, without NO_COLOR and not dumb."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return stream.isatty()


def show(lines: Iterable[Line]) -> None:
    """Print lines to standard output, in colour where that is wanted."""
    if coloured(sys.stdout):
        _rich(lines)
    else:
        sys.stdout.write(plain(lines) + "\n")
    sys.stdout.flush()


def _rich(lines: Iterable[Line]) -> None:
    from rich.console import Console
    from rich.text import Text

    console = Console(soft_wrap=True, highlight=False)
    for line in lines:
        text = Text.assemble(*((w.text, STYLES[w.style]) for w in line))
        text.rstrip()
        console.print(text)


def say(text: str) -> None:
    """A line to standard output."""
    sys.stdout.write(text + "\n")


def note(text: str) -> None:
    """A line to standard error, beside the numbers."""
    sys.stderr.write(text + "\n")
    sys.stderr.flush()


def silence() -> None:
    """Give standard output a place to go that never fails, once its reader has left."""
    handle = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(handle, sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - lives as long as the process
    finally:
        os.close(handle)


def json_text(value: Any) -> str:
    """JSON with plain characters and sorted by nothing: the order of writing."""
    import json

    return json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False) + "\n"
