"""What only a process of its own shows: pipes, signals, encodings, parallel runs, caches."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest
from shell import call, command, environment

POSIX = sys.platform != "win32"


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory, kernel: ModuleType) -> Path:
    """A finished run without charts."""
    folder = tmp_path_factory.mktemp("one run")
    got = call("run", "bakery_tray_conveyor", "--no-charts", "--out", "r", cwd=folder)
    assert got.returncode == 0, got.stderr
    assert got.stderr == ""
    assert "\x1b" not in got.stdout
    assert max(map(len, got.stdout.splitlines())) <= 100
    return folder / "r"


def test_two_runs_at_once_get_two_folders(tmp_path: Path, kernel: ModuleType) -> None:
    words = command("run", "bakery_tray_conveyor", "-q", "--no-charts")
    both = [subprocess.Popen(words, cwd=tmp_path, env=environment(), stdout=subprocess.DEVNULL) for _ in range(2)]
    assert [p.wait(300) for p in both] == [0, 0]
    folders = sorted((tmp_path / "runs").iterdir())
    assert [f.name for f in folders] == ["bakery_tray_conveyor-001", "bakery_tray_conveyor-002"]
    assert all((f / "result.h5").stat().st_size > 10_000 for f in folders)


def test_terminals_without_umlauts_lose_nothing(done: Path) -> None:
    plain = call("show", str(done)).stdout
    for code in ("ascii", "latin-1"):
        got = call("show", str(done), PYTHONIOENCODING=code)
        assert got.returncode == 0
        assert got.stdout == plain
    made = call("new", "Mühle.toml", cwd=done, PYTHONIOENCODING="ascii")
    assert made.returncode == 0
    assert r"M\xfchle.toml" in made.stdout


@pytest.mark.skipif(not POSIX, reason="pseudo-terminals")
@pytest.mark.parametrize(
    ("env", "coloured"), [({"TERM": "xterm"}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)]
)
def test_colour_only_where_wanted(done: Path, env: dict[str, str], coloured: bool) -> None:
    text = _on_terminal(["show", str(done)], {"TERM": "xterm", "NO_COLOR": "", **env})
    assert ("\x1b[" in text) is coloured
    import re

    bare = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", text).replace("\r\n", "\n")
    assert bare.rstrip() == call("show", str(done), COLUMNS="80").stdout.rstrip()


def _on_terminal(args: list[str], env: dict[str, str]) -> str:
    """What the command writes to a terminal of 80 columns."""
    import pty

    master, slave = pty.openpty()
    whole = {k: v for k, v in environment(**env, COLUMNS="80").items() if v}
    process = subprocess.Popen(command(*args), stdin=slave, stdout=slave, stderr=slave, env=whole)
    os.close(slave)
    out = b""
    while True:
        try:
            piece = os.read(master, 65536)
        except OSError:
            break
        if not piece:
            break
        out += piece
    os.close(master)
    assert process.wait(60) == 0
    return out.decode()


def test_closed_pipe_ends_silently(done: Path) -> None:
    process = subprocess.Popen(command("schema"), env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(10)
    process.stdout.close()
    assert process.stderr.read() == b""
    assert process.wait(60) == 0


def heed_ctrl_c() -> None:
    """A test run in the background of a shell inherits that Ctrl-C is ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def started(folder: Path, *options: str, **env: str) -> subprocess.Popen[str]:
    """A run that heeds Ctrl-C, in ``folder``."""
    return subprocess.Popen(command("run", "bakery_tray_conveyor", *options), cwd=folder, env=environment(**env),
                            encoding="utf-8", stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            preexec_fn=heed_ctrl_c)  # fmt: skip


def stopped(process: subprocess.Popen[str]) -> tuple[str, float]:
    """Ctrl-C; what standard output had, and the seconds until the end, which is one sentence and 130."""
    began = time.perf_counter()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=300)
    took = time.perf_counter() - began
    assert process.returncode == 130
    assert err.strip() == "Stopped by Ctrl-C."
    return out, took


