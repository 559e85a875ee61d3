"""One case of a sweep again, with its traces, and whether it is the same to the last bit."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simcore.conduct import Settings, conduct
from simcore.errors import InputError, ResultError, SimcoreError
from simcore.line.assemble import lowest_mode
from simcore.measures.cases import Case, make_case
from simcore.measures.extract import scalars
from simcore.measures.recorded import as_run
from simcore.provenance import provenance_of
from simcore.results.model import ResultSet, Run
from simcore.scenario.alter import altered, kept
from simcore.scenario.model import Quantity, Scenario
from simcore.scenario.read import read_text
from simcore.solver.kernel import Outcome
from simcore.sweep.pick import Picked, at, values
from simcore.sweep.plan import Plan
from simcore.sweep.result import SweepResult
from simcore.sweep.trial import Block, Trial
from simcore.sweep.versions import versions
from simcore.units import units_of


@dataclass(frozen=True, slots=True)
class Replay:
    """A case run again.

    ``factors``: value and kind of each factor; ``inputs``: the case's numbers by path [SI]; ``changes``: the same
    as text that reads back to the same bits; ``apart``: measures that are not as stored, by situation; ``result``:
    None if nothing could run; ``note``: why the result has no verdict; ``versions``: those that differ.
    """

    case: Picked
    candidate: str
    factors: dict[str, tuple[float, str]]
    inputs: dict[str, float]
    changes: dict[str, str]
    block: Block
    apart: tuple[str, ...]
    result: ResultSet | None
    note: str
    versions: tuple[str, ...]


def replay(result: SweepResult, case: Picked) -> Replay:
    """Run the case in every situation of the sweep, from the arrays that the sweep ran.  Raises SimcoreError."""
    scenario, plan = sweep_of(result)
    name = result.candidates[case.candidate]
    cell = values(result, case)
    sample = plan.samples(case.draw, case.draw + 1)[0]
    trial = Trial(scenario, plan, name)
    block, outcomes = trial.replay(cell, case.draw)
    inputs = trial.values(cell, sample)
    given = [*zip(plan.grids, cell, strict=True), *zip(plan.scatters, sample, strict=True)]
    own, changes = _set(result, scenario, inputs)
    own = kept(own, {"candidates": (name,), "situations": trial.situations})
    found, note = _result_set(own, name, trial, outcomes)
    if found is not None:
        about = {
            "candidate": name,
            "place": case.candidate,
            "cell": case.cell,
            "draw": case.draw,
            "number": case.number(result),
        }
        found = replace(found, provenance={**found.provenance, "replay": about})
    return Replay(
        case, name, {f.name: (float(v), f.kind) for f, v in given}, inputs, changes, block,
        tuple(differing(result, case, block)), found, note, _other_versions(result),
    )  # fmt: skip


def sweep_of(result: SweepResult) -> tuple[Scenario, Plan]:
    """Scenario and plan as the sweep had them."""
    about = result.provenance
    try:
        plan = Plan.from_dict(about["plan"])
    except (KeyError, TypeError) as e:
        raise ResultError(f"the sweep does not tell its plan ({type(e).__name__}): it cannot be replayed") from None
    source, changes, files = str(about.get("source", "")), dict(about.get("changes", {})), about.get("files", {})
    return read_text(result.scenario_text, source, changes, files=files), plan


def _set(result: SweepResult, scenario: Scenario, inputs: Mapping[str, float]) -> tuple[Scenario, dict[str, str]]:
    """The scenario with the case's numbers, and the changes that make it so."""
    numbers = altered(scenario, inputs)
    texts = {p: _text(numbers, p, v) for p, v in inputs.items()}
    changes = {**scenario.changes, **texts}
    try:
        return read_text(result.scenario_text, scenario.source, changes, files=scenario.files), changes
    except InputError:  # a sample may lie where a file is not let to go
        return replace(numbers, changes=changes), changes


