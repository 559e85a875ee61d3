"""Names that two things share are refused: in a run each element is found by its name."""

from __future__ import annotations

from typing import Any

import pytest
from samples import GOOD, REGISTRY

from simcore.errors import Fault, InputError
from simcore.scenario.new import template
from simcore.scenario.read import read_text

STOP = '[stops.watch]\npart = "stop chain"\nsenses = "torque"\ntorque = "200 N*m"\n'
THEN = 'then = [{event = "clear", when = "0.3 s"}]\n'


def faults_of(text: str, registry: Any = REGISTRY, **more: Any) -> list[Fault]:
    with pytest.raises(InputError) as caught:
        read_text(text, "f.toml", registry=registry, **more)
    return list(caught.value.faults)


def line_of(text: str, row: str) -> int:
    return text.split("\n").index(row) + 1


# (what is replaced, by what, path of the fault, the other's path, the other's row, words of the hint)
CLASHES = [
    ("[situations.batch]", '[situations."head shaft"]', 'situations["head shaft"]', 'line["head shaft"]', "[[line]]",
     'name the situation otherwise, for instance "head shaft (situation)"'),
    ("[situations.batch]", "[situations.detent]", 'situations["detent"]', 'candidates["detent"]',
     "[candidates.detent]", "name the situation otherwise"),
    ('[candidates."detent, coil spring"]', '[candidates."output slot"]', 'candidates["output slot"]',
     'line["output slot"]', "[[line]]", 'name the candidate otherwise, for instance "output slot (candidate)"'),
    ('part = "drag"\nrunning = "1.1 kN"', 'part = "drag"\nrunning = "1.1 kN"\n[situations.drag]\nevent = "start"',
     'situations["drag"]', 'line["drag"]', "[[line]]", "give the station a name of its own: name ="),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "path", "other", "row", "hint"), CLASHES, ids=[c[2] for c in CLASHES])
def test_one_name_for_two_things(old: str, new: str, path: str, other: str, row: str, hint: str) -> None:
    """Told with file, line and both places."""
    assert GOOD.count(old) == 1
    text = GOOD.replace(old, new)
    (fault,) = faults_of(text)
    assert (fault.path, fault.file) == (path, "f.toml")
    assert f"the {'station' if row == '[[line]]' else 'candidate'} {other} have the same name" in fault.rule
    there = int(fault.rule.rsplit("the other on line ", 1)[1])
    rows = text.split("\n")
    assert rows[there - 1] == row
    assert rows[fault.line - 1].startswith("[")
    assert hint in fault.hint


@pytest.mark.parametrize("new", ["Head shaft", "head  shaft", "HEAD SHAFT", "head\u00a0shaft"])
def test_capitals_and_blanks_do_not_tell_names_apart(new: str) -> None:
    (fault,) = faults_of(GOOD.replace("[situations.batch]", f'[situations."{new}"]'))
    assert "have names that differ in capitals and blanks only" in fault.rule
    (fault,) = faults_of(GOOD.replace('name = "fan"', f'name = "{new}"'))
    assert "stations 4 and 7 have names that differ in capitals and blanks only" in fault.rule


def test_an_accent_written_in_two_ways_is_one_letter() -> None:
    """U+00E9 and e with U+0301 are canonically equivalent.  Unicode Standard Annex 15, normalization forms."""
    text = GOOD.replace('name = "fan"', 'name = "m\u00e9lange"')
    (fault,) = faults_of(text.replace("[situations.batch]", '[situations."me\u0301lange"]'))
    assert "names" in fault.rule


def test_a_candidate_named_like_its_kind_beside_a_second_part_of_the_kind() -> None:
    """The candidate may keep its name, the station that has none of its own gets one."""
    second = '[[line]]\npart = "detent"\nsetting = "900 N*m"\n\n[[line]]\nname = "divider"'
    text = GOOD.replace('[[line]]\nname = "divider"', second)
    (fault,) = faults_of(text)
    assert fault.path == 'candidates["detent"]'
    assert fault.hint == "give the station a name of its own: name = ..."
    named = text.replace('part = "detent"\nsetting = "900', 'name = "second"\npart = "detent"\nsetting = "900')
    assert read_text(named, registry=REGISTRY).candidates
    taken = text.replace('part = "detent"\nsetting = "900', 'name = "detent"\npart = "detent"\nsetting = "900')
    (fault,) = faults_of(taken)
    assert fault.hint == 'name the candidate otherwise, for instance "detent (candidate)", with part = "detent"'


def test_a_stop_and_what_follows_in_a_situation() -> None:
    """Parts of the program itself: a stop chain, and the second event, which a run calls after its place."""
    base = template()
    stop = STOP.replace("watch", '"table belt"')
    (fault,) = faults_of(base + stop, None)
    assert (fault.path, "this stop and the station" in fault.rule) == ('stops["table belt"]', True)
    (fault,) = faults_of(base + STOP + '[situations.watch]\nevent = "start"\n', None)
    assert (fault.path, 'the stop stops["watch"]' in fault.rule) == ('situations["watch"]', True)
    steps = base.replace('stiffness = "0.5 MN/m"\n', f'stiffness = "0.5 MN/m"\n{THEN}')
    assert read_text(steps.replace('lasts = "0.4 s"\n', f'lasts = "0.4 s"\n{THEN}')).situations
    (fault,) = faults_of(steps.replace('name = "drum"', 'name = "2: clear"'), None)
    assert fault.path == 'situations["arm against the frame"].then[1]'
    assert 'the station line["2: clear"] have the same name' in fault.rule


def test_a_name_set_beside_the_file() -> None:
    (fault,) = faults_of(GOOD, changes={'line["fan"].name': "detent"})
    assert fault.path == 'candidates["detent"]'
    row = line_of(GOOD, 'name = "fan"') - 1
    assert fault.rule == f'this candidate and the station line["detent"] have the same name, the other on line {row}'


def test_a_slot_cannot_be_protected() -> None:
    """The bare line has no connection there; the nearest ones that bear something are named."""
    text = GOOD.replace('protect = "head shaft"', 'protect = "output slot"')
    text = text.replace('hub_out = "0.010 kg m²"', 'hub_out = "0.010 kg m²"\nallowable = "300 N*m"')
    (fault,) = faults_of(text)
    assert (fault.path, fault.line) == ("protect", line_of(text, 'protect = "output slot"'))
    assert "is a slot" in fault.rule
    assert fault.hint == "name the connection before or behind it: gearbox or head shaft"
    alone = text.replace('allowable = "600 N*m"\nallowable_source = "sheet"\n', "")
    assert faults_of(alone)[0].hint == "name the connection before or behind it: head shaft"
    none = alone.replace('allowable = "500 N*m"\n', "")
    assert 'allowable = "... N*m"' in faults_of(none)[0].hint
