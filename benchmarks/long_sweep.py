"""A study of 200 000 cases: memory of the process while it runs, and how soon its merged file is open.

The demo's own sweep of one candidate and one situation: ten settings, 20 000 draws.  Takes minutes, so it stands beside
the other benchmarks: python -m benchmarks.long_sweep [CASES]
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from benchmarks.common import Line, check, report
from benchmarks.sweep_peers import NAME, narrowed
from simcore.scenario.read import read
from simcore.sweep.join import setup
from simcore.sweep.plan import Plan
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep
from simcore.sweep.status import Progress
from simcore.sweep.trial import Trial

CASES, CELLS = 200_000, 10
GROWTH, OPEN = 50.0, 1.0
"""Most growth of memory [MB] from a tenth of the cases to the last, and time to open the merged file [s]."""
STATM = Path("/proc/self/statm")


class Memory:
    """Memory in use [MB] at each look at the progress."""

    def __init__(self) -> None:
        self.seen: list[tuple[int, float]] = []
        self.told = time.monotonic()

    def __call__(self, p: Progress) -> None:
        self.seen.append((p.done, in_use()))
        if time.monotonic() - self.told > 20.0:
            self.told = time.monotonic()
            print(f"  {p.done} of {p.total} cases, {in_use():.0f} MB", flush=True)

    def between(self, low: float, high: float) -> float:
        """Most [MB] while that share of the cases was done."""
        last = self.seen[-1][0]
        return max(m for n, m in self.seen if low * last <= n <= high * last)


def in_use() -> float:
    import resource

    pages = int(STATM.read_text().split()[1])
    return pages * resource.getpagesize() / 1e6


def opened(path: Path) -> float:
    """Seconds until xarray has the file open and one number of it is read."""
    import xarray

    xarray.backends.list_engines()
    began = time.perf_counter()
    with xarray.open_dataset(path, engine="h5netcdf") as data:
        check(bool(np.isfinite(float(data["peak"][0, 0, 0, 0]))), "a number of the merged file")
    return time.perf_counter() - began


def measure(quick: bool = False, cases: int = CASES) -> list[Line]:
    if not STATM.exists():
        return [Line("memory of a long sweep", "", "not measured on this system")]
    draws = 20 if quick else cases // CELLS
    memory = Memory()
    with tempfile.TemporaryDirectory() as name:
        folder, file = Path(name) / "s", narrowed(Path(name))
        changes = {"sweep.draws": str(draws)}
        cpu, began = time.process_time(), time.perf_counter()
        done = sweep(folder, setup(file, folder, changes), Options(tell=memory))
        cpu, took = time.process_time() - cpu, time.perf_counter() - began
        check(done.result is not None and done.progress.failed == 0, "the sweep finished without a failed case")
        assert done.result is not None
        after, soon = in_use(), opened(done.result)
        peak = np.asarray(SweepResult.load(folder).measures["peak"])
        size = done.result.stat().st_size
        scenario = read(file, changes)
    plan = Plan.of(scenario)
    block = Trial(scenario, plan, NAME).run(plan.cells()[4], draws - 3, draws)
    check(block.measures["peak"].tobytes() == np.ascontiguousarray(peak[0, 4, -3:]).tobytes(), "the last draws' bits")
    early, late = memory.between(0.05, 0.15), memory.between(0.85, 1.0)
    n = draws * CELLS
    return [
        Line(f"memory of a sweep of {n} cases, growth from a tenth of them to the last", f"<= {GROWTH:.0f} MB",
             f"{late - early:.0f} MB", None if quick else late - early <= GROWTH,
             f"{memory.seen[0][1]:.0f} MB at first, {early:.0f} MB at a tenth, {late:.0f} MB at the end, "
             f"{after:.0f} MB after merging; {n / cpu:.0f} cases/s a core, {took:.0f} s by the clock"),
        Line("its merged file opened and a number read", f"<= {OPEN:.0f} s", f"{soon:.2f} s",
             None if quick else soon <= OPEN, f"by the clock, xarray and its readers imported; {size / 1e6:.1f} MB"),
    ]  # fmt: skip


if __name__ == "__main__":
    report("A long sweep", measure(cases=int(sys.argv[1]) if len(sys.argv) > 1 else CASES))
