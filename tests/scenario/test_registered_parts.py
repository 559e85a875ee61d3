"""The parts that ship: their declarations can be read, the shipped scenarios and the starter are sound."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from simcore import units
from simcore.errors import InputError
from simcore.parts import REGISTRY
from simcore.scenario.models import WORDY, bound, default_value
from simcore.scenario.new import template
from simcore.scenario.read import read, read_text
from simcore.scenario.schema import schema
from simcore.scenario.words import CANDIDATE, LIMIT, PLACE, SITUATION

INPUTS = [(p.kind, q) for p in REGISTRY.values() for q in p.kind.params]
SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@pytest.mark.parametrize(("kind", "param"), INPUTS, ids=[f"{k.name}: {p.name}" for k, p in INPUTS])
def test_declarations(kind, param):
    assert param.kind in (*units.kinds(), *WORDY)
    default = default_value(param)
    if param.kind not in WORDY:
        low, high, above = (bound(b, param.kind) for b in (param.low, param.high, param.above))
        low_usual, high_usual = (bound(u, param.kind) for u in param.usual or (0, 0))
        assert low_usual <= high_usual
        assert default is None or above is None or default.si > above
        assert high is None or low is None or low < high
    taken = SITUATION if kind.family == "event" else PLACE + LIMIT + CANDIDATE
    assert param.name not in [w.name for w in taken]


def test_a_diameter_where_a_radius_is_wanted_is_told() -> None:
    text = next(f for f in SCENARIOS if f.stem == "bakery_tray_conveyor").read_text(encoding="utf-8")
    with pytest.raises(InputError, match=r"diameter: is not an input of a drum \(write radius, half of it\)"):
        read_text(text.replace('radius = "90 mm"', 'diameter = "180 mm"'))


@pytest.mark.parametrize(("times", "fault"), [(180, ""), (181, "the last begins beyond the horizon of 3600 s"),
                                              (200, "times = 180")])  # fmt: skip
def test_repeats_past_the_horizon_are_told(times, fault):
    text = (
        template()
        + f"""
[situations."an hour of double sheets"]
event = "partial jam"
at = "table belt"
drag = "400 N"
lasts = "0.4 s"
every = "20 s"
times = {times}
horizon = "1 h"
"""
    )
    if not fault:
        read_text(text)
        return
    with pytest.raises(InputError, match=fault):
        read_text(text)


def test_an_input_unlike_any_is_told_where_all_are_listed():
    text = template().replace('[candidates."friction disc"]', '[candidates."friction disc"]\nzzz = 1')
    with pytest.raises(InputError, match=r'zzz: is not an input of a friction disc \(simcore parts "friction disc"'):
        read_text(text)


def test_the_starter_scenario_is_sound():
    assert len(read_text(template()).candidates) == 2


def test_schema_of_all_parts():
    whole = schema()
    jsonschema.Draft202012Validator.check_schema(whole)
    assert json.loads(json.dumps(whole)) == whole
    assert [e.message for e in jsonschema.Draft202012Validator(whole).iter_errors(tomllib.loads(template()))] == []


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.name)
def test_shipped_scenarios(path):
    assert read(path).situations
    check = jsonschema.Draft202012Validator(schema())
    assert [e.message for e in check.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))] == []
