"""The few verbs: read, check, run, open a result, draw."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from simcore.errors import InputError

if TYPE_CHECKING:
    from simcore.conduct import Progress
    from simcore.line.cautions import Caution
    from simcore.results.model import ResultSet
    from simcore.scenario.model import Scenario
    from simcore.scenario.read import Changes

PathLike = str | os.PathLike[str]


def read(path: PathLike, changes: Changes | None = None) -> Scenario:
    """Read and check a scenario file; ``changes`` sets values by readable path: a text, or a number without a unit.

    Raises InputError with all faults at once.
    """
    from simcore.scenario.read import read as read_file

    with _by_path():
        return read_file(path, changes)


def check(scenario: Scenario | PathLike) -> list[Caution]:
    """Warnings of a scenario, without running it.  Raises InputError with all faults at once."""
    from simcore.line.cautions import cautions
    from simcore.scenario.read import given

    with _by_path():
        return cautions(given(scenario))


def run(
    scenario: Scenario | PathLike,
    changes: Changes | None = None,
    *,
    evidence: bool = True,
    progress: Progress | None = None,
) -> ResultSet:
    """Run every candidate in every situation and judge them.

    ``changes`` go with a file, as in :func:`read`.  ``evidence=False`` leaves out the tighter run, the damping runs
    and the ranking of defaults.
    Raises InputError, SolveError.
    """
    from simcore.conduct import Settings, conduct
    from simcore.scenario.read import given

    with _by_path():
        return conduct(given(scenario, changes), Settings(evidence, progress))


@contextmanager
def _by_path() -> Iterator[None]:
    """Faults of what was set beside the file bear their path alone: ``--set`` is the command line's word."""
    try:
        yield
    except InputError as e:
        if all(f.file != "--set" for f in e.faults):
            raise
        raise InputError(replace(f, file="") if f.file == "--set" else f for f in e.faults) from None
