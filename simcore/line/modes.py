"""Natural frequencies of the line, all connections closed and linear."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Node

Array = NDArray[np.float64]


def matrices(nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[float]) -> tuple[Array, Array]:
    """Stiffness matrix and inertias, shapes (n, n) and (n,), of all nodes but the ground.

    ``k``: stiffness of every element at its own shaft (0: none) [N*m/rad or N/m].
    """
    n = len(nodes)
    stiff = np.zeros((n, n))
    for e, ke in zip(elements, k, strict=True):
        r = np.zeros(n)
        r[e.a] += e.ra
        r[e.b] -= e.rb
        stiff += ke * np.outer(r, r)
    inertia = np.array([node.inertia for node in nodes])
    return stiff[1:, 1:], inertia[1:]


def frequencies(nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[float]) -> Array:
    """Natural frequencies [rad/s], rising, rigid-body motions left out.

    Source: undamped free vibration as a symmetric eigenvalue problem, any vibration text.
    """
    stiff, inertia = matrices(nodes, elements, k)
    root = np.sqrt(inertia)
    values = np.linalg.eigvalsh(stiff / np.outer(root, root))
    top = float(values[-1]) if len(values) else 0.0
    return np.sqrt(values[values > 1e-9 * max(top, 1e-30)])


def local_frequency(n: int, nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[float]) -> float:
    """Frequency [rad/s] of node ``n`` between held neighbours; 0 if nothing holds it."""
    if n == GROUND:
        return 0.0
    total = sum(
        ke * ((e.ra if e.a == n else 0.0) ** 2 + (e.rb if e.b == n else 0.0) ** 2)
        for e, ke in zip(elements, k, strict=True)
    )
    return float(np.sqrt(total / nodes[n].inertia))
