"""The same small sweep three ways: as a sweep, as a pool of processes around solve_ivp, as a call a case.

Two hundred crashes of the demo (friction disc, tray jams): ten settings, twenty draws of what scatters.  The pool gets
the compiled laws of :mod:`benchmarks.hand_laws` and every case's steady state as a present, and runs at the loosest
tolerance at which every single case is right.
"""

from __future__ import annotations

import multiprocessing
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks import hand_measures as hm
from benchmarks.common import Line, check, report
from benchmarks.crash_peers import HEAD
from benchmarks.demo import CRASH, SCENARIO, from_contact
from benchmarks.hand_line import HandLine
from benchmarks.peers import Peer, Setup
from simcore.measures.cases import Case
from simcore.measures.extract import scalars
from simcore.scenario.read import read
from simcore.solver.kernel import run_one
from simcore.sweep.join import setup
from simcore.sweep.plan import Plan
from simcore.sweep.result import SweepResult
from simcore.sweep.runner import Options, sweep
from simcore.sweep.trial import Trial

DRAWS, WORKERS = 20, 2
NAME = "friction disc"
LADDER = tuple(Setup("scipy", "LSODA", 10.0**-d) for d in range(3, 9))
TRIP, PEAK = 1e-6, 1e-4
"""How far a case of the pool may lie from the sweep's: trip [s], peak (relative)."""

_lines: list[HandLine] = []


def narrowed(folder: Path) -> Path:
    """The demo's own sweep, of one candidate and one situation."""
    text = SCENARIO.read_text(encoding="utf-8")
    old = 'situations = ["tray jams", "full start", "heavy batch"]'
    check(text.count(old) == 1, "the demo's sweep is as this benchmark knows it")
    path = folder / "narrowed.toml"
    path.write_text(text.replace(old, f'situations = ["{CRASH}"]\ncandidates = ["{NAME}"]'), encoding="utf-8")
    return path


def by_sweep(draws: int) -> tuple[Any, Any, float]:
    """Trips and peaks (cells * draws), and CPU [s], from the scenario file to the merged file."""
    with tempfile.TemporaryDirectory() as name:
        folder, file = Path(name) / "s", narrowed(Path(name))
        began = time.process_time()
        done = sweep(folder, setup(file, folder, {"sweep.draws": str(draws)}), Options(workers=WORKERS))
        took = time.process_time() - began
        check(done.result is not None and done.progress.failed == 0, "the sweep finished without a failed case")
        found = SweepResult.load(folder)
        return (*(np.asarray(found.measures[n])[0, :, :, 0].ravel() for n in ("trigger", "peak")), took)


def cases(draws: int) -> Callable[[], list[Case]]:
    """Puts the same cases together one by one, in the same order."""
    with tempfile.TemporaryDirectory() as folder:
        scenario = read(narrowed(Path(folder)), {"sweep.draws": str(draws)})
    plan = Plan.of(scenario)
    trial = Trial(scenario, plan, NAME)
    return lambda: [trial.case(cell, d, CRASH) for cell in plan.cells() for d in range(draws)]


def one_call_a_case(draws: int) -> tuple[Any, Any, float]:
    """One case after the other, each put together and run by a call from Python."""
    began = time.process_time()
    made = cases(draws)()
    found = [scalars(c.assembly, run_one(c.assembly, trace=False).meas, c.protected, c.heat_limit) for c in made]
    took = time.process_time() - began
    return np.array([f["trigger"] for f in found]), np.array([f["peak"] for f in found]), took


def _solve(job: tuple[int, Setup]) -> tuple[float, float]:
    out = Peer(_lines[job[0]], job[1]).run()
    return float(out[hm.TRIGGER]), float(out[HEAD])


def of_children() -> float:
    """CPU [s] of processes that have ended."""
    import resource

    u = resource.getrusage(resource.RUSAGE_CHILDREN)
    return u.ru_utime + u.ru_stime


def by_pool(way: Setup) -> tuple[Any, Any, float]:
    """A pool of processes over solve_ivp, compiled before; CPU [s] of its processes."""
    _solve((0, way))
    fork = multiprocessing.get_context("fork")
    before = of_children()
    with ProcessPoolExecutor(WORKERS, fork) as pool:
        found = np.array(list(pool.map(_solve, [(i, way) for i in range(len(_lines))], chunksize=5)))
    took = of_children() - before
    return found[:, 0], found[:, 1], took


def apart(trip: Any, peak: Any, other_trip: Any, other_peak: Any) -> tuple[float, float]:
    """Largest differences of trips [s] and peaks (relative); inf where not the same cases trip."""
    both = ~np.isnan(trip)
    if not np.array_equal(both, ~np.isnan(other_trip)):
        return np.inf, np.inf
    return float(np.abs(trip - other_trip)[both].max()), float(np.abs(other_peak / peak - 1.0).max())


def loosest_pool(trip: Any, peak: Any) -> tuple[Setup, float, float, float]:
    """The loosest tolerance with which every case of the pool is right; its CPU [s] and differences."""
    for way in LADDER:
        pool_trip, pool_peak, took = by_pool(way)
        late, far = apart(trip, peak, pool_trip, pool_peak)
        if late < TRIP and far < PEAK:
            return way, took, late, far
    raise SystemExit("WRONG ANSWER: the pool at no tolerance")


def measure(quick: bool = False) -> list[Line]:
    if "fork" not in multiprocessing.get_all_start_methods():
        return [Line("the same small sweep three ways", "", "not measured: needs a system that forks")]
    draws = 1 if quick else DRAWS
    _lines[:] = [HandLine.of(from_contact(c.assembly)) for c in cases(draws)()]
    by_sweep(1)
    trip, peak, own = by_sweep(draws)
    other_trip, other_peak, singly = one_call_a_case(draws)
    late, far = apart(trip, peak, other_trip, other_peak)
    check(late < TRIP and far < PEAK, f"one call a case: trips {late:.1e} s, peaks {far:.1e}")
    way, pool, late, far = loosest_pool(trip, peak)
    n = len(trip)
    return [
        Line(f"{n} cases of the demo as a sweep, against a pool of processes around solve_ivp", "",
             f"{pool / own:.1f} times as fast",
             note=f"CPU of {WORKERS} threads against {WORKERS} processes: {own:.2f} s from the scenario to the merged "
             f"file against {pool:.2f} s ({way}, compiled laws, steady "
             f"states given); trips within {late:.0e} s, peaks within {far:.0e}"),
        Line("the same against one call from Python a case, one after the other", "",
             f"{singly / own:.1f} times as fast", note=f"{singly:.2f} s in one thread"),
    ]  # fmt: skip


if __name__ == "__main__":
    report("A sweep and its peers", measure())
