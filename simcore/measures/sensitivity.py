"""What moves the answer: defaults to both ends of their usual range, damping, tolerance."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan, nan
from typing import Any

from simcore.contract import Param, Part
from simcore.errors import InputError, SolveError
from simcore.line.graph import raw_inputs
from simcore.line.relative_damping import DAMPINGS
from simcore.measures.cases import Case, make_case
from simcore.measures.extract import scalars
from simcore.parts import REGISTRY
from simcore.results.model import Default
from simcore.scenario.model import Item, Quantity, Scenario
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one

UNIMPORTANT = frozenset({"tolerance", "again_time", "heat_limit", "mains"})
"""Inputs that judge an answer but do not enter the run, and the mains: at another frequency it is another motor."""


def defaults_of(scenario: Scenario) -> Iterator[tuple[Item, Param]]:
    """Every default that entered the scenario; those that another input makes idle are left out."""
    for item in scenario.items:
        for p in REGISTRY[item.part].kind.params:
            if p.name in item.values and p.name not in item.given and _acts(REGISTRY[item.part], item, p):
                yield item, p


def _acts(part: Part, item: Item, p: Param) -> bool:
    """Whether the input still changes what the part gives the kernel (a twist does not beside a stiffness)."""
    raw = raw_inputs(item, part)
    if p.name in UNIMPORTANT or p.name not in raw or not part.has("resolve"):
        return True
    return repr(_given(part, raw)) != repr(_given(part, {**raw, p.name: _another(p, raw[p.name])}))


def _another(p: Param, value: float) -> float:
    """Another value of an input: the next choice or whole number, the other flag, else a little more."""
    if p.choices:
        return (value + 1.0) % len(p.choices)
    if p.kind == "flag":
        return 1.0 - value
    return value + 1.0 if p.kind == "count" else value * 1.01 + 1e-6


def _given(part: Part, raw: dict[str, float]) -> list[Any]:
    return [part.call(f, part.raw(raw), *([1.0] if f == "resolve" else []))
            for f in ("resolve", "inertias", "ratios", "scale") if part.has(f)]  # fmt: skip


def peak_of(case: Case) -> float:
    """Peak at the protected connection; NaN if the run did not end."""
    out = run_one(case.assembly, trace=False)
    if out.status > ar.Status.STOPPED:
        return nan
    return scalars(case.assembly, out.meas, case.protected)["peak"]


def swings(case: Case, w1: float, rtol: float, allowable: float) -> list[Default]:
    """Every default of the case's line and protection, the one that moves peak/allowable most first."""
    base = peak_of(case)
    touched = {e.path: e.name for e in case.assembly.graph.elements}
    out = []
    for item, p in defaults_of(case.scenario):
        swing = nan
        if p.usual is not None and item.path in touched and p.name not in UNIMPORTANT:
            ends = [_si(p, u) for u in p.usual]
            peaks = [_peak_with(case, touched[item.path], p.name, v, w1, rtol) for v in ends]
            known = [abs(x - base) for x in peaks if not isnan(x)]
            swing = max(known) / allowable if known else nan
        out.append(Default(f"{item.path}.{p.name}", _text(item, p), _usual(p), p.source, swing))
    return sorted(out, key=lambda d: 1.0 if isnan(d.swing) else -d.swing)


def _peak_with(case: Case, name: str, what: str, value: float, w1: float, rtol: float) -> float:
    try:
        changed = make_case(case.scenario, case.candidate, case.situation, w1, rtol, {(name, what): value})
    except (InputError, SolveError, ArithmeticError):  # an end of a usual range may be impossible in this line
        return nan
    return peak_of(changed)


def _si(p: Param, value: str | float) -> float:
    from simcore.units import parse

    return parse(value, p.kind).si


def _text(item: Item, p: Param) -> str:
    v = item.values[p.name]
    return v.text if isinstance(v, Quantity) else str(v)


def _usual(p: Param) -> str:
    return "" if p.usual is None else f"{p.usual[0]} to {p.usual[1]}"


def scaled_damping(case: Case, factor: float, w1: float, rtol: float) -> Case:
    """The same case with every relative damping times ``factor``."""
    changes = {
        (e.name, name): e.raw[name] * factor for e in case.assembly.graph.elements for name in DAMPINGS if name in e.raw
    }
    return make_case(case.scenario, case.candidate, case.situation, w1, rtol, changes)


def tighter(case: Case, w1: float, rtol: float) -> Case:
    """The same case at a tenth of the tolerance."""
    return make_case(case.scenario, case.candidate, case.situation, w1, 0.1 * rtol)
