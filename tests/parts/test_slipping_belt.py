"""Belt in the protection slot: hand numbers, the belt drive's own law, and a crash from a scenario."""

from __future__ import annotations

from math import exp, pi, radians, sin, tanh

import numpy as np
import pytest
from lines import REGISTRY, Line, Run, row_of, run, sheet_of

from simcore.conduct import Settings, conduct
from simcore.results.model import ResultSet
from simcore.scenario.read import read_text

PULLEYS = {"pretension": 600.0, "pulley_radius": 0.1, "tensile_stiffness": 5e4, "centre_distance": 0.5}


@pytest.mark.parametrize(("groove", "mu"), [(180.0, 0.3), (36.0, 0.3 / sin(radians(18.0)))])
def test_slips_at_what_pretension_and_wrap_hold(groove, mu):
    """Euler and Eytelwein, textbook: 600 N, 0.3, 180 degrees pull 527.039733 N flat; wedged as with 0.3/sin 18 deg."""
    s = sheet_of("slipping belt", groove_angle=radians(groove), **PULLEYS)
    tight = 1200.0 * exp(mu * pi) / (1.0 + exp(mu * pi))
    assert s["setting"] == pytest.approx(0.1 * (2.0 * tight - 1200.0), rel=1e-12)
    assert s["pretension of each strand"] == pytest.approx(600.0, rel=1e-12)
    assert s["pull on each shaft, strands parallel"] == pytest.approx(1200.0, rel=1e-12)
    assert s["stiffness"] == pytest.approx(2.0 * 5e4 / 0.5 * 0.01, rel=1e-12)
    if groove == 180.0:
        assert s["largest pull"] == pytest.approx(527.039733, rel=1e-9)
        assert s["pull of the tight over that of the loose strand when it slips"] == pytest.approx(2.5663324, rel=1e-7)


def test_a_setting_asks_for_its_pretension():
    """150 N*m on 100 mm, grooves of 36 degrees: 1500/(2 tanh(mu' pi/2)) N in each strand.  By hand."""
    s = sheet_of("slipping belt", setting=150.0, pulley_radius=0.1)
    grip = 0.3 / sin(radians(18.0)) * pi
    assert s["pretension of each strand"] == pytest.approx(750.0 / tanh(0.5 * grip), rel=1e-12)
    assert s["twist at the setting"] == pytest.approx(radians(2.0), rel=1e-12)
    assert "largest pull" not in sheet_of("slipping belt", setting=150.0)


def test_tightening_turns_the_setting():
    """Half as much again of pretension: the row of 900 N."""
    part = REGISTRY["slipping belt"]
    row = np.array(row_of("slipping belt", **PULLEYS))
    new = part.call("dial", row, 1.5)
    row[: len(new)] = new
    assert row == pytest.approx(row_of("slipping belt", **PULLEYS | {"pretension": 900.0}), rel=1e-12)
    assert part.call("sheet", row)["pretension of each strand"][0] == pytest.approx(900.0, rel=1e-12)


def crash(kind: str, **raw: float) -> Run:
    line = Line()
    a, b = line.mass(0.05, 60.0), line.mass(0.02, 60.0)
    line.part("constant-torque motor", 0, a, torque=20.0, speed=60.0, inertia=0.01)
    line.part(kind, a, b, relative_damping=0.25, **raw)
    line.part("hard stop", b, 0, stiffness=5e3)
    return run(line, 0.5, w1=60.0)


def test_is_a_flat_belt_of_ratio_one():
    """The belt drive of the same pulleys in the same crash; only the step sizes differ beside a protection."""
    own = crash("slipping belt", groove_angle=pi, **PULLEYS)
    drive = crash("flat belt", radius_in=0.1, radius_out=0.1, wrap_angle=pi, pretension=600.0, stiffness=5e4 / 0.5)
    assert own.peak(1) > 50.0
    assert own.events(1) == pytest.approx(drive.events(1), abs=1e-8)
    assert own.peak(1) == pytest.approx(drive.peak(1), rel=1e-7)
    assert own.heat(1)[-1] == pytest.approx(drive.heat(1)[-1], rel=1e-8)
    assert own.residual < 1e-8
    assert 2 in own.a.klass[1, own.mode(1)]


SCENARIO = """
title = "Laundry folder"
question = "Does the belt spare the shaft?"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "90 N*m"
speed = "300 rpm"
inertia = "0.3 kg*m^2"
[[line]]
name = "slot"
part = "slot"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "8 kN*m/rad"
allowable = "200 N*m"
allowable_source = "own"
[[line]]
name = "roll"
part = "flywheel"
inertia = "0.05 kg*m^2"
[[line]]
name = "linen"
part = "friction load"
running = "15 N*m"
[candidates."tightened belt"]
part = "slipping belt"
setting = "60 N*m"
pulley_radius = "80 mm"
heat_capacity = "100 J/K"
heat_limit = "{limit}"
[situations."hook caught"]
event = "hard stop"
stiffness = "20 kN*m/rad"
horizon = "1 s"
"""


def caught(limit: str) -> ResultSet:
    return conduct(read_text(SCENARIO.format(limit=limit)), Settings(evidence=False))


def test_limits_the_shaft_from_the_slot():
    """It slips at its setting, the motor goes on against it; what it turns into heat is torque times slip."""
    result = caught("80 K")
    (a,) = result.answers
    bare = result.runs["none", "hook caught"].measures["peak"]
    assert 60.0 * (1 - 1e-9) <= a.peak < 0.6 * bare
    assert np.isnan(a.disconnect)
    assert a.setting == pytest.approx(60.0)
    assert a.breakaway == pytest.approx(60.0)
    r = result.run("tightened belt", "hook caught")
    assert abs(r.ledger["relative"]) < 1e-6
    assert r.measures["heat"] == pytest.approx(60.0 * r.measures["slip_angle"], rel=0.02)
    assert a.passed


def test_a_belt_that_burns_is_refused():
    """Some 1.8 kJ into 100 J/K: more than 5 K."""
    (a,) = caught("5 K").answers
    assert not a.passed
    assert a.rise > 15.0
    assert any("passes its heat limit in 'hook caught'" in why for why in a.reasons)
