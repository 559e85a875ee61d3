"""What all tests share; the whole suite is shared out over the processor's cores."""

from __future__ import annotations

import os
from types import ModuleType

import pytest
from hypothesis import settings

settings.register_profile("busy machine", deadline=None)
settings.load_profile("busy machine")

MOST_WORKERS = 4
"""Each worker holds up to 2 GB: the compiler's own memory and figures."""


def cores() -> int:
    """Those this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """Without files named and without ``-n``, as many workers as cores; each begins with its own run of files.

    The first to need the kernel compiles it while the other is still at the charts, which need none.
    """
    if "PYTEST_XDIST_WORKER" in os.environ:
        return  # a worker has no workers of its own
    options = config.option
    whole = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    given = getattr(options, "numprocesses", 0) is not None
    if whole and not given and not (options.collectonly or options.usepdb):
        options.numprocesses = min(cores(), MOST_WORKERS)
        options.dist = "worksteal"
        if options.numprocesses == 1:
            options.numprocesses = 0


@pytest.fixture(scope="session")
def kernel() -> ModuleType:
    """The compiled kernel of all registered parts, compiled at most once a session."""
    from simcore.solver.kernel import kernel

    return kernel()
