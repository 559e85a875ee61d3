"""Sections [sweep] that are refused: the line, the path, the rule, the way out."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep_texts import LINES, REGISTRY, section

from simcore.errors import InputError
from simcore.scenario.read import read_text

HEAD = '[sweep]\n[[sweep.factor]]\nname = "f"\n'
PATH = 'path = "candidates[*].setting"\n'
TIMES = HEAD + PATH + "times = true\n"
PLAIN = HEAD + PATH
SPREAD = "scatter = { normal = 1, sd = 0.02 }\n"
OTHER = '[[sweep.factor]]\nname = "g"\npath = "candidates.disc.setting"\n'
COUNT = HEAD + 'path = "candidates.detent.balls"\n'

# (section, its line that is told, path of the fault, words of the rule, words of the hint)
WRONG = [
    (
        HEAD + 'path = "candidates[*].seting"\n' + SPREAD,
        4,
        ".path",
        "no candidate has this input",
        "candidates[*].setting",
    ),
    (
        HEAD + 'path = "line.shaft.stifness"\n' + SPREAD,
        4,
        ".path",
        "is not a path of this scenario",
        'line["shaft"].stiffness',
    ),
    (HEAD + 'path = "line..shaft"\n' + SPREAD, 4, ".path", "is not a path", "for instance"),
    (
        HEAD + 'path = "situations[*].stiffness"\n' + SPREAD,
        4,
        ".path",
        "candidate under trial only",
        "one path for each",
    ),
    (
        HEAD + 'paths = ["line.bowl.running",\n"line.bowl.runing"]\ntimes = true\n' + SPREAD,
        5,
        ".paths[2]",
        "is not a path",
        "running",
    ),
    (HEAD + 'path = "line.bowl.lumps"\n' + SPREAD, 4, ".path", "lumps is a list", "another candidate"),
    (HEAD + 'path = "candidates[*].lining"\n' + SPREAD, 4, ".path", "lining is a choice", "another candidate"),
    (HEAD + 'path = "line.motor.direct"\n' + SPREAD, 4, ".path", "direct is a flag", "another candidate"),
    (HEAD + 'path = "line.shaft.name"\n' + SPREAD, 4, ".path", "name is a text", ""),
    (HEAD + 'path = "solver.relative_tolerance"\n' + SPREAD, 4, ".path", "a setting of the program", ""),
    (HEAD + "path = 5\n" + SPREAD, 4, ".path", "must be text in quotes", ""),
    (HEAD + "paths = []\n" + SPREAD, 4, ".paths", "a list of 1 to", ""),
    (HEAD + SPREAD, 2, "factor[1]", "path is missing", "write path"),
    (HEAD + PATH + 'paths = ["line.bowl.running"]\n' + SPREAD, 5, ".paths", "either path or paths", ""),
    (
        HEAD + 'paths = ["line.bowl.running", "line.bowl.running"]\ntimes=true\n' + SPREAD,
        4,
        ".paths[2]",
        "stands twice",
        "",
    ),
    (
        HEAD + 'paths = ["line.bowl.running", "line.shaft.stiffness"]\ngrid = ["1 N*m"]\n',
        2,
        "factor[1]",
        "different kinds",
        "times = true",
    ),
    (PLAIN + 'grid = ["150 N*m", "160 J"]\n', 5, ".grid[2]", "J is an energy, a torque is needed", ""),
    (PLAIN + "grid = [150]\n", 5, ".grid[1]", "has no unit", "N*m"),
    (TIMES + 'grid = ["150 N*m"]\n', 6, ".grid[1]", "is a torque, a ratio is needed", "bare number"),
    (TIMES + 'scatter = { normal = 1, sd = "3 N*m" }\n', 6, ".scatter.sd", "a ratio is needed", "bare number"),
    (TIMES + "grid = [1, 1.1]\n" + SPREAD, 7, ".scatter", "has both", "two factors"),
    (TIMES, 2, "factor[1]", "neither a grid nor a scatter", "write grid"),
    (TIMES + "scatter = { nomal = 1, sd = 0.1 }\n", 6, ".scatter.nomal", "is not a distribution", "nearest: normal"),
    (TIMES + "scatter = { sd = 0.1 }\n", 6, ".scatter", "names no distribution", "lognormal"),
    (TIMES + "scatter = { normal = 1, sd = 0.1, uniform = [1, 2] }\n", 6, ".scatter.uniform", "two distributions", ""),
    (TIMES + "scatter = { normal = 1, sd_log = 0.1 }\n", 6, ".scatter", "is not a word of a normal", ""),
    (TIMES + "scatter = { uniform = [0.9, 1.1], low = 1 }\n", 6, ".scatter.low", "not a word of a uniform scatter", ""),
    (TIMES + "scatter = 1.0\n", 6, ".scatter", "a table in braces", "normal"),
    (TIMES + "scatter = { normal = 1, sd = 0 }\n", 6, ".scatter.sd", "must be above 0", ""),
    (TIMES + "scatter = { normal = 1, sd = -0.1 }\n", 6, ".scatter.sd", "must be above 0", ""),
    (TIMES + "scatter = { normal = 1 }\n", 6, ".scatter", "sd is missing", "sd ="),
    (TIMES + "scatter = { lognormal = 0, sd_log = 0.1 }\n", 6, ".scatter.lognormal", "median", ""),
    (TIMES + "scatter = { lognormal = 1, sd_log = 0 }\n", 6, ".scatter.sd_log", "must be above 0", ""),
    (
        TIMES + "scatter = { normal = 1, sd = 0.1, low = 1.1, high = 0.9 }\n",
        6,
        ".scatter.low",
        "low must be less than high",
        "",
    ),
    (TIMES + "scatter = { normal = 1, sd = 0.1, low = 1.9 }\n", 6, ".scatter.low", "leave almost nothing", ""),
    (TIMES + "scatter = { uniform = [1.2, 0.8] }\n", 6, ".scatter.uniform", "less than the high end", ""),
    (TIMES + "scatter = { uniform = [1] }\n", 6, ".scatter.uniform", "a list of 2", "low_end"),
    (TIMES + "scatter = { triangular = [0.8, 1.3, 1.2] }\n", 6, ".scatter.triangular", "mode must lie between", ""),
    (TIMES + "scatter = { log_uniform = [0, 1] }\n", 6, ".scatter.log_uniform", "must be above 0", ""),
    (TIMES + "grid = { from = 1.4, to = 0.8, steps = 3 }\n", 6, ".grid.from", "from must be less than to", ""),
    (TIMES + "grid = { from = 1, to = 1, steps = 3 }\n", 6, ".grid.from", "from must be less than to", ""),
    (TIMES + "grid = { from = 0.8, to = 1.4, steps = 1 }\n", 6, ".grid.steps", "must be 2 to", ""),
    (TIMES + "grid = { from = 0.8, to = 1.4, steps = 2.5 }\n", 6, ".grid.steps", "whole number", ""),
    (TIMES + "grid = { from = 0.8, steps = 2 }\n", 6, ".grid", "to is missing", ""),
    (TIMES + 'grid = { from = 0.8, to = 2, steps = 2, spacing = "lag" }\n', 6, ".grid.spacing", "linear, log", "log"),
    (TIMES + "grid = { from = 0.8, to = 2, stps = 2 }\n", 6, ".grid.stps", "is not a word of a grid", "steps"),
    (
        HEAD + 'path = "line.bowl.running"\ngrid = { from = "0 N*m", to = "9 N*m", steps = 3, spacing = "log" }\n',
        5,
        ".grid.from",
        "must be above 0 where",
        "",
    ),
    (TIMES + "grid = []\n", 6, ".grid", "1 to", ""),
    (TIMES + "grid = 1.2\n", 6, ".grid", "table in braces or a list", "from"),
    (TIMES + "grid = [1.1, 1.2, 1.1]\n", 6, ".grid[3]", "stands twice", ""),
    (TIMES + "grid = [0, 1]\n", 6, ".grid", 'candidates["disc"].setting must be above 0 N*m', ""),
    (PLAIN + 'grid = { from = "-5 N*m", to = "5 N*m", steps = 3 }\n', 5, ".grid", "must be above 0 N*m", ""),
    (HEAD + 'path = "line.bowl.factor"\ngrid = [0.5, 1.1]\n', 5, ".grid", "must be at most 1", ""),
    (TIMES + "scatter = { uniform = [-0.1, 1] }\n", 6, ".scatter", "must be above 0", ""),
    (TIMES + "scatter = { triangular = [0, 1, 2] }\n", 6, ".scatter", "must be above 0", ""),
    (TIMES + "scatter = { normal = 1, sd = 0.5, low = 0 }\n", 6, ".scatter", "must be above 0", ""),
    (TIMES + "scatter = { normal = -1, sd = 0.5 }\n", 6, ".scatter", "most values", "cut it off"),
    (
        HEAD + 'path = "candidates[*].wear"\ntimes = true\n' + SPREAD,
        5,
        ".times",
        "nothing to multiply",
        "write a value",
    ),
    (COUNT + "times = true\ngrid = [1, 2]\n", 5, ".times", "counts whole things", "grid = [6, 8]"),
    (COUNT + "scatter = { uniform = [1, 5] }\n", 5, ".scatter", "counts whole things", "grid"),
    (COUNT + "grid = [4, 5.5]\n", 5, ".grid[2]", "whole number", ""),
    (COUNT + "grid = { from = 4, to = 6, steps = 4 }\n", 5, ".grid.steps", "whole numbers", "grid = [4, 6, 8]"),
    (
        PLAIN + 'grid = ["150 N*m"]\n' + OTHER + 'grid = ["150 N*m"]\n',
        8,
        "[2].path",
        'replaced by "f" already',
        "times = true",
    ),
    (
        PLAIN + 'grid = ["150 N*m"]\n' + OTHER.replace('"g"', '"f"') + "times = true\ngrid = [1.1]\n",
        7,
        "[2].name",
        "have the same name",
        "",
    ),
    ("[sweep]\n[[sweep.factor]]\n" + PATH + "times = true\n" + SPREAD, 2, ".name", "is missing", "name ="),
    (TIMES + SPREAD + "scater = 1\n", 7, ".scater", "is not a word of a factor", ""),
    ("[sweep]\nseed = 3\n", 1, "sweep", "there is no factor", "[[sweep.factor]]"),
    ("[sweep]\nfactor = 3\n", 2, "sweep.factor", "[[sweep.factor]]", ""),
    (TIMES.replace("[sweep]", "[sweep]\nsed = 4") + SPREAD, 2, "sweep.sed", "is not a word of a sweep", "seed"),
    (TIMES.replace("[sweep]", "[sweep]\ndraws = 0") + SPREAD, 2, "sweep.draws", "at least 1", ""),
    (TIMES.replace("[sweep]", "[sweep]\ndraws = 20_000_000") + SPREAD, 2, "sweep.draws", "at most 10000000", ""),
    (TIMES.replace("[sweep]", "[sweep]\ndraws = 1.5") + SPREAD, 2, "sweep.draws", "whole number", ""),
    (
        TIMES.replace("[sweep]", "[sweep]\ndraws = 50") + "grid = [1, 2]\n",
        2,
        "sweep.draws",
        "nothing scatters",
        "leave draws out",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\ndesign = "paired"\ndraws = 10') + SPREAD,
        3,
        "sweep.draws",
        "groups of 3",
        "draws = 12",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\ndesign = "latin hyprcube"') + SPREAD,
        2,
        "sweep.design",
        "must be one of",
        "latin hypercube",
    ),
    (TIMES.replace("[sweep]", "[sweep]\nhypercube = 10") + SPREAD, 2, "sweep.hypercube", "stands without", ""),
    (TIMES.replace("[sweep]", "[sweep]\ndamage_target = 0") + SPREAD, 2, "sweep.damage_target", "above 0", ""),
    (
        TIMES.replace("[sweep]", '[sweep]\nnuisance_target = "100 %"') + SPREAD,
        2,
        "sweep.nuisance_target",
        "less than 1",
        "",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\ncandidates = ["disk"]') + SPREAD,
        2,
        "sweep.candidates[1]",
        "no candidate of this name",
        "disc",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\nsituations = ["start",\n"sponn"]') + SPREAD,
        3,
        "sweep.situations[2]",
        "no situation of this name",
        "spoon",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\nsituations = ["start", "start"]') + SPREAD,
        2,
        "sweep.situations[2]",
        "stands twice",
        "",
    ),
    (
        TIMES.replace("[sweep]", "[sweep]\nsituations = []") + SPREAD,
        2,
        "sweep.situations",
        "a list of names",
        "leave it out",
    ),
    (
        TIMES.replace("[sweep]", '[sweep]\ncandidates = ["disc"]').replace("setting", "balls") + SPREAD,
        5,
        ".path",
        "no candidate has this input",
        "",
    ),
    (TIMES.replace("[sweep]", '[sweep]\ndesign = "table"') + SPREAD, 2, "sweep.design", "needs a table", "cases.csv"),
    (TIMES.replace("[sweep]", '[sweep]\ntable = "x.csv"') + SPREAD, 2, "sweep.table", "stands without design", ""),
    (
        TIMES.replace("[sweep]", '[sweep]\ndesign = "table"\ntable = "none.csv"') + SPREAD,
        3,
        "sweep.table",
        "there is no file none.csv",
        "beside the scenario",
    ),
    (TIMES + 'scatter = { measured = "none.csv" }\n', 6, ".scatter.measured", "there is no file none.csv", ""),
    (TIMES + "scatter = { measured = 5 }\n", 6, ".scatter.measured", "the name of a file", ""),
    (
        TIMES.replace("[sweep]", "[sweep]\ndraws = 1_000_000")
        + SPREAD
        + "[[sweep.factor]]\nname = 'g'\npath = 'line.bowl.running'\ntimes = true\n"
        + "grid = { from = 1, to = 2, steps = 2000 }\n",
        1,
        "sweep",
        "has 4 000 000 000 cases (2 candidates, 2000 cells, 1000000 draws in each)",
        "fewer",
    ),
]


def refused(text, source="mixer.toml", **more):
    with pytest.raises(InputError) as caught:
        read_text(text, source, registry=REGISTRY, **more)
    return caught.value.faults


@pytest.mark.parametrize(("body", "line", "path", "rule", "hint"), WRONG)
def test_refused(body, line, path, rule, hint):
    faults = refused(section(body))
    hits = [f for f in faults if path in f.path and rule in f.rule]
    assert hits, "\n".join(map(str, faults))
    assert hits[0].line == LINES + line
    assert hits[0].file == "mixer.toml"
    assert hint in hits[0].hint
    assert len(faults) <= 2, "\n".join(map(str, faults))


def test_no_table():
    (fault,) = refused("sweep = 3\n" + section(""))
    assert "must be a table headed [sweep]" in str(fault)


def test_all_at_once():
    body = TIMES.replace("[sweep]", "[sweep]\ndraws = 0\nsituations = ['x']\nsed = 1") + "scatter = { nomal = 1 }\n"
    assert [f.line for f in refused(section(body))] == [LINES + n for n in (2, 3, 4, 9)]


def test_beside_faults_of_the_scenario():
    text = section(TIMES + "grid = [-1]\n").replace('inertia = "0.01 kg*m^2"', 'inertia = "1 kg"')
    assert [f.line for f in refused(text)] == [7, LINES + 6]


def test_a_faulty_value_is_not_told_twice():
    text = section(TIMES + "grid = [1, 2]\n").replace('"150 N*m"', '"150 J"').replace('"160 N*m"', '"150 J"')
    assert len(refused(text)) == 2


@pytest.mark.parametrize(
    ("word", "value", "rule"),
    [("seed", "x", "count"), ("draws", "0", "at least 1"), ("block", "0", "at least 1"), ("design", "rand", "one of")],
)
def test_set_beside_the_file(word, value, rule):
    (fault,) = refused(section(TIMES + SPREAD), changes={f"sweep.{word}": value})
    assert (fault.file, fault.line, fault.path) == ("--set", None, f"sweep.{word}")
    assert rule in fault.rule


def test_nothing_to_set_without_a_section():
    (fault,) = refused(section(""), changes={"sweep.seed": "4"})
    assert "is not a path" in fault.rule


CASES = 'design = "table"\ntable = "cases.csv"'
FILES = [
    ("", "is empty", ""),
    ("# only a remark\n", "is empty", ""),
    ("f\n1\n", "at least 2 rows below the headings, it has 1", ""),
    ("1\n2\n3\n", "must have headings", "above them"),
    ("f\n1\nx\n3\n", 'line 3 of cases.csv, column "f", has "x"', ""),
    ("f\n1\n\n", "at least 2 rows", ""),
    ("f\n1\n2 N*m\n", "a ratio is needed", ""),
    ("f,g\n1,1\n2,2\n", "column 2 of cases.csv names no factor", ""),
    ("f,f\n1,1\n2,2\n", "two columns", ""),
    ("k\n1\n2\n", "has no column of this name", ""),
    ("f;g\n1;2\n3\n", "line 3 of cases.csv has 1 column, the headings have 2", "decimal point"),
    ("f [N*m]\n1\n2\n", "the heading", ""),
    ("f\n1\n-2\n", "must be above 0 N*m", ""),
    ("f\n1e400\n2\n", "too large", ""),
]


@pytest.mark.parametrize(("content", "rule", "hint"), FILES)
def test_tables(tmp_path, content, rule, hint):
    (tmp_path / "cases.csv").write_text(content)
    faults = refused(section(TIMES.replace("[sweep]", "[sweep]\n" + CASES)), str(tmp_path / "mixer.toml"))
    hits = [f for f in faults if rule in f.rule]
    assert hits, "\n".join(map(str, faults))
    assert LINES + 3 <= hits[0].line <= LINES + 5
    assert hint in hits[0].hint


MEASURED = [
    (b"", "is empty"),
    (b"ratio\n1\n", "at least 2 rows"),
    (b"ratio\n1\nsix\n", 'line 3 of cases.csv, column "ratio", has "six"'),
    (b"ratio\n1\n1,5\n", "2 columns, the headings have 1"),
    (b"a,b\n1,2\n1,3\n", "has 2 columns, one is needed"),
    (b"ratio\n1\n1\n", "are the same"),
    (b"ratio\n\xff\xfe\n", "is not UTF-8 text"),
    (b"ratio\n1\n0\n", "must be above 0"),
]


@pytest.mark.parametrize(("content", "rule"), MEASURED)
def test_measured_files(tmp_path, content, rule):
    (tmp_path / "cases.csv").write_bytes(content)
    (fault,) = refused(section(TIMES + 'scatter = { measured = "cases.csv" }\n'), str(tmp_path / "mixer.toml"))
    assert rule in fault.rule
    assert fault.line == LINES + 6


def test_a_folder_is_no_table(tmp_path):
    (tmp_path / "cases.csv").mkdir()
    (fault,) = refused(section(TIMES + 'scatter = { measured = "cases.csv" }\n'), str(tmp_path / "mixer.toml"))
    assert "is not a file" in fault.rule


def test_a_table_column_of_a_grid_factor(tmp_path):
    (tmp_path / "cases.csv").write_text("f,g\n1,1\n2,2\n")
    body = TIMES.replace("[sweep]", "[sweep]\n" + CASES) + "grid = [1, 2]\n" + OTHER + "times = true\n"
    (fault,) = refused(section(body), str(tmp_path / "mixer.toml"))
    assert "names a factor that has a grid" in fault.rule


def test_more_draws_than_the_table_has(tmp_path):
    (tmp_path / "cases.csv").write_text("f\n1\n2\n")
    body = TIMES.replace("[sweep]", "[sweep]\ndraws = 3\n" + CASES)
    (fault,) = refused(section(body), str(tmp_path / "mixer.toml"))
    assert "has 2 rows" in fault.rule
    assert fault.line == LINES + 2


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["from", "to", "steps", "normal", "sd", "low", "uniform", "measured", "x"]), inner, max_size=4),
    max_leaves=8,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(
    st.dictionaries(st.sampled_from(["name", "path", "paths", "times", "grid", "scatter", "x"]), JUNK, max_size=6),
    st.dictionaries(
        st.sampled_from(["seed", "draws", "design", "candidates", "table", "block", "x"]), JUNK, max_size=4
    ),
)
def test_nothing_raises_anything_else(row, top):
    """Whatever stands there, findings come out, or a plan."""
    from simcore.scenario.sweep_section import sweep_section

    sound = read_text(section(""), registry=REGISTRY)
    import tomllib

    raw = tomllib.loads(section(""))
    raw["sweep"] = {**top, "factor": [row, {**row, "path": "candidates[*].setting", "name": "n"}]}
    sweep, found = sweep_section(raw, sound, REGISTRY, "")
    assert (sweep is None) == bool(found)
    for f in found:
        assert f.rule
