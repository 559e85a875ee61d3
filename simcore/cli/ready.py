"""The kernel before it is used: compiled once, said once; an unwritable cache is told."""

from __future__ import annotations

import tempfile
from pathlib import Path

from simcore.cli import stdio
from simcore.cli.waiting import Bar, Clock
from simcore.results.model import ResultSet
from simcore.scenario.model import Scenario

SECONDS = 40
"""What compiling takes on a small machine."""


def announce() -> bool:
    """Whether the kernel lies ready; if not, a line on standard error says what comes and how long."""
    from simcore.parts import REGISTRY
    from simcore.solver import compile as compiling

    parts = list(REGISTRY.values())
    if compiling.is_compiled(parts):
        return True
    folder = compiling.cache_folder()
    if folder.is_relative_to(Path(tempfile.gettempdir())) and folder.name.startswith("simcore-kernel-"):
        stdio.note(f"The cache folder cannot be written: compiling for this run alone, about {SECONDS} s.")
    else:
        stdio.note(f"First start: compiling once, about {SECONDS} s; later runs find it in {folder}.")
    return False


def run(scenario: Scenario, quiet: bool = False) -> ResultSet:
    """Run a scenario with a bar on the terminal where it takes longer than a second."""
    from simcore.api import run as conduct

    compiled = announce()
    clock = None if compiled else Clock(SECONDS, "compiling", quiet)
    try:
        with Bar(quiet) as bar:

            def progress(done: int, of: int, what: str) -> None:
                if done and clock is not None:
                    clock.stop()
                if clock is None or done:
                    bar(done, of, what)

            return conduct(scenario, progress=progress)
    finally:
        if clock is not None:
            clock.stop()
