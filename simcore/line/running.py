"""Running before an event: speeds carried along the line, and how long it runs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from simcore.line.graph import GROUND, Element, Graph

Floats = NDArray[np.float64]


def spread(g: Graph, speed: Floats) -> None:
    """Carry known speeds across all two-hub elements."""
    todo = True
    while todo:
        todo = False
        for e in g.elements:
            if GROUND in (e.a, e.b) or e.ra == 0.0:
                continue
            if np.isnan(speed[e.b]) and not np.isnan(speed[e.a]):
                speed[e.b] = speed[e.a] * e.ra / e.rb
                todo = True
            elif np.isnan(speed[e.a]) and not np.isnan(speed[e.b]):
                speed[e.a] = speed[e.b] * e.rb / e.ra
                todo = True


def lead_time(event: Element, lead: float, speed: float) -> float:
    """Steady running before the event [s]."""
    after = event.raw.get("after", 0.0)
    way = event.raw.get("distance", 0.0)
    if after > 0.0:
        return after
    if way > 0.0 and speed > 0.0:
        return way / speed
    return lead


def by_name(elements: list[Element]) -> dict[str, int]:
    """Numbers of the elements that may be watched, those of the line; an event or a stop may have the same name."""
    return {e.name: i for i, e in enumerate(elements) if e.role in ("line", "candidate")}
