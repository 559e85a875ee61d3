"""Warning on a horizon that ends while a torque still rises to its peak."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

import numpy as np

from simcore.line.caution import Caution
from simcore.line.effort_words import effort_words
from simcore.measures.cases import Case
from simcore.results.model import Run

NEAR = 0.999
"""Share of the peak that stands at the end."""
LATE, RISES = 0.95, 0.02
"""Share of the time watched, since which it has risen by this share of all that it has varied."""


def margin_still_rises(case: Case, run: Run) -> Iterator[Caution]:
    """Of one candidate that holds in service: what the situation asks of it comes out too small."""
    if case.candidate is not None and case.situation.expect != "let go" and isnan(run.measures["trigger"]):
        yield from _told(case, run, run.candidate, "its margin comes out too large")


def reference_still_rises(case: Case, run: Run) -> Iterator[Caution]:
    """Of the bare line in a crash: what the candidates are compared with comes out too small."""
    if case.candidate is None and case.situation.expect == "let go" and case.protected >= 0:
        yield from _told(case, run, case.scenario.protect, "the bare line's peak comes out too small")


def _told(case: Case, run: Run, name: str, so: str) -> Iterator[Caution]:
    torque = still_rising(run, name)
    if isnan(torque) or run.time[-1] < case.situation.horizon:  # a start ends when the load runs
        return
    say = effort_words(case.scenario, case.assembly.graph.elements[case.assembly.index(name)].domain)
    yield Caution(
        "horizon too short", f"{case.situation.path}.horizon",
        f"'{case.situation.name}' ends while the torque of '{name}' still rises, at {say(torque)}: {so}",
    )  # fmt: skip


def still_rising(run: Run, name: str) -> float:
    """What the connection ``name`` carries at the end of the run, if it still rises to its peak there; else NaN."""
    after = run.time >= 0.0
    time, torque = run.time[after], np.abs(run.torque[after, run.index(name)])
    last, most = float(torque[-1]), float(np.max(torque))
    gained = last - float(np.interp(LATE * time[-1], time, torque))
    rises = last >= NEAR * most and gained > RISES * (most - float(np.min(torque)))
    return last if rises else float("nan")
