"""Workers as jobs of a queue: the file that asks for them, and the same bits when a job is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from helpers import assert_same
from stand_in import setup

from simcore.errors import InputError, ResultError
from simcore.sweep import jobs, versions
from simcore.sweep.jobs import Jobs, read_queue, started
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep

HERE = str(Path(__file__).parent)
GOOD = """system = "local"
jobs = 2
cores = 1
memory = "500 MB"

[more]
processes = 1
scheduler_options = { host = "127.0.0.1" }
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "queue.toml"
    path.write_text(text)
    return path


def test_read(tmp_path: Path) -> None:
    q = read_queue(written(tmp_path, 'walltime = "08:00:00"\n' + GOOD))
    assert (q.system, q.jobs, q.cores, q.memory, q.walltime) == ("local", 2, 1, "500 MB", "08:00:00")
    assert q.more["scheduler_options"] == {"host": "127.0.0.1"}


def test_all_faults_at_once(tmp_path: Path) -> None:
    text = 'sistem = "pbs"\njobs = 0\ncores = "8"\nmemory = "16"\nwalltime = "8 h"\n[more]\ncores = 2\n'
    with pytest.raises(InputError) as caught:
        read_queue(written(tmp_path, text))
    said = str(caught.value)
    assert len(caught.value.faults) == 7
    for words in ("system: is needed", "queue.toml:1: sistem: is not known here (nearest: system",
                  "queue.toml:2: jobs: must be a whole number of at least 1, got 0", "queue.toml:3: cores:",
                  "queue.toml:4: memory: must be a number with kB, MB, GB or TB", "queue.toml:5: walltime:",
                  "more.cores: stands at the top"):  # fmt: skip
        assert words in said


@pytest.mark.parametrize(("old", "new", "words"), [
    ('"local"', '"slrum"', r"system: is no queue .*got slrum \(nearest: slurm\)"),
    ("processes = 1", "colour = 1", r"more: local does not take this: Got unexpected keyword argument 'colour'"),
    ('system = "local"', 'walltime = "1:00"\nsystem = "htcondor"', "walltime: is nothing that htcondor takes"),
])  # fmt: skip
def test_refused_by_the_queue(tmp_path: Path, old: str, new: str, words: str) -> None:
    pytest.importorskip("dask_jobqueue")
    with pytest.raises(InputError, match=words):
        started(read_queue(written(tmp_path, GOOD.replace(old, new))))


def test_not_installed_is_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "dask_jobqueue.local", None)
    monkeypatch.setitem(sys.modules, "dask_jobqueue", None)
    with pytest.raises(ResultError, match=r"--cluster needs dask-jobqueue: pip install"):
        jobs.systems()


def test_not_with_a_scheduler(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "simcore", "sweep", "bakery_tray_conveyor", "--out", str(tmp_path / "s")]
    words += ["--cluster", str(written(tmp_path, GOOD)), "--scheduler", "tcp://127.0.0.1:9"]
    done = subprocess.run(words, capture_output=True, encoding="utf-8", timeout=60)
    assert done.returncode == 2
    assert "give it or --scheduler, not both" in done.stderr
    assert not (tmp_path / "s").exists()


def test_a_killed_job_costs_no_block_and_no_bit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("dask_jobqueue")
    psutil = pytest.importorskip("psutil")
    paths = [HERE, str(Path(HERE).parents[1]), os.environ.get("PYTHONPATH", "")]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(p for p in paths if p))
    queue = read_queue(written(tmp_path, GOOD))
    seen, ledger = tmp_path / "pids", tmp_path / "s" / "ledger.jsonl"
    seen.mkdir()
    victims: list[int] = []

    def kill() -> None:
        for _ in range(3000):
            time.sleep(0.02)
            if ledger.exists() and ledger.read_text().count("\n") >= 4 and any(seen.iterdir()):
                worker = psutil.Process(int(next(seen.iterdir()).name))
                job = worker.parent()
                assert job is not None
                victims.extend((job.pid, worker.pid))
                for pid in victims:  # who looks after the worker goes first, so that only the queue can replace it
                    os.kill(pid, signal.SIGKILL)
                return

    killer = threading.Thread(target=kill)
    killer.start()
    known = versions.versions()
    crew = Options(crew=lambda s: Jobs(queue, s.make_trial, s.expects, s.versions))
    report = sweep(tmp_path / "s", setup(versions=known, delay=0.15, pids=str(seen)), crew)
    killer.join()
    assert report.reason == ""
    assert len(victims) == 2
    assert os.getpid() not in victims
    workers = {int(p.name) for p in seen.iterdir()}
    assert len(workers) >= 2
    assert os.getpid() not in workers
    assert ledger.read_text().count("\n") == 24
    sweep(tmp_path / "threads", setup(versions=known), Options(workers=2))
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "threads"))
