"""The commands in this process: faults, examples of every help, files, JSON."""

from __future__ import annotations

import json
import re
import shlex
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from shell import inside

from simcore.api import read, run
from simcore.cli import app as application
from simcore.errors import InputError
from simcore.solver.kernel import Outcome, run_one

NAMES = [
    "run",
    "check",
    "new",
    "scenarios",
    "parts",
    "explain",
    "schema",
    "sweep",
    "status",
    "replay",
    "show",
    "chart",
    "export",
    "compare",
    "rerun",
]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty working directory with a space and an umlaut in its name."""
    folder = tmp_path / "meine Ordner.für Läufe"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


def test_names_of_commands() -> None:
    assert [c.callback.__name__ for c in application.app.registered_commands if c.callback] == NAMES


def help_examples(name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> list[str]:
    assert inside(monkeypatch, name, "--help") == 0
    text = capsys.readouterr().out
    assert re.search(r"Examples?:", text)
    return [line.strip() for line in text.splitlines() if line.startswith("    simcore ")]


def test_every_example_works_when_pasted(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], kernel: ModuleType
) -> None:
    """All examples of all commands, in the order of the commands, each once."""
    lines = [e for n in NAMES for e in help_examples(n, monkeypatch, capsys)]
    assert len(lines) >= len(NAMES)
    for line in dict.fromkeys(lines):
        words = shlex.split(line.split(" > ")[0])[1:]
        assert inside(monkeypatch, *words) == 0, line
    assert (here / "runs" / "bakery_tray_conveyor-001" / "charts" / "crash.png").exists()
    assert not (here / "runs" / "bakery_tray_conveyor-002" / "charts").exists()
    assert (here / "tray" / "charts" / "crash.svg").exists()
    assert (here / "tray" / "tables" / "answers.csv").exists()
    assert (here / "night" / "charts" / "sweep-pair.png").exists()
    assert (here / "night" / "replays" / "shear pins-3-5" / "result.h5").exists()
    out = capsys.readouterr().out
    assert re.search(r"All \d{3,} numbers are the same to the last bit", out)
    assert re.search(r"mass: 180 kg -> 220 kg", out)


def test_a_case_given_up_ends_with_1_and_leaves_the_rest(
    here: Path, kernel: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from simcore import conduct
    from simcore.solver.arrays import Status

    def gives_up(a: Any) -> Outcome:
        out = run_one(a)
        pins = a.candidate is not None and a.graph.elements[a.candidate].name == "shear pins"
        return replace(out, status=Status.STEP_TOO_SMALL) if pins else out

    monkeypatch.setattr(conduct, "run_one", gives_up)
    assert inside(monkeypatch, "run", "bakery_tray_conveyor", "--out", "tray", "--no-charts") == 1
    out = capsys.readouterr().out
    assert out.splitlines()[1].startswith("Fit the magnet disc")
    assert "'shear pins' has no answer in 'tray jams': the solver gave up: the step shrank to nothing" in " ".join(
        out.split()
    )
    assert (here / "tray" / "result.h5").exists()


def test_faults_all_at_once(here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    text = Path(read_path()).read_text(encoding="utf-8")
    bad = text.replace("ratio = 20", "ratoi = 20").replace('"340 N*m"', '"340 N"', 1)
    Path("bad line.toml").write_text(bad, encoding="utf-8")
    for verb in ("check", "run"):
        assert inside(monkeypatch, verb, "bad line.toml") == 2
        got = capsys.readouterr()
        assert not got.out
        assert re.search(r"bad line\.toml:\d+: line\[?.*gearbox.*ratoi", got.err)
        assert "nearest: ratio" in got.err
        assert "340 N" in got.err
        assert "faults; nothing was run." in got.err
        assert "Traceback" not in got.err
    assert not Path("runs").exists()


def test_check_tells_each_warning_once_and_the_gravest_first(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As a run does; what to ask about next is the gravest."""
    assert inside(monkeypatch, "check", "bakery_tray_conveyor") == 0
    said = capsys.readouterr().out
    heads = re.findall(r"^([a-z ]+)  candidates\[", said, re.MULTILINE)
    assert heads == ["slips without a stop", "motor below setting", "start above setting"]
    assert "(likewise magnet disc)" in " ".join(said.split())
    assert "no faults, 3 warnings" in said
    assert 'simcore explain "slips without a stop"' in said


