"""What each limit of the line sees in a sweep: largest peak over allowable, a measure of its own for every limit."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import Assembly
from simcore.line.graph import Element
from simcore.line.laws import Num
from simcore.scenario.model import Candidate, Scenario
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
    return scenario.slot_of(scenario.candidates[candidate]).name


def limit_path(scenario: Scenario, candidate: Candidate | None, element: Element) -> str:
    """Path of what states the limit at an element: a station, or the situation whose jam it is."""
    name = element.name if candidate is None else limit_name(scenario, candidate.name, element)
    if name in scenario.situations:
        return scenario.situations[name].path
    return scenario.station(name).path


def uses_of(scenario: Scenario, candidate: str, base: Assembly, allowable: Mapping[int, Num], meas: Floats
            ) -> dict[str, Floats]:  # fmt: skip
    """Largest peak over allowable (runs,) of every connection that has one, by the limit's name."""
    elements = base.graph.elements
    return {limit_name(scenario, candidate, elements[i]): meas[:, i, ar.PEAK] / a for i, a in allowable.items()}


def largest(uses: dict[str, Floats], runs: int) -> Floats:
    """Largest of all uses (runs,); 0 where no limit is stated."""
    out = np.zeros(runs)
    for use in uses.values():
        out = np.fmax(out, use)
    return out
