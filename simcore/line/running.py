"""Running before an event: speeds carried along the line, and how long it runs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Graph
from simcore.line.laws import Num

Floats = NDArray[np.float64]


def spread(g: Graph, speed: Floats) -> None:
    """Carry known speeds (..., nodes) across all two-hub elements."""
    todo = True
    while todo:
        todo = False
        for e in g.elements:
            if GROUND in (e.a, e.b) or np.any(e.ra == 0.0):
                continue
            known = [not np.isnan(speed[..., n]).any() for n in (e.a, e.b)]
            if known == [True, False]:
                speed[..., e.b] = speed[..., e.a] * e.ra / e.rb
                todo = True
            elif known == [False, True]:
                speed[..., e.a] = speed[..., e.b] * e.rb / e.ra
                todo = True


def lead_time(event: Element, lead: Num) -> Num:
    """Steady running before the event [s], unless it is given by a way (see ``way``)."""
    after: Num = event.raw.get("after", 0.0)
    return np.where(after > 0.0, after, lead) if np.ndim(after) else after if after > 0.0 else lead


def way(event: Element) -> tuple[Num, int]:
    """Travel before the event, as its node counts it [rad or m], and that node; 0: it is given by time.

    The kernel finds the time it takes at the speed at which the line turns out to run (``begins`` in solver/batch.py).
    """
    travel = event.raw.get("distance", 0.0)
    return (travel / abs(event.ra), event.a) if np.all(travel > 0.0) and event.a != GROUND else (0.0, GROUND)


def by_name(elements: list[Element]) -> dict[str, int]:
    """Numbers of the elements that may be watched, those of the line; an event or a stop may have the same name."""
    return {e.name: i for i, e in enumerate(elements) if e.role in ("line", "candidate")}
