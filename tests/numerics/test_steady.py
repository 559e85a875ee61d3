"""Steady running before the event, in every run of the bakery."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from lines import Run

from simcore.line.assemble import assemble
from simcore.scenario.read import read

BAKERY = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"
SCENARIO = read(BAKERY)
RUNS = [
    (c, s) for c in (None, *SCENARIO.candidates) for s in SCENARIO.situations
    if SCENARIO.situations[s].event != "start"
]  # fmt: skip


@pytest.mark.parametrize(("candidate", "situation"), RUNS)
def test_torques_are_constant_before_the_event(candidate, situation):
    """Within 0.1 % of the setting, 340 N*m, at every connection's own shaft; the load is carried."""
    c = SCENARIO.candidates[candidate] if candidate else None
    r = Run(assemble(SCENARIO, c, SCENARIO.situations[situation]))
    before = r.t < 0.0
    assert before.sum() > 4
    for e in range(r.count):
        T = r.torque(e)[before] * abs(r.a.rows[e, 30])
        assert np.ptp(T) <= 1e-3 * 340.0
    chain = r.a.index("tray chain")
    assert r.torque(chain)[before] == pytest.approx(1055.0, rel=1e-6)
