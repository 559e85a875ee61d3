"""What all tests share."""

from __future__ import annotations

from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def kernel() -> ModuleType:
    """The compiled kernel of all registered parts, compiled at most once a session."""
    from simcore.solver.kernel import kernel

    return kernel()
