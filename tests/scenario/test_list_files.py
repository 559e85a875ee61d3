"""Lists of parts from CSV files: read, refused, kept with what was run."""

from __future__ import annotations

import shutil
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from simcore import api, units
from simcore.errors import Fault, InputError
from simcore.parts import REGISTRY
from simcore.results.inputs import changes
from simcore.results.read import open_result
from simcore.results.write import write
from simcore.scenario.list_files import MOST_ROWS
from simcore.scenario.model import Scenario, Series
from simcore.scenario.read import read, read_text
from simcore.scenario.schema import schema
from simcore.scenario.toml import document

HERE = Path(__file__).parent
BALER = "straw_baler.toml"
TRACE = "baler_trace.csv"
TIMES = f'times = {{ file = "{TRACE}", column = "time" }}'
LOADS = f'loads = {{ file = "{TRACE}", column = "torque" }}'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The baler with its files, to be spoilt."""
    for name in (BALER, TRACE):
        shutil.copy(HERE / name, tmp_path)
    shutil.copytree(HERE / "baler", tmp_path / "baler")
    return tmp_path


def values(scenario: Scenario, station: str, name: str) -> Series:
    item = scenario.station(station).item
    assert item is not None
    found = item.values[name]
    assert isinstance(found, Series)
    return found


def refused(file: Path, set_beside: dict[str, str] | None = None) -> list[Fault]:
    with pytest.raises(InputError) as caught:
        read(file, set_beside)
    return list(caught.value.faults)


def edit(file: Path, *pairs: tuple[str, str]) -> Path:
    text = file.read_text()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text)
    return file


def test_values_are_those_of_the_file() -> None:
    """Against numpy's own reader, units by hand; the other column is passed over."""
    s = read(HERE / BALER)
    table = np.loadtxt(HERE / TRACE, delimiter=",", skiprows=2)
    assert values(s, "straw", "times").si == pytest.approx(table[:, 0] / 1e3, abs=1e-15)
    assert values(s, "straw", "loads").si == pytest.approx(table[:, 2], abs=1e-12)
    assert values(s, "straw", "loads").kind == "torque"
    speeds = np.loadtxt(HERE / "baler" / "motor.csv", delimiter=",", skiprows=1)[:, 0]
    assert values(s, "motor", "speeds").si == pytest.approx(speeds * np.pi / 30.0, rel=1e-15)
    assert s.files == {n: (HERE / n).read_text() for n in ("baler/motor.csv", TRACE)}


def test_a_column_is_the_list_written_out(folder: Path) -> None:
    """The same numbers written into the file give the same run, to the bit."""
    rows = [line.split(",") for line in (HERE / "baler" / "motor.csv").read_text().splitlines()[1:]]
    file = edit(
        folder / BALER,
        ('{ file = "baler/motor.csv", column = "speed" }', str([f"{r[0]} rpm" for r in rows])),
        ('{ file = "baler/motor.csv", column = "torque" }', str([f"{r[1]} N*m" for r in rows])),
    )
    written, listed = read(file), read(HERE / BALER)
    assert values(written, "motor", "speeds").si == values(listed, "motor", "speeds").si
    one, two = (api.run(s, evidence=False).run("friction disc", "branch in the straw") for s in (written, listed))
    assert one.measures["peak"] == two.measures["peak"]


