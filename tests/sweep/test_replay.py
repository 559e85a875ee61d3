"""A case of a sweep again: the same bits, its traces, and what reads back to its numbers."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simcore.cli.main import main
from simcore.errors import InputError
from simcore.results.model import BARE
from simcore.results.read import open_result
from simcore.scenario.alter import altered
from simcore.scenario.read import read_text
from simcore.shipped import find
from simcore.solver.arrays import Status
from simcore.sweep.pick import Picked, at, lengths, pick, values
from simcore.sweep.replay import replay
from simcore.sweep.result import SweepResult

SECTION = """
[sweep]
seed = 5
draws = 4
situations = ["tray jams", "heavy batch"]
candidates = ["friction disc", "shear pins"]

[[sweep.factor]]
name = "setting"
path = "candidates[*].setting"
times = true
grid = { from = 0.8, to = 1.6, steps = 2 }

[[sweep.factor]]
name = "jam stiffness"
path = 'situations["tray jams"].stiffness'
times = true
scatter = { log_uniform = [0.1, 10] }

[[sweep.factor]]
name = "load on the trays"
path = 'line["trays"].mass'
scatter = { triangular = ["60 kg", "150 kg", "190 kg"] }
"""
TOO_MUCH = """
[[sweep.factor]]
name = "rails"
path = 'line["rails"].running'
times = true
grid = [1.0, 20.0]
"""
Command = Callable[..., tuple[int, str, str]]


def text(more: str = "") -> str:
    bare = Path(find("bakery_tray_conveyor")).read_text(encoding="utf-8").partition("\n[sweep]")[0]
    return bare + SECTION + more


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    """The command line in this process: exit code, output, notes."""

    def call(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["simcore", *map(str, words)])
        with pytest.raises(SystemExit) as end:
            main()
        got = capsys.readouterr()
        return int(end.value.code or 0), got.out, got.err

    return call


def swept(folder: Path, more: str = "") -> Path:
    from simcore.sweep.join import setup
    from simcore.sweep.runner import sweep

    file = folder / "tray.toml"
    file.write_text(text(more), encoding="utf-8")
    change = {'line["gearbox"].efficiency': "93 %"}
    sweep(folder / "night", setup(file, folder / "night", change))
    return folder / "night"


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory, kernel: object) -> Path:
    return swept(tmp_path_factory.mktemp("sweep"))


@pytest.fixture(scope="module")
def result(night: Path) -> SweepResult:
    return SweepResult.load(night)


@pytest.mark.parametrize("case", [Picked(0, 0, 0), Picked(0, 1, 3), Picked(1, 1, 2)])
def test_same_bits_as_stored_with_traces(result: SweepResult, case: Picked) -> None:
    found = replay(result, case)
    assert found.apart == ()
    assert found.note == ""
    assert found.result is not None
    for j, situation in enumerate(result.situations):
        run = found.result.runs[found.candidate, situation]
        assert len(run.time) > 50
        i = next(n for n, c in enumerate(run.connections) if c.name == result.protect)
        stored = at(result, result.measures["peak"], case)[j]
        assert run.measures["peak"] == run.peak[i] == stored
        assert np.abs(run.torque[:, i]).max() == pytest.approx(stored, rel=0.02)
    assert found.result.candidates == (found.candidate, BARE)
    assert [a.name for a in found.result.answers] == [found.candidate]


def test_a_bit_that_moved_is_told(night: Path, result: SweepResult, command: Command) -> None:
    peak = result.measures["peak"].copy()
    peak[0, 1, 3, 0] = np.nextafter(peak[0, 1, 3, 0], np.inf)
    other = replace(result, measures={**result.measures, "peak": peak})
    found = replay(other, Picked(0, 1, 3))
    assert len(found.apart) == 1
    assert re.fullmatch(r"tray jams, peak: stored [0-9.]+, now [0-9.]+", found.apart[0])
    file = night.parent / "moved.h5"
    other.write(file)
    code, out, err = command("replay", file, 7, "--no-charts", "--out", night.parent / "moved")
    assert code == 1
    assert "not what the sweep stored" in out
    assert "tray jams, peak" in err
    code, out, err = command("replay", file, 7, "--no-charts", "--out", night.parent / "moved")
    assert (code, out) == (2, "")
    assert "--force writes over them" in err
    assert command("replay", file, 7, "--no-charts", "--force", "--out", night.parent / "moved")[0] == 1


@pytest.mark.parametrize("out", ["", "a/b"])
def test_the_folder_is_claimed_before_anything_is_computed(
    out: str, result: SweepResult, tmp_path: Path, command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    result.write(tmp_path / "sweep.h5")
    there = []

    def fails(*_: object) -> None:
        there.extend(p.relative_to(tmp_path).as_posix() for p in tmp_path.rglob("*"))
        raise InputError("no steady running")

    monkeypatch.setattr("simcore.sweep.replay.replay", fails)
    words = ["--out", tmp_path / out] if out else []
    assert command("replay", tmp_path, "friction disc/1/3", *words)[0] == 2
    assert f"{out or 'replays/friction disc-1-3'}/result.h5" in there
    assert not (tmp_path / "a" / "b").exists()
    assert not (tmp_path / "replays").exists()


def test_changes_read_back_to_the_bit(result: SweepResult) -> None:
    case = Picked(1, 1, 2)
    found = replay(result, case)
    assert found.result is not None
    assert found.changes == found.result.provenance["changes"]
    assert found.changes['line["gearbox"].efficiency'] == "93 %"
    base = read_text(result.scenario_text, "tray.toml", {'line["gearbox"].efficiency': "93 %"})
    written = read_text(found.result.scenario_text, "tray.toml", found.changes)
    for one, two in zip(altered(base, found.inputs).stations, written.stations, strict=True):
        assert one.item is None or {n: getattr(v, "si", v) for n, v in one.item.values.items()} == {
            n: getattr(v, "si", v)
            for n, v in two.item.values.items()  # type: ignore[union-attr]
        }
    assert written.candidates["shear pins"].item.si("setting") == found.inputs['candidates["shear pins"].setting']
    assert found.inputs['line["trays"].mass'] == result.samples["load on the trays"][2]


def test_which_case_is_meant(result: SweepResult) -> None:
    assert lengths(result) == (2, 2, 4)
    for number in range(16):
        case = pick(result, str(number))
        assert case.number(result) == number
        assert pick(result, "/".join(map(str, case))) == case
    assert pick(result, "shear pins/1/3") == Picked(1, 1, 3) == pick(result, "15")
    assert values(result, Picked(0, 1, 0)) == (1.6,)
    use = result.measures["use"][..., 0]
    assert use[pick(result, "worst")] == use.max()
    assert use[pick(result, "worst", "shear pins")] == use[1].max()
    assert use[pick(result, "median", "shear pins")] == np.sort(use[1], axis=None)[3]


@pytest.mark.parametrize(
    ("words", "candidate", "said"),
    [
        ("16", "", "this sweep has 0 to 15"),
        ("worts", "", "nearest: worst"),
        ("worst", "friction disk", "nearest: friction disc"),
        ("shear pin/0/0", "", "nearest: shear pins"),
        ("0/2/9", "", "cell 2: must be a whole number from 0 to 1\ndraw 9: must be a whole number from 0 to 3"),
        ("failed", "", "no case failed"),
        ("3", "shear pins", "--candidate goes with"),
    ],
)
def test_no_such_case(result: SweepResult, words: str, candidate: str, said: str) -> None:
    with pytest.raises(InputError) as fault:
        pick(result, words, candidate)
    assert said in str(fault.value)


def test_the_command_and_a_rerun(night: Path, result: SweepResult, command: Command) -> None:
    code, out, err = command("replay", night, "worst", "--candidate", "friction disc")
    assert code == 0, err
    assert "all measures of 2 situations are those of the sweep, to the last bit" in " ".join(out.split())
    case = pick(result, "worst", "friction disc")
    target = night / "replays" / f"friction disc-{case.cell}-{case.draw}"
    assert "".join(str(target).split()) in "".join(out.split())
    assert {p.name for p in target.iterdir()} == {"result.h5", "table.csv", "charts"}
    assert len(list((target / "charts").glob("*.png"))) == 6
    stored = open_result(target / "result.h5")
    assert stored.provenance["replay"]["number"] == case.number(result)
    assert set(stored.situations) == set(result.situations)
    code, out, err = command("rerun", target)
    assert code == 0, err
    assert "exist in only one of the two runs" not in out
    assert "No answer moved" in out or "All" in out


def test_failed_cases_are_told(tmp_path: Path, kernel: object, command: Command) -> None:
    folder = swept(tmp_path, TOO_MUCH)
    result = SweepResult.load(folder)
    case = pick(result, "failed")
    assert case == Picked(0, 1, 0)
    assert (at(result, result.status, case) > Status.STOPPED).all()
    code, out, err = command("replay", folder, "failed")
    assert code == 0, err
    assert "no steady running state" in out
    assert "No verdict" in out
    assert not (folder / "replays").exists()


def test_charts_on_demand(night: Path, command: Command) -> None:
    code, out, err = command("chart", night, "pair", "--x", "jam stiffness", "--y", "use", "--by", "load on the trays")
    assert (code, out) == (0, f"{night / 'charts' / 'sweep-pair.png'}\n"), err
    assert command("chart", night / "sweep.h5", "window", "--format", "svg", "--out", night / "more")[0] == 0
    assert (night / "more" / "sweep-window.svg").exists()
    for words, said in (
        (("windw",), "is no chart of a sweep (nearest: window)"),
        (("pair", "--x", "jam stifness"), "did you mean 'jam stiffness'"),
        (("map", "--x", "peak"), "is no factor of this sweep"),
        (("window", "--by", "setting"), "--by: means nothing to window (pair takes it)"),
    ):
        code, out, err = command("chart", night, *words)
        assert (code, out) == (2, "")
        assert said in err


def test_the_end_of_a_sweep(night: Path, command: Command) -> None:
    """The command given again finds all finished and gives the answer: screen, table, charts."""
    file = night.parent / "tray.toml"
    same = ("sweep", file, "--out", night, "--set", 'line["gearbox"].efficiency=93 %')
    code, out, err = command(*same, "--no-charts")
    assert code == 0, err
    assert "Finished: 16 cases, 0 failed" in out
    assert out.index("Finished:") < out.index("Bakery tray conveyor") < out.index("decision.csv")
    assert "\x1b" not in out
    rows = (night / "decision.csv").read_text(encoding="utf-8").splitlines()
    assert len(rows) == 3
    assert rows[0].startswith("candidate,setting [N m],window,")
    assert not (night / "charts" / "sweep-window.png").exists()
    code, out, err = command(*same, "--quiet")
    assert code == 0, err
    assert len(out.splitlines()) == 3
    assert (night / "charts" / "sweep-window.png").stat().st_size > 10_000
    code, _, err = command("sweep", file, "--out", night)
    assert code == 2
    assert 'line["gearbox"].efficiency: set to 93 %, now as in the file' in err
    code, _, err = command(*same, "--set", "sweep.draws=2")
    assert code == 2
    assert "draws: 4, now 2; they may only grow" in err


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_export_of_a_sweep(night: Path, form: str, command: Command) -> None:
    if form == "parquet":
        pytest.importorskip("pyarrow")
    code, out, err = command("export", night, f"--{form}")
    assert (code, out) == (0, f"{night / 'tables' / f'cases.{form}'}\n"), err


def test_traces_of_a_case_without_a_verdict(
    result: SweepResult, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a run cannot be judged, what was computed up to there is kept."""
    from simcore.errors import SolveError
    from simcore.output import save
    from simcore.sweep import replay as room

    def gives_up(*_: object) -> None:
        raise SolveError("friction disc, tray jams: more steps than allowed")

    monkeypatch.setattr(room, "conduct", gives_up)
    found = replay(result, Picked(0, 0, 0))
    assert found.apart == ()
    assert found.note == "No verdict: friction disc, tray jams: more steps than allowed"
    assert found.result is not None
    save(found.result, tmp_path)
    again = open_result(tmp_path / "result.h5")
    assert len(again.runs["friction disc", "tray jams"].time) > 50
    assert again.provenance["replay"]["candidate"] == "friction disc"


def test_a_case_keeps_the_look_of_its_candidate(tmp_path: Path, night: Path, result: SweepResult) -> None:
    """The second candidate of the sweep has the second colour and mark in the charts of its case too."""
    from simcore.charts.draw import figure
    from simcore.charts.style import read_style
    from simcore.charts.sweep_draw import sweep_figure
    from simcore.output import save

    name = result.candidates[1]
    case = pick(result, "worst", name)
    found = replay(result, case)
    assert found.result is not None
    save(found.result, tmp_path)
    style = read_style()
    own, first = style.look(1), style.look(0)
    colors = {line.get_color() for ax in figure(open_result(tmp_path / "result.h5"), "crash").axes for line in ax.lines}
    assert own.color in colors
    assert first.color not in colors
    swept = {line.get_color() for ax in sweep_figure(result, "exceedance").axes for line in ax.lines}
    assert own.color in swept
    assert style.begun_at(1).look(0) == own
    assert style.begun_at(len(style.looks)) == style
