"""Every shipped machine, every candidate in its main crash: milliseconds a run, and CVODE on the same line.

The kernel runs at its default tolerance, tightened by decades where that is not accurate enough; CVODE at the loosest
of a ladder of decades at which the trip lies within 1e-7 s and the protected part's peak within 1e-5 of the truth, as
the kernel's must.  The truth is the kernel's answer at 1e-10, kept
only where CVODE at 1e-9 finds the same within a tenth of those bounds; where it does not, no ratio is given.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from math import isnan, nan
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.common import Line, check, interleaved, report
from benchmarks.machine_peer import MachinePeer, StuckError
from benchmarks.machine_pieces import Pieces, pieces
from simcore.api import read
from simcore.line.assemble import lowest_mode
from simcore.measures.cases import Case, make_case
from simcore.scenario.model import Scenario
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many

FOLDER = Path(__file__).parent.parent / "scenarios"
TRIP, PEAK, CLOSED = 1e-7, 1e-5, 1e-5
LADDER = tuple(10.0**-d for d in range(3, 9))
METHODS = ("Adams", "BDF")
EXACT, EXACT_PEER = 1e-10, 1e-9
OWN = (1e-6, 1e-7, 1e-8)
MARK = 10.0


@dataclass(frozen=True)
class Answer:
    """Trip [s], nan without one, and peak [N*m] at the protected part."""

    trip: float
    peak: float

    def near(self, other: Answer, share: float = 1.0) -> bool:
        """Whether both agree within ``share`` of the bounds."""
        if isnan(self.trip) != isnan(other.trip):
            return False
        together = isnan(self.trip) or abs(self.trip - other.trip) < share * TRIP
        return together and abs(self.peak / other.peak - 1.0) < share * PEAK


@dataclass(frozen=True)
class Trial:
    """One candidate of one machine in its main crash."""

    machine: str
    candidate: str
    scenario: Scenario
    w1: float

    @property
    def name(self) -> str:
        return f"{self.machine}, {self.candidate}"

    def case(self, rtol: float = 1e-6) -> Case:
        s = self.scenario
        return make_case(s, s.candidates[self.candidate], crash_of(s), self.w1, rtol)


def crash_of(s: Scenario) -> Any:
    """The first situation in which the protection is to let go."""
    return next(x for x in s.situations.values() if x.expect == "let go")


def trials(quick: bool) -> list[Trial]:
    out = []
    for path in sorted(FOLDER.glob("*.toml"))[: 1 if quick else None]:
        s = read(path)
        w1 = lowest_mode(s)
        out += [Trial(path.stem.replace("_", " "), n, s, w1) for n in list(s.candidates)[: 1 if quick else None]]
    return out


def answer(case: Case, meas: Any) -> Answer:
    i = case.assembly.candidate
    assert i is not None
    return Answer(float(meas[i, ar.TRIGGER]), float(meas[case.protected, ar.PEAK]))


def by_kernel(case: Case) -> tuple[Answer, Any, float]:
    """Answer, counters and open share of the ledger."""
    meas, counts, status = run_many(case.assembly, case.assembly.rows[None])
    check(status[0] <= ar.Status.STOPPED, f"{case.situation.name}: status {status[0]}")
    return answer(case, meas[0]), counts[0], abs(float(meas[0, -1, ar.L_RESIDUAL] / meas[0, -1, ar.L_TURNED]))


@cache
def compiled(quick: bool) -> Pieces:
    """The pieces for the kinds of all machines."""
    elements = [e for t in trials(quick) for e in t.case().assembly.graph.elements]
    return pieces(list({e.part.kind.name: e.part for e in elements}.values()))


@contextmanager
def hushed() -> Iterator[None]:
    """CVODE writes a warning for every guard that begins at zero; they do not reach the terminal."""
    sys.stdout.flush()
    sys.stderr.flush()
    kept = {fd: os.dup(fd) for fd in (1, 2)}
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for fd in kept:
        os.dup2(nowhere, fd)
    try:
        yield
    finally:
        for fd, own in kept.items():
            os.dup2(own, fd)
            os.close(own)
        os.close(nowhere)


def found(case: Case, do: Pieces, method: str, tolerance: float) -> Answer | str:
    """What CVODE gets, or why nothing."""
    try:
        return answer(case, MachinePeer(case.assembly, do, method, tolerance).run().meas)
    except StuckError as error:
        return str(error)


def accurate(case: Case, do: Pieces, truth: Answer, method: str, tolerance: float) -> bool:
    got = found(case, do, method, tolerance)
    return isinstance(got, Answer) and got.near(truth)


def loosest(case: Case, do: Pieces, truth: Answer, method: str, ladder: tuple[float, ...]) -> float:
    """The loosest tolerance that is accurate enough and stays so one decade further; nan if there is none."""
    fine: list[bool] = []
    for tolerance in ladder:
        fine.append(accurate(case, do, truth, method, tolerance))
        if fine[-2:] == [True, True]:
            return 10.0 * tolerance
    return nan


def doubt(case: Case, do: Pieces, truth: Answer) -> str:
    """Why CVODE and the kernel, both tight, do not confirm each other; empty if they do."""
    why = ""
    for method in METHODS:
        x = found(case, do, method, EXACT_PEER)
        if isinstance(x, str):
            why = why or f"CVODE at {EXACT_PEER:.0e} {x}"
        elif x.near(truth, 0.1):
            return ""
        else:
            why = (f"CVODE at {EXACT_PEER:.0e} and the kernel at {EXACT:.0e} differ by {x.trip - truth.trip:.0e} s and "
                   f"{x.peak / truth.peak - 1.0:.0e} of the peak")  # fmt: skip
    return why


def peers(t: Trial, do: Pieces) -> tuple[Answer, list[MachinePeer], str]:
    """The truth, CVODE's setups that find it (the second method within a decade of the first), and why none."""
    case = t.case()
    truth = by_kernel(t.case(EXACT))[0]
    why = doubt(case, do, truth)
    if why:
        return truth, [], why
    first = loosest(case, do, truth, METHODS[0], LADDER)
    if isnan(first):
        return truth, [], f"CVODE is not accurate down to {LADDER[-1]:.0e}"
    second = loosest(case, do, truth, METHODS[1], (10.0 * first, first, 0.1 * first, 0.01 * first))
    pairs = [(m, x) for m, x in zip(METHODS, (first, second), strict=True) if not isnan(x)]
    return truth, [MachinePeer(case.assembly, do, m, x) for m, x in pairs], ""


