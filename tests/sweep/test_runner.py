"""The work loop: failing cases, threads, a full disk, clock and Ctrl-C, progress, status, merging, export."""

from __future__ import annotations

import errno
import itertools
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from helpers import assert_same, environment, start
from stand_in import StandInPlan, sample, setup

from simcore.errors import InputError, ResultError
from simcore.sweep import blocks, runner
from simcore.sweep.blocks import BlockKey
from simcore.sweep.book import Setup
from simcore.sweep.crew import Bench, Done, compute
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, Report, sweep
from simcore.sweep.status import Progress, duration, percent, sentence, status
from simcore.sweep.stops import Stops, until, when


def test_numbers_land_where_they_belong(tmp_path: Path) -> None:
    sweep(tmp_path, setup())
    r = SweepResult.load(tmp_path)
    x = sample(0, 70)
    level = np.array([[0.8, 1.0, 1.3], [0.88, 1.1, 1.43]])
    expected = 0.4 * (x[:, None] * [1.0, 0.5]) + 0.3 * level[:, :, None, None]
    assert np.allclose(r.measures["use"], expected, rtol=1e-15)
    assert r.asks.shape == (2, 70, 2)
    assert np.array_equal(r.asks[1, :, 1], 300.0 * x * 0.5)
    assert np.isnan(r.asks[..., 0]).all()
    assert (r.candidates, r.situations, r.expects) == (
        ("disc", "pins"),
        ("belt jams", "full start"),
        ("let go", "hold"),
    )
    assert np.array_equal(r.setting, np.array([[300.0], [330.0]]) * [0.8, 1.0, 1.3])


def test_failing_cases_stop_nothing(tmp_path: Path) -> None:
    plain, faulty = tmp_path / "plain", tmp_path / "faulty"
    sweep(plain, setup())
    report = sweep(faulty, setup(raises=(0, 33, 69), fails=(5, 33)))
    assert report.reason == ""
    assert report.progress.failed == 4 * 3 * 2
    good, bad = SweepResult.load(plain), SweepResult.load(faulty)
    lost = [0, 33, 69]
    assert (bad.status[:, :, lost] == 99).all()
    assert (bad.status[:, :, 5, 0] == 3).all()
    assert (bad.status > 1).sum() == 2 * 3 * (3 * 2 + 1)
    whole = np.ones((70, 2), dtype=bool)
    whole[lost], whole[5, 0] = False, False
    for name, values in bad.measures.items():
        assert np.isnan(values[:, :, ~whole]).all()
        assert np.array_equal(values[:, :, whole], good.measures[name][:, :, whole], equal_nan=True)
    store = blocks.Store(faulty, "print of 7")
    faults = {f for p in store.files() if (b := store.read(p)) for f in b.faults}
    assert (33, 1, "ZeroDivisionError: a stand-in fault") in faults
    assert (5, 0, "the step shrank to nothing") in faults
    assert "ZeroDivisionError: a stand-in fault" in (faulty / "log.txt").read_text()


def test_every_case_failing_still_ends(tmp_path: Path) -> None:
    report = sweep(tmp_path, setup(raises=tuple(range(70))))
    assert report.progress.failed == report.progress.total == 420
    r = SweepResult.load(tmp_path)
    assert (r.status == 99).all()
    assert not r.measures
    assert "damage" not in sentence(report.progress)


@pytest.mark.parametrize("workers", [1, 2, 4])
def test_same_bits_for_any_number_of_threads(tmp_path: Path, workers: int) -> None:
    one, other = tmp_path / "1", tmp_path / "n"
    sweep(one, setup(raises=(3,)), Options(workers=1))
    sweep(other, setup(raises=(3,), delay=0.01), Options(workers=workers))
    assert_same(SweepResult.load(one), SweepResult.load(other))
    files = [sorted((p.name, p.read_bytes()) for p in (f / "blocks").iterdir()) for f in (one, other)]
    assert files[0] == files[1]


def test_block_size_and_order_do_not_matter(tmp_path: Path) -> None:
    from dataclasses import replace

    sweep(tmp_path / "a", setup())
    for block in (1, 7, 70, 500):
        sweep(tmp_path / str(block), setup(replace(StandInPlan(), block=block)))
        assert_same(SweepResult.load(tmp_path / "a"), SweepResult.load(tmp_path / str(block)))


