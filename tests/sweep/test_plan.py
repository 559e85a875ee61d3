"""Plans as they are read, their cells, draws and identity."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from sweep_texts import DRAG, MIXER, REGISTRY, SETTING, STIFF, plan, section

from simcore.scenario.read import read, read_text
from simcore.scenario.schema import schema
from simcore.sweep.book import fields
from simcore.sweep.plan import Plan

DEMO = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"
DESIGNS = ("random", "latin hypercube", "sobol sequence", "paired")


def three(design="random", draws=1000, more=""):
    return plan(f'[sweep]\nseed = 7\ndraws = {draws}\ndesign = "{design}"\n{more}' + SETTING + STIFF + DRAG)


def test_everything_that_is_said():
    p = three()
    assert [f.name for f in p.grids] == ["setting"]
    assert [f.name for f in p.scatters] == ["spoon stiffness", "drag"]
    setting, stiff, drag = p.factors
    assert (setting.paths, setting.times, setting.kind) == (("candidates[*].setting",), True, "ratio")
    assert stiff.paths == ('situations["spoon"].stiffness',)
    assert (drag.kind, drag.unit, drag.scatter.numbers, drag.scatter.low) == ("torque", "N*m", (40.0, 3.0), 0.0)
    assert (p.seed, p.draws, p.design, p.block) == (7, 1000, "random", 500)
    assert p.candidates == ("disc", "detent")
    assert p.situations == ("spoon", "start")
    assert p.cases == 2 * 13 * 1000


def test_usual_values():
    p = plan("[sweep]\n" + STIFF)
    assert (p.seed, p.draws, p.design, p.block, p.hypercube) == (1, 1000, "random", 500, 1000)
    assert (p.damage_target, p.nuisance_target) == (1e-3, 1e-4)
    assert plan("[sweep]\n" + SETTING).draws == 1
    assert plan("[sweep]\n" + SETTING).samples(0, 1).shape == (1, 0)
    assert plan('[sweep]\ndesign = "paired"\n' + STIFF + DRAG).draws == 256 * 4


def test_only_the_named_candidates_in_the_order_named():
    p = plan('[sweep]\ncandidates = ["detent", "disc"]\nsituations = ["start"]\n' + STIFF)
    assert (p.candidates, p.situations) == (("detent", "disc"), ("start",))


def test_without_a_section():
    scenario = read_text(MIXER, registry=REGISTRY)
    assert scenario.sweep is None
    with pytest.raises(ValueError, match="no section"):
        Plan.of(scenario)


def test_set_beside_the_file():
    changes = {"sweep.seed": "3", "sweep.draws": "64", "sweep.block": "16", "sweep.design": "sobol sequence",
               "sweep.damage_target": "2 %"}  # fmt: skip
    p = plan("[sweep]\n" + SETTING + STIFF, changes=changes)
    assert (p.seed, p.draws, p.block, p.design, p.damage_target) == (3, 64, 16, "sobol sequence", 0.02)


def test_cells_last_factor_fastest():
    p = plan("[sweep]\n" + SETTING.replace("steps = 13", "steps = 3") + '[[sweep.factor]]\nname = "drag"\n'
             'path = "line.bowl.running"\ngrid = ["40 N*m", "0.05 kN*m"]\n')  # fmt: skip
    assert p.cells() == [(0.8, 40.0), (0.8, 50.0), (1.1, 40.0), (1.1, 50.0), (1.4, 40.0), (1.4, 50.0)]
    assert plan("[sweep]\n" + STIFF).cells() == [()]


def test_a_longer_grid_keeps_the_cells():
    short = plan("[sweep]\n" + SETTING)
    long = plan("[sweep]\n" + SETTING.replace("to = 1.4, steps = 13", "to = 2.0, steps = 25"))
    fine = plan("[sweep]\n" + SETTING.replace("steps = 13", "steps = 25"))
    assert set(short.cells()) <= set(long.cells())
    assert set(short.cells()) <= set(fine.cells())


def test_log_spacing_is_numpys():
    p = plan(
        "[sweep]\n"
        + SETTING.replace("from = 0.8, to = 1.4, steps = 13", 'from = 0.1, to = 10, steps = 9, spacing = "log"')
    )
    np.testing.assert_allclose(p.grids[0].grid, np.geomspace(0.1, 10, 9), rtol=1e-11)


@pytest.mark.parametrize("design", DESIGNS)
def test_quantiles_of_the_draws(design):
    """Kolmogorov-Smirnov against scipy's distributions, 1 in 1000; stricter for even designs by nature."""
    x = three(design, 4096).samples(0, 4096)
    if design == "paired":
        x = x.reshape(1024, 4, 2)[:, 0]
    assert stats.kstest(x[:, 0], stats.loguniform(0.1, 10).cdf).pvalue > 1e-3
    assert stats.kstest(x[:, 1], stats.norm(40, 3).cdf).pvalue > 1e-3


