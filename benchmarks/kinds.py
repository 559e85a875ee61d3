"""What it costs a line that many kinds are registered which it does not use: the demo's crash by two kernels."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterable

import numpy as np

from benchmarks.common import Line, check, interleaved, report
from benchmarks.demo import crash_case
from simcore.contract import Part, part_of
from simcore.line.assemble import Assembly
from simcore.parts import REGISTRY
from simcore.solver import arrays as ar
from simcore.solver.compile import load_kernel
from simcore.solver.kernel import kernel, run_many

CANDIDATES = ("friction disc", "ball detent", "shear pins", "magnet disc")
MARK, USUAL_MARK, ALL_MARK = 1.05, 20.0, 40.0


def few(lines: Iterable[Assembly]) -> list[Part]:
    """The kinds that these lines are made of, numbered as in the full registry."""
    used = {e.part.kind.name for a in lines for e in a.graph.elements}
    return [part_of(p.module, p.index) for n, p in REGISTRY.items() if n in used]


def compiled_anew(usual: bool) -> tuple[float, float]:
    """Seconds by the clock and of CPU to compile the usual or all kinds into an empty cache, in an own process."""
    import subprocess
    import sys

    code = "from benchmarks.demo import crash_case as c; from simcore.solver.kernel import kernel, run_one; "
    code += f"run_one(c('friction disc').assembly, module=kernel({usual}))"
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "XDG_CACHE_HOME": folder, "NUMBA_CACHE_DIR": folder}
        w, c = time.perf_counter(), os.times()
        subprocess.run([sys.executable, "-c", code], check=True, env=env)
        d = os.times()
        return time.perf_counter() - w, d.children_user + d.children_system - c.children_user - c.children_system


def measure(quick: bool = False) -> list[Line]:
    lines: dict[str, Assembly] = {n: crash_case(n).assembly for n in CANDIDATES}
    own = few(lines.values())
    every = kernel()
    small = every if quick else load_kernel(own)
    ratios = {}
    for name, a in lines.items():
        rows = np.repeat(a.rows[None], 2 if quick else 20, axis=0)
        one, other = run_many(a, rows, module=every), run_many(a, rows, module=small)
        check(int(one[2].max()) <= ar.Status.STOPPED, f"{name}: status {one[2].max()}")
        check(np.allclose(one[0], other[0], rtol=1e-9, atol=1e-12, equal_nan=True), f"{name}: the same answer by both")
        jobs = {
            "all": lambda a=a, rows=rows: run_many(a, rows, module=every),
            "few": lambda a=a, rows=rows: run_many(a, rows, module=small),
        }
        t = interleaved(jobs, 2 if quick else 25)
        ratios[name] = t["all"].cpu / t["few"].cpu
    middle = float(np.median(list(ratios.values())))
    each = ", ".join(f"{n} {r:.3f}" for n, r in ratios.items())
    what = f"all {len(REGISTRY)} kinds registered over the {len(own)} of the demo, same crash"
    out = [Line(what, f"<= {MARK}", f"{middle:.3f}", None if quick else middle <= MARK, each)]
    if not quick:
        for usual, whose, mark in ((True, "the usual kinds", USUAL_MARK), (False, "all kinds", ALL_MARK)):
            wall, cpu = compiled_anew(usual)
            what = f"compiling the kernel of {whose} into an empty cache, first crash run"
            out.append(Line(what, f"<= {mark:.0f} s", f"{wall:.1f} s", wall <= mark, f"{cpu:.1f} s of CPU"))
    return out


if __name__ == "__main__":
    report("Kinds registered", measure())
