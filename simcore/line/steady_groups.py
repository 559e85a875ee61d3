"""Which nodes run together in steady running, and the steps of the differences there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Graph

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def steady_table(g: Graph, elements: list[Element], rows: Floats, mode0: Ints, speeds: Floats, shake: Floats) -> Floats:
    """Group's first node, speed ratio to it, torque scale, angle step, speed step of every node."""
    nn = len(g.nodes)
    table = np.zeros((nn, 5))
    root = list(range(nn))
    ratio = np.ones(nn)
    order = [n for e in elements if e.part.kind.family == "drive" for n in (e.b,)]
    order += [n for n in range(1, nn) if n not in order]
    seen: set[int] = set()
    ties = [
        (e.a, e.b, e.ra, e.rb)
        for i, e in enumerate(elements)
        if GROUND not in (e.a, e.b) and e.part.kind.modes[mode0[i]].tie
    ]
    for start in order:
        if start in seen:
            continue
        stack = [start]
        seen.add(start)
        root[start] = start
        while stack:
            n = stack.pop()
            for a, b, ra, rb in ties:
                for here, there, f in ((a, b, ra / rb), (b, a, rb / ra)):
                    if here == n and there not in seen:
                        seen.add(there)
                        root[there], ratio[there] = start, ratio[n] * f
                        stack.append(there)
    top = max((abs(float(e.part.call("top_torque", rows[i]))) / max(abs(e.rb), 1e-30)
               for i, e in enumerate(elements) if e.part.has("top_torque")), default=1.0)  # fmt: skip
    fast = float(np.abs(speeds).max()) or 1.0
    for n in range(1, nn):
        own = abs(speeds[n]) or fast
        table[n, 0], table[n, 1] = root[n], ratio[n]
        table[n, 2] = top * fast / own
        stiff = shake[n] ** 2 * g.nodes[n].inertia
        table[n, 3] = 1e-6 * table[n, 2] / stiff if stiff > 0.0 else 1e-6
        table[n, 4] = 1e-6 * own
    return table
