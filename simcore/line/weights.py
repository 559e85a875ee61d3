"""Error weights: against which size the step control judges each state."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_BEND
from simcore.line.graph import Element, Graph

Floats = NDArray[np.float64]

FINE = 0.4
"""Errors of the speeds beside a protection are judged so much finer ..."""
FINE_DISC = 0.15
"""... beside one whose law bends with slip speed a little more, whatever it does ..."""
FINE_BEND = 0.08
"""... and, while it slides near standstill, against this share of the relative speed over which its law bends."""


def _speed_sizes(g: Graph, elements: list[Element], rows: Floats, speeds: Floats, bending: bool) -> Floats:
    """Speed against which each node's error is judged: running speed; finer beside a protection.

    The relative speed there decides when it lets go and sticks again, and a falling slope multiplies
    errors before re-sticking (``bending``).
    """
    size = np.abs(speeds)
    size[size == 0.0] = float(size.max()) or 1.0
    for i, e in enumerate(elements):
        if e.part.kind.family != "protection":
            continue
        bend = float(rows[i, COL_BEND])
        for n, r in ((e.a, abs(e.ra)), (e.b, abs(e.rb))):
            size[n] *= FINE_DISC if bend > 0.0 else FINE
            if bending and bend > 0.0:
                size[n] = min(size[n], FINE_BEND * bend / r)
    return size


def error_weights(
    g: Graph, elements: list[Element], rows: Floats, speeds: Floats, shake: Floats, states: int, rtol: float
) -> Floats:
    """One over tolerance of every steering state, shape (2, 2 nodes + states): as usual, and while a law bends.

    Speeds are judged by their size, angles by that over the node's local frequency ``shake`` [rad/s].
    """
    return np.stack([_weights(g, elements, _speed_sizes(g, elements, rows, speeds, bending), shake, states, rtol)
                     for bending in (False, True)])  # fmt: skip


def _weights(g: Graph, elements: list[Element], size: Floats, shake: Floats, states: int, rtol: float) -> Floats:
    nn = len(g.nodes)
    out = np.zeros(2 * nn + states)
    for n in range(1, nn):
        v = size[n]
        out[nn + n] = 1.0 / (rtol * v)
        out[n] = 1.0 / (rtol * v / shake[n]) if shake[n] > 0.0 else 1.0 / (rtol * v)
    j = 2 * nn
    for e in elements:
        for s in e.part.kind.states:
            out[j] = 1.0 / (rtol * s.scale)
            j += 1
    return out
