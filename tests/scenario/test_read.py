"""A good scenario: what the rest of the program gets from it."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import GOOD, REGISTRY

from simcore import api
from simcore.errors import InputError
from simcore.scenario.model import Quantity
from simcore.scenario.read import read_text
from simcore.scenario.same_names import folded
from simcore.sweep.join import setup

SHIPPED = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"


@pytest.fixture(scope="module")
def good():
    return read_text(GOOD, "bakery.toml", registry=REGISTRY)


def test_top(good):
    assert (good.title, good.protect) == ("Dough divider of a bakery", "head shaft")
    assert good.display == {"torque": "N*m"}
    assert good.solver == {"relative_tolerance": 1e-7}
    assert (good.text, good.source, good.changes) == (GOOD, "bakery.toml", {})
    with pytest.raises(FrozenInstanceError):
        good.title = "x"


def test_stations(good):
    names = [
        "motor",
        "gearbox",
        "output slot",
        "head shaft",
        "divider",
        "drag",
        "fan",
        "creep motor",
        "creep shaft",
    ]
    assert [s.name for s in good.stations] == names
    gear = good.station("gearbox")
    assert gear.path == 'line["gearbox"]'
    assert gear.item.values["ratio"] == Quantity(20.0, "ratio", "20")
    assert gear.item.si("lash") == pytest.approx(math.radians(10 / 60), rel=1e-15)
    assert gear.item.given == {"ratio"}
    assert set(gear.item.defaults) == {"efficiency", "lash"}
    assert (gear.limit.allowable.si, gear.limit.source) == (600.0, "sheet")
    assert good.station("head shaft").limit.source == "not stated"
    slot = good.station("output slot")
    assert slot.is_slot
    assert (slot.hub_in.si, slot.hub_out.si) == (0.012, 0.010)
    assert good.station("fan").after == "gearbox"
    assert good.station("creep shaft").joins == "gearbox"
    assert good.station("drag").item.values["running"].kind == "force"
    assert good.station("fan").item.values["running"].kind == "torque"
    assert good.station("drag").item.values["viscous"].si == 0.0
    assert good.station("motor").item.values["direct"] is False


def test_candidates(good):
    plain, coil = good.candidates["detent"], good.candidates["detent, coil spring"]
    assert (plain.item.part, plain.slot, coil.item.part, coil.slot) == (
        "detent",
        None,
        "detent",
        "output slot",
    )
    assert coil.item.path == 'candidates["detent, coil spring"]'
    assert coil.item.values["spring"] == "coil"
    assert coil.item.values["ratchets"] is True
    assert coil.item.si("fade") == -0.001
    assert math.isnan(plain.item.si("fade"))
    assert plain.item.values["spring"] == "disc"


def test_situations(good):
    told = {n: (s.expect, s.horizon, s.lead, s.at) for n, s in good.situations.items()}
    assert told == {
        "blade against the frame": ("let go", 0.5, 0.02, "divider"),
        "stiff dough": ("carry", 1.0, 0.01, None),
        "clogged": ("hold", 1.0, 0.01, None),
        "start": ("hold", 5.0, 0.01, None),
        "batch": ("hold", 1.0, 0.01, None),
    }
    assert good.situations["clogged"].item.part == "partial jam"
    assert "lasts" not in good.situations["clogged"].item.values


def test_a_jam_that_stays_is_to_let_go():
    s = read_text(GOOD.replace('expect = "hold"\n', ""), registry=REGISTRY)
    assert s.situations["clogged"].expect == "let go"


@pytest.mark.parametrize(
    ("follows", "expect"),
    [
        ('event = "hard stop", when = "0.5 s", stiffness = "2 kN/mm"', "let go"),
        ('event = "partial jam", when = "0.5 s", drag = "4 kN"', "let go"),
        ('event = "partial jam", when = "0.5 s", drag = "4 kN", lasts = "0.2 s"', "hold"),
        ('event = "emergency stop", when = "0.5 s"', "hold"),
    ],
)
@pytest.mark.parametrize("first", ["start", "emergency stop"])
def test_a_crash_that_follows_is_to_let_go(first, follows, expect):
    line = SHIPPED.read_text(encoding="utf-8").partition("[situations")[0]
    then = f'[situations.then]\nevent = "{first}"\nthen = [{{{follows}}}]\n'
    assert read_text(line + then).situations["then"].expect == expect
    said = read_text(line + then.replace("then =", 'expect = "carry"\nthen ='))
    assert said.situations["then"].expect == "carry"


def quoted(text):
    return '"' + "".join(f"\\u{ord(c):04x}" if c in '"\\' else c for c in text) + '"'


words = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S"), exclude_characters='/\\"'),
                min_size=1, max_size=30).filter(lambda t: t not in (".", "..", "none"))  # fmt: skip
sizes = st.floats(1e-6, 1e9, allow_nan=False)


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(words, sizes), min_size=1, max_size=6, unique_by=lambda p: folded(p[0])),
    st.lists(st.tuples(words, sizes, st.sampled_from(["disc", "coil"]), st.booleans(), st.integers(1, 100)),
             max_size=5, unique_by=lambda p: folded(p[0])),
    st.lists(st.tuples(words, sizes), min_size=1, max_size=5, unique_by=lambda p: folded(p[0])),
)  # fmt: skip
def test_round_trip(shafts, candidates, situations):
    """What is written to TOML comes back, number for number and name for name; no two things share one."""
    text = f"title = 'x'\nprotect = {quoted('s' + shafts[0][0])}\n[[line]]\npart = 'motor'\n"
    text += "rated_power = '1 kW'\ninertia = '1 g*m^2'\n[[line]]\nname = 'a slot'\npart = 'slot'\n"
    for name, k in shafts:
        text += f"[[line]]\nname = {quoted('s' + name)}\npart = 'shaft'\nstiffness = '{k!r} N*m/rad'\n"
        text += f"allowable = '{k!r} kN*m'\n"
    for name, setting, spring, ratchets, balls in candidates:
        text += f"[candidates.{quoted('c' + name)}]\npart = 'detent'\nsetting = '{setting!r} N*m'\n"
        text += f"spring = '{spring}'\nratchets = {str(ratchets).lower()}\nballs = {balls}\n"
    for name, k in situations:
        text += f"[situations.{quoted('e' + name)}]\nevent = 'hard stop'\nstiffness = '{k!r} N/m'\n"
    s = read_text(text, registry=REGISTRY)
    assert [(x.name[1:], x.item.si("stiffness")) for x in s.stations[2:]] == shafts
    back = [(c.name[1:], c.item.si("setting"), c.item.values["spring"], c.item.values["ratchets"],
             c.item.si("balls")) for c in s.candidates.values()]  # fmt: skip
    assert back == candidates
    assert [(n[1:], x.item.si("stiffness")) for n, x in s.situations.items()] == situations


def test_changes_to_a_scenario_that_is_read_already_are_refused_and_not_dropped(good, tmp_path):
    changes = {'candidates["ball detent"].setting': "100 N*m"}
    with pytest.raises(InputError, match="changes go with a file"):
        api.run(good, changes)
    with pytest.raises(InputError, match="changes go with a file"):
        setup(good, tmp_path, changes)
