"""Error weights: against which size the step control judges each state."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_BEND
from simcore.line.graph import Element, Graph

Floats = NDArray[np.float64]

FINE_DISC = 0.3
"""Errors of the speeds beside a protection whose law bends with slip speed are judged so much finer ..."""
FINE_BEND = 0.15
"""... and, while it slides near standstill, against this share of the relative speed over which its law bends."""


def _speed_sizes(g: Graph, elements: list[Element], rows: Floats, speeds: Floats, bending: bool) -> Floats:
    """Speed against which each node's error is judged: running speed; finer beside a protection whose law bends.

    The relative speed there decides when it sticks again, and a falling slope multiplies errors before that
    (``bending``).
    """
    size = np.abs(speeds)
    size = np.where(size == 0.0, fastest(speeds)[..., None], size)
    for i, e in enumerate(elements):
        if e.part.kind.family != "protection":
            continue
        bend = rows[..., i, COL_BEND]
        for n, r in ((e.a, abs(e.ra)), (e.b, abs(e.rb))):
            size[..., n] *= np.where(bend > 0.0, FINE_DISC, 1.0)
            if bending:
                own = size[..., n]
                size[..., n] = np.where(bend > 0.0, np.minimum(own, FINE_BEND * bend / r), own)
    return size


def fastest(speeds: Floats) -> Floats:
    """Largest speed (...) of the nodes (..., nodes); 1 where nothing turns."""
    top = np.abs(speeds).max(axis=-1)
    return np.where(top == 0.0, 1.0, top)


def error_weights(
    g: Graph, elements: list[Element], rows: Floats, speeds: Floats, shake: Floats, states: int, rtol: float
) -> Floats:
    """One over tolerance of every steering state, (..., 2, 2 nodes + states): as usual, and while a law bends.

    Speeds are judged by their size, angles by that over the node's local frequency ``shake`` [rad/s].
    """
    return np.stack([_weights(g, elements, _speed_sizes(g, elements, rows, speeds, bending), shake, states, rtol)
                     for bending in (False, True)], axis=-2)  # fmt: skip


def _weights(g: Graph, elements: list[Element], size: Floats, shake: Floats, states: int, rtol: float) -> Floats:
    nn = len(g.nodes)
    out = np.zeros((*size.shape[:-1], 2 * nn + states))
    held = np.where(shake > 0.0, shake, 1.0)
    out[..., nn + 1 : 2 * nn] = 1.0 / (rtol * size[..., 1:])
    out[..., 1:nn] = 1.0 / (rtol * size / held)[..., 1:]
    j = 2 * nn
    for e in elements:
        for s in e.part.kind.states:
            out[..., j] = 1.0 / (rtol * s.scale)
            j += 1
    return out