@pytest.mark.skipif(not POSIX, reason="signals")
@pytest.mark.parametrize("after", [0.5, 6.0])
def test_ctrl_c_while_compiling_ends_at_once(tmp_path: Path, after: float) -> None:
    """On an empty cache, soon and in the midst of compiling; nobody waits for it and the folder stays clean."""
    process = started(tmp_path, XDG_CACHE_HOME=str(tmp_path / "cache"))
    assert process.stderr is not None
    first = process.stderr.readline()
    assert first.startswith("First start: compiling once, about ")
    time.sleep(after)
    assert process.poll() is None
    out, took = stopped(process)
    assert took < 3.0
    assert out == ""
    assert not (tmp_path / "runs").exists()


def test_ctrl_c_before_the_command_begins_is_told() -> None:
    """While the library of the command line still reads the arguments."""
    code = (
        "import sys, typer.core\n"
        "def interrupted(*_, **__): raise KeyboardInterrupt\n"
        "typer.core.TyperGroup.make_context = interrupted\n"
        "sys.argv = ['simcore', 'scenarios']\n"
        "from simcore.cli.main import main\n"
        "main()"
    )
    done = subprocess.run([sys.executable, "-c", code], env=environment(), capture_output=True, encoding="utf-8")
    assert (done.returncode, done.stdout, done.stderr.strip()) == (130, "", "Stopped by Ctrl-C.")


@pytest.mark.skipif(not POSIX, reason="signals")
def test_ctrl_c_in_a_run_ends_at_once(tmp_path: Path, kernel: ModuleType) -> None:
    """Stopped while it computes: nothing half written."""
    process = started(tmp_path)
    time.sleep(0.9)
    assert process.poll() is None
    out, took = stopped(process)
    assert took < 3.0
    assert out == ""
    assert not (tmp_path / "runs").exists()


@pytest.mark.skipif(not POSIX, reason="signals")
def test_ctrl_c_while_drawing_keeps_the_result(tmp_path: Path, kernel: ModuleType) -> None:
    """Every chart in three formats: there is still something to draw when the result lies there."""
    process = started(tmp_path, *(word for f in ("png", "svg", "pdf") for word in ("--format", f)))
    result = tmp_path / "runs" / "bakery_tray_conveyor-001" / "result.h5"
    while process.poll() is None and not result.exists():
        time.sleep(0.01)
    out, took = stopped(process)
    assert took < 3.0
    assert "Bakery tray conveyor" in out

    import simcore

    assert simcore.open_result(str(result)).answers


@pytest.mark.skipif(not POSIX, reason="folders that cannot be made")
def test_unwritable_cache_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    env = environment(XDG_CACHE_HOME=str(tmp_path / "file"))
    process = subprocess.Popen(command("run", "bakery_tray_conveyor"), cwd=tmp_path, env=env, encoding="utf-8",
                               stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)  # fmt: skip
    assert process.stderr is not None
    first = process.stderr.readline()
    process.kill()
    process.wait()
    assert first.startswith("The cache folder cannot be written: ")


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("simcore parts bal", "ball detent"),
        ("simcore explain oversh", "overshoot"),
        ("simcore run bakery", "bakery_tray_conveyor"),
        ("simcore chart x.h5 cra", "crash"),
        ("simcore run bakery_tray_conveyor --set candidates", 'candidates["ball detent"].setting='),
    ],
)
def test_completion(typed: str, offered: str) -> None:
    got = call(_SIMCORE_COMPLETE="complete_bash", COMP_WORDS=typed, COMP_CWORD=str(len(typed.split()) - 1))
    assert offered in got.stdout.splitlines()


def test_ten_lines_of_python(tmp_path: Path, kernel: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    import simcore

    result = simcore.run(simcore.find("bakery_tray_conveyor"), {'candidates["ball detent"].setting': "300 N*m"})
    lines = [f"{a.name}: {a.peak:.3g} N*m, {a.disconnects}, {'passes' if a.passed else 'no'}" for a in result.answers]
    assert len(lines) == 4
    simcore.write(result, "tray.h5")
    again = simcore.open_result("tray.h5")
    assert again.sentence == result.sentence
    assert not simcore.compare(result, again)
    assert [p.name for p in simcore.draw(result, "charts", only=["crash"])] == ["crash.png"]
    assert len(simcore.export(result, "tables")) == 1 + len(result.runs)
