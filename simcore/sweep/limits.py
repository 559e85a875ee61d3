"""What each limit of the line sees in a sweep: largest peak over allowable, a measure of its own for every limit."""

from __future__ import annotations

from collections.abc import Sequence
from math import nan

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import Assembly
from simcore.line.graph import Element
from simcore.measures.cases import Case
from simcore.scenario.model import Scenario
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]


def limits(scenario: Scenario) -> dict[str, str]:
    """Allowable as written, by the limit's name, in the order of the line; limits of jams last."""
    stated = [(s.name, s.limit) for s in scenario.stations]
    stated += [(s.name, s.limit) for s in scenario.situations.values()]
    return {name: limit.allowable.text for name, limit in stated if limit is not None}


def limit_name(scenario: Scenario, candidate: str, element: Element) -> str:
    """Name of the limit at an element: a candidate's connection bears what its slot states."""
    if element.role != "candidate":
        return element.name
    slot = scenario.candidates[candidate].slot
    return slot or next(s.name for s in scenario.stations if s.is_slot)


def uses_of(scenario: Scenario, candidate: str, base: Assembly, made: Sequence[Case | None], meas: Floats
            ) -> dict[str, Floats]:  # fmt: skip
    """Largest peak over allowable (runs,) of every connection that has one, by the limit's name."""
    out = {}
    for i, e in enumerate(base.graph.elements):
        if e.limit is not None:
            stated = np.array([nan if c is None else _allowable(c, i) for c in made])
            out[limit_name(scenario, candidate, e)] = meas[:, i, ar.PEAK] / stated
    return out


def largest(uses: dict[str, Floats], runs: int) -> Floats:
    """Largest of all uses (runs,); 0 where no limit is stated."""
    out = np.zeros(runs)
    for use in uses.values():
        out = np.fmax(out, use)
    return out


def _allowable(case: Case, i: int) -> float:
    limit = case.assembly.graph.elements[i].limit
    return nan if limit is None else limit.allowable.si