def test_result_runs_again_without_the_files(
    folder: Path, kernel: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What was read is kept: a changed file does not reach the run again, a lost one is not missed."""
    from simcore.cli.main import main

    write(api.run(read(folder / BALER)), folder / "result.h5")
    (folder / TRACE).write_text("time [s],torque [N*m]\n0,1\n1,1\n")
    shutil.rmtree(folder / "baler")
    assert open_result(folder / "result.h5").provenance["files"][TRACE] == (HERE / TRACE).read_text()
    monkeypatch.setattr("sys.argv", ["simcore", "rerun", str(folder / "result.h5")])
    with pytest.raises(SystemExit):
        main()
    assert "are the same to the last bit" in capsys.readouterr().out.splitlines()[0]


def test_kept_texts_alone_are_used() -> None:
    """A text that was not kept is a fault, though the file lies there."""
    s = read(HERE / BALER)
    assert read_text(s.text, s.source, files=s.files).stations == s.stations
    with pytest.raises(InputError, match=f"the text of {TRACE} was not kept with the result"):
        read_text(s.text, s.source, files={"baler/motor.csv": s.files["baler/motor.csv"]})


def test_compared_results_tell_where_the_lists_part(folder: Path, kernel: object) -> None:
    before = api.run(read(folder / BALER), evidence=False)
    edit(folder / TRACE, ("15,9,25.36", "15,9,26.36"))
    (change,) = changes(before, api.run(read(folder / BALER), evidence=False))
    assert change.path == 'line["straw"].loads'
    assert (change.before, change.after) == (
        "121 values, number 4 is 25.36 (SI)",
        "121 values, number 4 is 26.36 (SI)",
    )


def test_the_readme_shows_what_runs() -> None:
    page = (HERE.parents[1] / "README.md").read_text()
    shown = page.partition("<!-- scenario: lists from csv -->\n```toml\n")[2].partition("```")[0]
    assert shown
    assert shown in (HERE / BALER).read_text()


def test_schema_takes_a_column() -> None:
    check = jsonschema.Draft202012Validator(schema())
    text = (HERE / BALER).read_text()
    assert not list(check.iter_errors(document(text, BALER)))
    assert list(check.iter_errors(document(text.replace(', column = "time"', ""), BALER)))


# what stands in the place of the line of times or loads; path of the fault, words of the rule, words of the hint
WRONG = [
    (TIMES, TIMES.replace(TRACE, "baler_trase.csv"), ".times.file", "there is no file baler_trase.csv", TRACE),
    (TIMES, TIMES.replace(TRACE, "baler"), ".times.file", "baler is not a file", ""),
    (TIMES, TIMES.replace(TRACE, f"../{TRACE}"), ".times.file", "must lie beside the scenario", "put it there"),
    (TIMES, TIMES.replace(TRACE, f"/tmp/{TRACE}"), ".times.file", "must lie beside the scenario", "put it there"),
    (TIMES, TIMES.replace('"time"', '"tine"'), ".times.column", "no column of this heading", "nearest: time"),
    (TIMES, TIMES.replace('"time"', '"torque"'), ".times.column", "N*m is a torque, a time is needed", "ms"),
    (TIMES, 'times = { column = "time" }', ".times.file", "is missing", "file ="),
    (TIMES, TIMES.replace('"time"', "5"), ".times.column", "must be the name of a column", ""),
    (TIMES, TIMES.replace(" }", ", values = [1] }"), ".times.values", "is not a word of a list", "not both"),
    (TIMES, TIMES.replace(" }", ", unit = 's' }"), ".times.unit", "is not a word of a list", ""),
    (TIMES, 'times = [{ file = "x.csv", column = "t" }]', ".times", "not one within the other", "without square"),
    (TIMES, 'times = "0 s"', ".times", "must be a list in square brackets, or a column", "file ="),
    (TIMES, f'{TIMES}\ntimes = ["0 s"]', "", "this name is written twice", ""),
    (TIMES, f'times = ["0 s"]\n{TIMES}', "", "this name is written twice", "not both"),
    (TIMES, f"times = [{', '.join(65 * ['1'])}]", ".times", "at most 64 entries", "CSV file"),
]


@pytest.mark.parametrize(("old", "new", "path", "rule", "hint"), WRONG)
def test_refused(folder: Path, old: str, new: str, path: str, rule: str, hint: str) -> None:
    """One fault, at its line in the scenario."""
    text = (folder / BALER).read_text()
    (fault,) = refused(edit(folder / BALER, (old, new)))
    line = text[: text.index(old)].count("\n") + 1
    assert fault.line in ((line,) if path else (line, line + 1))
    assert fault.file == str(folder / BALER)
    assert fault.path == (f'line["straw"]{path}' if path else "")
    assert rule in fault.rule
    assert hint in fault.hint


# text of the trace file; words of the rule, words of the hint
SPOILT = [
    ("time [ms],torque [N*m]\n0,5\n1,six\n2,7\n", 'line 3 of baler_trace.csv, column "torque", has "six', ""),
    ("time [ms],torque [N*m]\n0,5\n1,\n2,7\n", "line 3 of baler_trace.csv", ""),
    ("time [ms],torque\n0,5\n1,6\n", 'the heading "torque" of baler_trace.csv has no unit', 'write "torque [N*m]"'),
    ("time [ms],torque\n0,5 N\n1,6 N*m\n", "must be of one sort, it has a force and a torque", ""),
    ("time [ms],torque [N*m],torque [N]\n0,5,5\n1,6,6\n", "two columns of baler_trace.csv have this heading", "own"),
    ("time [ms],torque [N*m]\n0,5\n1,-2e9\n", 'line 3 of baler_trace.csv, column "torque", has -2e9', ""),
    ("time [ms];torque [N*m]\n0;5,5\n1;6,5\n", 'column "torque", has "5,5', ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "rule", "hint"), SPOILT)
def test_spoilt_columns(folder: Path, text: str, rule: str, hint: str) -> None:
    (folder / TRACE).write_text(text)
    (fault,) = refused(folder / BALER)
    assert fault.path == 'line["straw"].loads.column'
    assert rule in fault.rule
    assert hint in fault.hint


def test_a_part_tells_what_it_refuses_at_the_list(folder: Path) -> None:
    """Instants that fall: the part's own rule, at the input, with the file it is from; equal ones are a jump."""
    (folder / TRACE).write_text("time [ms],torque [N*m]\n0,5\n2,6\n1,7\n")
    (fault,) = refused(folder / BALER)
    assert (fault.path, fault.rule) == ('line["straw"].times', "times must not fall from one value to the next")
    assert fault.hint == f'it is column "time" of {TRACE}, 3 values'
    (folder / TRACE).write_text("time [ms],torque [N*m]\n0,5\n1,6\n1,7\n")
    assert values(read(folder / BALER), "straw", "times").si == (0.0, 0.001, 0.001)


def test_as_many_rows_as_said(folder: Path) -> None:
    rows = [f"{n},{n % 7}" for n in range(MOST_ROWS + 1)]
    (folder / TRACE).write_text("\n".join(["time [ms],torque [N*m]", *rows[:-1]]))
    assert len(values(read(folder / BALER), "straw", "loads").si) == MOST_ROWS
    (folder / TRACE).write_text("\n".join(["time [ms],torque [N*m]", *rows]))
    fault, _ = refused(folder / BALER)
    assert fault.rule == f"the file {TRACE} has {MOST_ROWS + 1} rows, a list has at most {MOST_ROWS}"
    assert fault.hint == "keep one row in 2"


def test_all_faults_at_once_and_beside_the_file(folder: Path) -> None:
    """Faults of several lists come together; those of --set say so."""
    edit(folder / BALER, (TRACE, "gone.csv"))
    faults = refused(folder / BALER, {'line["motor"].speeds': '{ file = "baler/motor.csv", column = "sped" }'})
    assert [(f.file, f.path) for f in faults] == [
        (str(folder / BALER), 'line["straw"].times.file'),
        (str(folder / BALER), 'line["straw"].loads.file'),
        ("--set", 'line["motor"].speeds.column'),
    ]
    assert faults[2].hint == "nearest: speed"


def test_set_beside_the_file(folder: Path) -> None:
    """A list takes the place of a column, a column that of a list; words within it have no path of their own."""
    path = 'line["straw"].loads'
    flat = read(folder / BALER, {path: '["4 N*m", "4 N*m"]', 'line["straw"].times': '["0 s", "1 s"]'})
    assert values(flat, "straw", "loads").si == (4.0, 4.0)
    assert TRACE not in flat.files
    (folder / "two.csv").write_text("load [kN*m],t [s]\n0.1,0\n0.2,1\n")
    two = {path: '{file = "two.csv", column = "load"}', 'line["straw"].times': '{file = "two.csv", column = "t"}'}
    assert values(read(folder / BALER, two), "straw", "loads").si == (100.0, 200.0)
    (fault,) = refused(folder / BALER, {f"{path}.column": "time"})
    assert (fault.rule, fault.hint) == ("is not a path of this scenario", f"nearest: {path}")


def test_every_list_takes_a_column(folder: Path) -> None:
    """Each kind of part with lists reads them from a file as from the text."""
    kinds = [p.kind for p in REGISTRY.values() if any(q.many for q in p.kind.params)]
    assert {"tabled load", "tabled motor", "shear pins", "ball detent"} <= {k.name for k in kinds}
    from simcore.scenario.list_files import Store, fill

    for kind in kinds:
        for q in (q for q in kind.params if q.many):
            unit = units.units_of(q.kind)[0]
            (folder / "one.csv").write_text(f"it [{unit}]\n0.01\n0.02\n")
            raw = {"candidates": {"x": {"part": kind.name, q.name: {"file": "one.csv", "column": "it"}}}}
            fill(raw, REGISTRY, Store(str(folder)))
            found = raw["candidates"]["x"][q.name]
            assert isinstance(found, Series)
            assert found.si == pytest.approx([units.parse(f"{n} {unit}".strip(), q.kind).si for n in (0.01, 0.02)])


def test_corners_do_not_crowd_out_what_the_protection_does(folder: Path, kernel: object) -> None:
    """More corners than the event list had room for: the jam behind them is still told."""
    rows = [f"{0.1 * n:.1f},{n % 2}" for n in range(6000)]
    (folder / TRACE).write_text("\n".join(["time [ms],torque [N*m]", *rows]))
    jam = ("horizon = ", 'when = "0.55 s"\nhorizon = ')
    edit(folder / BALER, jam, ('horizon = "0.4 s"', 'horizon = "0.6 s"'), ('afterwards = "repeats"', ""))
    file = edit(folder / BALER, ('when = "0.55 s"\nhorizon = "1 s"', 'horizon = "1 s"'))
    run = api.run(read(file), evidence=False).run("friction disc", "branch in the straw")
    assert any(e.who == "friction disc" and e.time > 0.5 for e in run.events)
    assert "straw" not in {e.who for e in run.events}
