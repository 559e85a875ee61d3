"""The demo line in steady running, ready to crash: what every benchmark of a crash starts from."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from simcore.api import read
from simcore.contract import COL_RA
from simcore.line.assemble import Assembly, lowest_mode
from simcore.measures.cases import Case, make_case
from simcore.parts import hard_stop
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one

SCENARIO = Path(__file__).parent.parent / "scenarios" / "bakery_tray_conveyor.toml"
CRASH = "tray jams"


def crash_case(candidate: str, rtol: float = 1e-6, situation: str = CRASH) -> Case:
    """One candidate of the demo in one situation."""
    scenario = read(SCENARIO)
    w1 = lowest_mode(scenario)
    return make_case(scenario, scenario.candidates[candidate], scenario.situations[situation], w1, rtol)


def from_contact(a: Assembly) -> Assembly:
    """The same crash from the contact (t = 0) on, steady before it, by explicit steps alone as the peers."""
    out = run_one(a)
    first = int(np.searchsorted(out.trace[:, 0], 0.0, side="right")) - 1
    while first > 0 and out.trace[first - 1, 0] == out.trace[first, 0]:
        first -= 1
    row = out.trace[first]
    assert row[0] == 0.0
    ny, count = len(a.y0), len(a.parts)
    y0 = row[1 : 1 + ny].copy()
    y0[2 * len(a.nodes) + a.states :] = 0.0
    mode0 = row[1 + ny + 2 * count :].astype(np.int64)
    e = next(i for i, x in enumerate(a.graph.elements) if x.role == "event")
    mem0 = a.mem0.copy()
    mem0[e, hard_stop.PLACE] = a.rows[e, COL_RA] * y0[a.parts[e, ar.ANGLE_A]]
    mem0[e, hard_stop.SENSE] = 1.0
    mode0[e] = hard_stop.TOUCHING
    return replace(a, y0=y0, mode0=mode0, mem0=mem0).with_setup(t0=0.0, steady=0.0, stepper=ar.EXPLICIT_ONLY)


def protected_peak(a: Assembly, meas: Any, name: str = "head shaft") -> float:
    return float(meas[a.index(name), ar.PEAK])


def trip(a: Assembly, meas: Any) -> float:
    i = a.candidate
    assert i is not None
    return float(meas[i, ar.TRIGGER])
