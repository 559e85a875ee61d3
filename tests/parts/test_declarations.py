"""Every part says what it is, what it takes, and what it cannot be."""

from __future__ import annotations

import inspect

import pytest
from lines import raw_of
from states import NEEDED, REGISTRY

from simcore import units
from simcore.contract import FUNCTIONS, N_GUARD, N_MEMORY, N_STATE
from simcore.scenario.models import WORDY

KINDS = list(REGISTRY.values())
by_kind = pytest.mark.parametrize("part", KINDS, ids=[p.kind.name for p in KINDS])
PARAMS = [(p, q) for p in KINDS for q in p.kind.params]


@by_kind
def test_kind_is_complete(part):
    k = part.kind
    assert k.summary
    assert k.sources
    assert inspect.getdoc(part.module)
    assert "ource" in inspect.getdoc(part.module)
    assert len(k.guards) <= N_GUARD
    assert len(k.memory) <= N_MEMORY
    assert len(k.states) <= N_STATE
    assert len({m.name for m in k.modes}) == len(k.modes)
    assert all(s.meaning and s.unit and s.scale > 0.0 for s in k.states)


@by_kind
def test_functions_fit_the_declarations(part):
    k = part.kind
    assert part.has("guards") == bool(k.guards)
    assert part.has("rate") == bool(k.states)
    assert not k.guards or part.has("switch")
    assert not k.tally or k.tally in k.memory
    if part.has("torque"):
        assert part.has("loss")
    public = [n for n, f in vars(part.module).items() if inspect.isfunction(f) and f.__module__ == part.module.__name__]
    assert {n for n in public if not n.startswith("_")} <= set(FUNCTIONS)


@pytest.mark.parametrize("part", [p for p in KINDS if p.kind.family == "protection"], ids=lambda p: p.kind.name)
def test_protections_say_how_they_let_go(part):
    k = part.kind
    assert k.lets_go
    assert k.leaves
    assert k.runs_again
    assert k.cautions
    assert {m.klass for m in k.modes} > {0}
    for name in ("dial", "band", "hint", "sheet", "refuse", "inertias"):
        assert part.has(name)
    assert "setting" in part.call("sheet", part.call("resolve", part.raw(raw_of(part, **NEEDED[k.name])), 60.0))


@pytest.mark.parametrize(("part", "param"), PARAMS, ids=[f"{p.kind.name}: {q.name}" for p, q in PARAMS])
def test_every_input_has_meaning_unit_and_bounds(part, param):
    assert len(param.meaning) > 5
    assert param.source
    if param.kind in WORDY:
        assert param.kind != "choice" or param.default in param.choices
        return
    assert param.kind in units.kinds()
    if param.kind != "speed":
        assert any(b is not None for b in (param.low, param.above, param.high))


@by_kind
def test_sheet_is_in_known_units(part):
    if part.has("sheet"):
        row = part.call("resolve", part.raw(raw_of(part, **NEEDED[part.kind.name])), 60.0)
        for name, (value, kind) in part.call("sheet", row).items():
            assert name
            assert value == value
            assert kind in units.kinds()


@by_kind
def test_least_inputs_are_accepted(part):
    if part.has("refuse"):
        assert part.call("refuse", part.raw(raw_of(part, **NEEDED[part.kind.name]))) == []


