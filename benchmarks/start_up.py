"""Whole-process times by the clock: help, first start with an empty cache, later runs of the demo."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.common import Line, check, report
from benchmarks.demo import SCENARIO

ROOT = Path(__file__).parent.parent
ANSWER = "friction disc"
"""A word that the first screen of numbers must contain."""


def environment(cache: Path | None) -> dict[str, str]:
    """The own environment with the project on the path; ``cache`` replaces the user's cache folder."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    if cache is not None:
        env["XDG_CACHE_HOME"] = str(cache)
    return env


def timed(arguments: list[str], folder: Path, cache: Path | None) -> tuple[float, float, float, str]:
    """Seconds to the first line with an answer, to the last line printed, to the end; and all output."""
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
    return first or last, last, end, out


def run_demo(folder: Path, cache: Path | None, *more: str) -> tuple[float, float, float, str]:
    t = timed(["run", str(SCENARIO), *more], folder, cache)
    check(ANSWER in t[3], "the first screen names its candidates")
    return t


def measure(quick: bool = False) -> list[Line]:
    """``quick``: the warm runs once, no cold start."""
    rounds = 1 if quick else 7
    out = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        helps = [timed(["--help"], folder, None)[2] for _ in range(rounds)]
        out.append(mark("simcore --help", statistics.median(helps), 0.4))
        if not quick:
            cold = run_demo(folder, folder / "cache")
            out.append(mark("first start with an empty cache, until the numbers", cold[0], 20.0))
        run_demo(folder, None)
        runs = [run_demo(folder, None) for _ in range(rounds)]
        out.append(mark("later run of the demo, last line of the screen", statistics.median(r[1] for r in runs), 1.5))
        out.append(mark("later run of the demo, with charts, until it ends", statistics.median(r[2] for r in runs), 4.0))
    return out


def mark(what: str, seconds: float, limit: float) -> Line:
    return Line(what, f"<= {limit:g} s", f"{seconds:.2f} s", seconds <= limit)


if __name__ == "__main__":
    report("Start-up", measure())
