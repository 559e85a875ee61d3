"""Natural frequencies of the line, all connections closed and linear; of many cases at once along a first axis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Node
from simcore.line.laws import Num, count_of, stacked
from simcore.parts._powers import square

Array = NDArray[np.float64]


def matrices(nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[Num]) -> tuple[Array, Array]:
    """Stiffness matrix and inertias, shapes (..., n, n) and (..., n), of all nodes but the ground.

    ``k``: stiffness of every element at its own shaft (0: none) [N*m/rad or N/m].
    """
    n = len(nodes)
    shape = count_of(*k, *(node.inertia for node in nodes), *(r for e in elements for r in (e.ra, e.rb)))
    stiff = np.zeros((*shape, n, n))
    for e, ke in zip(elements, k, strict=True):
        r = np.zeros((*shape, n))
        r[..., e.a] += e.ra
        r[..., e.b] -= e.rb
        stiff += np.asarray(ke)[..., None, None] * (r[..., :, None] * r[..., None, :])
    inertia = stacked([node.inertia for node in nodes], shape)
    return stiff[..., 1:, 1:], inertia[..., 1:]


def frequencies(nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[Num]) -> Array:
    """Natural frequencies [rad/s] of one line, rising, rigid-body motions left out.

    Source: undamped free vibration as a symmetric eigenvalue problem, any vibration text.
    """
    w = spectrum(nodes, elements, k)
    return w[~np.isnan(w)]


def spectrum(nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[Num]) -> Array:
    """As :func:`frequencies`, (..., n) for one line or many: NaN for rigid-body motions."""
    stiff, inertia = matrices(nodes, elements, k)
    root = np.sqrt(inertia)
    values = np.linalg.eigvalsh(stiff / (root[..., :, None] * root[..., None, :]))
    top = np.maximum(values.max(axis=-1, initial=0.0), 1e-30)
    return np.sqrt(np.where(values > 1e-9 * top[..., None], values, np.nan))


def local_frequency(n: int, nodes: Sequence[Node], elements: Sequence[Element], k: Sequence[Num]) -> Any:
    """Frequency [rad/s] of node ``n`` between held neighbours; 0 if nothing holds it."""
    if n == GROUND:
        return 0.0
    total = sum(
        ke * (square(e.ra if e.a == n else 0.0) + square(e.rb if e.b == n else 0.0))
        for e, ke in zip(elements, k, strict=True)
    )
    return np.sqrt(total / nodes[n].inertia)
