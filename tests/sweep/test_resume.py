"""Killed at any instant, a sweep goes on to the same bits."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from helpers import assert_same, drive, start
from stand_in import TEXT, StandInFactor, StandInPlan, setup

from simcore.errors import InputError
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep
from simcore.sweep.status import status

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="kill -9")
BLOCKS = 2 * 3 * 4
FINER = TEXT.replace("1e-6", "1e-7")


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> SweepResult:
    folder = tmp_path_factory.mktemp("undisturbed") / "s"
    assert sweep(folder, setup(), Options(workers=1)).reason == ""
    return SweepResult.load(folder)


def finish_and_compare(folder: Path, undisturbed: SweepResult) -> None:
    done = drive(str(folder))
    assert done.returncode == 0, done.stderr
    assert_same(SweepResult.load(folder), undisturbed)
    assert len(list((folder / "blocks").iterdir())) == BLOCKS
    assert not list(folder.rglob("*.part"))
    assert not (folder / "set_aside").exists()


STEPS = [("block written", 1), ("block written", 9), ("block renamed", 1), ("block renamed", 24), ("row in ledger", 5),
         ("scenario written", 1), ("scenario renamed", 1), ("plan written", 1), ("plan renamed", 1),
         ("ledger written", 1), ("block merged", 1), ("block merged", 13),
         ("result written", 1), ("result renamed", 1)]  # fmt: skip


@pytest.mark.parametrize(("step", "n"), STEPS)
def test_killed_at_a_named_step(tmp_path: Path, undisturbed: SweepResult, step: str, n: int) -> None:
    folder = tmp_path / "s"
    assert drive(str(folder), f"kill={step}", f"n={n}", "workers=1").returncode == -signal.SIGKILL
    if step == "block renamed":  # on disk, not in the ledger, and yet not lost
        assert len(list((folder / "blocks").glob("*.npz"))) == n
        assert len((folder / "ledger.jsonl").read_text().splitlines()) == n - 1
    if step == "block merged" or step == "result written":
        assert not (folder / "sweep.h5").exists()
    finish_and_compare(folder, undisturbed)


@pytest.mark.parametrize("step", ["piece exported", "table written", "table renamed"])
def test_killed_while_exporting(tmp_path: Path, step: str) -> None:
    folder = tmp_path / "s"
    assert drive(str(folder), f"kill={step}", "n=1", "export=1").returncode == -signal.SIGKILL
    table = folder / "tables" / "cases.csv"
    assert table.exists() == (step == "table renamed")
    assert drive(str(folder), "export=1").returncode == 0
    assert len(table.read_text().splitlines()) == 1 + 2 * 3 * 70 * 2


def kill_at_random(folder: Path, rng: random.Random, undisturbed: SweepResult) -> None:
    """Kill a sweep one to three times while it is alive, at instants that nobody chose; then let it end."""
    hits, wanted, longest = 0, rng.randint(1, 3), 2.5
    while hits < wanted:
        process = start(str(folder), "delay=0.1")
        try:
            process.wait(rng.uniform(0.1, longest))
            longest *= 0.8  # it came to its end
        except subprocess.TimeoutExpired:
            hits += 1
        process.send_signal(signal.SIGKILL)
        process.communicate()
        if (folder / "sweep.h5").exists():
            break
    finish_and_compare(folder, undisturbed)


@pytest.mark.parametrize("seed", range(10))
def test_killed_at_random(tmp_path: Path, undisturbed: SweepResult, seed: int) -> None:
    kill_at_random(tmp_path / "s", random.Random(seed), undisturbed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(100, 200))
def test_killed_at_random_a_hundred_times(tmp_path: Path, undisturbed: SweepResult, seed: int) -> None:
    kill_at_random(tmp_path / "s", random.Random(seed), undisturbed)


def test_finished_blocks_are_not_computed_again(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    assert drive(str(folder), "kill=row in ledger", "n=10", "workers=1").returncode == -signal.SIGKILL
    before = {p.name: p.stat().st_mtime_ns for p in (folder / "blocks").glob("*.npz")}
    assert len(before) == 10
    sweep(folder, setup())
    after = {p.name: p.stat().st_mtime_ns for p in (folder / "blocks").glob("*.npz")}
    assert {n: after[n] for n in before} == before
    merged = (folder / "sweep.h5").stat().st_mtime_ns
    sweep(folder, setup())
    assert (folder / "sweep.h5").stat().st_mtime_ns == merged


def damage(path: Path, how: str) -> None:
    data = bytearray(path.read_bytes())
    if how == "cut":
        path.write_bytes(data[: len(data) // 2])
    elif how == "flipped":
        data[len(data) // 3] ^= 16
        path.write_bytes(data)
    elif how == "emptied":
        path.write_bytes(b"")
    else:
        path.unlink()


@pytest.mark.parametrize("how", ["cut", "flipped", "emptied", "lost"])
@pytest.mark.parametrize("is_merged", [False, True])
def test_damaged_blocks_are_set_aside_and_redone(
    tmp_path: Path, undisturbed: SweepResult, how: str, is_merged: bool
) -> None:
    folder = tmp_path / "s"
    sweep(folder, setup())
    if not is_merged:
        (folder / "sweep.h5").unlink()
    victims = sorted((folder / "blocks").iterdir())[3:6]
    for path in victims:
        damage(path, how)
    sweep(folder, setup())
    assert_same(SweepResult.load(folder), undisturbed)
    aside = sorted(p.name for p in (folder / "set_aside").glob("*"))
    assert aside == ([] if how == "lost" else [p.name for p in victims])
    log = (folder / "log.txt").read_text()
    assert all(f"{name} is damaged: set aside" in log for name in aside)
    assert all(p.exists() for p in victims)


def test_foreign_files_are_set_aside(tmp_path: Path, undisturbed: SweepResult) -> None:
    folder, other = tmp_path / "s", tmp_path / "other"
    sweep(folder, setup())
    plan = StandInPlan(seed=8)
    sweep(other, setup(plan))
    stranger = next((other / "blocks").iterdir())
    (folder / "blocks" / stranger.name).write_bytes(stranger.read_bytes())
    (folder / "blocks" / "notes.txt").write_text("bread, milk")
    sweep(folder, setup())
    assert {p.name for p in (folder / "set_aside").iterdir()} == {stranger.name, "notes.txt"}
    assert_same(SweepResult.load(folder), undisturbed)


def test_block_that_spoils_just_before_the_merge_is_redone(tmp_path: Path, undisturbed: SweepResult) -> None:
    folder = tmp_path / "s"
    spoilt: list[str] = []

    def at(step: str) -> None:
        if step == "block merged" and not spoilt:
            path = sorted((folder / "blocks").iterdir())[-1]
            spoilt.append(path.name)
            for p in (folder / "blocks").iterdir():
                damage(p, "flipped")

    sweep(folder, setup(), Options(at=at))
    assert_same(SweepResult.load(folder), undisturbed)
    assert len(list((folder / "set_aside").iterdir())) >= BLOCKS - 1


@pytest.mark.parametrize("how", ["cut", "flipped", "emptied", "lost"])
@pytest.mark.parametrize("name", ["plan.json", "ledger.jsonl", "sweep.h5", "sweep.toml"])
def test_every_other_file_may_be_damaged(tmp_path: Path, undisturbed: SweepResult, name: str, how: str) -> None:
    folder = tmp_path / "s"
    sweep(folder, setup())
    damage(folder / name, how)
    sweep(folder, setup())
    assert_same(SweepResult.load(folder), undisturbed)
    assert status(folder).state == "finished"
    assert status(folder).done == 420


@pytest.mark.parametrize(
    ("plan", "text", "versions", "told"),
    [
        (StandInPlan(), FINER, None, ["-relative_tolerance = 1e-6", "+relative_tolerance = 1e-7"]),
        (StandInPlan(seed=8), TEXT, None, ["seed: 7, now 8"]),
        (StandInPlan(design="latin hypercube"), TEXT, None, ['design: "random", now "latin hypercube"']),
        (StandInPlan().grown(draws=60), TEXT, None, ["draws: 70, now 60; they may only grow"]),
        (StandInPlan().grown(grid=(0.8, 1.3)), TEXT, None, ['"setting", grid: [0.8, 1.0, 1.3], now [0.8, 1.3]']),
        (StandInPlan(factors=(StandInFactor("setting", (0.8, 1.0, 1.3)),)), TEXT, None, ["factors: setting, jam"]),
        (StandInPlan(), TEXT, {"simcore": "2"}, ["version of simcore: 1, now 2"]),
        (StandInPlan(seed=8), TEXT, {"simcore": "1", "numpy": "3"}, ["seed: 7, now 8", "version of numpy: none"]),
    ],
)  # fmt: skip
def test_another_sweep_is_refused_with_what_differs(
    tmp_path: Path, plan: StandInPlan, text: str, versions: dict[str, str] | None, told: list[str]
) -> None:
    folder = tmp_path / "s"
    sweep(folder, setup())
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    with pytest.raises(InputError) as e:
        sweep(folder, setup(plan, text, versions))
    for words in told:
        assert words in str(e.value)
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before


def test_comments_and_spaces_do_not_matter(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    sweep(folder, setup())
    again = "# thought over\n" + TEXT.replace("title =", "title  =")
    assert sweep(folder, setup(text=again)).result
    assert (folder / "sweep.toml").read_text() == again


def test_targets_and_title_may_change_without_computing_anew(tmp_path: Path) -> None:
    """No run depends on them; the finished answer is made anew all the same, and only then."""
    folder, milder = tmp_path / "s", replace(StandInPlan(), damage_target=0.05)
    sweep(folder, setup())
    before = {p: p.stat().st_mtime_ns for p in (folder / "blocks").iterdir()}
    again = TEXT.replace("Laundry press", "Laundry press, thought over")
    assert sweep(folder, setup(milder, again)).result
    assert {p: p.stat().st_mtime_ns for p in (folder / "blocks").iterdir()} == before
    assert "goes on, with other targets" in (folder / "log.txt").read_text()
    found = SweepResult.load(folder)
    assert (found.damage_target, found.scenario_text) == (0.05, again)
    made = (folder / "sweep.h5").stat().st_mtime_ns
    sweep(folder, setup(milder, again))
    assert (folder / "sweep.h5").stat().st_mtime_ns == made


GROWN = [(150, ()), (0, (0.5, 0.8, 1.0, 1.2, 1.3, 1.5)), (90, (0.8, 0.9, 1.0, 1.3))]


@pytest.mark.parametrize(("draws", "grid"), GROWN)
def test_extended_sweep_keeps_its_blocks_and_ends_like_a_fresh_one(
    tmp_path: Path, draws: int, grid: tuple[float, ...]
) -> None:
    short, whole = tmp_path / "short", tmp_path / "whole"
    plan = StandInPlan().grown(draws, grid)
    sweep(short, setup())
    before = {p.name: p.stat().st_mtime_ns for p in (short / "blocks").iterdir()}
    assert sweep(short, setup(plan)).progress.done == plan.draws * len(plan.cells()) * 2
    after = {p.name: p.stat().st_mtime_ns for p in (short / "blocks").iterdir()}
    assert {n: after.get(n) for n in before} == before
    assert not (short / "set_aside").exists()
    sweep(whole, setup(plan))
    assert_same(SweepResult.load(short), SweepResult.load(whole))


def test_extended_twice_and_killed_between(tmp_path: Path) -> None:
    folder, whole = tmp_path / "s", tmp_path / "whole"
    assert drive(str(folder), "kill=row in ledger", "n=9").returncode == -signal.SIGKILL
    assert drive(str(folder), "draws=95", "kill=row in ledger", "n=7").returncode == -signal.SIGKILL
    assert drive(str(folder), "draws=130").returncode == 0
    sweep(whole, setup(StandInPlan().grown(130)))
    assert_same(SweepResult.load(folder), SweepResult.load(whole))


def test_folder_with_other_files_is_refused(tmp_path: Path) -> None:
    (tmp_path / "drawing.dxf").write_text("")
    with pytest.raises(InputError, match="holds other files"):
        sweep(tmp_path, setup())
    with pytest.raises(InputError, match="is a file"):
        sweep(tmp_path / "drawing.dxf", setup())
    assert [p.name for p in tmp_path.iterdir()] == ["drawing.dxf"]


def test_status_reads_a_killed_sweep(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    drive(str(folder), "kill=row in ledger", "n=5")
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes() + b'{"id": "torn')
    found = status(folder)
    assert found.done in (90, 100)  # a block has 20 or 10 draws
    assert "died" in found.state
