"""Ctrl-C while a sweep compiles for the first time: told at once what it waits for, the second one ends it."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from helpers import environment


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_ctrl_c_twice_while_compiling(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "simcore", "sweep", "bakery_tray_conveyor", "--out", "night", "--no-charts"]
    env = {**environment(), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    process = subprocess.Popen(words, cwd=tmp_path, env=env, encoding="utf-8", stdout=subprocess.DEVNULL,
                               stderr=subprocess.PIPE,
                               preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))  # fmt: skip
    assert process.stderr is not None
    assert process.stderr.readline().startswith("First start: compiling once")
    while not (tmp_path / "night" / "log.txt").exists():
        assert process.poll() is None
        time.sleep(0.02)
    time.sleep(1.0)
    began = time.perf_counter()
    process.send_signal(signal.SIGINT)
    said = process.stderr.readline()
    assert time.perf_counter() - began < 3.0
    assert said.startswith("Stopping: the kernel is still compiling (about ")
    assert said.rstrip().endswith("then the blocks begun are finished; Ctrl-C again stops at once.")
    began = time.perf_counter()
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert time.perf_counter() - began < 3.0
    assert process.returncode == 130
    assert err.strip() == "Stopped at once; finished blocks stay."
    assert not list((tmp_path / "night" / "blocks").iterdir())