def own_tolerance(t: Trial, truth: Answer | None) -> tuple[float, Case]:
    """The kernel's default tolerance, tightened by decades until its answer is accurate too."""
    for rtol in OWN:
        case = t.case(rtol)
        if truth is None or by_kernel(case)[0].near(truth):
            return rtol, case
    check(False, f"{t.name}: the kernel at {OWN[-1]:.0e} is not near {truth}")
    raise AssertionError


def timed(t: Trial, do: Pieces, quick: bool) -> tuple[Line, float]:
    """One row of the table, and how many times faster, handing over taken off; nan without a peer."""
    truth, setups, why = peers(t, do)
    rtol, case = own_tolerance(t, truth if setups else None)
    a = case.assembly
    _, counts, left = by_kernel(case)
    check(left < CLOSED, f"{t.name}: ledger open by {left:.1e}")
    kernel = {"kernel": lambda: run_many(a, a.rows[None])}
    rounds = 2 if quick else 5
    try:
        times = interleaved({**kernel, **{str(p): p.run for p in setups}}, rounds)
    except StuckError as error:
        setups, why, times = [], f"CVODE {error} when timed", interleaved(kernel, rounds)
    own = times["kernel"].cpu
    text = f"{own * 1e3:.2f} ms{'' if rtol == OWN[0] else f' at {rtol:.0e}'}; "
    text += f"{counts[ar.EVENTS]} events, {counts[ar.STEPS]} steps, ledger {left:.0e}; "
    if not setups:
        return Line(t.name, "", text + "CVODE -", note=why), nan
    peer = min(setups, key=lambda p: times[str(p)].cpu)
    theirs = times[str(peer)].cpu
    bare = theirs - peer.run().calls * peer.handing_over()
    text += f"CVODE {theirs * 1e3:.1f} ms ({peer}), {bare * 1e3:.1f} without handing arrays over: "
    text += f"{theirs / own:.0f}, {bare / own:.1f} times"
    return Line(t.name, "", text), bare / own


def measure(quick: bool = False) -> list[Line]:
    lines, ratios = [], []
    do = compiled(quick)
    with hushed():
        for t in trials(quick):
            line, ratio = timed(t, do, quick)
            lines.append(line)
            ratios.append(ratio)
    known = [r for r in ratios if not isnan(r)]
    low, middle = (min(known), float(np.median(known))) if known else (nan, nan)
    head = Line("main crash of every shipped machine: times as fast as the better CVODE, least and median",
                f"median >= {MARK:.0f}", f"{low:.1f} and {middle:.1f}, {len(known)} of {len(lines)} cases compared",
                None if quick else middle >= MARK,
                "kernel at its default tolerance or as stated, a single row, its arrays made anew; CVODE at its loosest"
                " accurate tolerance with everything compiled; what it takes to hand the arrays over from Python, call "
                "by call, is taken off its time")  # fmt: skip
    return [head, *lines]


if __name__ == "__main__":
    report("Every shipped machine", measure())
