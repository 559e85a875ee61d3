"""A stand-in for plan and trial: closed-form numbers, fast, with faults on demand.  Tests of the store use it.

Numbers depend on candidate, cell and draw alone, as those of real trials do.
"""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from simcore.sweep.book import Setup
from simcore.sweep.result import SweepResult

SITUATIONS = ("belt jams", "full start")
EXPECTS = ("let go", "hold")
TEXT = 'title = "Laundry press"\n\n[solver]\nrelative_tolerance = 1e-6\n\n[sweep]\ndraws = 70\n'


@dataclass(frozen=True)
class StandInFactor:
    name: str
    grid: tuple[float, ...] = ()
    times: bool = True


@dataclass(frozen=True)
class StandInPlan:
    """The fields of a plan that the store looks at."""

    factors: tuple[StandInFactor, ...] = (StandInFactor("setting", (0.8, 1.0, 1.3)), StandInFactor("jam stiffness"))
    seed: int = 7
    draws: int = 70
    block: int = 20
    design: str = "random"
    candidates: tuple[str, ...] = ("disc", "pins")
    damage_target: float = 1e-3

    def cells(self) -> tuple[tuple[float, ...], ...]:
        return tuple((v,) for v in self.factors[0].grid) or ((),)

    def grown(self, draws: int = 0, grid: tuple[float, ...] = ()) -> StandInPlan:
        factors = (replace(self.factors[0], grid=grid or self.factors[0].grid), *self.factors[1:])
        return replace(self, draws=draws or self.draws, factors=factors)


def sample(first: int, last: int) -> np.ndarray[Any, Any]:
    """Stiffness ratio of each draw, a function of its number."""
    d = np.arange(first, last)
    return np.exp(np.sin(12.9898 * (d + 1)))


@dataclass
class StandInBlock:
    status: np.ndarray[Any, Any]
    measures: dict[str, np.ndarray[Any, Any]]
    faults: list[tuple[int, int, str]] = field(default_factory=list)


@dataclass
class StandInTrial:
    """``delay`` [s] a block; draws in ``raises`` raise, draws in ``fails`` end with status 3."""

    candidate: str
    cell0: tuple[float, ...]
    delay: float = 0.0
    raises: tuple[int, ...] = ()
    fails: tuple[int, ...] = ()
    pids: str = ""

    def run(self, cell: tuple[float, ...], first: int, last: int) -> StandInBlock:
        if self.delay:
            time.sleep(self.delay * (last - first) / 20.0)
        if self.pids:
            (Path(self.pids) / str(os.getpid())).touch()
        if any(first <= d < last for d in self.raises):
            raise ZeroDivisionError("a stand-in fault")
        x = sample(first, last)[:, None] * np.array([1.0, 0.5])
        level = (cell[0] if cell else 1.0) * (1.0 if self.candidate == "disc" else 1.1)
        use = 0.4 * x + 0.3 * level
        measures = {
            "peak": 600.0 * use, "use": use, "met": np.where(x[:, ::-1] * 0.2 < level, 1.0, 0.0),
            "trigger": np.where(use > 1.0, np.nan, 0.01 / x),
            "asks": np.where([False, True], 300.0 * x, np.nan) if cell == self.cell0 else np.full(x.shape, np.nan),
        }  # fmt: skip
        status = np.zeros(x.shape, dtype=np.int64)
        faults = []
        for d in self.fails:
            if first <= d < last:
                status[d - first, 0] = 3
                faults.append((d, 0, "the step shrank to nothing"))
                for name in measures:
                    measures[name][d - first, 0] = np.nan
        return StandInBlock(status, measures, faults)


def make(cell0: tuple[float, ...], options: dict[str, Any], candidate: str) -> StandInTrial:
    return StandInTrial(candidate, cell0, **options)


def setup(plan: StandInPlan | None = None, text: str = TEXT, versions: dict[str, str] | None = None,
          **options: Any) -> Setup:  # fmt: skip
    """A sweep of the stand-in; ``options`` go to the trial."""
    plan = plan or StandInPlan()
    cells = plan.cells()
    return Setup(text, plan, f"print of {plan.seed}", versions or {"simcore": "1"}, plan.candidates, cells, EXPECTS,
                 partial(make, cells[0], options), partial(head, plan, text))  # fmt: skip


def head(plan: StandInPlan, text: str, draws: int) -> SweepResult:
    grid = plan.factors[0].grid
    grids = {"setting": np.array(grid)} if grid else {}
    n = len(plan.candidates)
    base = np.array([300.0, 330.0])[:n]
    return SweepResult(
        title="Laundry press", unit="N*m", scenario_text=text, candidates=plan.candidates, situations=SITUATIONS,
        expects=EXPECTS, grids=grids, grid_kinds=dict.fromkeys(grids, "ratio"),
        samples={"jam stiffness": sample(0, draws)}, sample_kinds={"jam stiffness": "ratio"},
        setting=base[:, None] * grids["setting"] if grid else base, tolerance={"disc": 0.1, "pins": 0.08},
        allowable=600.0, protect="head shaft", measures={}, asks=np.full((n, draws, 2), np.nan),
        status=np.zeros((n, *([len(grid)] if grid else []), draws, 2), dtype=np.int16),
        damage_target=plan.damage_target, nuisance_target=1e-4, seed=plan.seed, design=plan.design,
        provenance={"plan": {"seed": plan.seed, "draws": plan.draws}},
    )  # fmt: skip
