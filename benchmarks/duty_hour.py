"""An hour of the demo line with a slip every minute: L-stable steps as they come, explicit steps alone, and CVODE.

CVODE gets one quiet minute of the same line, compiled, disturbed at its start; the minute's end is checked first.
"""

from __future__ import annotations

import time
from dataclasses import replace
from typing import Any

import numpy as np

from benchmarks import hand_laws as hl
from benchmarks.common import Line, check, interleaved, report
from benchmarks.demo import SCENARIO, crash_case, from_contact
from benchmarks.hand_line import HandLine
from benchmarks.peers import Peer, Setup
from simcore.line.assemble import Assembly, lowest_mode
from simcore.measures.cases import make_case
from simcore.parts import hard_stop
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one

CYCLES = 60
SITUATION = """
[situations."a shift"]
event = "partial jam"
drag = "3000 N"
lasts = "0.3 s"
every = "60 s"
times = {cycles}
horizon = "{seconds} s"
"""
CANDIDATES = ("friction disc", "magnet disc")
FAR, DISTURBED = 1e9, 0.01
STOP = 4
"""Place of the stop among the modes of the hand-written laws."""


def shift(candidate: str, cycles: int) -> Assembly:
    """The demo with a slip every minute."""
    text = SCENARIO.read_text(encoding="utf-8").partition("# What `simcore sweep` varies")[0]
    text += SITUATION.format(cycles=cycles, seconds=60 * cycles)
    s = read_text(text)
    return make_case(s, s.candidates[candidate], s.situations["a shift"], lowest_mode(s), 1e-6).assembly


def timed(a: Assembly, stepper: float) -> tuple[float, Any]:
    """CPU seconds without a trace, and the outcome."""
    began = time.process_time()
    out = run_one(a.with_setup(stepper=stepper), trace=False)
    seconds = time.process_time() - began
    check(out.status == ar.Status.DONE, f"the hour ended with status {out.status}")
    check(out.meas[-1, ar.L_CYCLE_WORST] < 1e-6, "ledger of every cycle")
    return seconds, out


def heat(a: Assembly, out: Any) -> float:
    return float(out.meas[a.candidate, ar.HEAT_END] - out.meas[a.candidate, ar.HEAT_0])


def quiet_minute() -> tuple[Assembly, HandLine]:
    """The demo running on after a disturbance: kernel's and peer's, no stop in the way."""
    a = from_contact(crash_case("friction disc").assembly)
    e = next(i for i, x in enumerate(a.graph.elements) if x.role == "event")
    mem0, mode0 = a.mem0.copy(), a.mode0.copy()
    mem0[e, hard_stop.PLACE], mode0[e] = FAR, hard_stop.CLEAR
    y0 = a.y0.copy()
    y0[len(a.nodes) + 1 : 2 * len(a.nodes)] *= 1.0 + DISTURBED * np.arange(1, len(a.nodes))
    a = replace(a, mem0=mem0, mode0=mode0, y0=y0).with_setup(t_end=60.0, stepper=ar.AUTOMATIC)
    by_hand = HandLine.of(replace(a, mode0=np.where(np.arange(len(mode0)) == e, hard_stop.TOUCHING, mode0)))
    m0 = by_hand.m0.copy()
    m0[STOP] = hl.CLEAR
    return a, replace(by_hand, m0=m0)


def speed(a: Assembly) -> int:
    """Place of the motor's speed in the state."""
    return len(a.nodes) + 1


def measure(quick: bool = False) -> list[Line]:
    out = []
    cycles = 3 if quick else CYCLES
    for candidate in CANDIDATES[: 1 if quick else None]:
        a = shift(candidate, cycles)
        run_one(a.with_setup(t_end=0.1), trace=False)
        auto, mine = timed(a, ar.AUTOMATIC)
        explicit, pure = timed(a, ar.EXPLICIT_ONLY)
        check(abs(heat(a, mine) / heat(a, pure) - 1.0) < 1e-5, "heat of the hour, with and without long steps")
        i = a.candidate
        check(abs(mine.meas[i, ar.TRIGGER] - pure.meas[i, ar.TRIGGER]) < 1e-9, "trip, with and without long steps")
        name = f"{cycles} minutes with a slip each, {candidate}"
        out.append(Line(name, "<= 5 s", f"{auto:.2f} s", auto <= 5.0,
                        f"{int(mine.counts[ar.STEPS])} steps, {int(mine.counts[ar.EVENTS])} switches; "
                        f"largest ledger residual of a cycle {mine.meas[-1, ar.L_CYCLE_WORST]:.0e}"))  # fmt: skip
        out.append(Line(f"{name}, explicit steps alone", "", f"{explicit / auto:.0f} times as long", None,
                        f"{int(pure.counts[ar.STEPS])} steps"))  # fmt: skip
    out.append(against_cvode())
    return out


def against_cvode() -> Line:
    """One quiet minute."""
    a, line = quiet_minute()
    setup = Setup("cvode", "BDF", 1e-6)
    peer = Peer(line, setup)
    times = interleaved({"kernel": lambda: run_one(a, trace=False), "cvode": peer.run}, 3)
    end = run_one(a, trace=False).y[speed(a)]
    tight = run_one(a.with_setup(stepper=ar.EXPLICIT_ONLY, most_steps=1e7), trace=False).y[speed(a)]
    check(abs(end / tight - 1.0) < 1e-7, "speed after the minute")
    ratio = times["cvode"].cpu / times["kernel"].cpu
    return Line("a quiet minute of the demo, CVODE (BDF) over the kernel", "", f"{ratio:.0f} times as long", None,
                f"kernel {1e3 * times['kernel'].cpu:.2f} ms; CVODE at the same tolerance, compiled slopes, no switch "
                "on the way")  # fmt: skip


if __name__ == "__main__":
    report("An hour of duty cycles", measure())
