"""What loads ask for, from their own functions: running, at break-away, and as a pull that is there at rest.

A line that starts from rest under such a pull begins held: a closed brake or a backstop carries the weight, and the
springs between it and the load are wound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcore.contract import ENGAGED, N_MEMORY, WIRES, Q
from simcore.line.graph import GROUND, Element

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ON = {"command": 1.0, "permit": 1.0}
"""Wires of a running line that are not zero."""
REST = {"permit": 1.0}
"""Wires before a start."""


@dataclass(frozen=True, slots=True)
class Demand:
    """Of one load at its own shaft, against the sense of running [N*m or N]."""

    running: float
    breakaway: float
    weight: float


def demand(e: Element, row: Floats, tab: Floats, speed: float) -> Demand:
    """What the load ``e`` asks for at the ``speed`` of its own shaft, in the state it begins in."""
    sense = 1.0 if speed >= 0.0 else -1.0
    weight, hold = _against(e, row, tab, 0.0 * sense, sense, REST)
    running = sum(_against(e, row, tab, speed, sense, ON))
    breakaway = weight + hold
    if "asked" in e.part.kind.row:
        running = float(row[e.part.kind.column("asked")])
    if "breakaway" in e.part.kind.row:
        breakaway = float(row[e.part.kind.column("breakaway")])
    return Demand(running, breakaway, weight)


def _against(
    e: Element, row: Floats, tab: Floats, speed: float, sense: float, wires: dict[str, float]
) -> tuple[float, float]:
    """Smooth torque and dry friction against turning in ``sense``, at ``speed``."""
    q = _begin(e, row, tab, speed, wires)
    torque = float(e.part.call("torque", q)) if e.part.has("torque") else 0.0
    if not e.part.has("friction"):
        return sense * torque, 0.0
    hold_b, hold_f, run_b, run_f = e.part.call("friction", q, torque)
    backward, forward = (run_b, run_f) if speed else (hold_b, hold_f)
    return sense * torque, float(forward if sense > 0.0 else backward)


def _begin(e: Element, row: Floats, tab: Floats, speed: float, wires: dict[str, float]) -> Q:
    kind = e.part.kind
    sign = float(np.sign(speed)) if speed else speed  # the sign of zero tells the sense of a start
    mode = e.part.call("start_mode", row, sign) if e.part.has("start_mode") else 0
    x = e.part.call("start_state", row, sign, tab) if e.part.has("start_state") else ()
    read = tuple(wires.get(w, 0.0) for w in kind.reads) + (0.0,) * len(WIRES)
    return Q(mode, 0.0, 0.0, speed, 0.0, speed, 0.0, 0.0, x, (0.0,) * N_MEMORY, read, row, tab)


def weights(elements: list[Element], rows: Floats, tab: Floats, own: Floats) -> dict[int, float]:
    """Pull at rest of every load that has one, against the sense of running, by its place in ``elements``."""
    out = {}
    for i, e in enumerate(elements):
        if e.part.kind.family == "load" and e.role == "line":
            w = demand(e, rows[i], tab, float(own[i])).weight
            if w != 0.0:
                out[i] = w
    return out


def holders(elements: list[Element], rows: Floats, tab: Floats, own: Floats, falls_back: bool) -> dict[int, int]:
    """What holds a weight at rest, by its place in ``elements``, and the mode it does so in.

    Brakes that are closed without command; backstops that block the sense in which the weight pulls: backward with
    ``falls_back``, else forward.
    """
    out = {}
    for i, e in enumerate(elements):
        kind = e.part.kind
        if e.role != "line" or e.a == GROUND or e.b != GROUND:
            continue
        if kind.family == "overrunning clutch":
            mode = int(e.part.call("start_mode", rows[i], float(np.sign(own[i])) * (-1.0 if falls_back else 1.0)))
            if kind.modes[mode].tie and kind.modes[mode].klass == ENGAGED:
                out[i] = mode
        elif "command" in kind.reads and e.part.has("friction"):
            q = _begin(e, rows[i], tab, 0.0, REST)
            if min(e.part.call("friction", q, 0.0)[:2]) > 0.0:
                out[i] = q.m
    return out


def held(elements: list[Element], rows: Floats, tab: Floats, own: Floats) -> dict[int, int]:
    """Holders of a line with weights, modes by place; empty where there is no weight or one that nothing holds.

    A closed brake comes before a backstop: the line was stopped by it, and the backstop never took load.
    """
    pulls = weights(elements, rows, tab, own)
    power = sum(w * abs(own[i]) for i, w in pulls.items())
    if power == 0.0:
        return {}
    found = holders(elements, rows, tab, own, power > 0.0)
    brakes = {i: m for i, m in found.items() if elements[i].part.has("friction")}
    for some in (brakes, found):
        within = _tied(elements, {elements[i].a for i in some})
        if all(elements[i].a in within for i in pulls):
            return some
    return {}


def _tied(elements: list[Element], nodes: set[int]) -> set[int]:
    """Nodes that are joined to ``nodes`` by parts that can carry torque at standstill."""
    out = set(nodes)
    while True:
        more = {n for e in elements if _carries(e) for n in (e.a, e.b) if {e.a, e.b} & out} - out
        if not more:
            return out
        out |= more


def _carries(e: Element) -> bool:
    return GROUND not in (e.a, e.b) and any(m.tie and m.klass == ENGAGED for m in e.part.kind.modes)


def rest_table(steady: Floats, elements: list[Element], found: dict[int, int]) -> Floats:
    """Table for the solver of steady running that leaves all speeds at zero: only angles are looked for.

    Every node belongs to the ground with the ratio 0; a node that a brake holds has the torque scale 0.  Rows of own
    states stay.
    """
    table = steady.copy()
    nodes = 1 + max(max(e.a, e.b) for e in elements)
    table[..., 1:nodes, 0:2] = 0.0
    for i in found:
        if elements[i].part.has("friction"):
            table[..., elements[i].a, 2] = 0.0
    return table
