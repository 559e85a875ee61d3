"""Whole-process times by the clock: help, first start with an empty cache, later runs of demo and machines."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from benchmarks.common import Line, check, report
from benchmarks.demo import SCENARIO
from simcore.api import read

ROOT = Path(__file__).parent.parent
ANSWER = "friction disc"
"""A word that the first screen of numbers must contain."""
MACHINES = sorted(p for p in SCENARIO.parent.glob("*.toml") if "comparison" not in p.stem)


def environment(cache: Path | None) -> dict[str, str]:
    """The own environment with the project on the path; ``cache`` replaces the user's cache folder."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    if cache is not None:
        env["XDG_CACHE_HOME"] = str(cache)
    return env


@dataclass(frozen=True)
class Start:
    """Seconds to the first line with an answer, to the last line printed, to the end; CPU seconds; output."""

    first: float
    last: float
    end: float
    cpu: float
    text: str


def cpu_of_children() -> float:
    t = os.times()
    return t.children_user + t.children_system


def timed(arguments: list[str], folder: Path, cache: Path | None) -> Start:
    """Run the command line in its own process."""
    used = cpu_of_children()
    began = time.perf_counter()
    p = subprocess.Popen([sys.executable, "-m", "simcore", *arguments], cwd=folder, env=environment(cache),
                         stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)  # fmt: skip
    first = last = 0.0
    text = []
    assert p.stdout is not None
    for line in p.stdout:
        now = time.perf_counter() - began
        if ANSWER in line and not first:
            first = now
        last = now
        text.append(line)
    code = p.wait()
    end = time.perf_counter() - began
    out = "".join(text)
    check(code == 0, f"simcore {' '.join(arguments)} ended with {code}: {out[-400:]}")
    return Start(first or last, last, end, cpu_of_children() - used, out)


def run_demo(folder: Path, cache: Path | None, *more: str) -> Start:
    t = timed(["run", str(SCENARIO), *more], folder, cache)
    check(ANSWER in t.text, "the first screen names its candidates")
    return t


def measure(quick: bool = False) -> list[Line]:
    """``quick``: the warm runs once, no cold start."""
    rounds = 1 if quick else 7
    out = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        helps = [timed(["--help"], folder, None) for _ in range(rounds)]
        out.append(mark("simcore --help", middle(r.end for r in helps), 0.4, middle(r.cpu for r in helps)))
        if not quick:
            cold = run_demo(folder, folder / "cache")
            out.append(mark("first start with an empty cache, until the numbers", cold.first, 20.0, cold.cpu))
        run_demo(folder, None)
        runs = [run_demo(folder, None) for _ in range(rounds)]
        out.append(mark("later run of the demo, last line of the first screen", middle(r.last for r in runs), 1.5,
                        middle(r.cpu for r in runs)))  # fmt: skip
        out.append(mark("later run of the demo, with charts, until it ends", middle(r.end for r in runs), 4.0,
                        middle(r.cpu for r in runs)))  # fmt: skip
        if not quick:
            out.append(slowest_machine(folder, 3))
    return out


def slowest_machine(folder: Path, rounds: int) -> Line:
    """The shipped machines with their charts; their kernel is compiled before."""
    ends = {}
    for path in MACHINES:
        timed(["run", str(path), "--no-charts"], folder, None)
        runs = [timed(["run", str(path)], folder, None) for _ in range(rounds)]
        missing = [c for c in read(path).candidates if any(c not in r.text for r in runs)]
        check(not missing, f"{path.stem}: the first screen names {', '.join(missing)}")
        ends[path.stem.replace("_", " ")] = middle(r.end for r in runs)
    name = max(ends, key=lambda n: ends[n])
    every = ", ".join(f"{n} {s:.2f} s" for n, s in ends.items())
    return Line("later run of each of the eight machines, with charts: the slowest", "<= 5 s", f"{ends[name]:.2f} s",
                ends[name] <= 5.0, f"by the clock, medians of {rounds}: {every}")  # fmt: skip


def middle(values: Iterable[float]) -> float:
    return statistics.median(values)


def mark(what: str, seconds: float, limit: float, cpu: float) -> Line:
    return Line(what, f"<= {limit:g} s", f"{seconds:.2f} s", seconds <= limit,
                f"by the clock; the process took {cpu:.2f} s of one core")  # fmt: skip


if __name__ == "__main__":
    report("Start-up", measure())
