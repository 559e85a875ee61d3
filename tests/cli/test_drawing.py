"""Charts come out whether or not the second process can be had."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from small import result

from simcore.cli import drawing
from simcore.cli.drawing import Drawing, draughtsman
from simcore.errors import ResultError

SENT = "import sys, pickle\nfor x in {}: sys.stdout.buffer.write(pickle.dumps(x))"
MADE = SENT.format([["a", "b"], ["0.png"], ["1.png"]])
FULL = SENT.format([["a"], "c: could not be written, disk full"])


def instead(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """The other process runs ``code``."""

    def started(module: str) -> subprocess.Popen[bytes]:
        assert module == drawing.__name__
        pipe = subprocess.PIPE
        return subprocess.Popen([sys.executable, "-c", code], stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)

    monkeypatch.setattr(drawing.child, "started", started)


def here(_: object, folder: str, formats: list[str], kind: str) -> list[Path]:
    return [Path(folder) / f"{kind}.{f}" for f in formats]


def test_files_of_the_other_process(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    instead(monkeypatch, MADE)
    with draughtsman() as other:
        files = Drawing(result(), tmp_path, ["png"], ["a", "b"], other).finish()
    assert files == [Path("0.png"), Path("1.png")]


@pytest.mark.parametrize(
    "child",
    ["raise SystemExit(3)", "print('noise')", "import nothing_of_that_name", SENT.format([["a", "b"], ["0.png"]])],
)
def test_drawn_here_if_the_other_process_fails(child: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    instead(monkeypatch, child)
    monkeypatch.setattr(drawing, "_one", here)
    with draughtsman() as other:
        files = Drawing(result(), tmp_path, ["png", "svg"], ["a", "b"], other).finish()
    assert [f.name for f in files] == ["a.png", "a.svg", "b.png", "b.svg"]


def test_drawn_here_without_an_interpreter_to_start(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("sys.executable", "")
    monkeypatch.setattr(drawing, "_one", here)
    with draughtsman() as other:
        assert other is None
        assert len(Drawing(result(), tmp_path, ["png"], ["a"], other).finish()) == 1


def test_why_it_could_not_be_written(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    instead(monkeypatch, FULL)
    with draughtsman() as other, pytest.raises(ResultError, match="disk full"):
        Drawing(result(), tmp_path, ["png"], ["a"], other).finish()


def test_stopped_at_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    instead(monkeypatch, "import sys, time\nsys.stdin.buffer.read()\ntime.sleep(60)")
    with draughtsman() as other:
        running = Drawing(result(), tmp_path, ["png"], ["a"], other)
        running.stop()
        assert running.process is not None
        assert running.process.poll() is not None


def test_the_other_process_draws_what_it_is_handed_and_is_gone_at_the_end(tmp_path: Path) -> None:
    with draughtsman() as other:
        assert other is not None
        files = Drawing(result(), tmp_path, ["png"], ["limits"], other).finish()
        assert other.wait() == 0
    assert [f.name for f in files] == ["limits.png"]
    assert files[0].read_bytes().startswith(b"\x89PNG")


def test_the_other_process_ends_where_no_job_comes() -> None:
    with draughtsman() as other:
        assert other is not None
        assert other.poll() is None
    assert other.poll() is not None
    assert draughtsman(wanted=False).__enter__() is None
