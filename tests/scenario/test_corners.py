"""Corners: other values under which a situation takes place."""

from __future__ import annotations

from pathlib import Path

import pytest

from simcore.errors import InputError
from simcore.scenario.alter import value_at
from simcore.scenario.corner import cornered
from simcore.scenario.read import read_text

DEMO = (Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml").read_text().partition("[sweep]")[0]
CORNER = """
[corners."cold grease"]
'line["rails"].running' = "1200 N"
'candidates[*].pins' = 3
'candidates[*].heat_limit' = "90 K"
"""


def with_corner(corner: str, name: str = "cold grease"):
    return read_text(DEMO.replace('event = "start"', f'event = "start"\ncorner = "{name}"') + corner)


def test_a_corner_replaces_values_in_its_situation_alone():
    s = with_corner(CORNER)
    assert cornered(s, s.situations["tray jams"]) is s
    made = cornered(s, s.situations["full start"])
    assert made.station("rails").item.si("running") == 1200.0
    assert made.candidates["shear pins"].item.si("pins") == 3.0
    assert made.candidates["friction disc"].item.si("heat_limit") == 90.0
    assert "pins" not in made.candidates["ball detent"].item.values
    assert s.station("rails").item.si("running") == 1055.0


@pytest.mark.parametrize(("corner", "words"), [
    ("[corners.cold]\n'line[\"rails\"].runing' = \"11 N\"\n", 'line["rails"].running'),
    ("[corners.cold]\n'line[\"rails\"].running' = \"11 kg\"\n", "force"),
    ("[corners.cold]\nline.rails.running = \"11 N\"\n", "in quotes"),
    ("[corners.cold]\n'title' = \"x\"\n", "not a path of an input"),
    ("[corners.cold]\n'candidates[*].colour' = 1\n", "no candidate has this input"),
    ("[corners.cold]\n'candidates[*].tolerance' = \"500 %\"\n", "at most"),
    ("[corners.cold]\n'line[\"trays\"].allowable' = \"7 kN\"\n", 'line["trays"] has no allowable'),
    ("[corners.cold]\n'situations[\"tray jams\"].allowable' = \"7 kN\"\n", 'situations["tray jams"] has no allowable'),
])  # fmt: skip
def test_faults_name_place_and_rule(corner, words):
    with pytest.raises(InputError) as e:
        with_corner(corner, "cold")
    assert words in str(e.value)


def test_values_that_do_not_go_together_in_a_corner():
    """Rails break away at 1200 N: sliding at 1300 N without more at rest they would stick and break loose for ever."""
    corner = '[corners.cold]\n\'line["rails"].running\' = "1300 N"\n'
    with pytest.raises(InputError, match=r'corners\["cold"\]: line\["rails"\].*: breakaway below running friction'):
        with_corner(corner, "cold")
    with_corner(corner + '\'line["rails"].breakaway\' = "1500 N"\n', "cold")


def test_a_corner_that_is_not_there():
    with pytest.raises(InputError) as e:
        with_corner(CORNER, "cold greas")
    assert "cold grease" in str(e.value)


COILS = """
title = "Paper winder"
protect = "shaft"
line = [
  {name = "motor", part = "constant-torque motor", torque = "200 N*m", speed = "300 rpm", inertia = "0.1 kg*m^2"},
  {name = "slot", part = "slot"},
  {name = "shaft", part = "shaft", stiffness = "5 kN*m/rad", allowable = "400 N*m"},
  {name = "rolls", part = "friction load", running = "20 N*m"},
  {name = "wheel", part = "flywheel", inertia = "1 kg*m^2"}]
candidates.eddy = {part = "eddy-current clutch", setting = "100 N*m"}
candidates.particle = {part = "magnetic particle clutch", setting = "100 N*m"}
situations.jam = {event = "hard stop", stiffness = "50 kN*m/rad", corner = "weak"}
[corners.weak]
"""


def test_what_a_corner_gives_all_candidates_must_suit_each_of_them():
    with pytest.raises(InputError) as e:
        read_text(COILS + '"candidates[*].voltage" = "-24 V"\n')
    assert ", of 'particle'" in str(e.value)


@pytest.mark.parametrize("own_first", [True, False])
def test_what_a_corner_gives_one_candidate_goes_before_what_it_gives_all(own_first):
    two = ['"candidates[*].residual" = 0.02\n', "'candidates[\"particle\"].residual' = 0.03\n"]
    s = read_text(COILS + "".join(two[::-1] if own_first else two))
    made = cornered(s, s.situations["jam"])
    assert made.candidates["particle"].item.si("residual") == 0.03
    assert made.candidates["eddy"].item.si("residual") == 0.02


def test_what_a_jam_bears_may_be_another_in_a_corner():
    jam = 'stiffness = "2 MN/m"'
    text = DEMO.replace(jam, f'{jam}\nallowable = "9 kN"\ncorner = "worn"')
    s = read_text(text + '[corners.worn]\n\'situations["tray jams"].allowable\' = "7 kN"\n')
    assert value_at(s, 'situations["tray jams"].allowable') == 9000.0
    assert cornered(s, s.situations["tray jams"]).situations["tray jams"].limit.allowable.si == 7000.0
