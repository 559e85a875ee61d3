"""One crash of the demo line (friction disc, tray jams, 0.5 s) against three peers at equal accuracy.

Every contender takes the loosest tolerance of a ladder of decades at which the trip lies within 1e-7 s and
the head shaft's peak within 1e-5 of a solution at 1e-12.  All solve from the same steady state, with the same
switches, ledger quadratures and peaks between steps.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np

from benchmarks import hand_laws as hl
from benchmarks import hand_measures as hm
from benchmarks.common import Line, Times, check, interleaved, report
from benchmarks.demo import crash_case, from_contact, protected_peak, trip
from benchmarks.hand_line import HandLine
from benchmarks.peers import Peer, Setup
from simcore.line.assemble import Assembly
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many, run_one

HEAD = 3
TRIP, PEAK = 1e-7, 1e-5
LADDER = tuple(10.0**-d for d in range(2, 11))
SCIPY = ("RK45", "DOP853", "LSODA", "Radau", "BDF")
CVODE = ("Adams", "BDF")


@dataclass(frozen=True)
class Truth:
    """Trip [s] and peak [N*m] of the solution at 1e-12."""

    trip: float
    peak: float

    def accepts(self, trip: float, peak: float) -> bool:
        return abs(trip - self.trip) < TRIP and abs(peak / self.peak - 1.0) < PEAK


def truth(line: HandLine) -> Truth:
    """Eighth-order Runge-Kutta at 1e-12, checked by the general kernel at 1e-12."""
    out = Peer(line, Setup("scipy", "DOP853", 1e-12)).run()
    t = Truth(float(out[hm.TRIGGER]), float(out[HEAD]))
    a = assembly(1e-12)
    fine = run_one(a, trace=False)
    check(abs(trip(a, fine.meas) - t.trip) < 1e-10, "trip of kernel and DOP853, both at 1e-12")
    check(abs(protected_peak(a, fine.meas) / t.peak - 1.0) < 1e-8, "peak of kernel and DOP853, both at 1e-12")
    return t


def assembly(tolerance: float) -> Assembly:
    return from_contact(crash_case("friction disc", tolerance).assembly)


def loosest_kernel(t: Truth) -> float:
    """The loosest tolerance that is accurate enough and stays so one decade further."""
    fine: list[bool] = []
    for tolerance in LADDER:
        a = assembly(tolerance)
        meas, _, status = run_many(a, a.rows[None])
        fine.append(status[0] == ar.Status.DONE and t.accepts(trip(a, meas[0]), protected_peak(a, meas[0])))
        if fine[-2:] == [True, True]:
            return 10.0 * tolerance
    raise SystemExit("WRONG ANSWER: the kernel at no tolerance")


def loosest_peer(t: Truth, line: HandLine, library: str, method: str, dense: bool = False) -> Setup | None:
    """The loosest setup of a method that is accurate enough and stays so one decade further."""
    fine: list[bool] = []
    for tolerance in LADDER[:7]:
        setup = Setup(library, method, tolerance, dense)
        try:
            out = Peer(line, setup).run()
            fine.append(t.accepts(out[hm.TRIGGER], out[HEAD]))
        except RuntimeError:
            fine.append(False)
        if fine[-2:] == [True, True]:
            return Setup(library, method, 10.0 * tolerance, dense)
    return None


def setups(t: Truth, line: HandLine, library: str, methods: tuple[str, ...]) -> list[Setup]:
    found = [loosest_peer(t, line, library, m, d) for m in methods for d in variants(library, m)]
    out = [s for s in found if s is not None]
    check(bool(out), f"{library}: no method is accurate enough")
    return out


def variants(library: str, method: str) -> tuple[bool, ...]:
    return (False, True) if library == "scipy" and method in ("RK45", "DOP853") else (False,)


def same_answers(line: HandLine, a: Assembly) -> None:
    """The hand-written solver and the kernel at the default tolerance agree in everything measured."""
    out, counts = line.run()
    meas, kernel_counts, _ = run_many(a, a.rows[None])
    check(bool(np.allclose(out[0, : hl.NT], meas[0, : hl.NT, ar.PEAK], rtol=1e-9)), "peaks, hand and kernel")
    i = a.candidate
    for mine, theirs in ((hm.TRIGGER, ar.TRIGGER), (hm.IMPULSE_0, ar.IMP_TRIGGER), (hm.STAND, ar.STAND),
                         (hm.ENERGY_1, ar.EN_STAND), (hm.SLIP_MAX, ar.X_MAX)):  # fmt: skip
        check(bool(np.isclose(out[0, mine], meas[0, i, theirs], rtol=1e-6)), "disc's measures, hand and kernel")
    check(abs(counts[0, 0] / kernel_counts[0, 0] - 1.0) < 0.02, "number of steps, hand and kernel")
    check(abs(out[0, hm.RESIDUAL] / (out[0, hm.E0] + out[0, hm.W1] - out[0, hm.W0])) < 1e-6, "ledger by hand")
    check(abs(meas[0, -1, ar.L_RESIDUAL] / meas[0, -1, ar.L_TURNED]) < 1e-6, "ledger of the kernel")


def compiled_plainly() -> Any:
    """A second copy of the hand-written solver, compiled with numba's usual options."""
    package = sys.modules["benchmarks"]
    names = ["hand_laws", "hand_step", "hand_measures", "hand_kernel", "hand_line"]
    kept = {n: sys.modules.pop(f"benchmarks.{n}") for n in names}
    for n in names:
        delattr(package, n)
    os.environ["SIMCORE_BENCH_PLAIN"] = "1"
    try:
        second = import_module("benchmarks.hand_line")
        check(second.hl.PLAINLY and not hl.PLAINLY, "two ways of compiling")
        return second.HandLine
    finally:
        del os.environ["SIMCORE_BENCH_PLAIN"]
        for n, module in kept.items():
            sys.modules[f"benchmarks.{n}"] = module
            setattr(package, n, module)


