"""Which nodes run together in steady running, and the steps of the differences there."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Graph
from simcore.line.laws import over
from simcore.line.weights import fastest

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def steady_table(
    g: Graph, elements: list[Element], rows: Floats, tab: Floats, mode0: Ints, speeds: Floats, shake: Floats
) -> Floats:
    """Group's first node, speed ratio to it, torque scale, angle step, speed step of every node: (..., 2, rows, 5).

    After the nodes a row for every own state that is solved too: place in the state vector, 0, size, 0, step.  The
    first table is that of the modes to begin in; in the second the line is cut at a candidate that may slide.
    """
    slides = next((e for e in elements if _may_slide(e)), None)
    cuts = [None] if slides is None else [None, slides]
    groups = [_groups(len(g.nodes), elements, mode0, cut) for cut in cuts]
    tables = [_table(g, elements, rows, tab, speeds, shake, root, ratio) for root, ratio in groups]
    return np.stack([tables[0], tables[-1]], axis=-3)


def _may_slide(e: Element) -> bool:
    return e.part.kind.slides and GROUND not in (e.a, e.b)


def _groups(nn: int, elements: list[Element], mode0: Ints, cut: Element | None) -> tuple[list[int], list[Any]]:
    """First node of every node's group, and the speed ratio to it; groups beside the ``cut`` begin at its hubs, which
    then keep the twist at which it slides."""
    root = list(range(nn))
    ratio: list[Any] = [1.0] * nn
    order = [] if cut is None else [cut.a, cut.b]
    order += [n for e in elements if e.part.kind.family == "drive" for n in (e.b,)]
    order += [n for n in range(1, nn) if n not in order]
    seen: set[int] = set()
    ties = [
        (e.a, e.b, e.ra, e.rb)
        for i, e in enumerate(elements)
        if e is not cut and GROUND not in (e.a, e.b) and e.part.kind.modes[mode0[i]].tie
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
    return root, ratio


def _table(
    g: Graph, elements: list[Element], rows: Floats, tab: Floats, speeds: Floats, shake: Floats,
    root: list[int], ratio: list[Any],
) -> Floats:  # fmt: skip
    nn, shape = len(g.nodes), speeds.shape[:-1]
    own_states = _own_states(nn, elements)
    table = np.zeros((*shape, nn + len(own_states), 5))
    table[..., nn:, :] = own_states
    top, fast = _top_torque(elements, rows, tab), fastest(speeds)
    for n in range(1, nn):
        own = np.where(speeds[..., n] == 0.0, fast, np.abs(speeds[..., n]))
        table[..., n, 0], table[..., n, 1] = root[n], ratio[n]
        table[..., n, 2] = top * fast / own
        stiff = shake[..., n] * shake[..., n] * g.nodes[n].inertia
        held = stiff > 0.0
        table[..., n, 3] = np.where(held, 1e-6 * table[..., n, 2] / np.where(held, stiff, 1.0), 1e-6)
        table[..., n, 4] = 1e-6 * own
    return table


def _top_torque(elements: list[Element], rows: Floats, tab: Floats) -> Any:
    """Largest torque of the drives at their nodes [N*m or N]; 1 without one."""
    each = [
        np.abs(over(partial(e.part.of_drive, "top_torque", tab=tab), rows[..., i, :])) / np.maximum(np.abs(e.rb), 1e-30)
        for i, e in enumerate(elements)
        if e.part.has("top_torque")
    ]
    out: Any = each[0] if each else 1.0
    for more in each[1:]:
        out = np.maximum(out, more)
    return out


def _own_states(nn: int, elements: list[Element]) -> Floats:
    """One row for every own state that stands still in steady running."""
    states = [s for e in elements for s in e.part.kind.states]
    rows = [(2.0 * nn + j, 0.0, s.scale, 0.0, 1e-6 * s.scale) for j, s in enumerate(states) if s.steady]
    return np.array(rows).reshape(-1, 5)
