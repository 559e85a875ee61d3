"""Joins scenario, plan and trial to a sweep that can be run in a folder."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from simcore.errors import InputError, SimcoreError
from simcore.sweep import book
from simcore.sweep.blocks import Cell, TrialLike
from simcore.sweep.book import Setup
from simcore.sweep.result import SweepResult
from simcore.sweep.versions import versions

if TYPE_CHECKING:
    from simcore.scenario.model import Scenario


@dataclass(frozen=True, slots=True)
class MakeTrial:
    """Makes the trial of a candidate, here or on a worker: only data is carried along."""

    scenario: Any
    plan: Any

    def __call__(self, candidate: str) -> TrialLike:
        from simcore.sweep.trial import Trial

        trial: TrialLike = Trial(self.scenario, self.plan, candidate)
        return trial


def setup(file: Scenario | str | os.PathLike[str], folder: Path, changes: Mapping[str, str] | None = None) -> Setup:
    """The sweep of a scenario, in keeping with the one begun in ``folder``; ``changes`` to its file as for a run.

    Raises InputError.
    """
    from simcore.scenario.read import given
    from simcore.sweep.plan import Plan

    scenario = given(file, changes)
    if scenario.sweep is None:
        text = "has no section [sweep], which says what varies and how many draws are taken"
        raise InputError(f"{scenario.source}: {text}")
    plan = _kept(Plan.of(scenario), folder)
    known = versions()
    cells = tuple(plan.cells())
    return Setup(
        scenario.text, plan, plan.fingerprint(scenario.text, known, scenario.changes, scenario.files), known,
        tuple(plan.candidates), cells, tuple(scenario.situations[s].expect for s in plan.situations),
        MakeTrial(scenario, plan), partial(head, scenario, plan, cells, known), beside_the_sweep(scenario.changes),
        scenario.files,
    )  # fmt: skip


def beside_the_sweep(changes: Mapping[str, str]) -> dict[str, str]:
    """Changes but those of the section [sweep], which the plan holds."""
    return {p: v for p, v in changes.items() if not p.strip().startswith("sweep")}


def _kept(plan: Any, folder: Path) -> Any:
    """The plan with the hypercube it was begun with, where its size is not written but follows the draws."""
    old = book.load(folder)
    if old is None or plan.hypercube != plan.draws:
        return plan
    begun = old["plan"].get("hypercube")
    return replace(plan, hypercube=begun) if begun == old["lengths"][0] else plan


def head(scenario: Any, plan: Any, cells: tuple[Cell, ...], known: Mapping[str, str], draws: int) -> SweepResult:
    """The result without its numbers, of the first ``draws``."""
    from simcore.sweep.limits import limits

    limit = scenario.station(scenario.protect).limit
    samples = plan.samples(0, draws)
    shape = (len(plan.candidates), *(len(f.grid) for f in plan.grids))
    settings = [nominal_settings(scenario, plan, name, cells) for name in plan.candidates]
    return SweepResult(
        title=scenario.title, unit=scenario.display.get("torque", "N*m"), scenario_text=scenario.text,
        candidates=tuple(plan.candidates), situations=tuple(plan.situations),
        expects=tuple(scenario.situations[s].expect for s in plan.situations),
        grids={f.name: np.array(f.grid) for f in plan.grids}, grid_kinds={f.name: f.kind for f in plan.grids},
        samples={f.name: samples[:, k] for k, f in enumerate(plan.scatters)},
        sample_kinds={f.name: f.kind for f in plan.scatters},
        setting=np.array(settings).reshape(shape),
        tolerance={n: scenario.candidates[n].item.si("tolerance", 0.0) for n in plan.candidates},
        allowable=float("nan") if limit is None else limit.allowable.si, protect=scenario.protect,
        measures={}, asks=_empty((shape[0], draws, len(plan.situations))),
        status=np.zeros((*shape, 0, 0), dtype=np.int64),
        damage_target=plan.damage_target, nuisance_target=plan.nuisance_target, seed=plan.seed, design=plan.design,
        provenance={"versions": dict(known), "plan": book.fields(plan), "source": scenario.source,
                    "changes": dict(scenario.changes), "files": dict(scenario.files)},
        limits=limits(scenario),
    )  # fmt: skip


def _empty(shape: tuple[int, ...]) -> NDArray[np.float64]:
    return np.full(shape, np.nan)


def nominal_settings(scenario: Any, plan: Any, name: str, cells: tuple[Cell, ...]) -> list[float]:
    """Settings [N m at the own shaft] of a candidate in each cell, without scatter; NaN where none can be made."""
    known: dict[Cell, float] = {}
    out = []
    for cell in cells:
        own = _own(scenario, plan, name, cell)
        mark = tuple(own.values())
        if mark not in known:
            known[mark] = _assembled(scenario, plan, name, own)
        out.append(known[mark])
    return out


def _own(scenario: Any, plan: Any, name: str, cell: Cell) -> dict[str, float]:
    """The candidate's own inputs in a cell, by path [SI]."""
    from simcore.sweep.values import numbers

    found = numbers(scenario, name, zip(plan.grids, cell, strict=True))
    return {p: v for p, v in found.items() if p.startswith(f'candidates["{name}"]')}


def _assembled(scenario: Any, plan: Any, name: str, own: dict[str, float]) -> float:
    from simcore.contract import COL_SETTING
    from simcore.line.assemble import lowest_mode
    from simcore.measures.cases import make_case
    from simcore.scenario.alter import altered

    try:
        s = altered(scenario, own)
        a = make_case(s, s.candidates[name], s.situations[plan.situations[0]], lowest_mode(s), 1e-6).assembly
    except (SimcoreError, ArithmeticError, ValueError):
        return float("nan")
    return float("nan") if a.candidate is None else float(a.rows[a.candidate, COL_SETTING])
