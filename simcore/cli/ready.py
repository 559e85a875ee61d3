"""The kernel before it is used: compiled once, said once; an unwritable cache is told."""

from __future__ import annotations

from simcore.cli import stdio
from simcore.cli.waiting import Bar, Clock, Minutes
from simcore.results.model import ResultSet
from simcore.scenario.model import Scenario

USUAL_SECONDS, SECONDS = 20, 35
"""What compiling the usual kinds takes on a small machine, and all kinds."""


def seconds(scenario: Scenario) -> int:
    """Seconds of compiling that a run of ``scenario`` begins with; 0 if its kernel lies ready."""
    from simcore.parts import REGISTRY, USUAL
    from simcore.solver import compile as compiling
    from simcore.solver.kernel import parts_for

    parts = parts_for(scenario.kinds <= set(list(REGISTRY)[:USUAL]))
    if compiling.is_compiled(parts):
        return 0
    return SECONDS if len(parts) > USUAL else USUAL_SECONDS


def announce(scenario: Scenario) -> int:
    """As ``seconds``; a line on standard error says what comes and how long."""
    from simcore.solver import compile as compiling

    wait = seconds(scenario)
    if not wait:
        return 0
    if compiling.is_private(compiling.cache_folder()):
        stdio.note(f"The cache folder cannot be written: compiling for this run alone, about {wait} s.")
    else:
        folder = compiling.compiled_folder()
        stdio.note(f"{_what(wait)}: compiling once, about {wait} s; later runs find it in {folder}.")
    return wait


def still_compiling(scenario: Scenario) -> str:
    """The clause for who asks to stop meanwhile; empty once the kernel lies ready."""
    wait = seconds(scenario)
    return f"the kernel is still compiling (about {wait} s in all, only once)" if wait else ""


def _what(wait: int) -> str:
    return "First start" if wait == USUAL_SECONDS else "First use of kinds of part beyond the usual ones"


def run(scenario: Scenario, quiet: bool = False) -> ResultSet:
    """Run a scenario with a bar on the terminal where it takes longer than a second, elsewhere a line a minute."""
    from simcore.conduct import Settings, conduct

    wait = announce(scenario)
    clock = Clock(wait, "compiling", quiet) if wait else None
    try:
        with Bar(quiet) as bar, Minutes(quiet, wait) as minutes:

            def progress(done: int, of: int, what: str) -> None:
                minutes(done, of, what)
                if done and clock is not None:
                    clock.stop()
                if clock is None or done:
                    bar(done, of, what)

            return conduct(scenario, Settings(progress=progress))
    finally:
        if clock is not None:
            clock.stop()
