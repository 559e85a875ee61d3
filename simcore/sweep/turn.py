"""The rows of the protection under trial when only its own inputs differ: of many draws at once, or one by one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_BEND, COL_SETTING
from simcore.line.graph import GROUND
from simcore.line.relative_damping import MOST_DAMPED, damping_frequency, resolve
from simcore.line.rows import LEAST, compiled, numbers, rows_of
from simcore.measures.cases import Case

Floats = NDArray[np.float64]


def turned_rows(cases: Sequence[Case], i: int, changed: Mapping[str, Any]) -> Floats:
    """Rows (cases, N_ROW) of element ``i`` with the inputs ``changed``: by name, a number or an array (cases,)."""
    out = _at_once(cases, i, changed)
    if out is None:
        each = [{n: np.broadcast_to(v, len(cases))[c] for n, v in changed.items()} for c in range(len(cases))]
        out = np.array([_row(case, i, one) for case, one in zip(cases, each, strict=True)])
    return out


def _at_once(cases: Sequence[Case], i: int, changed: Mapping[str, Any]) -> Floats | None:
    """The compiled way, with the same bits; None where the kind's law stays in Python."""
    part = cases[0].assembly.graph.elements[i].part
    if len(cases) < LEAST or compiled(part, "resolve") is None:
        return None
    elements = [c.assembly.graph.elements[i] for c in cases]
    names = [p.name for p in part.kind.params]
    raw = np.array([[e.raw.get(n, np.nan) for n in names] for e in elements])
    for name, v in changed.items():
        raw[:, names.index(name)] = v
    w1 = np.array([c.assembly.w1 for c in cases])
    w = _damping_frequencies(cases, i, raw, w1)
    new = None if w is None else rows_of(part, raw, w)
    if new is None:
        return None
    out = np.array([c.assembly.rows[i] for c in cases])
    width = len(part.kind.row)
    out[:, :width] = new[:, :width]
    out[:, COL_SETTING] = [part.call("sheet", row)["setting"][0] for row in out]
    out[:, COL_BEND] = numbers(part, "slip_scale", out)
    return out


def _damping_frequencies(cases: Sequence[Case], i: int, raw: Floats, w1: Floats) -> Floats | None:
    """As :func:`damping_frequency`, for all cases."""
    part = cases[0].assembly.graph.elements[i].part
    names = [p.name for p in part.kind.params]
    if "relative_damping" not in names or not part.has("hint"):
        return w1
    psi = np.nan_to_num(raw[:, names.index("relative_damping")])
    rows = rows_of(part, raw, w1)
    if rows is None:
        return None
    k = numbers(part, "hint", rows)
    own = np.sqrt(k * np.array([_softness(c, i) for c in cases]))
    return np.where((psi == 0.0) | (k == 0.0), w1, np.maximum(w1, own * psi / (4.0 * np.pi * MOST_DAMPED)))


def _softness(case: Case, i: int) -> float:
    """One over the inertia between the two hubs."""
    g = case.assembly.graph
    e = g.elements[i]
    ends = ((e.a, e.ra), (e.b, e.rb))
    return float(sum(r**2 / g.nodes[n].inertia for n, r in ends if n != GROUND))


def _row(case: Case, i: int, changed: Mapping[str, float]) -> Floats:
    a = case.assembly
    e = a.graph.elements[i]
    own = e.raw
    e.raw = {**own, **changed}
    try:
        row: Floats = a.rows[i].copy()
        new = resolve(e, damping_frequency(a.graph, e, a.w1))
        row[: len(new)] = new
        row[COL_SETTING] = e.part.call("sheet", row)["setting"][0]
        row[COL_BEND] = e.part.call("slip_scale", row) if e.part.has("slip_scale") else 0.0
    finally:
        e.raw = own
    return row
