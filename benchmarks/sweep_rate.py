"""The whole path of a sweep, from the scenario to the merged file, against the kernel's own time in it."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.batch_rate import two_at_once
from benchmarks.common import Line, check, report
from benchmarks.demo import SCENARIO
from simcore.measures import holding
from simcore.scenario.read import read
from simcore.solver.kernel import run_cases, run_one
from simcore.sweep import trial
from simcore.sweep.join import setup
from simcore.sweep.plan import Plan
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep
from simcore.sweep.trial import Trial

MARK, TWO_MARK = 0.8, 1.85


class Clocked:
    """``run_cases`` with a clock: seconds of CPU of its threads, and how many runs it made."""

    def __init__(self) -> None:
        self.cpu, self.runs = 0.0, 0

    def __call__(self, a: Any, cases: Any, count: int, *more: Any) -> Any:
        began = time.thread_time()
        out = run_cases(a, cases, count, *more)
        self.cpu += time.thread_time() - began
        self.runs += count
        return out


def whole(folder: Path, changes: dict[str, str], workers: int) -> tuple[float, float]:
    """CPU and clock [s] of one sweep."""
    c, w = time.process_time(), time.perf_counter()
    done = sweep(folder, setup(SCENARIO, folder, changes), Options(workers=workers))
    check(done.result is not None and done.progress.failed == 0, "the sweep finished without a failed case")
    return time.process_time() - c, time.perf_counter() - w


def one_by_one(draws: int) -> float:
    """Seconds of CPU for a run where each case is a call of its own from Python."""
    scenario = read(SCENARIO)
    plan = Plan.of(scenario)
    began, runs = time.process_time(), 0
    for name in plan.candidates:
        t = Trial(scenario, plan, name)
        for d in range(draws):
            for s in plan.situations:
                run_one(t.case(plan.cells()[3], d, s).assembly, trace=False)
                runs += 1
    return (time.process_time() - began) / runs


def same_bits(folder: Path, changes: dict[str, str]) -> None:
    """The merged file holds what a trial of its own gives."""
    result = SweepResult.load(folder)
    scenario = read(SCENARIO, changes)
    plan = Plan.of(scenario)
    for i, name in enumerate(plan.candidates):
        block = Trial(scenario, plan, name).run(plan.cells()[3], 1, 3)
        stored = np.asarray(result.measures["peak"])[i, 3, 1:3]
        check(block.measures["peak"].tobytes() == np.ascontiguousarray(stored).tobytes(), f"{name}: same bits")


def scaled(gain: float, before: float, after: float) -> bool | None:
    """Whether the mark is met; not judged where the machine itself had no two cores to give."""
    return gain >= TWO_MARK if gain >= TWO_MARK or min(before, after) >= TWO_MARK else None


def measure(quick: bool = False) -> list[Line]:
    draws = 4 if quick else 500
    changes = {"sweep.draws": str(draws), "sweep.block": str(max(2, draws // 4))}
    clock = Clocked()
    trial.run_cases = holding.run_cases = clock
    try:
        with tempfile.TemporaryDirectory() as folder:
            cpu, one = whole(Path(folder) / "one", changes, 1)
            same_bits(Path(folder) / "one", changes)
            kernel, runs = clock.cpu, clock.runs
            before = 0.0 if quick else two_at_once()
            two = whole(Path(folder) / "two", changes, 2)[1]
            after = 0.0 if quick else two_at_once()
    finally:
        trial.run_cases = holding.run_cases = run_cases
    share = kernel / cpu
    alone = one_by_one(2 if quick else 25)
    return [
        Line(f"sweep of the demo, {draws} draws: kernel's share of the whole path's CPU", f">= {MARK:.0%}",
             f"{share:.0%}", None if quick else share >= MARK,
             f"{runs / cpu:.0f} runs/s a core from scenario to merged file, {runs} runs with the searches for the "
             f"smallest holding settings; the kernel alone {runs / kernel:.0f}"),
        Line("the same by two workers, by the clock", f">= {TWO_MARK}", f"{one / two:.2f}",
             None if quick else scaled(one / two, before, after),
             f"two unrelated processes got {before:.2f} before and {after:.2f} after"),
        Line("the same as one call from Python a case, over the sweep", "", f"{alone * runs / cpu:.1f} times as long"),
    ]  # fmt: skip


if __name__ == "__main__":
    report("Sweeps", measure())
