"""Warning on detents that drop in by themselves while their line still turns fast, or is driven on."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan, nan, tau

import numpy as np

from simcore.line.caution import Caution
from simcore.line.graph import Element
from simcore.measures.aftermath import driven
from simcore.measures.cases import Case
from simcore.results.model import Run
from simcore.units import show

COLUMNS = ("ratchets", "seat_speed", "pocket", "crest")


def dropped_in_at_speed(case: Case, run: Run) -> Iterator[Caution]:
    """Of one detent that seats by itself, in one situation."""
    i = case.assembly.candidate
    if case.candidate is None or i is None or isnan(run.measures["lets_go"]):
        return
    e = case.assembly.graph.elements[i]
    if not set(COLUMNS) <= set(e.part.kind.row):
        return
    ratchets, limit, pocket, crest = (float(case.assembly.rows[i, e.part.kind.column(c)]) for c in COLUMNS)
    if ratchets < 0.5:
        return
    gone = run.measures["lets_go"]
    way = np.abs(run.twist - np.interp(gone, run.time, run.twist)) + crest
    one, two = pocket_ways(e, pocket, bool(np.interp(gone, run.time, run.slip) >= 0.0))
    first, second = (_passed(run, way, gone, w) for w in (one, two))
    who = f"'{run.candidate}' in '{run.situation}'"
    speed = abs(float(np.interp(first, run.time, run.slip)))
    if speed > limit:
        met, below = (show(v, "speed", "rpm") for v in (speed, limit))
        yield Caution("dropped in at speed", case.candidate.item.path,
                      f"{who} meets its first pocket after about {show(first, 'time')} at a slip speed of {met}; it "
                      f"drops in below {below} only, so its elements hammer from pocket to pocket")  # fmt: skip
    elif driven(case, run, second):
        yield Caution("dropped in at speed", case.candidate.item.path,
                      f"{who} has dropped in and let go again, and two pockets on, after about {show(second, 'time')}, "
                      "the motor still drives: every pocket is a blow until it is stopped")  # fmt: skip


def pocket_ways(e: Element, pocket: float, forward: bool) -> tuple[float, float]:
    """Relative angle [rad] from the pocket it leaves to the next and the second next."""
    listed = e.lists.get("pockets")
    if not listed:
        return pocket, 2.0 * pocket
    steps = [(a - listed[0]) % tau or tau for a in listed]
    turned = sorted(s if forward or s == tau else tau - s for s in steps)
    return turned[0], (turned[1] if len(turned) > 1 else 2.0 * tau)


def _passed(run: Run, way: np.ndarray[tuple[int, ...], np.dtype[np.float64]], gone: float, far: float) -> float:
    """First instant [s] at which it has run ``far`` past its pocket; NaN if it does not."""
    past = run.time[(way >= far) & (run.time >= gone)]
    return float(past[0]) if past.size else nan
