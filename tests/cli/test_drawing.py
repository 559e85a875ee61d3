"""Charts come out whether or not the second process can be had."""

from __future__ import annotations

from pathlib import Path

import pytest
from small import result

from simcore.cli import drawing
from simcore.cli.drawing import Drawing
from simcore.errors import ResultError

MADE = "import sys, pickle\nfor k in range(2): sys.stdout.buffer.write(pickle.dumps([f'{k}.png']))"
FULL = "import sys, pickle\nsys.stdout.buffer.write(pickle.dumps('c: could not be written, disk full'))"


def here(_: object, folder: str, formats: list[str], kind: str) -> list[Path]:
    return [Path(folder) / f"{kind}.{f}" for f in formats]


def test_files_of_the_other_process(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(drawing, "_CHILD", MADE)
    assert Drawing(result(), tmp_path, ["png"], ["a", "b"]).finish() == [Path("0.png"), Path("1.png")]


@pytest.mark.parametrize("child", ["raise SystemExit(3)", "print('noise')", "import nothing_of_that_name"])
def test_drawn_here_if_the_other_process_fails(child: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(drawing, "_CHILD", child)
    monkeypatch.setattr(drawing, "_one", here)
    files = Drawing(result(), tmp_path, ["png", "svg"], ["a", "b"]).finish()
    assert [f.name for f in files] == ["a.png", "a.svg", "b.png", "b.svg"]


def test_drawn_here_without_an_interpreter_to_start(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("sys.executable", "")
    monkeypatch.setattr(drawing, "_one", here)
    assert len(Drawing(result(), tmp_path, ["png"], ["a"]).finish()) == 1


def test_why_it_could_not_be_written(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(drawing, "_CHILD", FULL)
    with pytest.raises(ResultError, match="disk full"):
        Drawing(result(), tmp_path, ["png"], ["a"]).finish()


def test_stopped_at_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(drawing, "_CHILD", "import sys, time\nsys.stdin.buffer.read()\ntime.sleep(60)")
    running = Drawing(result(), tmp_path, ["png"], ["a"])
    running.stop()
    assert running.process is not None
    assert running.process.poll() is not None