def test_disk_nearly_full_stops_in_words_and_goes_on(tmp_path: Path) -> None:
    left = itertools.chain([10**9] * 7, itertools.repeat(4 * 10**7))
    with pytest.raises(
        ResultError, match=r"only 40 MB are free on the disk .* and 50 MB are needed: the sweep stopped"
    ):
        sweep(tmp_path, setup(), Options(workers=1, free=lambda p: next(left)))
    assert status(tmp_path).done == sum(b.last - b.first for b in _stored(tmp_path)) > 0
    assert len(list((tmp_path / "blocks").iterdir())) == 7
    assert "stopped" in status(tmp_path).state
    assert "only 40 MB are free" in (tmp_path / "log.txt").read_text()
    assert sweep(tmp_path, setup()).result


def _stored(folder: Path) -> Iterator[blocks.BlockKey]:
    store = blocks.Store(folder, "print of 7")
    return (b.key for p in store.files() if (b := store.read(p)))


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 160 kB, where the system lets us make one."""
    where = tmp_path / "disk"
    where.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=160k", "tmpfs", str(where)], capture_output=True)
    if made.returncode:
        pytest.skip("no disk can be mounted here")
    yield where
    subprocess.run(["umount", str(where)], check=True)


def test_full_disk_leaves_no_half_file(small_disk: Path, tmp_path: Path) -> None:
    """ENOSPC itself, the reserve being switched off."""
    filler = small_disk / "filler"
    filler.write_bytes(b"x" * 60_000)
    folder = small_disk / "s"
    with pytest.raises(ResultError, match="no space left on device; finished blocks stay"):
        sweep(folder, setup(), Options(reserve=0))
    assert not list(folder.rglob("*.part"))
    assert all(blocks.unpack(p.read_bytes()) for p in (folder / "blocks").iterdir())
    assert len(list((folder / "blocks").iterdir())) < 24
    filler.unlink()

    def at(step: str) -> None:
        if step == "block merged" and not filler.exists():
            with suppress(OSError), filler.open("wb", buffering=0) as f:
                while f.write(b"x" * 512):
                    pass

    with pytest.raises(ResultError, match=r"sweep\.h5: the result could not be written"):
        sweep(folder, setup(), Options(reserve=0, at=at))
    assert len(list((folder / "blocks").iterdir())) == 24
    assert not list(folder.rglob("*.part"))
    assert not (folder / "sweep.h5").exists()
    subprocess.run(["mount", "-o", "remount,size=4m", str(small_disk)], check=True)
    assert sweep(folder, setup(), Options(reserve=0)).result
    sweep(tmp_path / "whole", setup())
    assert_same(SweepResult.load(folder), SweepResult.load(tmp_path / "whole"))


@pytest.mark.parametrize("step", ["block written", "row in ledger", "result written", "plan written", "ledger written"])
def test_no_space_at_a_named_step(tmp_path: Path, step: str) -> None:
    """The same by a hook, for systems that mount nothing."""
    count = itertools.count()

    def at(done: str) -> None:
        if done == step and (next(count) == 3 or step in ("result written", "plan written", "ledger written")):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    folder = tmp_path / "s"
    with pytest.raises(ResultError, match=r"(?i)no space left on device"):
        sweep(folder, setup(), Options(at=at))
    assert not list(folder.rglob("*.part"))
    assert sweep(folder, setup()).result
    sweep(tmp_path / "whole", setup())
    assert_same(SweepResult.load(folder), SweepResult.load(tmp_path / "whole"))


def test_until_is_the_next_such_time() -> None:
    evening = datetime(2024, 5, 6, 22, 0)
    assert until("06:30", evening) == datetime(2024, 5, 7, 6, 30)
    assert until("22:01", evening) == datetime(2024, 5, 6, 22, 1)
    assert until("22:00", evening) == datetime(2024, 5, 7, 22, 0)
    assert when(until("22:01", evening), evening) == "It will stop at 22:01, in 1 min 0 s."
    assert when(until("22:00", evening), evening) == "It will stop at 22:00 tomorrow, in 1 d 0 h."
    for wrong in ("24:00", "6.30", "half six", "", "06:60"):
        with pytest.raises(InputError, match="time of day such as 06:30"):
            until(wrong)


def test_stops_at_a_time_and_goes_on(tmp_path: Path) -> None:
    stops = Stops(datetime.now() + timedelta(seconds=0.4))
    report = sweep(tmp_path / "s", setup(delay=0.1), Options(workers=2, stops=stops))
    assert report.reason.startswith("stopped at ")
    assert 0 < report.progress.done < 420
    assert status(tmp_path / "s").state == "stopped; the same command goes on"
    assert sweep(tmp_path / "s", setup()).result
    sweep(tmp_path / "whole", setup())
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole"))


class OneByOne:
    """Computes each block when it is handed over."""

    size, idle = 1, False

    def __init__(self, setup: Setup) -> None:
        self.work = Bench(setup.make_trial), setup.expects, setup.versions
        self.done: list[tuple[BlockKey, Done]] = []

    def submit(self, key: BlockKey) -> None:
        bench, expects, versions = self.work
        self.done.append((key, compute(bench, key, expects, versions)))

    def collect(self, timeout: float) -> list[tuple[BlockKey, Done]]:
        done, self.done = self.done, []
        return done

    def drop(self) -> None: ...
    def close(self) -> None: ...


def stopped_after(folder: Path, blocks: int) -> Report:
    stops, rows = Stops(), itertools.count(1)

    def at(step: str) -> None:
        if step == "row in ledger" and next(rows) == blocks:
            stops.asked = signal.SIGINT

    return sweep(folder, setup(), Options(crew=OneByOne, stops=stops, at=at))


def test_stopped_before_all_candidates_have_run_a_draw_it_has_no_answer(tmp_path: Path) -> None:
    assert stopped_after(tmp_path, 5).result is None
    assert not (tmp_path / "sweep.h5").exists()


@pytest.mark.parametrize(("blocks", "draws"), [(6, 20), (11, 20), (12, 40)])
def test_stopped_early_it_has_the_first_draws_of_all_candidates(tmp_path: Path, blocks: int, draws: int) -> None:
    """Two candidates in three cells: six blocks of twenty draws are the first twenty draws, not one candidate's."""
    report = stopped_after(tmp_path / "s", blocks)
    assert (report.reason, report.progress.done) == ("stopped by Ctrl-C", 20 * blocks)
    sweep(tmp_path / "whole", setup())
    some, every = SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole")
    assert (some.draws, some.planned, every.draws, every.planned) == (draws, 70, 70, 70)
    for name, values in some.measures.items():
        np.testing.assert_array_equal(values, every.measures[name][:, :, :draws])
    np.testing.assert_array_equal(some.samples["jam stiffness"], every.samples["jam stiffness"][:draws])
    assert status(tmp_path / "s").state == "stopped; the same command goes on"
    assert sweep(tmp_path / "s", setup()).result
    assert_same(SweepResult.load(tmp_path / "s"), every)


