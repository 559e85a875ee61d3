"""Batches of varied crashes of the demo line, all candidates: crashes a second and core, one and two threads."""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from benchmarks.common import Line, check, report
from benchmarks.demo import crash_case
from simcore.contract import COL_SETTING
from simcore.line.assemble import Assembly
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many

CASES = 10_000
CANDIDATES = ("friction disc", "ball detent", "shear pins", "magnet disc")
RESIDUAL = 1e-6


def varied(a: Assembly, cases: int) -> Any:
    """Rows (cases, parts, 48): setting, stiffness of shaft and stop, and motor speed, each by its own golden step."""
    i, head, stop, motor = (a.candidate, a.index("head shaft"), a.index("tray jams"), a.index("motor"))
    share = (np.arange(cases)[:, None] * np.array([0.6180339887, 0.7548776662, 0.5698402910, 0.8191725134])) % 1.0
    rows = np.empty((cases, *a.rows.shape))
    for c in range(cases):
        rows[c] = a.dialled(0.85 + 0.3 * share[c, 0])
        rows[c, i, COL_SETTING] = a.rows[i, COL_SETTING] * (0.85 + 0.3 * share[c, 0])
        rows[c, head, 0] *= 0.7 + 0.6 * share[c, 1]
        rows[c, stop, 0] *= 0.5 + share[c, 2]
        rows[c, motor, 2] *= 0.9 + 0.2 * share[c, 3]
    return rows


@dataclass(frozen=True)
class Rate:
    """Seconds of a batch: CPU and clock with one thread, clock with two; and what was found."""

    cpu: float
    one: float
    two: float
    residual: float
    calls: float


def timed(a: Assembly, rows: Any) -> Rate:
    """Same bits for one and two threads and singly, small residuals; the times of those two runs."""
    c, w = time.process_time(), time.perf_counter()
    first = run_many(a, rows, threads=1)
    cpu, one = time.process_time() - c, time.perf_counter() - w
    w = time.perf_counter()
    second = run_many(a, rows, threads=2)
    two = time.perf_counter() - w
    check(all(x.tobytes() == y.tobytes() for x, y in zip(first, second, strict=True)), "same bits with two threads")
    meas, counts, status = first
    bad = int((status > ar.Status.STOPPED).sum())
    check(bad == 0, f"{bad} of {len(rows)} cases failed: {sorted(set(status.tolist()))}")
    worst = float(np.abs(meas[:, -1, ar.L_RESIDUAL] / meas[:, -1, ar.L_TURNED]).max())
    check(worst < RESIDUAL, f"ledger residual {worst:.1e}")
    for case in (0, len(rows) // 3, len(rows) - 1):
        alone = run_many(a, rows[case : case + 1])
        check(alone[0][0].tobytes() == meas[case].tobytes(), f"case {case} singly")
    return Rate(cpu, one, two, worst, float(counts[:, ar.CALLS].mean()))


SPIN = "x = 0\nfor i in range(12_000_000):\n    x += i\n"


def two_at_once() -> float:
    """Throughput of two unrelated processes over that of one: what the machine has to give right now."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", SPIN], check=True)
    one = time.perf_counter() - began
    began = time.perf_counter()
    pair = [subprocess.Popen([sys.executable, "-c", SPIN]) for _ in range(2)]
    check(all(p.wait() == 0 for p in pair), "the control ran")
    return 2.0 * one / (time.perf_counter() - began)


def measure(quick: bool = False) -> list[Line]:
    cases = 60 if quick else CASES
    out = []
    for name in CANDIDATES:
        a = crash_case(name).assembly
        run_many(a, a.rows[None])
        rows = varied(a, cases)
        before = 0.0 if quick else two_at_once()
        r = timed(a, rows)
        after = 0.0 if quick else two_at_once()
        out.append(
            Line(f"{cases} varied crashes, {name}", "", f"{cases / r.cpu:.0f} crashes/s a core",
                 note=f"{r.cpu / cases * 1e3:.3f} ms and {r.calls:.0f} evaluations a crash, steady state solved in "
                 f"each; two threads {r.one / r.two:.2f} times as fast by the clock, where two unrelated processes "
                 f"got {before:.2f} before and {after:.2f} after; worst ledger residual {r.residual:.0e}")
        )  # fmt: skip
    return out


if __name__ == "__main__":
    report("Batches", measure())
