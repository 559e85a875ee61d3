"""Cases of a sweep are the cases of single runs, bit for bit however they are split."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simcore.line.assemble import lowest_mode
from simcore.measures.cases import make_case, met
from simcore.measures.extract import scalars
from simcore.measures.holding import smallest_setting
from simcore.scenario.alter import altered, value_at
from simcore.scenario.read import read, read_text
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one
from simcore.sweep.plan import Plan
from simcore.sweep.trial import MEASURES, NOT_ASSEMBLED, Trial

DEMO = Path(__file__).resolve().parents[2] / "scenarios" / "bakery_tray_conveyor.toml"
KEYS = ("peak", "trigger", "lets_go", "disconnect", "heat", "impulse", "energy", "end", "ledger", "met")


@pytest.fixture(scope="module")
def scenario():
    return read(DEMO)


@pytest.fixture(scope="module")
def plan(scenario):
    return Plan.of(scenario)


@pytest.mark.parametrize("candidate", ["friction disc", "shear pins"])
def test_a_case_is_the_single_run_with_its_numbers(scenario, plan, candidate):
    """Same peaks, instants and verdicts as a scenario written with these numbers, within the solver's tolerance."""
    trial = Trial(scenario, plan, candidate)
    cell, draw = plan.cells()[4], 3
    block = trial.run(cell, draw, draw + 1)
    for j, name in enumerate(trial.situations):
        values = trial.values(cell, plan.samples(draw, draw + 1)[0])
        own = {p: v for p, v in values.items() if not p.startswith("situations[") or f'"{name}"' in p}
        s = altered(scenario, own)
        case = make_case(s, s.candidates[candidate], s.situations[name], lowest_mode(s), 1e-6)
        alone = scalars(case.assembly, run_one(case.assembly).meas, case.protected, case.heat_limit)
        alone["met"] = float(met(case.situation.expect, alone, case.heat_limit))
        got = {k: block.measures[k][0, j] for k in KEYS}
        assert got == pytest.approx({k: alone[k] for k in KEYS}, rel=1e-5, abs=2e-6, nan_ok=True), name


def test_same_bits_however_split(scenario, plan):
    trial = Trial(scenario, plan, "ball detent")
    for cell in (plan.cells()[0], plan.cells()[-1]):
        whole = trial.run(cell, 0, 12)
        parts = [Trial(scenario, plan, "ball detent").run(cell, a, b) for a, b in ((0, 5), (5, 6), (6, 12))]
        for name in MEASURES:
            together = np.concatenate([p.measures[name] for p in parts])
            assert together.tobytes() == whole.measures[name].tobytes(), name
        assert np.array_equal(np.concatenate([p.status for p in parts]), whole.status)


def test_the_light_way_gives_what_assembling_every_case_gives(scenario, plan, monkeypatch):
    """Turning the candidate's knob alone, or putting every case together anew."""
    light = Trial(scenario, plan, "magnet disc")
    assert light._light()
    a = light.run(plan.cells()[6], 0, 6)
    monkeypatch.setattr(Trial, "_light", lambda self: False)
    b = Trial(scenario, plan, "magnet disc").run(plan.cells()[6], 0, 6)
    for name in ("peak", "trigger", "lets_go", "heat", "met", "use"):
        np.testing.assert_allclose(a.measures[name], b.measures[name], rtol=1e-5, atol=1e-6)


SLOTS = """
title = "Two slots"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "20 N*m"
speed = "300 rpm"
inertia = "0.05 kg*m^2"
[[line]]
name = "slot with hubs"
part = "slot"
hub_in = "0.012 kg*m^2"
hub_out = "0.010 kg*m^2"
[[line]]
name = "shaft"
part = "flexible coupling"
stiffness = "9 kN*m/rad"
allowable = "600 N*m"
[[line]]
name = "slot without"
part = "slot"
[[line]]
name = "drum"
part = "flywheel"
inertia = "0.2 kg*m^2"
[candidates."ball detent"]
setting = "60 N*m"
slot = "slot without"
[situations."jam"]
event = "hard stop"
at = "drum"
stiffness = "90 kN*m/rad"
horizon = "0.1 s"
[sweep]
draws = 3
[[sweep.factor]]
name = "setting"
path = "candidates[*].setting"
times = true
grid = [1.0, 3.0]
[[sweep.factor]]
name = "making"
path = "candidates[*].setting"
times = true
scatter = { normal = 1.0, sd = 0.03 }
"""


def test_hubs_that_go_by_the_setting_are_looked_for_in_the_candidates_own_slot(kernel):
    """Only where the slot states its hubs may a draw be assembled once for all settings."""
    scenario = read_text(SLOTS)
    trial = Trial(scenario, Plan.of(scenario), "ball detent")
    alone = trial.case((3.0,), 0, "jam").assembly.nodes
    assert np.array_equal(trial.ready((3.0,), 0)[0].cases.inertia[0], alone[:, ar.INERTIA])


def test_smallest_holding_settings_are_those_of_single_searches(scenario, plan):
    trial = Trial(scenario, plan, "ball detent")
    block = trial.run(plan.cells()[0], 0, 3)
    for j, name in enumerate(trial.situations):
        if scenario.situations[name].expect == "let go":
            assert np.isnan(block.measures["asks"][:, j]).all()
            continue
        for d in range(3):
            one = smallest_setting(trial.case(plan.cells()[0], d, name)).setting
            assert block.measures["asks"][d, j] == pytest.approx(one, rel=2e-3)


def test_only_the_first_cell_asks(scenario, plan):
    assert np.isnan(Trial(scenario, plan, "ball detent").run(plan.cells()[1], 0, 2).measures["asks"]).all()


def test_ratios_multiply_what_the_file_says(scenario, plan):
    trial = Trial(scenario, plan, "shear pins")
    sample = plan.samples(0, 1)[0]
    names = [f.name for f in plan.scatters]
    values = trial.values((1.5,), sample)
    making = sample[names.index("making of the setting")]
    assert values['candidates["shear pins"].setting'] == pytest.approx(1.5 * making * 240.0, rel=1e-12)
    jam = sample[names.index("jam stiffness")]
    path = 'situations["tray jams"].stiffness'
    assert values[path] == pytest.approx(jam * value_at(scenario, path), rel=1e-12)
    assert not any(p.startswith('candidates["ball detent"]') for p in values)


def test_a_case_that_cannot_run_is_a_row_like_any_other(scenario, plan):
    """Rails twenty times as stiff stall the motor: told in words, the other draws stay."""
    heavy = [replace(f, scatter=None, grid=(1.0, 20.0)) if f.name == "rail friction" else f for f in plan.factors]
    bad = replace(plan, factors=tuple(f for f in heavy if f.name in ("rail friction", "jam stiffness")))
    block = Trial(scenario, bad, "friction disc").run((20.0,), 0, 2)
    assert (block.status >= 7).all()
    assert set(np.unique(block.status)) <= {7, NOT_ASSEMBLED}
    assert np.isnan(block.measures["peak"]).all()
    assert len(block.faults) == block.status.size
    assert all("steady" in text for _, _, text in block.faults), block.faults
