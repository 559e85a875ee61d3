"""Thin a curve to what a picture can show, keeping every extreme."""

from __future__ import annotations

import numpy as np

from simcore.results.model import Floats


def thin(t: Floats, y: Floats, start: float, stop: float, columns: int) -> tuple[Floats, Floats]:
    """Points of ``y`` (n) over ``t`` (n, rising) in [start, stop], at most about 4 a column.

    Each column keeps its first, lowest, highest and last point, so that no peak is lost; one point on
    either side of the window is kept so that the line reaches its edge.  NaN stay where they are.
    """
    if len(t) == 0 or not stop > start:
        return t[:0], y[:0]
    a = max(0, int(np.searchsorted(t, start, "left")) - 1)
    b = min(len(t), int(np.searchsorted(t, stop, "right")) + 1)
    t, y = t[a:b], y[a:b]
    if len(t) <= 4 * columns:
        return t, y
    column = np.clip(((t - start) / (stop - start) * columns).astype(np.int64), -1, columns)
    first = np.flatnonzero(np.r_[True, np.diff(column) > 0])
    last = np.r_[first[1:] - 1, len(t) - 1]
    keep = np.zeros(len(t), dtype=bool)
    keep[first] = keep[last] = True
    keep[~np.isfinite(y)] = True
    group = np.repeat(np.arange(len(first)), last - first + 1)
    for extreme in (np.fmin.reduceat(y, first), np.fmax.reduceat(y, first)):
        hits = np.flatnonzero(y == extreme[group])
        keep[hits[np.unique(group[hits], return_index=True)[1]]] = True
    return t[keep], y[keep]