def _text(scenario: Scenario, path: str, si: float) -> str:
    """A value in the SI unit of its kind, all digits."""
    return f"{float(si)!r} {units_of(kind_at(scenario, path))[0]}".strip()


def kind_at(scenario: Scenario, path: str) -> str:
    """Kind of quantity of a number of the scenario; KeyError if nothing has this path."""
    owner, _, name = path.rpartition(".")
    items: list[Any] = [*scenario.stations, *scenario.situations.values()]
    for thing in items:
        if thing.path == owner:
            if name == "allowable" and getattr(thing, "limit", None) is not None:
                return str(thing.limit.allowable.kind)
            return _kind(thing.item, name, "inertia" if thing.item is None else "time")
    fitted = [*(c.item for c in scenario.candidates.values()), *(s.item for s in scenario.stops.values())]
    for item in (*fitted, *(step.item for s in scenario.situations.values() for step in s.then)):
        if item.path == owner:
            return _kind(item, name, "")
    raise KeyError(path)


def _kind(item: Any, name: str, otherwise: str) -> str:
    found = None if item is None else item.values.get(name)
    return found.kind if isinstance(found, Quantity) else otherwise


def differing(result: SweepResult, case: Picked, block: Block) -> list[str]:
    """Measures of the block that are not bit for bit those stored."""
    out = []
    for j, situation in enumerate(result.situations):
        pairs: dict[str, tuple[Any, Any]] = {
            "status": (at(result, result.status, case)[j], block.status[0, j]),
            **{n: (at(result, result.measures[n], case)[j], block.measures[n][0, j])
               for n in result.measures if n in block.measures},
        }  # fmt: skip
        if case.cell == 0:
            pairs["asks"] = (result.asks[case.candidate, case.draw, j], block.measures["asks"][0, j])
        out += [f"{situation}, {n}: stored {old.item()!r}, now {new.item()!r}"
                for n, (old, new) in pairs.items() if not _same(float(old), float(new))]  # fmt: skip
    return out


def _same(one: float, two: float) -> bool:
    return np.float64(one).tobytes() == np.float64(two).tobytes() or (one != one and two != two)


def _result_set(
    scenario: Scenario, name: str, trial: Trial, outcomes: list[Outcome | None]
) -> tuple[ResultSet | None, str]:
    """The case as a run's result, with a verdict if every situation could be computed; a note if not."""
    ran = {(name, s): o for s, o in zip(trial.situations, outcomes, strict=True) if o is not None}
    try:
        return conduct(scenario, Settings(known=ran)), ""
    except SimcoreError as error:
        note = f"No verdict: {error}"
    ran = {key: o for key, o in ran.items() if len(o.trace)}
    if not ran:
        return None, note
    began = time.perf_counter()
    runs = {key: _traced(make_case(scenario, scenario.candidates[name], scenario.situations[key[1]],
                                   lowest_mode(scenario), trial.rtol), out)
            for key, out in ran.items()}  # fmt: skip
    limit = scenario.station(scenario.protect).limit
    return ResultSet(
        title=scenario.title, protect=scenario.protect, unit=scenario.display.get("torque", "N*m"),
        allowable=float("nan") if limit is None else limit.allowable.si, runs=runs, answers=(), sentence=note,
        warnings=(), defaults=(), bounds=(), inertias={}, findings={},
        provenance=provenance_of(scenario, trial.rtol, began), scenario_text=scenario.text,
    ), note  # fmt: skip


def _traced(case: Case, out: Outcome) -> Run:
    nothing: list[dict[str, float]] = [{}, {}]
    return as_run(case, out, scalars(case.assembly, out.meas, case.protected, case.heat_limit), nothing)


def _other_versions(result: SweepResult) -> tuple[str, ...]:
    was, now = result.provenance.get("versions", {}), versions()
    return tuple(f"{n}: {was.get(n, 'none')}, now {now.get(n, 'none')}" for n in dict.fromkeys([*was, *now])
                 if was.get(n) != now.get(n))  # fmt: skip
