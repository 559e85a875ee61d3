"""The JSON Schema agrees with the reader."""

from __future__ import annotations

import tomllib

import jsonschema
import pytest
from samples import GOOD, REGISTRY

from simcore import units
from simcore.errors import InputError
from simcore.scenario.new import template
from simcore.scenario.read import read_text
from simcore.scenario.schema import DIALECT, schema

SCHEMA = schema(REGISTRY)
CHECK = jsonschema.Draft202012Validator(SCHEMA)


def test_it_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == DIALECT
    assert "x-quantity" not in str(SCHEMA)


def test_accepts_the_good_file():
    assert [e.message for e in CHECK.iter_errors(tomllib.loads(GOOD))] == []


def test_every_input_is_described_with_unit_default_and_usual_range():
    for name, table in SCHEMA["$defs"].items():
        for word, form in table.get("properties", {}).items():
            assert form.get("description") or name == "candidate", (name, word)
    gear = SCHEMA["$defs"]["station: gear"]["properties"]
    assert "Default: 10 arcmin" in gear["lash"]["description"]
    assert "Units: rad, mrad, deg" in gear["lash"]["description"]
    assert "at most 5 deg" in gear["lash"]["description"]
    assert "Usual: 1 to 300" in gear["ratio"]["description"]


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("ratio = 20", "raito = 20", "$.line[1]"),
        ("ratio = 20", "ratio = -1", "$.line[1].ratio"),
        ("ratio = 20", "ratio = '3 N'", "$.line[1].ratio"),
        ('rated_power = "1.5 kW"', 'rated_power = "1,5 kW"', "$.line[0].rated_power"),
        ('part = "gear"', 'part = "geer"', "$.line[1].part"),
        ("balls = 8", "balls = 6.5", "$.candidates['detent, coil spring'].balls"),
        ('spring = "coil"', 'spring = "coal"', "$.candidates['detent, coil spring'].spring"),
        ('part = "detent"\n', "", "$.candidates['detent, coil spring']"),
        ('event = "start"', 'event = "stop"', "$.situations.start.event"),
        ('lead = "20 ms"', "lead = 20", "$.situations['blade against the frame'].lead"),
        ('mass = "180 kg"', 'mass = "180 kg"\nallowable = "5 N"', "$.line[4]"),
        ("question =", "qestion =", "$"),
        ('protect = "head shaft"\n', "", "$"),
    ],
)
def test_refuses_what_the_reader_refuses(old, new, where):
    text = GOOD.replace(old, new)
    assert text != GOOD
    assert where in [e.json_path for e in CHECK.iter_errors(tomllib.loads(text))]
    with pytest.raises(InputError):
        read_text(text, registry=REGISTRY)


@pytest.mark.parametrize("kind", [k for k in units.kinds() if k != "count"])
def test_patterns_take_the_spellings_that_the_reader_takes(kind):
    from simcore.scenario.schema import pattern_of

    check = jsonschema.Draft202012Validator({"type": "string", "pattern": pattern_of(kind)})
    for unit in units.units_of(kind):
        for text in (
            f"3.5 {unit}",
            f"-1e3{unit.replace('1/', ' 1/')}",
            f"3 {units.typeset(unit)}",
            f"3 {unit.replace('*', ' ')}",
        ):
            units.parse(text, kind)
            assert check.is_valid(text), text
    for text in ("3,5 N*m", "1 000 N", "3 5 m", "x", "3 N*m + 1", "-1e31/K"):
        assert not check.is_valid(text)


def test_the_starter_file_is_toml_and_names_its_schema():
    assert tomllib.loads(template())["title"]
    assert template().startswith("#:schema ./simcore.schema.json")