@pytest.mark.parametrize("design", DESIGNS)
@settings(max_examples=20, deadline=None)
@given(first=st.integers(0, 90), length=st.integers(0, 30))
def test_draws_do_not_know_how_many_there_are(design, first, length):
    few = three(design, 120, "" if design != "latin hypercube" else "hypercube = 20\n")
    many = replace(few, draws=1200)
    own = three(design, 1200, "" if design != "latin hypercube" else "hypercube = 20\n")
    part = few.samples(first, first + length)
    assert np.array_equal(part, many.samples(0, 1200)[first : first + length])
    assert np.array_equal(part, own.samples(first, first + length))


def test_an_extension_keeps_its_hypercubes():
    more = replace(three("latin hypercube", 100), draws=300)
    assert more.hypercube == 100
    u = more.shares(0, 300)
    for j in range(3):
        strata = np.sort(np.floor(u[100 * j : 100 * (j + 1)] * 100).astype(int), axis=0)
        assert (strata == np.arange(100)[:, None]).all()


@pytest.mark.parametrize("design", DESIGNS)
def test_same_draws_for_any_candidate_and_grid(design):
    base = '[sweep]\nseed = 7\ndraws = 40\ndesign = "%s"\n%s'
    one = plan(base % (design, 'candidates = ["disc"]\n') + STIFF + DRAG)
    other = plan(base % (design, 'candidates = ["detent"]\n') + SETTING + STIFF + DRAG)
    assert np.array_equal(one.samples(0, 40), other.samples(0, 40))


@pytest.mark.parametrize("design", DESIGNS[:2])
def test_another_factor_leaves_the_draws_of_the_first(design):
    base = f'[sweep]\ndraws = 40\ndesign = "{design}"\n'
    assert np.array_equal(plan(base + STIFF).samples(0, 40)[:, 0], plan(base + DRAG + STIFF).samples(0, 40)[:, 1])


def test_pairs():
    assert three("paired", 64).pairs() == (16, 2)
    with pytest.raises(ValueError, match="not paired"):
        three().pairs()


@pytest.mark.parametrize(
    ("design", "draws", "words"),
    [("sobol sequence", 1000, "512 or 1024"), ("paired", 4 * 100, "256 or 512"), ("sobol sequence", 1024, ""),
     ("paired", 4 * 128, ""), ("random", 1000, "")],
)  # fmt: skip
def test_notes_on_balance(design, draws, words):
    notes = three(design, draws).notes
    assert bool(notes) == bool(words)
    assert words in " ".join(notes)


def test_a_cut_hypercube_is_told():
    assert "cut short" in three("latin hypercube", 110, "hypercube = 20\n").notes[0]


def test_tails_that_may_leave_a_bound_are_told():
    wide = STIFF.replace("log_uniform = [0.1, 10]", "normal = 1, sd = 0.4")
    (note,) = plan("[sweep]\n" + wide).notes
    share = float(note.split("a share of ")[1].split(" ")[0])
    assert share == pytest.approx(stats.norm(1, 0.4).cdf(0), rel=0.02)
    assert plan("[sweep]\n" + wide.replace("sd = 0.4", "sd = 0.4, low = 0.1")).notes == ()
    assert plan("[sweep]\n" + wide.replace("sd = 0.4", "sd = 0.1")).notes == ()


def test_a_table_of_draws(tmp_path):
    (tmp_path / "cases.csv").write_text(
        "# from the log book\ndrag [N*m]; spoon stiffness\n40; 1.0\n42.5; 2\n\n39; 50 %\n"
    )
    body = '[sweep]\ndesign = "table"\ntable = "cases.csv"\n' + SETTING + STIFF
    drag = '[[sweep.factor]]\nname = "drag"\npath = "line.bowl.running"\n'
    p = plan(body + drag, str(tmp_path / "mixer.toml"))
    assert p.draws == 3
    assert p.files == ("cases.csv",)
    assert p.samples(0, 3).tolist() == [[1.0, 40.0], [2.0, 42.5], [0.5, 39.0]]
    assert p.samples(1, 2).tolist() == [[2.0, 42.5]]
    assert p.factors[2].unit == "N*m"


def test_a_measured_sample(tmp_path):
    values = stats.norm(40, 3).rvs(25, random_state=4)
    (tmp_path / "drag.csv").write_text("torque [kN*m]\n" + "\n".join(f"{v / 1000:.6f}" for v in values) + "\n")
    body = DRAG.replace('normal = "40 N*m", sd = "3 N*m", low = "0 N*m"', 'measured = "drag.csv"')
    p = plan("[sweep]\ndraws = 500\n" + body, str(tmp_path / "mixer.toml"))
    np.testing.assert_allclose(
        p.samples(0, 500)[:, 0], np.quantile(np.round(values, 3), p.shares(0, 500)[:, 0]), rtol=1e-9
    )
    assert p.factors[0].unit == "kN*m"


