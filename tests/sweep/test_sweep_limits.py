"""What every limit sees in a sweep, and what else in the line lets go; invented bag hoist and napkin folder."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from mates import FOLDER, HOIST
from sweep_samples import limited, linear, made

from simcore.api import run
from simcore.charts.sweep_limits_data import MOST_LIMITS, limits_data, over
from simcore.errors import InputError
from simcore.measures.cases import Case
from simcore.scenario.read import read_text
from simcore.solver.kernel import run_one
from simcore.sweep import cases
from simcore.sweep.decide import decide
from simcore.sweep.limits import limits
from simcore.sweep.plan import Plan
from simcore.sweep.result import SweepResult
from simcore.sweep.sheet import AT
from simcore.sweep.trial import Block, Trial

BAGS = """
[sweep]
seed = 3
draws = 2
[[sweep.factor]]
name = "bag"
path = 'line["bag"].mass'
times = true
scatter = { uniform = [0.98, 1.02] }
"""
TABLES = BAGS.replace('"bag"', '"table"').replace(".mass", ".inertia")


def hoist(capacity: str) -> str:
    """The bag hoist with all that may pass a limit in it, and a sweep."""
    text = HOIST.replace("CAPACITY", capacity).replace('"299 kN/m"', '"299 kN/m", allowable = "9 kN"')
    return text.replace('"60 kN/m"', '"60 kN/m", allowable = "4 kN"') + BAGS


def trial(text: str, candidate: str) -> tuple[Trial, Block]:
    scenario = read_text(text, "line.toml")
    made = Trial(scenario, Plan.of(scenario), candidate)
    return made, made.run((), 0, 2)


def alone(trial: Trial, draw: int, situation: str) -> tuple[Case, np.ndarray]:
    case = trial.case((), draw, situation)
    return case, run_one(case.assembly).meas


def test_every_limit_has_its_peak_over_its_allowable():
    """As a single run has it: largest torque of each connection over what the file says it bears."""
    text = hoist("3000 N*m")
    bears = {"drum shaft": 600.0, "rope": 9e3, "jam": 4e3}
    t, block = trial(text, "disc")
    assert list(limits(t.scenario)) == list(bears)
    for draw in range(2):
        case, meas = alone(t, draw, "jam")
        for i, e in enumerate(case.assembly.graph.elements):
            if e.name in bears:
                use = block.measures[AT + e.name][draw, 0]
                assert use == pytest.approx(meas[i, 0] / bears[e.name], rel=1e-9), e.name
    every = np.max([block.measures[AT + n] for n in bears], axis=0)
    assert np.array_equal(block.measures["use"], every)


BEARS = """
[[sweep.factor]]
name = "what it bears"
path = '{}.allowable'
times = {}
scatter = {{ uniform = {} }}
"""


@pytest.mark.parametrize("owner", ['situations["jam"]', 'line["rope"]'])
def test_what_bears_less_has_more_of_it_used_in_however_many_draws(owner):
    """Put together one by one, or all draws at once."""
    text = hoist("3000 N*m").replace("draws = 2", "draws = 9") + BEARS.format(owner, "true", [0.5, 2.0])
    name = AT + owner.split('"')[1]
    scenario = read_text(text, "line.toml")
    plan = Plan.of(scenario)
    once = Trial(scenario, plan, "disc").run((), 0, 9).measures[name][:, 0]
    singly = [Trial(scenario, plan, "disc").run((), d, d + 1).measures[name][0, 0] for d in range(9)]
    assert once.tolist() == singly
    mean = replace(plan, factors=plan.factors[:1])
    same = Trial(scenario, mean, "disc").run((), 0, 9).measures[name][:, 0]
    assert once == pytest.approx(same / plan.samples(0, 9)[:, 1], rel=1e-9)


def test_an_allowable_that_is_not_there_cannot_vary():
    with pytest.raises(InputError, match=r'situations\["jam"\] has no allowable'):
        read_text(HOIST.replace("CAPACITY", "3000 N*m") + BAGS + BEARS.format('situations["jam"]', "false",
                  ["1 kN", "2 kN"]), "line.toml")  # fmt: skip


def test_a_limit_at_the_slot_goes_by_the_slot_whatever_stands_there():
    text = hoist("3000 N*m").replace('part = "slot",', 'part = "slot", allowable = "900 N*m",')
    for candidate in ("disc", "ball detent"):
        _, block = trial(text, candidate)
        assert (block.measures[AT + "slot"] > 0.2).all()


def test_a_backstop_that_breaks_is_damage():
    """The detent lets the bag fall into a pawl that bears 400 N m; the disc holds it."""
    text = hoist("400 N*m")
    _, broken = trial(text, "ball detent")
    assert (broken.measures["mates"][:, 0] == 1.0).all()
    assert (broken.measures["use"][:, 0] < 1.0).all()
    _, held = trial(text, "disc")
    assert (held.measures["mates"] == 0.0).all()
    result = replace(made(2, 2, steps=1), measures={
        k: np.stack([broken.measures[k], held.measures[k]])[:, None] for k in ("use", "mates", "met")
    }, expects=("let go",), status=np.zeros((2, 1, 2, 1), dtype=int))  # fmt: skip
    assert cases.damage(result, 0).tolist() == [[[1.0, 1.0]]]
    assert cases.damage(result, 1).tolist() == [[[0.0, 0.0]]]


def test_pins_behind_the_candidate_that_break_in_service_are_a_trip():
    t, block = trial(FOLDER.replace("SETTING", "62 N*m") + TABLES, "ball detent")
    start = list(t.situations).index("start")
    assert (block.measures["mates"][:, start] == 1.0).all()
    assert (block.measures["met"][:, start] == 0.0).all()
    assert np.isnan(block.measures["trigger"][:, start]).all()


def test_curves_are_those_of_each_limit_and_end_at_the_largest_case():
    result = limited(4, 400)
    data = limits_data(result, decide(result))
    assert [p.name for p in data.panels] == ["gearbox shaft", "belt"]
    for p in data.panels:
        for c, curve in enumerate(p.curves):
            place = next(x.place for x in decide(result).choices if x.candidate == c)
            use = 100.0 * cases.by_setting(result, c, result.measures[AT + p.name][c])[place, 0, :, 0]
            assert curve.peak == pytest.approx(np.sort(use))
            assert over(curve) == (use > 100.0).sum()
            assert curve.share[-1] == pytest.approx(1.0 / len(use))
    assert "belt" in data.frame.title


def test_more_limits_than_fit_leave_out_those_far_from_what_they_bear():
    many = {f"shaft {i}": "330 N*m" for i in range(9)}
    result = limited(2, 100)
    use = result.measures["use"]
    measures = {**result.measures, **{AT + n: use * (0.1 + 0.1 * i) for i, n in enumerate(many)}}
    data = limits_data(replace(result, measures=measures, limits=many), decide(result))
    assert [p.name for p in data.panels] == [f"shaft {i}" for i in range(9 - MOST_LIMITS, 9)]
    assert "6 of 9 limits" in data.frame.subtitle


def test_a_sweep_without_them_shows_the_protected_part_alone():
    result, exact = linear(4000, 700.0)
    (panel,) = limits_data(result, decide(result)).panels
    assert panel.name == result.protect
    (curve,) = panel.curves
    assert over(curve) / 4000 == pytest.approx(exact, abs=0.015)


def test_they_come_back_from_the_file(tmp_path):
    result = limited(2, 30)
    result.write(tmp_path / "sweep.h5")
    back = SweepResult.load(tmp_path / "sweep.h5")
    assert dict(back.limits) == dict(result.limits)
    for name in result.limits:
        assert np.array_equal(back.measures[AT + name], result.measures[AT + name], equal_nan=True)


def test_a_disc_that_passes_its_heat_limit_is_damage():
    """As a single run judges it; the same disc with a heat capacity that bears the slip is not."""
    for capacity, burnt in (("1 J/K", 1.0), ("9 kJ/K", 0.0)):
        text = hoist("3000 N*m").replace('setting="300 N*m"}', f'setting="300 N*m", heat_capacity="{capacity}"}}')
        _, block = trial(text, "disc")
        assert (block.measures["burnt"][:, 0] == burnt).all()
        assert (block.measures["use"][:, 0] < 1.0).all()
        reasons = next(a for a in run(read_text(text, "line.toml")).answers if a.name == "disc").reasons
        assert any("heat" in r for r in reasons) is bool(burnt)


def test_limits_whose_names_differ_in_signs_alone_are_kept_apart(tmp_path):
    """Each is a variable of its own in the file, whatever letters a variable's name may have."""
    result = made(1, 20)
    names = [f"{AT}shaft {n}" for n in ("1-2", "1/2", "1+2", "1 2")]
    uses = {name: (k + 1.0) * result.measures["use"] for k, name in enumerate(names)}
    path = tmp_path / "signs.h5"
    replace(result, measures={**result.measures, **uses}).write(path)
    again = SweepResult.load(path)
    for name, use in uses.items():
        assert np.array_equal(again.measures[name], use, equal_nan=True)