REFUSED = [
    ("friction disc", {}, "give the setting, or faces"),
    ("friction disc", {"setting": 100.0, "faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12,
                       "clamp_force": 4e3, "friction": 0.3}, "contradicts the geometry"),
    ("friction disc", {"setting": 100.0, "outer_diameter": 0.1, "inner_diameter": 0.2}, "inner diameter"),
    ("ball detent", {"setting": 100.0, "flank_angle": 1.5, "friction": 0.3}, "jams"),
    ("ball detent", {}, "give the setting, or balls"),
    ("ball detent", {"setting": 100.0, "spring": "coil", "crest_torque": 0.5}, "cannot fall"),
    ("ball detent", {"setting": 100.0, "spring": "disc", "crest_torque": 1.2}, "falls"),
    ("ball detent", {"setting": 100.0, "pockets_every": 0.05}, "next pocket"),
    ("shear pins", {}, "give the setting, or pin_diameter"),
    ("shear pins", {"setting": 100.0, "pin_diameter": 0.1, "radius": 0.05}, "as thick as its circle"),
    ("magnet disc", {}, "give the setting, or gap"),
    ("magnet disc", {"setting": 100.0, "outer_radius": 0.03, "inner_radius": 0.05}, "inner radius"),
    ("magnet disc", {"setting": 100.0, "gap": 0.003, "pole_pitch": 0.02}, "together"),
    ("constant-torque motor", {"torque": 1.0, "speed": 0.0, "inertia": 0.01}, "nothing to drive"),
    ("torque-speed motor", {"rated_power": 1e3, "rated_speed": 160.0, "synchronous_speed": 157.0,
                            "inertia": 0.01}, "below the synchronous speed"),
    ("torque-speed motor", {"rated_power": 1e3, "rated_speed": 150.0, "synchronous_speed": 157.0,
                            "inertia": 0.01, "limit": 3.5}, "stalls"),
    ("gear", {"ratio": 5.0}, "stiffness at the output"),
    ("gear", {"ratio": 5.0, "stiffness": 1e4, "efficiency": 0.8, "efficiency_back": 1.3},
     "out of reach"),
    ("shaft", {"diameter": 0.04}, "diameter and length"),
    ("shaft", {"stiffness": 1e4, "diameter": 0.04, "length": 0.5}, "contradicts"),
    ("flexible coupling", {"rated_torque": 100.0}, "give the stiffness"),
    ("flexible coupling", {"stiffness": 1e4, "rated_torque": 100.0, "twist_at_rated": 0.1}, "contradicts"),
    ("belt or chain", {"stiffness": 1e5, "pretension": 100.0}, "two strands"),
    ("belt or chain", {"stiffness": 1e5, "strands": "two"}, "need a pretension"),
    ("friction load", {"running": 10.0, "breakaway": 5.0}, "below running"),
    ("hard stop", {"stiffness": 1e5, "after": 0.1, "distance": 0.1}, "not both"),
    ("magnetic particle clutch", {"setting": 100.0, "current": 1.0, "requested_torque": 50.0}, "not both"),
    ("magnetic particle clutch", {"setting": 100.0, "requested_torque": 200.0}, "no current gives"),
    ("magnetic particle clutch", {"setting": 100.0, "requested_torque": 1.0}, "no current gives"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "fixed voltage", "current": 1.0},
     'belong to excitation = "fixed current"'),
    ("magnetic particle clutch", {"setting": 100.0, "voltage": 24.0}, 'belongs to excitation = "fixed voltage"'),
    ("magnetic particle clutch", {"setting": 100.0, "program_times": (0.0,)}, 'belong to excitation = "programmed"'),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed"}, "as many program_times"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed", "program_times": (0.0, 1.0),
                                  "program_currents": (1.0,)}, "2 and 1 given"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed", "program_times": (1.0, 0.0),
                                  "program_currents": (1.0, 1.0)}, "must not fall"),
    ("magnetic hysteresis clutch", {}, "give the setting, or loop_energy"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "loop_energy": 25e3, "ring_diameter": 0.1, "ring_width": 0.02,
                                    "ring_thickness": 0.005}, "contradicts the geometry"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "ring_diameter": 0.01, "ring_thickness": 0.02}, "no bore"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "requested_torque": 90.0}, "no current gives"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "raw", "words"), REFUSED, ids=[f"{k} {w}" for k, _, w in REFUSED])
def test_impossible_inputs_are_refused_in_a_sentence(kind, raw, words):
    part = REGISTRY[kind]
    said = part.call("refuse", part.raw(raw_of(part, **raw)))
    assert any(words in s for s in said), said
    assert all(len(s.split()) > 4 for s in said)
