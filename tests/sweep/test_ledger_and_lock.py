"""The ledger gives way to the block files; one process a folder."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from helpers import environment
from stand_in import setup

from simcore.errors import ResultError
from simcore.sweep import lock
from simcore.sweep.blocks import Tally
from simcore.sweep.ledger import Ledger, Row, rows
from simcore.sweep.runner import sweep
from simcore.sweep.status import status

TRUE = {f"{n:032x}": Row(f"{n:032x}", "disc", Tally(20, 1, 2, 3), 100.0 + n) for n in range(5)}


def written(folder: Path) -> Path:
    ledger = Ledger(folder)
    for row in TRUE.values():
        ledger.append(row)
    return ledger.path


def test_agreeing_ledger_stays(tmp_path: Path) -> None:
    path = written(tmp_path)
    assert list(rows(path)) == list(TRUE.values())
    assert not Ledger(tmp_path).settle(TRUE)


@pytest.mark.parametrize("cut", [1, 2, 40, 150, 400])
def test_torn_ledger_is_written_anew(tmp_path: Path, cut: int) -> None:
    path = written(tmp_path)
    path.write_bytes(path.read_bytes()[:-cut])
    assert Ledger(tmp_path).settle(TRUE)
    assert list(rows(path)) == list(TRUE.values())


@pytest.mark.parametrize(
    "spoil",
    [
        lambda t: "",
        lambda t: t + t.splitlines(keepends=True)[0],
        lambda t: t.replace('"failed": 1', '"failed": 0', 1),
        lambda t: t + Row("ffff", "disc", Tally(20, 0, 0, 0), 1.0).line(),
        lambda t: "\x00\x01garbage\n" + t,
        lambda t: t.replace("\n", "\n[]\n", 1),
    ],
)  # fmt: skip
def test_wrong_ledger_is_written_anew(tmp_path: Path, spoil: object) -> None:
    path = written(tmp_path)
    path.write_text(spoil(path.read_text()))  # type: ignore[operator]
    assert Ledger(tmp_path).settle(TRUE)
    assert {r.id: r for r in rows(path) if r} == TRUE


def test_absent_ledger_is_written(tmp_path: Path) -> None:
    assert Ledger(tmp_path).settle(TRUE)
    assert not Ledger(tmp_path).settle(TRUE)


def hold(folder: Path) -> subprocess.Popen[str]:
    """Another process that holds the folder until it is killed."""
    code = ("import sys, time; from pathlib import Path; from simcore.sweep.lock import Lock\n"
            "with Lock(Path(sys.argv[1])): print('held', flush=True); time.sleep(60)")  # fmt: skip
    process = subprocess.Popen([sys.executable, "-c", code, str(folder)], env=environment(), stdout=subprocess.PIPE,
                               encoding="utf-8")  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline() == "held\n"
    return process


def test_second_process_is_refused_in_words_and_a_dead_one_leaves_no_lock(tmp_path: Path) -> None:
    process = hold(tmp_path)
    try:
        assert lock.is_held(tmp_path)
        with pytest.raises(ResultError, match=f"process {process.pid} on .* is at work there"):
            sweep(tmp_path, setup())
        assert list(tmp_path.iterdir()) == [tmp_path / "lock"]
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert not lock.is_held(tmp_path)
    assert lock.holder(tmp_path)["pid"] == process.pid
    assert sweep(tmp_path, setup()).result
    assert f"process {process.pid} on" in (tmp_path / "log.txt").read_text()
    assert lock.holder(tmp_path) == {}


def test_who_may_only_read_the_folder_sees_that_it_is_held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    process = hold(tmp_path)
    real = os.open

    def reading(path: Path, flags: int, *more: int) -> int:
        if flags & (os.O_RDWR | os.O_WRONLY):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real(path, flags, *more)

    monkeypatch.setattr(os, "open", reading)
    try:
        assert lock.is_held(tmp_path)
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert not lock.is_held(tmp_path)


def test_lock_of_another_machine_counts_while_it_is_touched(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    path.write_text(json.dumps({"pid": 1, "host": "the other one", "began": 0.0}))
    with pytest.raises(ResultError, match="process 1 on the other one is at work"):
        sweep(tmp_path, setup())
    long_ago = time.time() - 2.0 * lock.SILENT
    os.utime(path, (long_ago, long_ago))
    assert sweep(tmp_path, setup()).result


def test_garbage_in_the_lock_holds_nobody(tmp_path: Path) -> None:
    (tmp_path / "lock").write_bytes(b"\xff\x00{{")
    assert sweep(tmp_path, setup()).result
    assert status(tmp_path).state == "finished"
