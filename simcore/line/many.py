"""Many cases put together at once, taken apart again: what the kernel wants of all, and the Assembly of one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import Assembly
from simcore.line.graph import Element, Graph, Node, Place
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]


def cases_of(a: Assembly, count: int) -> Any:
    """The ``count`` cases of ``a`` as arrays.Cases."""
    many = a.rows.ndim == 3
    own = (a.rows, a.nodes[..., ar.INERTIA], a.setup, a.y0, a.steady, a.scale, a.nodes[..., ar.STOP_SPEED])
    rows, inertia, setup, y0, steady, scale, stop = own if many else [np.repeat(v[None], count, axis=0) for v in own]
    mode0 = np.repeat(a.mode0[None], count, axis=0)
    return ar.Cases(rows, inertia, setup, y0, mode0, a.mem0, a.wire0, steady, scale, stop)


def case_of(a: Assembly, c: int) -> Assembly:
    """One case of ``a`` by itself."""
    return replace(
        a, graph=_graph_of(a.graph, c), rows=a.rows[c], nodes=a.nodes[c], y0=a.y0[c], steady=a.steady[c],
        scale=a.scale[c], setup=a.setup[c], free_speeds=a.free_speeds[c], w1=_of(a.w1, c), w_top=_of(a.w_top, c),
    )  # fmt: skip


def _graph_of(g: Graph, c: int) -> Graph:
    nodes = [Node(n.name, n.domain, _each(n.shares, c)) for n in g.nodes]
    places, entries, slots = ({name: Place(p.node, _of(p.scale, c), p.domain) for name, p in some.items()}
                              for some in (g.places, g.entries, g.slots))  # fmt: skip
    draws = {owner: _each(drawn, c) for owner, drawn in g.draws.items()}
    return Graph(nodes, [_element_of(e, c) for e in g.elements], places, entries, slots, draws)


def _element_of(e: Element, c: int) -> Element:
    return replace(e, raw=_each(e.raw, c), ra=_of(e.ra, c), rb=_of(e.rb, c))


def _each(values: Any, c: int) -> dict[str, Any]:
    return {n: _of(v, c) for n, v in values.items()}


def _of(value: Any, c: int) -> Any:
    """The number of one case."""
    return value[c].item() if isinstance(value, np.ndarray) and value.ndim else value
