"""Warning on a motor whose load stands still in star until the contactors change over."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simcore.line.caution import Caution
from simcore.line.graph import Element, load_station
from simcore.measures.cases import Case
from simcore.results.model import Run
from simcore.units import show

STAR = "in star"
"""Mode of a drive that waits for its full torque."""
STANDS = 0.01
"""Share of running speed up to which the load has not started."""


def stands_in_star(case: Case, run: Run) -> Iterator[Caution]:
    """Drives of a start in star, where nothing lets go before and the load has not come loose by its end."""
    for e in case.assembly.graph.elements:
        if case.situation.event != "start" or STAR not in (m.name for m in e.part.kind.modes):
            continue
        ends = next((v.time for v in run.events if v.who == e.name and v.old == STAR), None)
        if ends is None or run.measures["trigger"] <= ends or _moves(case, run, ends):
            continue
        delta = next((v.time for v in run.events if v.who == e.name and v.time > ends), ends)
        yield _told(e, run, delta)


def _moves(case: Case, run: Run, until: float) -> bool:
    """Whether the load has come to a speed before the instant ``until`` [s]."""
    place = case.assembly.graph.places[load_station(case.scenario)]
    usual = abs(float(case.assembly.free_speeds[place.node]))
    before = run.speed[(run.time >= 0.0) & (run.time <= until), place.node - 1]
    return not before.size or bool(np.max(np.abs(before)) > STANDS * usual)


def _told(e: Element, run: Run, delta: float) -> Caution:
    return Caution("stands in star", e.path,
                   f"'{e.name}' does not break the load loose in star in '{run.situation}': it stands for "
                   f"{show(delta, 'time')} and starts in delta, with all its torque at once")  # fmt: skip
