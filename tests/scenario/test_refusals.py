"""Wrong content, one fault a row: the rule, the path, the line."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from samples import GOOD, REGISTRY

from simcore.errors import InputError
from simcore.scenario.read import read_text

FOLDER = Path(__file__).parents[2] / "scenarios"

LAST = '\nextra = "100 N"\n'

# (what is replaced, by what, path of the fault, words of the rule, words of the hint)
WRONG = [
    ('title = "Dough divider of a bakery"\n', "", "title", "is missing", "title ="),
    ('title = "Dough divider of a bakery"', "title = 5", "title", "text in quotes", ""),
    ('title = "Dough divider of a bakery"', 'title = " "', "title", "must not be empty", ""),
    ('title = "Dough divider of a bakery"', 'title = "a\\u0007b"', "title", "control characters", ""),
    ('protect = "head shaft"\n', "", "protect", "is missing", ""),
    ('protect = "head shaft"', 'protect = "head shift"', "protect", "no station has this name", "head shaft"),
    ('protect = "head shaft"', 'protect = "creep shaft"', "protect", "has no allowable", 'line["creep shaft"]'),
    (
        'protect = "head shaft"',
        'protect = "divider"',
        "protect",
        "a carriage is no part between two hubs",
        "'gearbox', 'head shaft', 'creep shaft'",
    ),
    ("question =", "qestion =", "qestion", "is not a word of a scenario", "question"),
    ('torque = "Nm"', 'torque = "kW"', "display.torque", "must be one of N*m", ""),
    ('torque = "Nm"', "torqe = 1", "display.torqe", "is not an input of the table display", "torque"),
    ("relative_tolerance = 1e-7", "relative_tolerance = 2", "solver.relative_tolerance", "at most 0.001", ""),
    ("ratio = 20", "ratio = -3", 'line["gearbox"].ratio', "must be above 0", ""),
    ("ratio = 20", 'ratio = "20 N"', 'line["gearbox"].ratio', "is a force, a ratio is needed", ""),
    ("ratio = 20", "raito = 20", 'line["gearbox"].raito', "is not an input of a gear", "ratio"),
    ("ratio = 20", "ratio = 20\nefficiency = 95", 'line["gearbox"].efficiency', "at most 1", 'write "95 %"'),
    ("ratio = 20", "ratio = 20\nefficiency = '95'", 'line["gearbox"].efficiency', "at most 1", 'write "95 %"'),
    ("ratio = 20", "ratio = 20\nefficiency = 1.2", 'line["gearbox"].efficiency', "at most 1", ""),
    ("ratio = 20", 'ratio = 20\nlash = "6 deg"', 'line["gearbox"].lash', "at most 5 deg", ""),
    ("ratio = 20", "ratio = inf", 'line["gearbox"].ratio', "finite", ""),
    ("ratio = 20", "ratio = 1979-05-27", 'line["gearbox"].ratio', "must be a ratio", ""),
    ("ratio = 20", "ratio = [20]", 'line["gearbox"].ratio', "must be a ratio", ""),
    (
        "ratio = 20",
        "ratio = 20\nprotect = 'x'",
        'line["gearbox"].protect',
        "not an input",
        "above the first table",
    ),
    (
        "ratio = 20",
        "ratio = 20\ndisplay.torque = 'N*m'",
        'line["gearbox"].display',
        "not an input",
        "above the first",
    ),
    ("ratio = 20", "ratio = 13", 'line["gearbox"]', "the inputs do not go together", ""),
    ('rated_power = "1.5 kW"\n', "", 'line["motor"].rated_power', "is missing: rated power", "W"),
    ('rated_power = "1.5 kW"', 'rated_power = "1,5 kW"', 'line["motor"].rated_power', "decimal comma", "1.5"),
    ('rated_power = "1.5 kW"', 'rated_power = "0 kW"', 'line["motor"].rated_power', "must be above 0 W", ""),
    ('rated_power = "1.5 kW"', "rated_power = 1500", 'line["motor"].rated_power', "has no unit", "W"),
    (
        'rated_power = "1.5 kW"',
        'rated_power = "1.5 kW"\ndirect = "yes"',
        'line["motor"].direct',
        "true or false",
        "",
    ),
    (
        'part = "motor"\nrated_power = "1.5 kW"',
        'part = "moter"\nrated_power = "1.5 kW"',
        'line["moter"].part',
        "is not a part",
        "motor",
    ),
    ('part = "gear"\n', "", 'line["gearbox"].part', "is missing", "part ="),
    ('event = "start"\n', "", 'situations["start"].event', "is missing", "one of hard stop, partial jam"),
    ('part = "gear"', 'part = "hard stop"', 'line["gearbox"].part', "is an event", ""),
    ('name = "gearbox"', 'name = "head shaft"', "line[4]", "have the same name", "name of its own"),
    ('name = "gearbox"', 'name = "gear/box"', 'line["gear/box"].name', "must not hold a slash", ""),
    ('name = "gearbox"', f'name = "{"x" * 70}"', f'line["{"x" * 70}"].name', "at most 60 characters", ""),
    ('name = "gearbox"', 'name = " gearbox"', 'line[" gearbox"].name', "begin or end with a blank", ""),
    ('allowable = "600 N*m"\n', "", 'line["gearbox"].allowable_source', "stands without an allowable", ""),
    ('allowable = "500 N*m"', 'allowable = "500 J"', 'line["head shaft"].allowable', "J is an energy", "N*m"),
    ('mass = "180 kg"', 'mass = "180 kg"\nallowable = "5 N"', 'line["divider"].allowable', "two hubs", "'head shaft'"),
    ('hub_in = "0.012 kg*m^2"', 'hub_in = "-1 kg*m^2"', 'line["output slot"].hub_in', "at least 0", ""),
    ('after = "gearbox"', 'after = "gearbax"', 'line["fan"].after', "no station has this name", "gearbox"),
    ('after = "gearbox"', 'after = "creep shaft"', 'line["fan"].after', "written above", ""),
    ('after = "gearbox"', 'after = "gearbox"\njoins = "divider"', 'line["fan"].joins', "closed loop", ""),
    (
        'joins = "gearbox"',
        'joins = "gearbx"',
        'line["creep shaft"].joins',
        "no station has this name",
        "gearbox",
    ),
    ('joins = "gearbox"\n', "", 'line["creep motor"]', "unreachable branch", "joins"),
    ('joins = "gearbox"', 'joins = "creep motor"', 'line["creep shaft"].joins', "closed loop", ""),
    (
        'name = "creep motor"',
        'name = "creep motor"\nafter = "fan"',
        'line["creep motor"].after',
        "follows no station",
        "",
    ),
    (
        'mass = "180 kg"',
        'mass = "180 kg"\njoins = "creep motor"',
        'line["divider"].joins',
        "last station",
        "",
    ),
    (
        'name = "output slot"\npart = "slot"\nhub_in = "0.012 kg*m^2"\nhub_out = "0.010 kg m²"',
        'name = "output slot"\npart = "shaft"\nstiffness = "1 N*m/rad"',
        "candidates",
        "no slot in the line",
        "slot",
    ),
    (
        'slot = "output slot"',
        'slot = "gearbox"',
        'candidates["detent, coil spring"].slot',
        "not a slot",
        "output slot",
    ),
    (
        'slot = "output slot"',
        'slot = "outptu slot"',
        'candidates["detent, coil spring"].slot',
        "no slot of this name",
        "output slot",
    ),
    ("[candidates.detent]", '[candidates."de/tent"]\npart = "detent"', 'candidates["de/tent"]', "slash", ""),
    ("[candidates.detent]", "[candidates.detant]", 'candidates["detant"]', "is no protection", "detent"),
    (
        "[candidates.detent]",
        '[candidates.none]\npart = "detent"',
        'candidates["none"]',
        "kept for the line",
        "",
    ),
    (
        '[candidates.detent]\nsetting = "340 N*m"',
        '[candidates.shaft]\nstiffness = "1 N*m/rad"',
        'candidates["shaft"]',
        "must be a protection",
        "detent",
    ),
    (
        "[candidates.detent]\n",
        "[candidates]\ndetent = 4\n[candidates.x]\npart = 'detent'\n",
        'candidates["detent"]',
        "must be a table",
        "",
    ),
    (
        'spring = "coil"',
        'spring = "coal"',
        'candidates["detent, coil spring"].spring',
        "one of disc, coil",
        "coil",
    ),
    ("balls = 8", "balls = 6.5", 'candidates["detent, coil spring"].balls', "whole number", ""),
    ("balls = 8", "balls = 0", 'candidates["detent, coil spring"].balls', "at least 1", ""),
    ("balls = 8", 'lash = "9 deg"', 'candidates["detent, coil spring"]', "larger than the lash", ""),
    ("ratchets = true", "ratchets = 1", 'candidates["detent, coil spring"].ratchets', "true or false", ""),
    ('event = "start"', 'event = "stop"', 'situations["start"].event', "must be one of hard stop", "nearest"),
    ('event = "start"\n', "", 'situations["start"].event', "is missing", "event ="),
    ('at = "divider"', 'at = "dividr"', 'situations["blade against the frame"].at', "no station", "divider"),
    (
        'at = "divider"',
        'after = "2 s"',
        'situations["blade against the frame"].after',
        "beyond the horizon",
        "",
    ),
    ('expect = "hold"', 'expect = "held"', 'situations["clogged"].expect', "must be one of let go", "hold"),
    (
        'horizon = "0.5 s"',
        'horizon = "0 s"',
        'situations["blade against the frame"].horizon',
        "above 0 s",
        "",
    ),
    ('lead = "20 ms"', 'lead = "20 m"', 'situations["blade against the frame"].lead', "is a length", "ms"),
    (
        "[situations.batch]" + '\nevent = "load step"' + LAST,
        "[situations]\nbatch = 3\n",
        'situations["batch"]',
        "must be a table",
        "",
    ),
]


def faults_of(text, **more):
    with pytest.raises(InputError) as caught:
        read_text(text, "f.toml", registry=REGISTRY, **more)
    return caught.value.faults


@pytest.mark.parametrize(("old", "new", "path", "rule", "hint"), WRONG)
def test_wrong_content(old, new, path, rule, hint):
    assert GOOD.count(old) == 1, "the row must change the sample at one place"
    faults = faults_of(GOOD.replace(old, new))
    hits = [f for f in faults if f.path == path and rule in f.rule]
    assert hits, "\n".join(map(str, faults))
    assert hint in hits[0].hint
    assert hits[0].file == "f.toml"
    assert (hits[0].line is None) == (rule.startswith("is missing") and path in ("title", "protect"))
    assert "\n" not in str(hits[0])


def test_a_misspelt_event_does_not_hide_what_else_is_wrong():
    """Taken for the nearest one: its own inputs, its station, its corner and its horizon are checked all the same."""
    jam = '[situations.jam]\nevent = "hardstop"\nat = "carrage"\nstiffness = "2 MN"\nhorizon = "0.5 m"\ncorner = "x"\n'
    later = '[[situations.jam.then]]\nevent = "parital jam"\ndrag = "5 W"\nwhen = "1 s"\n'
    found = faults_of(GOOD.split("[situations", 1)[0] + jam + later)
    told = {f.path: f for f in found if f.path.startswith("situations")}
    own = {f'situations["jam"].{w}' for w in ("event", "at", "stiffness", "horizon", "corner")}
    assert set(told) == {*own, 'situations["jam"].then[1].event', 'situations["jam"].then[1].drag'}
    assert told['situations["jam"].event'].hint == "nearest: hard stop"


def test_an_event_by_another_word_of_the_trade_is_told_the_word_here():
    with pytest.raises(InputError) as caught:
        read_text((FOLDER / "bakery_tray_conveyor.toml").read_text() + '[situations.off]\nevent = "e-stop"\n')
    (fault,) = caught.value.faults
    assert fault.hint == "here: emergency stop"


def test_a_word_that_the_nearest_event_would_not_take_is_left_alone():
    found = faults_of(GOOD.split("[situations", 1)[0] + '[situations.jam]\nevent = "hardstop"\nspeed = 3\n')
    assert not [f for f in found if f.path.endswith("speed")]


def test_a_misspelt_input_is_not_told_missing_as_well():
    told = faults_of(GOOD.replace("rated_power =", "rated_pwer ="))
    assert {(f.path.partition(".")[2], f.hint) for f in told} == {("rated_pwer", "nearest: rated_power")}


def test_the_line_is_the_one_written():
    faults = faults_of(GOOD.replace("ratio = 20", 'ratio = "20 N"'))
    assert GOOD.split("\n")[faults[0].line - 1] == "ratio = 20"
    assert len(faults) == 1


def test_all_faults_at_once_in_the_order_of_the_file():
    text = GOOD
    for old, new in [
        ("ratio = 20", "ratio = -1"),
        ("balls = 8", "balls = 0"),
        ('at = "divider"', 'at = "x"'),
        ('torque = "Nm"', 'torque = "J"'),
        ('protect = "head shaft"', 'protect = "y"'),
    ]:
        text = text.replace(old, new)
    faults = faults_of(text)
    assert len(faults) == 5
    assert [f.line for f in faults] == sorted(f.line for f in faults)


@pytest.mark.parametrize(
    ("text", "path", "rule"),
    [
        ("title = 'x'\nprotect = 'y'\n", "line", "is missing: the drive line"),
        ("title = 'x'\nprotect = 'y'\n", "situations", "no situation"),
        ("line = 5\n", "line", "[[line]]"),
        ("line = [5]\n", "line[1]", "[[line]]"),
        ("[line]\npart = 'motor'\n", "line", "[[line]]"),
        ("[[candidates]]\n", "candidates", "headed"),
        ("situations = 5\n", "situations", "headed"),
        ("display = 5\n", "display", "headed [display]"),
        ("[[line]]\npart = 'gear'\nratio = 2\n", "line", "there is no drive"),
        (
            "[[line]]\npart = 'gear'\nratio = 2\n[[line]]\npart = 'motor'\n",
            'line["gear"].part',
            "begin with a drive",
        ),
        ("[[lines]]\npart = 'gear'\n", "lines", "not a word of a scenario"),
        (
            "[[line]]\npart = 'gear'\nratio = 2\n[[line]]\npart = 'gear'\nratio = 2\n",
            "line[2]",
            "the same name",
        ),
        ("[[line]]\npart = 'motor'\n" * 201, "line", "at most 200 stations"),
        ("[[line]]\npart = [1]\n", "line[1].part", "name in quotes"),
        ("[candidates]\n" + "\n".join(f"c{i} = 1" for i in range(300)), "candidates", "at most 200"),
        ("title" + ".a" * 30 + " = 1", "title", "text in quotes"),
    ],
)
def test_wrong_as_a_whole(text, path, rule):
    faults = faults_of(text)
    assert any(f.path == path and rule in f.rule for f in faults), "\n".join(map(str, faults))


def test_bounds_are_met_from_both_sides():
    edges = [("ratio = 20", "ratio = 20\nefficiency = 1\nlash = '5 deg'"), ("balls = 8", "balls = 100"),
             ('lead = "20 ms"', 'lead = "0 s"\nafter = "0 s"'), ("1e-7", "0.001")]  # fmt: skip
    text = GOOD
    for old, new in edges:
        assert old in text
        text = text.replace(old, new)
    assert read_text(text, registry=REGISTRY).candidates


def test_a_word_of_the_top_below_an_unknown_part_is_told_where_it_belongs():
    text = GOOD.replace('protect = "head shaft"\n', "") + "\n[candidates.x]\npart = 'y'\nprotect = 'head shaft'\n"
    assert any("above the first table" in f.hint for f in faults_of(text))


def test_many_unknown_words_are_counted():
    words = "\n".join(f"word{n} = 1" for n in range(5000))
    began = time.process_time()
    faults = faults_of(f"{words}\n{GOOD.replace('ratio = 20', 'ratio = 20' + chr(10) + words)}")
    assert {f.rule for f in faults if "more words" in f.rule} == {
        "4960 more words are not words of a scenario",
        "4960 more words are not inputs of a gear",
    }
    assert len(faults) == 82
    assert time.process_time() - began < 2.0
