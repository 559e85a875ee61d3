"""Workers of a dask scheduler: the same blocks, the same bits, also when one is killed."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from helpers import assert_same
from stand_in import setup

from simcore.errors import ResultError
from simcore.sweep import versions
from simcore.sweep.cluster import Cluster
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep
from simcore.sweep.stops import Stops

distributed = pytest.importorskip("distributed")
HERE = str(Path(__file__).parent)


@pytest.fixture
def cluster(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Two worker processes of one thread each; they find the stand-in by PYTHONPATH."""
    paths = [HERE, str(Path(HERE).parents[1]), os.environ.get("PYTHONPATH", "")]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(p for p in paths if p))
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None,
                                  silence_logs=50) as c:  # fmt: skip
        yield c


def over(address: str, stops: Stops | None = None) -> Options:
    return Options(crew=lambda s: Cluster(address, s.make_trial, s.expects, s.versions), stops=stops)


def pids(cluster: Any) -> list[int]:
    with distributed.Client(cluster.scheduler_address, set_as_default=False) as client:
        return list(client.run(os.getpid).values())


def test_a_killed_worker_costs_no_block_and_no_bit(cluster: Any, tmp_path: Path) -> None:
    seen = tmp_path / "pids"
    seen.mkdir()
    victim = pids(cluster)[0]
    ledger = tmp_path / "s" / "ledger.jsonl"

    def kill() -> None:
        for _ in range(600):
            time.sleep(0.02)
            if ledger.exists() and ledger.read_text().count("\n") >= 4:
                os.kill(victim, signal.SIGKILL)
                return

    killer = threading.Thread(target=kill)
    killer.start()
    known = versions.versions()
    report = sweep(tmp_path / "s", setup(versions=known, delay=0.15, raises=(3,), pids=str(seen)),
                   over(cluster.scheduler_address))  # fmt: skip
    killer.join()
    assert report.reason == ""
    workers = {int(p.name) for p in seen.iterdir()}
    assert victim in workers
    assert len(workers) >= 2
    assert os.getpid() not in workers
    with pytest.raises(ProcessLookupError):
        os.kill(victim, 0)
    assert ledger.read_text().count("\n") == 24
    sweep(tmp_path / "threads", setup(versions=known, raises=(3,)), Options(workers=2))
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "threads"))


def test_workers_may_join_and_threads_may_go_on(cluster: Any, tmp_path: Path) -> None:
    """Stopped on the cluster, extended there with a third worker, ended by threads."""
    known = versions.versions()
    stops = Stops()
    stops.then = None

    def soon() -> None:
        time.sleep(1.0)
        stops.asked = signal.SIGINT

    threading.Thread(target=soon).start()
    report = sweep(tmp_path / "s", setup(versions=known, delay=0.5), over(cluster.scheduler_address, stops))
    assert report.reason == "stopped by Ctrl-C"
    assert report.progress.done < 420
    cluster.scale(3)
    sweep(tmp_path / "s", setup(versions=known), over(cluster.scheduler_address))
    sweep(tmp_path / "whole", setup(versions=known))
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole"))


def test_no_scheduler_is_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("simcore.sweep.cluster.PATIENCE", "500ms")
    with pytest.raises(ResultError, match=r"tcp://127\.0\.0\.1:9: no scheduler answers there"):
        sweep(tmp_path / "s", setup(), over("tcp://127.0.0.1:9"))


def test_a_scheduler_that_goes_away_is_a_sentence_and_blocks_stay(cluster: Any, tmp_path: Path) -> None:
    known = versions.versions()
    ledger = tmp_path / "s" / "ledger.jsonl"

    def end() -> None:
        for _ in range(600):
            time.sleep(0.02)
            if ledger.exists() and ledger.read_text().count("\n") >= 2:
                cluster.close()
                return

    threading.Thread(target=end).start()
    with pytest.raises(ResultError, match=r"scheduler does not answer any more|blocks could not be computed"):
        sweep(tmp_path / "s", setup(versions=known, delay=0.5), over(cluster.scheduler_address))
    assert ledger.read_text().count("\n") >= 2
    sweep(tmp_path / "s", setup(versions=known))
    sweep(tmp_path / "whole", setup(versions=known))
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole"))