def read_path() -> str:
    from simcore.shipped import scenarios

    return str(scenarios()["bakery_tray_conveyor"])


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["run", "bakery_tray_conveyer"], "nearest: bakery_tray_conveyor"),
        (["run", "none.toml"], "there is no such file"),
        (["run", "bakery_tray_conveyor", "--set", "x"], "--set: x: is not PATH=VALUE"),
        (["run", "bakery_tray_conveyor", "--set", "candidates.x.y=1"], "is not a path of this scenario"),
        (["run", "bakery_tray_conveyor", "--format", "gif"], "use png, svg, pdf"),
        (["run", "--nonsense"], "No such option"),
        (["parts", "bal detent"], "nearest: ball detent"),
        (["explain", "overshot"], "nearest: overshoot"),
    ],
)
def test_input_at_fault_is_exit_code_2(
    args: list[str], said: str, here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert inside(monkeypatch, *args) == 2
    got = capsys.readouterr()
    assert said in got.err
    assert not got.out
    assert not list(here.iterdir())


@pytest.mark.parametrize("args", [["show", "no.h5"], ["chart", "no.h5"], ["export", "no.h5"], ["rerun", "no.h5"],
                                  ["compare", "no.h5", "no.h5"]])  # fmt: skip
def test_absent_result_is_exit_code_1(
    args: list[str], here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert inside(monkeypatch, *args) == 1
    assert "no.h5: there is no such file" in capsys.readouterr().err


@pytest.mark.parametrize("holds", ["sweep.h5", "plan.json"])
@pytest.mark.parametrize("command", [["show", "night"], ["rerun", "night"], ["compare", "night", "no.h5"]])
def test_a_sweep_is_told_from_a_run(
    command: list[str], holds: str, here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "night").mkdir()
    (here / "night" / holds).touch()
    assert inside(monkeypatch, *command) == 1
    assert "night: is a sweep (simcore status" in capsys.readouterr().err


def test_unexpected_exceptions_in_one_sentence(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr("simcore.catalogue.part", fail)
    assert inside(monkeypatch, "parts") == 1
    got = capsys.readouterr().err
    assert "ZeroDivisionError: by nought" in got
    assert "SIMCORE_DEBUG=1" in got
    assert "Traceback" not in got
    monkeypatch.setenv("SIMCORE_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        inside(monkeypatch, "parts")


def test_starter_is_clean_and_makes_sense(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], kernel: ModuleType
) -> None:
    """The starter checks, runs, and at least one of its candidates passes; it is never written over."""
    assert inside(monkeypatch, "new", "mein Band.toml") == 0
    assert inside(monkeypatch, "check", "mein Band.toml") == 0
    capsys.readouterr()
    assert inside(monkeypatch, "new", "mein Band.toml") == 2
    assert "exists already" in capsys.readouterr().err
    assert inside(monkeypatch, "run", "mein Band.toml", "-q", "--no-charts") == 0
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith("Fit the ")
    assert said[1:] == [f"{Path('runs') / 'mein Band-001'}: result.h5, table.csv"]


def test_results_are_not_written_over(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], kernel: ModuleType
) -> None:
    words = ["run", "bakery_tray_conveyor", "-q", "--no-charts", "--out", "a b/c"]
    assert inside(monkeypatch, *words) == 0
    before = Path("a b/c/result.h5").stat().st_mtime_ns
    assert inside(monkeypatch, *words) == 2
    assert "--force writes over" in capsys.readouterr().err
    assert Path("a b/c/result.h5").stat().st_mtime_ns == before
    assert inside(monkeypatch, *words, "--force", "--json", "n.json") == 0
    assert inside(monkeypatch, *words, "--force", "--json", "n.json") == 0
    assert inside(monkeypatch, "run", "bakery_tray_conveyor", "--json", "n.json") == 2
    assert Path("a b/c/result.h5").stat().st_mtime_ns > before


@pytest.mark.parametrize("out", [[], ["--out", "a/b"]])
def test_the_folder_is_claimed_before_anything_is_computed(
    out: list[str], here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    there = []

    def fails(*_: object, **__: object) -> None:
        there.extend(p.relative_to(here).as_posix() for p in here.rglob("*"))
        raise InputError("no steady running")

    monkeypatch.setattr("simcore.cli.ready.run", fails)
    assert inside(monkeypatch, "run", "bakery_tray_conveyor", "--no-charts", *out) == 2
    assert "no steady running" in capsys.readouterr().err
    assert ("a/b/result.h5" if out else "runs/bakery_tray_conveyor-001") in there
    assert not (here / "a" / "b").exists()
    assert not (here / "runs").exists()


def test_a_folder_for_the_json_that_is_not_there_is_told_before_anything_is_computed(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("simcore.cli.ready.run", lambda *_: pytest.fail("was computed"))
    words = ["run", "bakery_tray_conveyor", "--no-charts", "--json", "no/folder/x.json"]
    assert inside(monkeypatch, *words) == 1
    assert "does not exist" in capsys.readouterr().err
    assert not list(here.iterdir())


def test_json_has_units_a_format_number_and_every_digit(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], kernel: ModuleType
) -> None:
    """Nothing but JSON on standard output, and the very numbers of the Python interface."""
    change = {'line["gearbox"].ratio': "21"}
    assert inside(monkeypatch, "run", "bakery_tray_conveyor", "--json", "-", "--no-charts", "--set",
                  'line["gearbox"].ratio=21') == 0  # fmt: skip
    whole = json.loads(capsys.readouterr().out)
    assert (whole["format"], whole["format_number"]) == ("simcore run", 1)
    assert whole["provenance"]["changes"] == change
    assert "no safeguard for people" in whole["caution"]
    result = run(read(read_path(), change), evidence=False)
    told = {c["name"]: c for c in whole["candidates"]}
    for a in result.answers:
        assert told[a.name]["peak"] == {"value": a.peak, "unit": "N m"}
        assert told[a.name]["again_seconds"] == {"value": a.again_seconds, "unit": "s"}
    assert all({"value", "unit"} == set(n) for r in whole["runs"] for n in r["measures"].values())
    assert whole["findings"]["inertia before 'shear pins'"]["unit"] == "kg m^2"
    units = {n: v["unit"] for n, v in whole["runs"][0]["ledger"].items()}
    assert [n for n, u in units.items() if u == "1"] == ["relative", "cycles", "worst_cycle"]