def test_replaced_and_multiplied_go_together():
    more = DRAG.replace('"drag"', '"season"').replace("scatter", "times = true\nscatter")
    more = more.replace('normal = "40 N*m", sd = "3 N*m", low = "0 N*m"', "uniform = [0.8, 1.2]")
    assert len(plan("[sweep]\n" + DRAG + more).factors) == 2


def test_a_count_on_a_grid():
    balls = '[[sweep.factor]]\nname = "balls"\npath = "candidates[*].balls"\ngrid = { from = 4, to = 8, steps = 3 }\n'
    assert plan("[sweep]\n" + balls).cells() == [(4.0,), (6.0,), (8.0,)]


def test_json_and_back():
    for p in (three(), three("latin hypercube", 100)):
        assert Plan.from_dict(fields(p)) == p


VERSIONS = {"numpy": "2", "simcore": "0"}


class TestFingerprint:
    def of(self, body, text=None, **more):
        p = plan(body)
        return p.fingerprint(section(body) if text is None else text, VERSIONS, **more)

    def test_is_the_same_for_the_same(self):
        body = "[sweep]\n" + SETTING + STIFF
        assert self.of(body) == self.of(body + "# a remark\n")
        assert len(self.of(body)) == 32

    @pytest.mark.parametrize(
        ("old", "new"),
        [("steps = 13", "steps = 25"), ("[sweep]", "[sweep]\ndraws = 5000"), ("[sweep]", "[sweep]\nblock = 9"),
         ("[sweep]", '[sweep]\ncandidates = ["disc"]'), ("[sweep]", '[sweep]\ndamage_target = "1 %"')],
    )  # fmt: skip
    def test_more_of_it_keeps_what_is_finished(self, old, new):
        body = "[sweep]\n" + SETTING + STIFF
        assert self.of(body) == self.of(body.replace(old, new))

    @pytest.mark.parametrize(
        ("old", "new"),
        [("10] }", "11] }"), ("[sweep]", "[sweep]\nseed = 5"), ("[sweep]", '[sweep]\nsituations = ["spoon"]'),
         ("[sweep]", '[sweep]\ndesign = "latin hypercube"'), ('"spoon stiffness"', '"spoon"')],
    )  # fmt: skip
    def test_changes_with_what_bears_on_the_numbers(self, old, new):
        body = "[sweep]\n" + SETTING + STIFF
        assert self.of(body) != self.of(body.replace(old, new))

    def test_changes_with_the_machine_the_versions_and_what_is_set_beside(self):
        body = "[sweep]\n" + SETTING + STIFF
        p = plan(body)
        base = self.of(body)
        assert base != self.of(body, section(body).replace("9 kN*m/rad", "8 kN*m/rad"))
        assert base == self.of(body, section(body).replace("Dough mixer", "Bread mixer"))
        assert base != p.fingerprint(section(body), {**VERSIONS, "numpy": "3"})
        assert base != self.of(body, changes={"line.bowl.running": "41 N*m"})
        assert base == self.of(body, changes={"sweep.draws": "41"})

    def test_hypercube_counts_for_its_design_only(self):
        body = '[sweep]\ndesign = "latin hypercube"\n' + STIFF
        assert self.of(body) != self.of(body.replace("[sweep]", "[sweep]\ndraws = 77"))
        assert self.of(body) == self.of(body.replace("[sweep]", "[sweep]\ndraws = 77\nhypercube = 1000"))


def test_schema_accepts_what_is_read_and_refuses_what_is_not():
    check = jsonschema.Draft202012Validator(schema(REGISTRY))
    good = section('[sweep]\nseed = 7\ncandidates = ["disc"]\ndamage_target = "0.1 %"\n' + SETTING + STIFF + DRAG)
    assert [e.message for e in check.iter_errors(tomllib.loads(good))] == []
    for old, new in [
        ("seed", "sed"),
        ("seed = 7", "draws = 0"),
        ("times = true\ngrid", "grid = 3\nx"),
        ("steps = 13", "steps = 1"),
        ("normal", "nomal"),
        ('sd = "3 N*m", ', ""),
        ("[0.1, 10]", "[0.1]"),
        ("from = 0.8, ", ""),
        ('["disc"]', "[]"),
        ('path = "line.bowl.running"\n', ""),
        ("scatter = { log", "grid = [1]\nscatter = { log"),
    ]:
        assert old in good
        assert list(check.iter_errors(tomllib.loads(good.replace(old, new, 1)))), (old, new)


def test_the_demo():
    scenario = read(DEMO)
    p = Plan.of(scenario)
    assert 15_000 <= p.cases <= 25_000
    assert p.notes == ()
    x = p.samples(0, p.draws)
    assert np.isfinite(x).all()
    assert len({f.name for f in p.factors}) == len(p.factors)
    text = DEMO.read_text(encoding="utf-8")
    assert text[text.index("\n# What `simcore sweep`") :].count("\n") < 40
