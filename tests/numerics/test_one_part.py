"""The torque of one part is read without the rest of the line: the same bits, from the part's own entries alone."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from simcore.api import read
from simcore.line.assemble import lowest_mode
from simcore.measures.cases import make_case
from simcore.parts import REGISTRY
from simcore.solver import arrays as ar
from simcore.solver.compile import plain_kernel

MACHINES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@cache
def module():
    return plain_kernel(list(REGISTRY.values()))


def own_entries(row, y):
    """``y`` with everything that does not belong to the part made undefined."""
    out = np.full_like(y, np.nan)
    x = range(row[ar.X0], row[ar.X0] + row[ar.NX])
    for j in (row[ar.ANGLE_A], row[ar.ANGLE_B], row[ar.SPEED_A], row[ar.SPEED_B], *x):
        out[j] = y[j]
    return out


@pytest.mark.parametrize("path", MACHINES, ids=lambda p: p.stem)
def test_of_every_part_of_every_machine(path):
    scenario = read(path)
    w1 = lowest_mode(scenario)
    random = np.random.default_rng(7)
    loaded = 0
    for candidate in scenario.candidates.values():
        a = make_case(scenario, candidate, next(iter(scenario.situations.values())), w1, 1e-6).assembly
        line, state, work = ar.working_arrays(a, 0, 0)
        line.nodes[:, ar.INV_J] = 1.0
        y = a.y0 + random.uniform(-0.01, 0.01, len(a.y0))
        with np.errstate(all="ignore"):
            module().evaluate(0.01, ar.PLAIN, y, work.k[0], work.t[ar.T0], work.g[ar.G0], line, state)
            alone = [module().part_torque(e, 0.01, own_entries(r, y), line, state) for e, r in enumerate(a.parts)]
        assert np.array(alone).tobytes() == work.t[ar.T0].tobytes()
        loaded += np.count_nonzero(alone)
    assert loaded >= 2 * len(scenario.candidates)
