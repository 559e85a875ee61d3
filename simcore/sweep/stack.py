"""Cases of one situation that share a structure: one Assembly for all, and what differs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import Assembly
from simcore.line.graph import Element
from simcore.line.laws import Num
from simcore.line.many import case_of, cases_of
from simcore.line.relative_damping import softness
from simcore.measures.cases import Case
from simcore.solver import arrays as ar
from simcore.sweep.limits import limit_path
from simcore.sweep.turn import Turning

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Stack:
    """Cases of one candidate in one situation."""

    case: Case | None
    """The first that could be put together; None: none could."""
    cases: Any
    """All of them, as arrays.Cases."""
    good: NDArray[np.bool_]
    """(cases,): those that could be put together."""
    faults: list[tuple[int, str]]
    turning: Turning | None
    """The candidate in the good ones, to be set anew."""
    allowable: Mapping[int, Num]
    """What each connection may bear [N*m or N], by its element."""
    heat_limit: Num

    @property
    def base(self) -> Assembly | None:
        return None if self.case is None else self.case.assembly


def at_once(case: Case, count: int) -> Stack:
    """The ``count`` cases that :func:`simcore.measures.cases.make_case` made of one with draws."""
    a = case.assembly
    draws = a.graph.draws
    elements = a.graph.elements
    base = replace(case, assembly=case_of(a, 0)) if a.rows.ndim == 3 else case
    own = {} if case.candidate is None else draws.get(case.candidate.item.path, {})
    allowable = {
        i: draws.get(limit_path(case.scenario, case.candidate, e), {}).get("allowable", e.limit.allowable.si)
        for i, e in enumerate(elements)
        if e.limit is not None
    }
    turning = None if a.candidate is None else Turning(elements[a.candidate], a.w1,
                                                       softness(a.graph, elements[a.candidate]))  # fmt: skip
    return Stack(base, cases_of(a, count), np.ones(count, dtype=bool), [], turning, allowable,
                 own.get("heat_limit", case.heat_limit))  # fmt: skip


def one_by_one(made: Sequence[Case | str]) -> Stack:
    """Cases that were put together each by itself, or why one could not be."""
    good = [c for c in made if isinstance(c, Case)]
    faults = [(i, c) for i, c in enumerate(made) if isinstance(c, str)]
    there = np.array([isinstance(c, Case) for c in made])
    if not good:
        return Stack(None, None, there, faults, None, {}, nan)
    first = good[0].assembly
    full = [c.assembly if isinstance(c, Case) else first for c in made]
    cases = ar.Cases(
        np.stack([a.rows for a in full]),
        np.stack([a.nodes[:, ar.INERTIA] for a in full]),
        np.stack([a.setup for a in full]),
        np.stack([a.y0 for a in full]),
        np.stack([a.mode0 for a in full]),
        first.mem0, first.wire0,
        np.stack([a.steady for a in full]),
        np.stack([a.scale for a in full]),
        np.stack([a.nodes[:, ar.STOP_SPEED] for a in full]),
    )  # fmt: skip
    stated = {i: np.array([_allowable(a.graph.elements[i]) for a in full])
              for i, e in enumerate(first.graph.elements) if e.limit is not None}  # fmt: skip
    heat = np.array([c.heat_limit if isinstance(c, Case) else nan for c in made])
    return Stack(good[0], cases, there, faults, _turning([c.assembly for c in good]), stated, heat)


def _allowable(e: Element) -> float:
    return nan if e.limit is None else e.limit.allowable.si


def _turning(each: Sequence[Assembly]) -> Turning | None:
    i = each[0].candidate
    if i is None:
        return None
    elements = [a.graph.elements[i] for a in each]
    names = [p.name for p in elements[0].part.kind.params if any(p.name in e.raw for e in elements)]
    raw = {n: np.array([e.raw.get(n, nan) for e in elements]) for n in names}
    soft = np.array([softness(a.graph, e) for a, e in zip(each, elements, strict=True)])
    return Turning(replace(elements[0], raw=raw), np.array([a.w1 for a in each]), soft)
