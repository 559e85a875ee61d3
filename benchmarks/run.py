"""Runs all benchmarks and writes RESULTS.md beside this file.  From the project's folder: python -m benchmarks.run"""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path

from benchmarks.common import Line, machine, report

ALL = {
    "crash_peers": "One crash of the demo line",
    "batch_rate": "Batches of varied crashes",
    "line_length": "Length of the line",
    "law_cost": "Cost of each law",
    "kinds": "Kinds registered",
    "duty_hour": "An hour of duty cycles",
    "sweep_rate": "Sweeps",
    "sweep_peers": "A sweep and its peers",
    "start_up": "Start-up",
    "machines": "Every shipped machine",
}
RESULTS = Path(__file__).parent / "RESULTS.md"
HEAD = """# Measured speed

Every number is checked first: a benchmark that gets a wrong answer stops.  Times of computing are medians of
CPU time, contenders in turn in one process; start-up is by the clock, in processes of its own.  Equal
accuracy: each contender at the loosest tolerance of a ladder of decades at which the trip lies within 1e-7 s
and the protected part's peak within 1e-5 of a solution at 1e-12, over the same horizon, with the same
switches, ledger and peaks between steps.  A tolerance is relative to the kernel's own error weights.  Two
threads can gain no more than two unrelated processes do on the same machine at the same time, which stands
beside each: where that is near 1, the scaling of threads is not measured.
"""


def rows(lines: list[Line]) -> list[str]:
    words = {None: "", True: "met", False: "**not met**"}
    return [f"| {x.what} | {x.mark} | {x.measured} | {words[x.met]} |" for x in lines]


def text(found: dict[str, list[Line]], load: str) -> str:
    out = [HEAD, *[f"- {m}" for m in machine()], f"- {load}", "", "| what | mark | measured | |", "|---|---|---|---|"]
    for lines in found.values():
        out += rows(lines)
    out += ["", "## Notes", ""]
    for lines in found.values():
        out += [f"- {x.what}: {x.note}." for x in lines if x.note]
    return "\n".join(out) + "\n"


def measured(name: str) -> list[Line]:
    """The lines of one benchmark; a wrong answer, or a peer that is stuck, stops that one and stands in its place."""
    began = time.perf_counter()
    try:
        lines: list[Line] = import_module(f"benchmarks.{name}").measure()
    except (SystemExit, RuntimeError) as error:
        lines = [Line(ALL[name], "", " ".join(str(error).replace("|", "/").split()), False)]
    print(f"\n{name}: {time.perf_counter() - began:.0f} s")
    return lines


def apart(name: str) -> list[Line]:
    """The same in a process of its own: what one benchmark leaves behind does not slow the next."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(measured, name).result()


def main(names: list[str]) -> None:
    """Run the named benchmarks, or all and write the results, anew after each of them."""
    found = {}
    began = time.perf_counter()
    loads = load_now()
    for name in names or ALL:
        found[name] = apart(name)
        report(ALL[name], found[name])
        loads += load_now()
        if not names:
            busy = (
                f", load average {min(loads):.1f} to {max(loads):.1f} with other work on the machine" if loads else ""
            )
            RESULTS.write_text(text(found, f"took {time.perf_counter() - began:.0f} s{busy}"))


def load_now() -> list[float]:
    """Load average of the last minute, where the system tells it."""
    return [os.getloadavg()[0]] if hasattr(os, "getloadavg") else []


if __name__ == "__main__":
    main(sys.argv[1:])
