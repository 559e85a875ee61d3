"""Lines put together at random run to their end, their energy closes, no part takes its heat back (own invention)."""

from __future__ import annotations

import numpy as np
import pytest
from random_lines import line

from simcore import api
from simcore.parts import REGISTRY
from simcore.results.model import Run
from simcore.scenario.read import read_text

OPEN = 1e-5
"""Of the energy turned over, at the default tolerance; a line of the usual proportions stays below 1e-6."""
MANY = 100_000
"""Steps of a run of some seconds that goes nowhere."""


def runs(seed: int) -> list[Run]:
    result = api.run(read_text(line(seed), f"line {seed}"), evidence=False)
    assert "cases given up" not in result.findings
    return list(result.runs.values())


def sound(seed: int) -> None:
    for run in runs(seed):
        who = (seed, run.candidate, run.situation)
        warm = [i for i, c in enumerate(run.connections) if REGISTRY[c.part].kind.family != "drive"]
        assert abs(run.measures["ledger"]) <= OPEN, who
        assert np.diff(run.heat[:, warm], axis=0).min() >= -1e-8 * max(1.0, run.heat[:, warm].max()), who
        assert len(run.time) < MANY, who
        assert np.isfinite(run.peak).all(), who


@pytest.mark.parametrize("seed", range(8))
def test_a_line_drawn_by_lot(seed: int, kernel: object) -> None:
    sound(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8, 400))
def test_many_lines_drawn_by_lot(seed: int, kernel: object) -> None:
    sound(seed)
