"""What nobody knows of a stop chain, where the control stands in its scan, varies in a sweep; so do later events."""

from __future__ import annotations

import numpy as np
import pytest

from simcore.scenario.alter import value_at
from simcore.scenario.read import read_text
from simcore.sweep.plan import Plan
from simcore.sweep.replay import kind_at
from simcore.sweep.trial import Trial
from simcore.units import units_of

TEXT = """title = "Bakery dough divider"
question = "What does the scan phase cost?"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "60 N*m"
speed = "50 rad/s"
inertia = "0.02 kg*m^2"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.01 kg*m^2"
hub_out = "0.01 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "20 kN*m/rad"
allowable = "900 N*m"
allowable_source = "own"
[[line]]
name = "knives"
part = "flywheel"
inertia = "0.1 kg*m^2"
[candidates."friction disc"]
setting = "40 N*m"
[stops."slip watch"]
senses = "slip angle"
angle = "20 deg"
scan = "50 ms"
scans = 1
[situations.jam]
event = "partial jam"
drag = "300 N*m"
horizon = "0.4 s"
[[situations.jam.then]]
event = "partial jam"
drag = "7 N*m"
when = "0.1 s"
[sweep]
seed = 1
draws = 1
[[sweep.factor]]
name = "scan phase"
path = "{path}"
grid = {grid}
"""
PHASE = 'stops["slip watch"].scan_phase'
LATER = "situations.jam.then[1].drag"


def plan_of(path: str, grid: str, times: str = ""):
    s = read_text(TEXT.format(path=path.replace('"', '\\"'), grid=grid) + times)
    return s, Plan.of(s)


def test_scan_phase_decides_how_long_it_slips():
    s, plan = plan_of(PHASE, "[0, 0.25, 0.5, 0.75]")
    trial = Trial(s, plan, "friction disc")
    heat = [float(trial.run(c, 0, 1).measures["heat"][0, 0]) for c in plan.cells()]
    assert len(heat) == 4
    assert np.ptp(heat) > 0.1 * min(heat)


@pytest.mark.parametrize("path", [PHASE, LATER])
def test_own_value_times_a_factor(path):
    s, plan = plan_of(path, "[1.0, 1.5]", "times = true\n")
    (factor,) = plan.grids
    (own,) = factor.paths
    values = Trial(s, plan, "friction disc").values(plan.cells()[1], ())
    assert values == {own: pytest.approx(1.5 * value_at(s, own))}
    assert value_at(s, own) == (7.0 if path == LATER else 0.5)


@pytest.mark.parametrize("path", [PHASE, LATER])
def test_the_scenario_of_a_replay_has_the_value_of_a_stop_or_of_a_later_event(path):
    s, plan = plan_of(path, "[1.0, 1.5]", "times = true\n")
    values = Trial(s, plan, "friction disc").values(plan.cells()[1], ())
    (own,) = values
    said = f"{values[own]!r} {units_of(kind_at(s, own))[0]}".strip()
    assert value_at(read_text(s.text, changes={own: said}, files={}), own) == pytest.approx(values[own])
