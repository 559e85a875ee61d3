"""simcore parts NAME --chart: files, inputs beside the example, faults and exit codes, nothing written over."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from shell import inside

from simcore.catalogue import part
from simcore.cli import complete
from simcore.parts import REGISTRY


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_named_after_the_part_and_told(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert inside(monkeypatch, "parts", "Friction_Disc", "--chart") == 0
    assert capsys.readouterr().out == "friction_disc.png\n"
    assert (here / "friction_disc.png").read_bytes().startswith(b"\x89PNG")


def test_a_capital_is_no_gap_in_the_name(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert inside(monkeypatch, "parts", "v-belt", "--chart") == 0
    assert [f.name for f in here.iterdir()] == ["v_belt.png"]


@pytest.mark.parametrize(("ending", "first"), [("svg", b"<?xml"), ("PDF", b"%PDF"), ("png", b"\x89PNG")])
def test_format_by_ending(here: Path, monkeypatch: pytest.MonkeyPatch, ending: str, first: bytes) -> None:
    assert inside(monkeypatch, "parts", "rigid coupling", "--chart", f"a b.{ending}") == 0
    assert (here / f"a b.{ending}").read_bytes().startswith(first)


def test_nothing_is_written_over(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "c.svg").write_text("mine")
    words = ["parts", "flexible coupling", "--chart", "c.svg"]
    assert inside(monkeypatch, *words) == 2
    assert "c.svg: exists already; --force writes over it" in capsys.readouterr().err
    assert (here / "c.svg").read_text() == "mine"
    assert inside(monkeypatch, *words, "--force") == 0
    assert "<svg" in (here / "c.svg").read_text(encoding="utf-8")


def test_inputs_change_the_picture(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = ["parts", "friction disc", "--chart"]
    assert inside(monkeypatch, *words, "a.svg") == 0
    assert inside(monkeypatch, *words, "b.svg", "--set", "setting=190 N*m", "--set", "breakaway = 1.3") == 0
    assert inside(monkeypatch, *words, "c.svg", "--set", "setting=150 N*m") == 0
    a, b, c = ((here / f"{n}.svg").read_bytes() for n in "abc")
    assert a == c != b


def test_all_faults_at_once(here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--set", "setting=190 N", "--set", "breakaway=9", "--set", "toleranz=3 %"]
    assert inside(monkeypatch, "parts", "friction disc", "--chart", *words) == 2
    got = capsys.readouterr()
    assert not got.out
    for said in ("--set: setting: ", "--set: breakaway: must be at most 3", "nearest: tolerance", "3 faults; nothing"):
        assert said in got.err
    assert not list(here.iterdir())


@pytest.mark.parametrize(
    ("args", "code", "said"),
    [
        (["gear", "--chart"], 2, "gear: has no chart of its own (these have one: friction disc, "),
        (["gaer", "--chart"], 2, "nearest: gear"),
        (["--chart"], 2, "name the part to draw"),
        (["friction disc", "x.png"], 2, "go with --chart"),
        (["friction disc", "--force"], 2, "go with --chart"),
        (["friction disc", "--chart", "x.gif"], 2, "x.gif: a chart's file ends with .png, .svg, .pdf"),
        (["friction disc", "--chart", "--set", "x"], 2, "--set: x: is not PATH=VALUE"),
        (["universal joint", "--chart", "--set", "joint_angle=50 deg"], 2, "is not below 45 deg"),
        (["friction disc", "--chart", "no/such/x.png"], 1, "does not exist"),
    ],
)
def test_refusals(
    args: list[str], code: int, said: str, here: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    assert inside(monkeypatch, "parts", *args) == code
    got = capsys.readouterr()
    assert said in got.err
    assert not got.out
    assert not list(here.iterdir())


@pytest.mark.parametrize("name", list(REGISTRY))
def test_the_page_says_how_to_draw(name: str) -> None:
    assert (f'simcore parts "{name}" --chart' in part(name)) == bool(REGISTRY[name].kind.character)


def test_inputs_are_completed() -> None:
    typed = SimpleNamespace(params={"name": "friction disc"}, args=[])
    assert complete.part_input(typed, "set") == ["setting="]
    assert complete.part_input(SimpleNamespace(params={"name": "nothing"}, args=[]), "") == []
