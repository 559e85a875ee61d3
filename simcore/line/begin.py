"""Modes and states that a line begins in."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import Element, Graph
from simcore.line.laws import of_row, one
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def start_modes(g: Graph, elements: list[Element], rows: Floats, sense: Floats) -> Ints:
    """Of every element and then of every node's dry friction, (elements + nodes).

    ``rows`` (..., elements, N_ROW); ``sense`` (elements,): sign of running, 0 at rest.  Unlike if modes differ.
    """
    mode = np.zeros(len(elements) + len(g.nodes), dtype=np.int64)
    mode[len(elements) :] = ar.NO_ACCOUNT
    for i, e in enumerate(elements):
        if e.part.has("start_mode"):
            mode[i] = one(of_row(e.part, "start_mode", rows[..., i, :], float(sense[i])))
        if e.part.has("friction"):
            mode[len(elements) + e.a] = int(sense[i] * one(np.sign(e.ra)))
    return mode


def start_state(
    g: Graph,
    elements: list[Element],
    rows: Floats,
    tab: Floats,
    sense: Floats,
    states: int,
    speeds: Floats,
    resting: bool,
) -> Floats:
    """Angles, ``speeds`` (..., nodes) unless ``resting``, own states; heat, accounts and the work of the sources are 0.

    Shape (..., 2 nodes + states + elements + 3 protections + 1).
    """
    nn = len(g.nodes)
    protections = sum(e.part.kind.family == "protection" for e in elements)
    y = np.zeros((*speeds.shape[:-1], 2 * nn + states + len(elements) + 3 * protections + 1))
    if not resting:
        y[..., nn : 2 * nn] = speeds
    j = 2 * nn
    for i, e in enumerate(elements):
        own = len(e.part.kind.states)
        if e.part.has("start_state"):
            y[..., j : j + own] = of_row(e.part, "start_state", rows[..., i, :], float(sense[i]), tab)
        j += own
    return y
