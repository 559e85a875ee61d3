"""A crash after a way: it comes where the file says, at whatever speed the loaded line turns out to run."""

from __future__ import annotations

from math import pi
from pathlib import Path

import numpy as np
import pytest
from line_texts import candidate, fitted, scenario, situation, station

import simcore
from simcore.line.assemble import SETUP
from simcore.scenario.model import Scenario
from simcore.solver.kernel import run_many, run_one
from simcore.sweep.join import setup
from simcore.sweep.pick import Picked, at
from simcore.sweep.replay import replay
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import sweep

RATED, POWER, RADIUS, WAY = 1425.0 * pi / 30.0, 3000.0, 0.05, 0.3
LOADED = RATED * RADIUS
"""Speed [m/s]: at its rated torque a motor runs at its rated speed, 5 % below that without load; textbook."""


def weaving_loft(*jams: str, share: float = 1.0, joint: str = "") -> Scenario:
    """An induction motor that drags a warp beam's carriage at a share of its rated torque."""
    drag = share * POWER / RATED / RADIUS
    return scenario(
        station("motor", "induction motor", rated_power="3 kW", rated_speed="1425 rpm", inertia="0.01 kg*m^2"),
        station("slot", "slot", hub_in="0.002 kg*m^2", hub_out="0.002 kg*m^2"),
        joint or station("shaft", "shaft", stiffness="2 kN*m/rad", allowable="200 N*m"),
        station("pinion", "drum", radius="50 mm", inertia="0.001 kg*m^2"),
        station("rack", "belt or chain", stiffness="400 kN/m"),
        station("carriage", "moving mass", mass="20 kg"),
        station("rails", "friction load", running=f"{drag!r} N"),
        candidate("friction disc", setting="60 N*m"),
        *jams,
    )


def jam(name: str = "jam", **inputs: object) -> str:
    return situation(name, **{"event": "hard stop", "stiffness": "200 kN/m", "horizon": "50 ms", **inputs})


@pytest.mark.parametrize("case", [
    {"distance": "300 mm"}, {"distance": "0.3 m", "at": "carriage"},
    {"distance": "6 rad", "at": "shaft", "stiffness": "20 kN*m/rad"},
    {"distance": "300 mm", "event": "soft stop", "effective_mass": "20 kg"},
])  # fmt: skip
@pytest.mark.usefixtures("kernel")
def test_time_to_contact_is_the_way_over_the_loaded_speed(case: dict[str, str]) -> None:
    """t = s/v at rated load, in metres or in radians; the contact is the event, at t = 0."""
    run = simcore.run(weaving_loft(jam(**case)), evidence=False).run("friction disc", "jam")
    assert -run.time[0] == pytest.approx(WAY / LOADED, rel=1e-6)
    assert next(e.time for e in run.events if e.who == "jam" and e.new == "touching") == pytest.approx(0.0, abs=1e-12)
    angle, scale = (run.angle[:, run.nodes.index("rack")], 1.0)
    if case.get("at") == "shaft":
        angle, scale = (run.angle[:, run.nodes.index("shaft")], RADIUS)
    assert abs(angle[run.time <= 0.0][-1] - angle[0]) * scale == pytest.approx(WAY, rel=1e-8)


@pytest.mark.parametrize("share", [0.02, 0.5, 1.5])
@pytest.mark.usefixtures("kernel")
def test_the_way_stays_while_load_and_speed_change(share: float) -> None:
    run = simcore.run(weaving_loft(jam(distance="300 mm"), share=share), evidence=False).run("none", "jam")
    carriage = run.angle[:, run.nodes.index("rack")]
    assert abs(carriage[run.time <= 0.0][-1] - carriage[0]) == pytest.approx(WAY, rel=1e-8)
    slip = 1.0 - WAY / (-run.time[0] * 1500.0 * pi / 30.0 * RADIUS)
    assert slip == pytest.approx(0.05 * share, rel=0.3)


@pytest.mark.usefixtures("kernel")
def test_a_way_in_a_batch_gives_the_bits_of_the_single_run() -> None:
    s = weaving_loft(jam(distance="300 mm"))
    a = fitted(s, "friction disc", "jam")
    assert a.setup[SETUP.index("way")] == pytest.approx(WAY)
    rows = np.stack([a.dialled(f) for f in (0.7, 1.0, 2.0)])
    meas, counts, _ = run_many(a, rows)
    for i, row in enumerate(rows):
        alone = run_one(a.with_rows(row))
        assert np.array_equal(alone.meas, meas[i], equal_nan=True)
        assert alone.counts[0] == counts[i, 0]


JOINT = station("shaft", "universal joint", joint_angle="25 deg", stiffness="2 kN*m/rad", allowable="200 N*m")
SWEPT = """
[sweep]
seed = 3
draws = 2
[[sweep.factor]]
name = "way"
path = 'situations["jam"].distance'
grid = ["290 mm", "330 mm", "370 mm"]
[[sweep.factor]]
name = "drag"
path = 'line["rails"].running'
times = true
scatter = { uniform = [0.5, 1.1] }
"""


@pytest.mark.usefixtures("kernel")
def test_a_sweep_over_the_way_meets_each_at_its_place(tmp_path: Path) -> None:
    """Behind a universal joint the peak hangs on where the crash comes; each case again by itself: the same bits."""
    s = weaving_loft(jam(distance="300 mm", horizon="30 ms"), SWEPT, joint=JOINT)
    file = tmp_path / "loft.toml"
    file.write_text(s.text, encoding="utf-8")
    sweep(tmp_path / "night", setup(file, tmp_path / "night"))
    told = SweepResult.load(tmp_path / "night")
    for cell in range(3):
        case = Picked(0, cell, 1)
        found = replay(told, case)
        assert found.apart == ()
        assert found.result is not None
        run = found.result.run("friction disc", "jam")
        assert run.measures["peak"] == at(told, told.measures["peak"], case)[0]
        carriage = run.angle[:, run.nodes.index("rack")]
        way = abs(carriage[run.time <= 0.0][-1] - carriage[0])
        assert way == pytest.approx(found.inputs['situations["jam"].distance'], rel=1e-7)


def test_without_a_way_the_lead_is_the_time_given() -> None:
    s = weaving_loft(jam(after="70 ms", horizon="100 ms"), jam("at once"), share=0.5)
    assert fitted(s, "friction disc", "jam").setup[0] == pytest.approx(-0.07)
    assert fitted(s, "friction disc", "at once").setup[0] == pytest.approx(-0.01)
    assert not fitted(s, "friction disc", "jam").setup[SETUP.index("way")]