def test_all_finished_but_not_merged_again_is_not_called_finished(tmp_path: Path) -> None:
    stopped_after(tmp_path, 6)
    with pytest.raises(ZeroDivisionError):
        sweep(tmp_path, setup(), Options(at=lambda step: 1 / (step != "block merged")))
    assert status(tmp_path).state == "stopped before its results were merged; the same command goes on"


def _begun(folder: Path, *args: str) -> subprocess.Popen[str]:
    """A sweep in a process of its own, with some blocks finished."""
    process = start(str(folder), *args, preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler))
    for _ in range(1500):
        time.sleep(0.02)
        if (folder / "ledger.jsonl").exists() and (folder / "ledger.jsonl").read_text().count("\n") >= 2:
            return process
    raise AssertionError(process.communicate())


POSIX = pytest.mark.skipif(sys.platform == "win32", reason="signals")


@POSIX
@pytest.mark.parametrize(("number", "told"), [
    (signal.SIGINT, "Stopped by Ctrl-C: "),
    (signal.SIGTERM, "Stopped by a request to end (SIGTERM): "),
])  # fmt: skip
def test_asked_once_it_finishes_what_is_in_flight(tmp_path: Path, number: int, told: str) -> None:
    process = _begun(tmp_path / "s", "delay=0.3")
    process.send_signal(number)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "Stopping: blocks in flight are finished; Ctrl-C again stops at once." in err
    assert told in out
    assert ("Stopped by Ctrl-C" in out + err) is (number == signal.SIGINT)
    assert "The same command goes on" in out
    found = status(tmp_path / "s")
    assert found.state == "stopped; the same command goes on"
    assert 0 < found.done < 420
    assert f"{found.done} of 420 cases" in out
    sweep(tmp_path / "s", setup())
    sweep(tmp_path / "whole", setup())
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole"))


@POSIX
def test_ctrl_c_twice_stops_now(tmp_path: Path) -> None:
    process = _begun(tmp_path / "s", "delay=2.5")
    process.send_signal(signal.SIGINT)
    time.sleep(0.1)
    asked = time.monotonic()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert time.monotonic() - asked < 1.5
    assert process.returncode == 130
    assert "Stopped at once; finished blocks stay." in err
    assert "Traceback" not in err + out
    assert status(tmp_path / "s").state == "stopped; the same command goes on"
    assert "stopped at once" in (tmp_path / "s" / "log.txt").read_text()
    assert sweep(tmp_path / "s", setup()).result
    sweep(tmp_path / "whole", setup())
    assert_same(SweepResult.load(tmp_path / "s"), SweepResult.load(tmp_path / "whole"))