def many(n: int, a: Assembly) -> Callable[[], Any]:
    rows = np.repeat(a.rows[None], n, 0)
    return lambda: run_many(a, rows)


def many_by_hand(n: int, line: HandLine) -> Callable[[], Any]:
    params = np.repeat(line.params[None], n, 0)
    return lambda: line.run(params)


def measure(quick: bool = False) -> list[Line]:
    """Verify, find the tolerances, time, and give the lines of the table."""
    a = assembly(1e-6)
    line = HandLine.of(a)
    t = truth(line)
    same_answers(line, a)
    scipy_setups = setups(t, line, "scipy", ("LSODA",) if quick else SCIPY)
    cvode_setups = setups(t, line, "cvode", ("BDF",) if quick else CVODE)
    batch = 20 if quick else 50
    rounds = 3 if quick else 25
    own = assembly(loosest_kernel(t))
    plain = None if quick else compiled_plainly().of(a)
    contenders = {s: Peer(line, s).run for s in [*scipy_setups, *cvode_setups]}
    first = interleaved({str(s.library) + " " + str(s): run for s, run in contenders.items()}, 3 if quick else 9, 0.0)
    best = {lib: min((s for s in contenders if s.library == lib), key=lambda s: first[f"{s.library} {s}"].cpu)
            for lib in ("scipy", "cvode")}  # fmt: skip
    more = {} if plain is None else {"hand, plainly": many_by_hand(batch, plain)}
    times = interleaved(
        {
            **more,
            "kernel": many(batch, a), "hand": many_by_hand(batch, line), "kernel, loosest": many(batch, own),
            "kernel, one row": many(1, a), "kernel, trace": lambda: run_one(a),
            "scipy": contenders[best["scipy"]], "cvode": contenders[best["cvode"]],
        }, rounds,
    )  # fmt: skip
    return table(times, batch, best, first, own, a)


def table(
    times: dict[str, Times], batch: int, best: dict[str, Setup], first: dict[str, Times], own: Assembly, a: Assembly
) -> list[Line]:
    loose = 1e-6 * float(a.scale[0, 1] / own.scale[0, 1])
    kernel = times["kernel"].cpu / batch
    fast = times["kernel, loosest"].cpu / batch
    hand = times["hand"].cpu / batch
    calls = int(run_many(a, a.rows[None])[1][0, ar.CALLS])
    others = ", ".join(f"{n} {v.cpu * 1e3:.1f} ms" for n, v in first.items())
    ms = 1e3
    return [
        Line("one crash in a batch, default tolerance 1e-6", "", f"{kernel * ms:.3f} ms",
             note=f"{calls} evaluations of the line; wall {times['kernel'].wall / batch * ms:.3f} ms"),
        Line(f"the same at its own loosest tolerance, {loose:.0e}", "", f"{fast * ms:.3f} ms"),
        Line("one crash as a single row (arrays made anew)", "", f"{times['kernel, one row'].cpu * ms:.3f} ms"),
        Line("one crash with its whole trace", "", f"{times['kernel, trace'].cpu * ms:.3f} ms"),
        *ratio_lines("solve_ivp", best["scipy"], times["scipy"].cpu, fast, kernel, 40.0, others),
        *ratio_lines("CVODE", best["cvode"], times["cvode"].cpu, fast, kernel, 10.0, ""),
        Line("kernel / solver written by hand for this line", "<= 1.2", f"{kernel / hand:.2f}", kernel / hand <= 1.2,
             f"by hand {hand * ms:.3f} ms; steps within 2 %, peaks within 1e-9, both at 1e-6; all of it "
             "compiled into one function with constant sizes and no reference counting"),
        *plain_line(times, kernel, batch),
    ]  # fmt: skip


def plain_line(times: dict[str, Times], kernel: float, batch: int) -> list[Line]:
    if "hand, plainly" not in times:
        return []
    hand = times["hand, plainly"].cpu / batch
    return [Line("kernel / the same solver by hand, compiled with numba's usual options", "", f"{kernel / hand:.2f}",
                 note=f"by hand {hand * 1e3:.3f} ms")]  # fmt: skip


def ratio_lines(name: str, s: Setup, peer: float, fast: float, kernel: float, mark: float, others: str) -> list[Line]:
    """Both readings of equal accuracy: the kernel loosened as its peer is, and as it runs by default."""
    note = f"{peer * 1e3:.1f} ms by {s}" + (f"; all tried: {others}" if others else "")
    return [
        Line(f"faster than the best {name}, both at their loosest accurate tolerance", f">= {mark:.0f}",
             f"{peer / fast:.0f} times", peer / fast >= mark, note),
        Line(f"faster than the same {name}, kernel at its default tolerance", f">= {mark:.0f}",
             f"{peer / kernel:.0f} times", peer / kernel >= mark, "the kernel is then far more accurate than asked"),
    ]  # fmt: skip


if __name__ == "__main__":
    report("One crash of the demo line", measure())
