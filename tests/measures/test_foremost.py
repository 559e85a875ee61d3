"""What comes first on the screen: remarks by what they decide, grave warnings counted; equals named together."""

from __future__ import annotations

import ast
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from test_measures_judge import some

import simcore.measures
from simcore.line.caution import Caution
from simcore.line.cautions import grouped
from simcore.line.graph import GROUND
from simcore.measures import aftermath
from simcore.measures.foremost import BY_WEIGHT, by_weight, grave_ones, gravest_first, in_order
from simcore.measures.shown import Shown
from simcore.results.model import Remark


def test_a_load_that_falls_comes_before_all_and_the_rest_keeps_its_order():
    given = [Remark(label, text) for label, text in (
        ("Left behind", "1"), ("Stop", "2"), ("Holds again", "3"), ("Stop", "4"), ("Runs back", "5"))]  # fmt: skip
    assert [r.text for r in by_weight(given)] == ["5", "2", "4", "3", "1"]


def test_every_label_that_a_run_writes_has_its_place():
    written = set()
    for path in Path(simcore.measures.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Remark":
                assert isinstance(node.args[0], ast.Constant)
                written.add(node.args[0].value)
    assert written == set(BY_WEIGHT)


@pytest.mark.parametrize(("failing", "count"), [((), 2), (("pins",), 1), (("pins", "disc"), 2)])
def test_grave_are_those_of_what_may_be_fitted(failing, count):
    """A load that is not held concerns all; pins that tire only as long as they may be fitted, or nothing may."""
    seen = Shown([Caution("tired pins", 'candidates["pins"]', "tires", True)], [])
    known = [Caution("load not held", 'line["bag"]', "falls", True), Caution("odd ratio", 'line["gear"]', "odd")]
    answers = [some("pins", 2, "pins" not in failing), some("disc", 1, "disc" not in failing)]
    assert grave_ones(seen, known, answers) == count
    assert set(in_order(seen, known, answers)[:count]) == {"Falls.", "Tires."} - ({"Tires."} if count == 1 else set())


def test_without_a_run_what_can_hurt_comes_first_and_each_warning_once():
    """Remarks last; two stations with the same trouble are two sentences, each with its own place."""
    who = ("disc", "pins")
    given = [Caution("no room for overshoot", f'candidates["{n}"].setting', f"{n} passes it") for n in who]
    given += [Caution("odd ratio", 'line["gear"].ratio', "odd"), Caution("odd ratio", 'line["worm"].ratio', "odder")]
    given += [Caution("released load", f'candidates["{n}"]', f"{n} drops it", True) for n in who]
    told = [(c.path, text) for c, text in gravest_first(given, who)]
    assert told == [
        ('candidates["disc"]', "Disc drops it (likewise pins)."),
        ('line["gear"].ratio', "Odd."),
        ('line["worm"].ratio', "Odder."),
        ('candidates["disc"].setting', "Disc passes it (likewise pins)."),
    ]


def test_a_warning_of_all_candidates_names_one():
    found = [Caution("a", f'candidates["{n}"]', f"{n} burns") for n in ("disc", "pins", "pawl")]
    assert grouped(found, ("disc", "pins", "pawl")) == ["Disc burns (likewise all others)."]
    assert grouped(found, ("disc", "pins", "pawl", "belt")) == ["Disc burns (likewise pins, pawl)."]
    assert grouped(found[:2], ("disc", "pins")) == ["Disc burns (likewise pins)."]
    assert grouped(found) == ["Disc burns (likewise pins, pawl)."]


@pytest.mark.parametrize(("second", "told"), [
    (399.8, "'spring' sees up to 400 ('pins', 'jam'; likewise 'disc')."),
    (399.4, "'spring' sees up to 400 ('pins', 'jam')."),
])  # fmt: skip
def test_a_backstop_that_sees_the_same_with_two_names_both(second, told):
    spring = SimpleNamespace(name="spring", a=2, b=GROUND, part=SimpleNamespace(kind=SimpleNamespace(
        family="overrunning clutch")))  # fmt: skip
    case = SimpleNamespace(assembly=SimpleNamespace(graph=SimpleNamespace(elements=[spring])))
    runs = [
        SimpleNamespace(candidate=c, situation="jam", peak=np.array([p]))
        for c, p in (("disc", second), ("pins", 400.1))
    ]
    (remark,) = aftermath._backstops([(case, r) for r in runs], lambda p: f"{p:.0f}")
    assert remark == Remark("Backstop", told)


def test_a_slot_that_is_not_said_is_told_among_the_first_though_its_candidate_fails():
    """It may fail because it is tried in the wrong place."""
    pins = 'candidates["pins"]'
    known = [
        Caution("motor below setting", f"{pins}.setting", "stalls"),
        Caution("slot not said", f"{pins}.slot", "where"),
        Caution("motor below setting", 'candidates["disc"].setting', "stalls"),
    ]
    answers = [some("pins", 2, passed=False), some("disc", 1)]
    assert in_order(Shown([], []), known, answers)[0] == "Where."
    assert grave_ones(Shown([], []), known, answers) == 1
