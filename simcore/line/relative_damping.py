"""Stiffness of a part and the frequency at which its relative damping is taken."""

from __future__ import annotations

from typing import Any

import numpy as np

from simcore.line.graph import GROUND, Element, Graph
from simcore.line.laws import Num, count_of, of_raw, of_row, stacked
from simcore.parts._powers import square

MOST_DAMPED = 0.25
"""Largest share of critical damping of a connection in its own mode, between its two hubs alone."""
DAMPINGS = ("relative_damping", "small_swing_damping")
"""Inputs that state a relative damping, of all swings or of very small ones."""


def stiffness_of(e: Element, w1: Num) -> Any:
    """Stiffness at the part's own shaft [N*m/rad or N/m], 0 if it has none."""
    if e.role == "event" or not e.part.has("hint"):
        return 0.0
    return hint(e, resolve(e, w1))


def hint(e: Element, row: tuple[Any, ...]) -> Any:
    """The kind's ``hint`` of a row as :func:`resolve` gives it."""
    shape = count_of(*row)
    return of_row(e.part, "hint", stacked(row, shape)) if shape else float(e.part.call("hint", row))


def damping_frequency(g: Graph, e: Element, w1: float) -> float:
    """Frequency [rad/s] at which the element loses its relative damping.

    The line's lowest mode, unless the viscous damper would then damp the connection's own mode, between
    its two hubs alone, by more than MOST_DAMPED: a stiff joint is not overdamped.
    """
    return float(own_frequency(e, w1, stiffness_of(e, w1), softness(g, e)))


def damped_row(g: Graph, e: Element, w1: Num) -> tuple[Any, ...]:
    """``resolve`` at the element's :func:`damping_frequency`, called a second time only where that is not ``w1``."""
    return damped(e, w1, softness(g, e))


def damped(e: Element, w1: Num, soft: Num) -> tuple[Any, ...]:
    """As :func:`damped_row`; ``soft`` as of :func:`softness`."""
    row = resolve(e, w1)
    if np.all(e.raw.get("relative_damping", 0.0) == 0.0) or e.role == "event" or not e.part.has("hint"):
        return row
    w = own_frequency(e, w1, hint(e, row), soft)
    return row if np.all(w == w1) else resolve(e, w)


def own_frequency(e: Element, w1: Num, k: Num, soft: Num) -> Any:
    """:func:`damping_frequency` of an element of stiffness ``k`` [N*m/rad or N/m]; ``soft`` as of :func:`softness`."""
    psi = np.maximum(*(e.raw.get(name, 0.0) for name in DAMPINGS))
    own = np.sqrt(k * soft) * psi / (4.0 * np.pi * MOST_DAMPED)
    undamped = (np.asarray(e.raw.get("relative_damping", 0.0)) == 0.0) | (np.asarray(k) == 0.0)
    w = np.where(undamped, w1, np.maximum(w1, own))
    return w if w.ndim else float(w)


def softness(g: Graph, e: Element) -> Any:
    """One over the inertia between the two hubs, at the part's own shaft [1/(kg*m^2) or 1/kg]."""
    ends = ((e.a, e.ra), (e.b, e.rb))
    return sum(square(r) / g.nodes[n].inertia for n, r in ends if n != GROUND)


def resolve(e: Element, w1: Num) -> tuple[Any, ...]:
    """The element's row, without the kernel's own columns."""
    if not e.part.has("resolve"):
        return ()
    row: tuple[Any, ...] = of_raw(e.part, "resolve", e.raw, w1)
    return row
