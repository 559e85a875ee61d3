"""Stiffness of a part and the frequency at which its relative damping is taken."""

from __future__ import annotations

import numpy as np

from simcore.line.graph import GROUND, Element, Graph

MOST_DAMPED = 0.25
"""Largest share of critical damping of a connection in its own mode, between its two hubs alone."""
DAMPINGS = ("relative_damping", "small_swing_damping")
"""Inputs that state a relative damping, of all swings or of very small ones."""


def stiffness_of(e: Element, w1: float) -> float:
    """Stiffness at the part's own shaft [N*m/rad or N/m], 0 if it has none."""
    if e.role == "event" or not e.part.has("hint"):
        return 0.0
    return float(e.part.call("hint", resolve(e, w1)))


def damping_frequency(g: Graph, e: Element, w1: float) -> float:
    """Frequency [rad/s] at which the element loses its relative damping.

    The line's lowest mode, unless the viscous damper would then damp the connection's own mode, between
    its two hubs alone, by more than MOST_DAMPED: a stiff joint is not overdamped.
    """
    return w1 if e.raw.get("relative_damping", 0.0) == 0.0 else _own_frequency(g, e, w1, stiffness_of(e, w1))


def damped_row(g: Graph, e: Element, w1: float) -> tuple[float, ...]:
    """``resolve`` at the element's :func:`damping_frequency`, called a second time only where that is not ``w1``."""
    row = resolve(e, w1)
    if e.raw.get("relative_damping", 0.0) == 0.0 or e.role == "event" or not e.part.has("hint"):
        return row
    w = _own_frequency(g, e, w1, float(e.part.call("hint", row)))
    return row if w == w1 else resolve(e, w)


def _own_frequency(g: Graph, e: Element, w1: float, k: float) -> float:
    if k == 0.0:
        return w1
    psi = max(e.raw.get(name, 0.0) for name in DAMPINGS)
    ends = ((e.a, e.ra), (e.b, e.rb))
    own = np.sqrt(k * sum(r**2 / g.nodes[n].inertia for n, r in ends if n != GROUND))
    return float(max(w1, own * psi / (4.0 * np.pi * MOST_DAMPED)))


def resolve(e: Element, w1: float) -> tuple[float, ...]:
    """The element's row, without the kernel's own columns."""
    if not e.part.has("resolve"):
        return ()
    row: tuple[float, ...] = e.part.call("resolve", e.part.raw(e.raw), w1)
    return row