@POSIX
def test_status_from_another_shell_and_lines_in_a_pipe(tmp_path: Path) -> None:
    process = _begun(tmp_path / "s", "delay=0.2", "every=0.2")
    words = [sys.executable, "-m", "simcore", "status", str(tmp_path / "s")]
    got = subprocess.run(words, env=environment(), capture_output=True, encoding="utf-8")
    _, err = process.communicate(timeout=60)
    assert got.returncode == 0, got.stderr
    lines = got.stdout.splitlines()
    assert lines[0].startswith(f"{tmp_path / 's'}: running, process {process.pid} on ")
    assert re.match(r"\d+ of 420 cases \(\d+\.\d %\), 0 failed, [\d.e+]+ cases/s, .* left; damage ", lines[1])
    assert lines[2].split() == ["candidate", "done", "of", "failed", "damage", "trips"]
    assert [line.split()[0] for line in lines[3:]] == ["disc", "pins"]
    assert re.search(r"^\d\d:\d\d  \d+ of 420 cases", err, re.MULTILINE)
    after = subprocess.run(words, env=environment(), capture_output=True, encoding="utf-8").stdout
    assert after.splitlines()[0].endswith(": finished")
    assert "420 of 420 cases (100.0 %), 0 failed;" in after


def test_status_of_no_sweep_is_a_sentence(tmp_path: Path) -> None:
    words = [sys.executable, "-m", "simcore", "status", str(tmp_path)]
    got = subprocess.run(words, env=environment(), capture_output=True, encoding="utf-8")
    assert got.returncode == 1
    assert got.stderr.strip() == f"{tmp_path}: there is no sweep there"


def test_progress_counts_and_names_best_and_worst(tmp_path: Path) -> None:
    told: list[Progress] = []
    sweep(tmp_path, setup(fails=(5,)), Options(workers=1, tell=told.append))
    assert [p.done for p in told] == sorted(p.done for p in told)
    assert (told[0].done, told[-1].done, told[-1].failed) == (0, 420, 6)
    r = SweepResult.load(tmp_path)
    use = r.measures["use"][..., 0]
    fine = np.isfinite(use)
    shares = [(use[c][fine[c]] > 1.0).mean() for c in range(2)]
    last = told[-1]
    assert [last.share(c) for c in r.candidates] == pytest.approx(shares, rel=1e-12)
    assert last.ends() == (r.candidates[int(np.argmin(shares))], r.candidates[int(np.argmax(shares))])
    assert last.left == 0.0


def test_time_left_is_what_remains_over_the_rate() -> None:
    p = Progress({"a": 1000}, {"a": blocks.Tally(250)}, 2.5)
    assert p.left == 300.0
    assert duration(p.left) == "5 min 0 s"
    assert "2.5 cases/s, 5 min 0 s left" in sentence(p)


def test_another_version_on_a_worker_is_refused(tmp_path: Path) -> None:
    class Stranger(runner.Threads):
        def collect(self, timeout: float) -> list[tuple[blocks.BlockKey, object]]:  # type: ignore[override]
            from dataclasses import replace

            return [(k, replace(d, versions={"simcore": "2"})) for k, d in super().collect(timeout)]  # type: ignore[type-var]

    with pytest.raises(ResultError, match="a worker has another version of simcore"):
        sweep(tmp_path, setup(), Options(crew=lambda s: Stranger(s.make_trial, s.expects, s.versions, 1)))
    assert not list((tmp_path / "blocks").iterdir())


def test_a_worker_that_dies_again_and_again_is_told_and_the_rest_is_done(tmp_path: Path) -> None:
    class Dying(runner.Threads):
        def collect(self, timeout: float) -> list[tuple[blocks.BlockKey, object]]:  # type: ignore[override]
            found = super().collect(timeout)
            return [(k, MemoryError("killed") if k.first == 20 and k.candidate == "disc" else d) for k, d in found]

    with pytest.raises(ResultError, match=r"3 blocks could not be computed \(MemoryError: killed\)"):
        sweep(tmp_path, setup(), Options(crew=lambda s: Dying(s.make_trial, s.expects, s.versions, 2)))
    assert status(tmp_path).done == 420 - 3 * 20
    assert sweep(tmp_path, setup()).result


@pytest.mark.parametrize(("share", "told"), [(1.0, "100 %"), (0.0123, "1.2 %"), (3e-5, "0.003 %"), (float("nan"), "-")])
def test_shares_are_told_without_exponents(share, told):
    assert percent(share) == told
