"""Timing side by side, and what is said about the machine."""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Line:
    """One line of the table of results; ``met`` is None where no mark was set."""

    what: str
    mark: str
    measured: str
    met: bool | None = None
    note: str = ""


def check(fine: bool, text: str) -> None:
    """Stop the benchmark: a wrong answer has no speed."""
    if not fine:
        raise SystemExit(f"WRONG ANSWER: {text}")


@dataclass(frozen=True)
class Times:
    """Medians over the rounds of one contender [s a call]."""

    cpu: float
    wall: float
    calls: int


def interleaved(jobs: Mapping[str, Callable[[], Any]], rounds: int, least: float = 0.02) -> dict[str, Times]:
    """Time all jobs in turn, A B C A B C; each turn repeats its job for about ``least`` seconds."""
    repeats = {}
    for name, job in jobs.items():
        job()
        began = time.perf_counter()
        job()
        repeats[name] = max(1, round(least / max(1e-9, time.perf_counter() - began)))
    cpu: dict[str, list[float]] = {n: [] for n in jobs}
    wall: dict[str, list[float]] = {n: [] for n in jobs}
    for _ in range(rounds):
        for name, job in jobs.items():
            n = repeats[name]
            w, c = time.perf_counter(), time.process_time()
            for _ in range(n):
                job()
            cpu[name].append((time.process_time() - c) / n)
            wall[name].append((time.perf_counter() - w) / n)
    return {n: Times(statistics.median(cpu[n]), statistics.median(wall[n]), repeats[n] * rounds) for n in jobs}


def machine() -> list[str]:
    """Cores, processor, versions, date."""
    libraries = ("numpy", "scipy", "numba", "llvmlite", "scikit-sundae")
    return [
        f"processor: {_processor()}, {os.cpu_count()} cores, {platform.system()} {platform.machine()}",
        f"Python {platform.python_version()}, " + ", ".join(f"{n} {_version(n)}" for n in libraries),
        f"date: {date.today().isoformat()}",
    ]


def _version(name: str) -> str:
    from importlib.metadata import PackageNotFoundError

    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def _processor() -> str:
    """Name and numbers of the processor, as the system tells them."""
    info = Path("/proc/cpuinfo")
    if not info.exists():
        return platform.processor() or "unknown"
    facts: dict[str, str] = {}
    for line in info.read_text().splitlines():
        key, _, value = line.partition(":")
        facts.setdefault(key.strip(), value.strip())
    return (f"{facts.get('model name', 'unknown')} (family {facts.get('cpu family', '?')}, "
            f"model {facts.get('model', '?')}, stepping {facts.get('stepping', '?')})")  # fmt: skip


def report(title: str, lines: list[Line]) -> None:
    print(f"\n{title}")
    for x in lines:
        word = "" if x.met is None else ("  met" if x.met else "  NOT MET")
        print(f"  {x.what}: {x.measured}  [{x.mark}]{word}" + (f"\n      {x.note}" if x.note else ""))
