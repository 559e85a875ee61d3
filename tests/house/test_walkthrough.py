"""The walkthrough of DEVELOPERS.md, done: its file is registered, compiled and run in a crash."""

from __future__ import annotations

import importlib.util
import math
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from simcore.contract import registry_of
from simcore.parts import REGISTRY
from simcore.scenario.read import read_text  # before the registry is changed: its words are read once
from simcore.solver.compile import load_kernel

ROOT = Path(__file__).parents[2]

SCENARIO = """
title = "Link on a bench"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "40 N*m"
speed = "9 rad/s"
inertia = "0.6 kg*m^2"
[[line]]
name = "slot"
part = "slot"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "5200 N*m/rad"
allowable = "400 N*m"
[[line]]
name = "disc"
part = "flywheel"
inertia = "0.05 kg*m^2"
[[line]]
name = "bearing"
part = "friction load"
running = "2 N*m"
[candidates."brittle link"]
setting = "190 N*m"
[situations."stops dead"]
event = "hard stop"
stiffness = "200 kN*m/rad"
horizon = "0.2 s"
"""


@pytest.fixture
def with_link(tmp_path: Path) -> Iterator[None]:
    """The registry with the page's part in it, in place of the kinds the bench does not need."""
    text = re.search(r"```python\n(.*?)```", (ROOT / "DEVELOPERS.md").read_text(), re.DOTALL)
    assert text is not None
    file = tmp_path / "brittle_link.py"
    file.write_text(text.group(1))
    spec = importlib.util.spec_from_file_location("simcore.parts.brittle_link", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    before = dict(REGISTRY)
    wanted = ["constant-torque motor", "shaft", "flywheel", "friction load", "hard stop", "partial jam"]
    REGISTRY.clear()
    REGISTRY.update(registry_of([module, *(before[n].module for n in wanted)]))
    yield
    REGISTRY.clear()
    REGISTRY.update(before)
    del sys.modules[spec.name]


def test_the_part_of_the_page_runs(with_link: None) -> None:
    from simcore.line.assemble import assemble, lowest_mode
    from simcore.solver import arrays as ar
    from simcore.solver.kernel import run_one

    scenario = read_text(SCENARIO)
    link = scenario.candidates["brittle link"]
    a = assemble(scenario, link, scenario.situations["stops dead"], lowest_mode(scenario))
    out = run_one(a, module=load_kernel(list(REGISTRY.values())))
    assert out.status == ar.Status.DONE
    i = a.candidate
    assert i is not None
    assert out.meas[i, ar.PEAK] == pytest.approx(190.0, rel=1e-8)
    assert out.meas[i, ar.LETS_GO] == out.meas[i, ar.DISCONNECT]
    assert out.meas[i, ar.TALLY] == 1.0
    stored = 0.5 * 190.0 * math.radians(0.5)
    assert out.meas[i, ar.HEAT_END] - out.meas[i, ar.HEAT_0] == pytest.approx(stored, rel=1e-8)
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6
