"""A dough mixer with four small parts of its own, and sections [sweep] to go with it."""

from __future__ import annotations

import textwrap
from types import ModuleType
from typing import Any

from simcore.contract import Family, Kind, Param, Part, registry_of
from simcore.scenario.read import read_text
from simcore.sweep.plan import Plan

EXPECTED: dict[str, Any] = {
    "hard stop": {"expect": "let go"},
    "partial jam": {"expect": "let go", "expect_cleared": "carry"},
}


def _part(name: str, family: Family, *params: Param, hubs: int = 1) -> ModuleType:
    module = ModuleType(name)
    module.KIND = Kind(name, family, f"{name} for tests", params, hubs=hubs, **EXPECTED.get(name, {}))  # type: ignore[attr-defined]
    return module


REGISTRY: dict[str, Part] = registry_of(
    [
        _part("motor", "drive", Param("inertia", "inertia", "rotor", required=True, above=0),
              Param("direct", "flag", "direct on line", default="false")),
        _part("shaft", "transmission", Param("stiffness", "stiffness", "stiffness", required=True, above=0), hubs=2),
        _part("bowl", "load", Param("running", "effort", "friction", required=True, low=0),
              Param("lumps", "torque", "lumps", many=True, low=0), Param("factor", "ratio", "share", high=1, low=0)),
        _part("disc", "protection", Param("setting", "torque", "setting", required=True, above="0 N*m"),
              Param("lining", "choice", "lining", default="cork", choices=("cork", "felt")),
              Param("wear", "length", "wear", low=0), hubs=2),
        _part("detent", "protection", Param("setting", "torque", "setting", required=True, above="0 N*m"),
              Param("balls", "count", "balls", default=6, low=1, high=100), hubs=2),
        _part("hard stop", "event", Param("stiffness", "any_stiffness", "stiffness", required=True, above=0)),
        _part("start", "event", hubs=0),
    ]
)  # fmt: skip

MIXER = """\
title = "Dough mixer"
protect = "shaft"
[solver]
relative_tolerance = 1e-7
[[line]]
part = "motor"
inertia = "0.01 kg*m^2"
[[line]]
part = "slot"
[[line]]
part = "shaft"
stiffness = "9 kN*m/rad"
allowable = "300 N*m"
[[line]]
part = "bowl"
running = "40 N*m"
lumps = ["1 N*m", "2 N*m"]
[candidates.disc]
setting = "150 N*m"
[candidates.detent]
setting = "160 N*m"
[situations.spoon]
event = "hard stop"
stiffness = "5 kN*m/rad"
[situations.start]
event = "start"
"""
"""22 lines of a scenario, to which a section is added."""
LINES = MIXER.count("\n")


def section(body: str) -> str:
    """The mixer with a section; the first line of ``body`` is line ``LINES + 1`` of the text."""
    return MIXER + textwrap.dedent(body).lstrip("\n")


def plan(body: str, source: str = "mixer.toml", changes: dict[str, str] | None = None) -> Plan:
    return Plan.of(read_text(section(body), source, changes, REGISTRY))


SETTING = """
[[sweep.factor]]
name = "setting"
path = "candidates[*].setting"
times = true
grid = { from = 0.8, to = 1.4, steps = 13 }
"""
STIFF = """
[[sweep.factor]]
name = "spoon stiffness"
path = "situations.spoon.stiffness"
times = true
scatter = { log_uniform = [0.1, 10] }
"""
DRAG = """
[[sweep.factor]]
name = "drag"
path = "line.bowl.running"
scatter = { normal = "40 N*m", sd = "3 N*m", low = "0 N*m" }
"""
