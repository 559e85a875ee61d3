"""Every protection of the catalogue in one slot and one crash."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simcore.conduct import Settings, conduct
from simcore.parts import REGISTRY
from simcore.scenario.read import read

FILE = Path(__file__).resolve().parents[2] / "scenarios" / "potato_grader_comparison.toml"


@pytest.fixture(scope="module")
def result():
    return conduct(read(FILE), Settings(evidence=False))


def test_all_kinds_are_there(result):
    protections = {k for k, p in REGISTRY.items() if p.kind.family == "protection"}
    assert {a.part for a in result.answers} == protections
    assert len(result.answers) >= 15


def test_all_let_go_below_the_bare_peak(result):
    """Same setting in one crash: all limit the shaft to less than half of the bare line; a heavy ring swings on."""
    bare = result.runs["none", "stone wedges"].measures["peak"]
    for a in result.answers:
        assert not np.isnan(a.lets_go), a.name
        assert 320.0 < a.peak < 0.5 * bare, a.name


def test_who_disconnects(result):
    """Facts of the trade: what slips or couples by a field never disconnects, what releases or breaks does."""
    kept = {"friction disc", "magnetic particle clutch", "magnetic hysteresis clutch", "eddy-current clutch",
            "magnet disc", "slipping belt"}  # fmt: skip
    for a in result.answers:
        if a.name != "ratcheting balls":
            assert np.isnan(a.disconnect) == (a.part in kept), a.name
        assert a.again, a.name


@pytest.mark.parametrize("situation", ["stone wedges", "start with full rollers", "soil clods"])
def test_energy_balances(result, situation):
    for (who, what), r in result.runs.items():
        if what == situation:
            assert abs(r.ledger["relative"]) < 1e-6, (who, r.ledger)
            warm = [i for i, c in enumerate(r.connections) if c.name != "motor"]
            assert np.diff(r.heat[:, warm], axis=0).min() > -1e-12, who
