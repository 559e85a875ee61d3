"""Readable paths: parse, write, set."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from samples import GOOD, REGISTRY

from simcore.errors import InputError
from simcore.scenario import paths
from simcore.scenario.read import read_text


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        ('candidates["ball detent"].setting', ("candidates", "ball detent", "setting")),
        ("candidates['ball detent'].setting", ("candidates", "ball detent", "setting")),
        ("candidates[ball detent].setting", ("candidates", "ball detent", "setting")),
        ('candidates."ball detent".setting', ("candidates", "ball detent", "setting")),
        ("line.gearbox.ratio", ("line", "gearbox", "ratio")),
        ('situations["a \\"b\\" c.d"].horizon', ("situations", 'a "b" c.d', "horizon")),
        ("protect", ("protect",)),
    ],
)
def test_parse(text, steps):
    assert paths.parse(text) == steps


@pytest.mark.parametrize("text", ["", "a..b", "[x", "a]b", "line[", "x = 3", 'line["a'])
def test_no_path(text):
    with pytest.raises(paths.PathFault):
        paths.parse(text)


@given(st.lists(st.text(st.characters(codec="ascii", min_codepoint=32, max_codepoint=126), min_size=1, max_size=20)))
def test_written_paths_are_read_back(names):
    steps = ("candidates", *(n.strip() or "x" for n in names))
    assert paths.parse(paths.form(steps)) == steps


def test_all_paths_are_settable_and_read_back():
    raw = tomllib.loads(GOOD)
    listed = paths.all_paths(raw, REGISTRY)
    assert 'line["gearbox"].efficiency' in listed
    assert 'candidates["detent, coil spring"].setting' in listed
    assert "display.torque" in listed
    assert len(listed) == len(set(listed))
    for path in listed:
        raw = tomllib.loads(GOOD)
        spot = paths.put(raw, path, "new", REGISTRY)
        value = raw
        for step in spot:
            value = value[step]
        assert value == "new"


def test_changes_reach_the_scenario():
    changes = {
        "line.gearbox.ratio": "25",
        'candidates["detent"].setting': "0.4 kN*m",
        "candidates.detent.ratchets": "true",
        "line.3.hub_in": '"0.02 kg*m^2"',
    }
    s = read_text(GOOD, changes=changes, registry=REGISTRY)
    assert s.station("gearbox").item.si("ratio") == 25
    assert s.candidates["detent"].item.si("setting") == 400
    assert s.candidates["detent"].item.values["ratchets"] is True
    assert s.station("output slot").hub_in.si == 0.02
    assert s.changes == changes
    assert "ratchets" in s.candidates["detent"].item.given
    assert s.text == GOOD


def test_wrong_changes_are_all_told_without_a_line_of_the_file():
    changes = {"line.gearbx.ratio": "2", "candidates.detent.setting": "5 m", "a..b": "1"}
    with pytest.raises(InputError) as caught:
        read_text(GOOD, "f.toml", changes, REGISTRY)
    first, second, third = caught.value.faults
    assert first.hint == 'nearest: line["gearbox"].ratio'
    assert "not a path" in second.rule
    assert "a torque is needed" in third.rule
    assert {f.file for f in caught.value.faults} == {"--set"}
    assert {f.line for f in caught.value.faults} == {None}


SWEPT = (
    GOOD
    + """
[sweep]
draws = 4
[[sweep.factor]]
name = "how set"
path = "candidates[*].setting"
times = true
grid = { from = 0.8, to = 1.2, steps = 3 }
[[sweep.factor]]
name = "drag"
path = 'line["drag"].running'
times = true
scatter = { normal = 1.0, sd = 0.05 }
"""
)


@pytest.mark.parametrize(("path", "text", "grids"), [
    ('sweep.factor["how set"].grid.steps', "5", [(0.8, 0.9, 1.0, 1.1, 1.2), ()]),
    ("sweep.factor[1].grid", "[0.9, 1.1]", [(0.9, 1.1), ()]),
    ("sweep.factor[1].grid", "{ from = 0.5, to = 1.0, steps = 2 }", [(0.5, 1.0), ()]),
])  # fmt: skip
def test_a_grid_is_changed_from_beside_the_file(path, text, grids):
    sweep = read_text(SWEPT, "swept", {path: text}, REGISTRY).sweep
    assert [pytest.approx(g) for g in grids] == [f.grid for f in sweep.factors]


def test_a_scatter_is_changed_from_beside_the_file():
    sweep = read_text(SWEPT, "swept", {"sweep.factor.drag.scatter.sd": "0.1"}, REGISTRY).sweep
    assert sweep.factors[1].scatter.numbers == pytest.approx((1.0, 0.1))


@pytest.mark.parametrize(("path", "near"), [
    ('sweep.factor["how sett"].grid', 'sweep.factor["how set"].grid'),
    ("sweep.factor.drag.scatter.sdd", "sweep.factor.drag.scatter.sd"),
])  # fmt: skip
def test_the_nearest_word_of_a_factor_is_told(path, near):
    with pytest.raises(InputError) as caught:
        read_text(SWEPT, "swept", {path: "1"}, REGISTRY)
    assert near in caught.value.faults[0].hint


def test_a_lone_input_in_a_sweep_is_told_whose_it_could_be():
    with pytest.raises(InputError) as caught:
        read_text(SWEPT.replace("'line[\"drag\"].running'", '"running"'), "f.toml", registry=REGISTRY)
    (fault,) = caught.value.faults
    assert fault.hint == 'a path names its owner: line["drag"].running or line["fan"].running'
