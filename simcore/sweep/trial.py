"""Runs the cases of a sweep: from a cell and its draws to measures, for one candidate.

Every case is assembled from the scenario with its numbers replaced, exactly as a single run with these numbers
would be.  A draw is assembled once for all cells whose factors only turn the candidate's own knob.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from math import nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.errors import InputError, SolveError
from simcore.line.assemble import lowest_mode
from simcore.line.laws import Num, Unlike, alike
from simcore.measures.cases import Case, burnt, make_case, meets
from simcore.measures.extract import measured
from simcore.measures.holding import smallest_settings
from simcore.measures.line_mates import failing
from simcore.scenario.alter import altered, value_at
from simcore.scenario.model import Scenario, Situation
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome, run_cases, run_one
from simcore.sweep.limits import largest, limits, uses_of
from simcore.sweep.plan import Plan
from simcore.sweep.sheet import AT
from simcore.sweep.stack import Stack, at_once, one_by_one
from simcore.sweep.turn import turned_rows
from simcore.sweep.values import OWN, named, numbers, own_path

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RTOL = 1e-6
FEW = 8
"""Fewer draws are put together one by one."""
MOST_MODES = 10_000
REFUSALS = (InputError, SolveError, ArithmeticError, ValueError)
NOT_ASSEMBLED = 98
"""Status of a case that could not be put together: no steady running, impossible inputs."""
MEASURES = (
    "peak", "peak_time", "end", "ledger", "trigger", "lets_go", "disconnect", "reengage", "standstill", "impulse",
    "energy", "heat", "rise", "burns_at", "slip_angle", "tally", "peak_protection", "end_class", "speed_kept", "met",
    "use", "mates", "burnt", "stretched", "too_soon", "asks",
)  # fmt: skip
ONE_ASSEMBLES = threading.Lock()
"""Threads that assemble at once would share the interpreter and then keep in step, blocks being alike; one that has
waited assembles while the other computes."""


@dataclass(frozen=True, slots=True)
class Block:
    """Results of the draws ``first`` to ``last - 1`` in one cell; arrays (draws, situations)."""

    candidate: str
    cell: tuple[float, ...]
    first: int
    last: int
    status: Ints
    measures: dict[str, Floats]
    faults: list[tuple[int, int, str]] = field(default_factory=list)


Solve = Callable[[Stack], tuple[Floats, Ints]]
"""Runs the cases of a stack: measures of the kernel (cases, parts + 1, N_MEAS), status (cases)."""


def _many(stack: Stack) -> tuple[Floats, Ints]:
    meas, _counts, ended = run_cases(stack.base, stack.cases, len(stack.good))
    return meas, ended


class Trial:
    """One candidate of a sweep; ``run`` gives blocks, the same bits however the draws are split."""

    def __init__(self, scenario: Scenario, plan: Plan, candidate: str) -> None:
        self.plan = plan
        self.name = candidate
        self.scenario = scenario
        self.situations = tuple(plan.situations)
        self.limits = tuple(AT + name for name in limits(scenario))
        self.rtol = scenario.solver.get("relative_tolerance", RTOL)
        self._modes: dict[tuple[tuple[str, float], ...], float] = {}
        self._kept: dict[tuple[int, int], list[Stack]] = {}

    def run(self, cell: Sequence[float], first: int, last: int) -> Block:
        """Measures of the draws ``first`` to ``last - 1`` at one point of the grid."""
        return self._block(tuple(cell), first, last, self._stacks(tuple(cell), first, last), _many)

    def ready(self, cell: Sequence[float], draw: int) -> list[Stack]:
        """One case in each situation, as the sweep hands it to the kernel: base Assembly and one-case Cases."""
        return self._stacks(tuple(cell), draw, draw + 1)

    def replay(self, cell: Sequence[float], draw: int) -> tuple[Block, list[Outcome | None]]:
        """The block of one draw, and each situation's outcome with its trace; None where nothing could run."""
        outcomes: dict[int, Outcome] = {}

        def one(stack: Stack) -> tuple[Floats, Ints]:
            out = run_one(stack.base, cases=stack.cases)
            outcomes[id(stack)] = out
            return out.meas[None], np.array([out.status], dtype=np.int64)

        stacks = self.ready(cell, draw)
        block = self._block(tuple(cell), draw, draw + 1, stacks, one)
        return block, [outcomes.get(id(stack)) for stack in stacks]

    def _block(self, cell: tuple[float, ...], first: int, last: int, stacks: list[Stack], solve: Solve) -> Block:
        shape = (last - first, len(self.situations))
        status = np.full(shape, NOT_ASSEMBLED, dtype=np.int64)
        out = {name: np.full(shape, nan) for name in (*MEASURES, *self.limits)}
        faults: list[tuple[int, int, str]] = []
        for j, stack in enumerate(stacks):
            self._run_one(j, stack, status, out, faults, first, solve)
            if cell == self.plan.cells()[0]:
                self._ask(j, stack, out["asks"])
        return Block(self.name, cell, first, last, status, out, faults)

    def values(self, cell: Sequence[float], sample: Sequence[Any] | Floats) -> dict[str, Any]:
        """Numbers of one case by path [SI]; arrays where ``sample`` holds an array for each factor."""
        given = [*zip(self.plan.grids, cell, strict=True), *zip(self.plan.scatters, sample, strict=True)]
        return numbers(self.scenario, self.name, given)

    def case(self, cell: Sequence[float], draw: int, situation: str) -> Case:
        """One case ready to run, as a replay needs it."""
        sample = self.plan.samples(draw, draw + 1)[0]
        return self._make(self.values(cell, sample), self.scenario.situations[situation])

    def _make(self, values: Mapping[str, float], situation: Situation) -> Case:
        names = {s.item.path for s in self.scenario.situations.values()} - {situation.item.path}
        own = {p: v for p, v in values.items() if p.rpartition(".")[0] not in names}
        s = altered(self.scenario, own)
        return make_case(s, s.candidates[self.name], s.situations[situation.name], self._lowest(s, own), self.rtol)

    def _lowest(self, scenario: Scenario, values: Mapping[str, float]) -> float:
        """Lowest mode of the bare line, the same for all situations of a draw."""
        mark = tuple((p, v) for p, v in values.items() if not p.startswith(("candidates[", "situations[")))
        if mark not in self._modes:
            while len(self._modes) > MOST_MODES:
                del self._modes[next(iter(self._modes))]
            self._modes[mark] = lowest_mode(scenario)
        return self._modes[mark]

    def _stacks(self, cell: tuple[float, ...], first: int, last: int) -> list[Stack]:
        if not self._light():
            return self._assembled(cell, first, last)
        if (first, last) not in self._kept:
            self._kept = {(first, last): self._assembled(self._neutral(), first, last)}
        return [self._turned(stack, cell, first, last) for stack in self._kept[first, last]]

    def _neutral(self) -> tuple[float, ...]:
        own = [value_at(self.scenario, own_path(f.paths[0], self.name)) for f in self.plan.grids]
        return tuple(1.0 if f.times else v for f, v in zip(self.plan.grids, own, strict=True))

    def _light(self) -> bool:
        """Whether all grid factors act on the candidate's law alone, so that a draw is assembled once."""
        c = self.scenario.candidates[self.name]
        slot = self.scenario.slot_of(c)
        hubs = all(slot_hub is not None or name in c.item.given
                   for name, slot_hub in (("hub_in", slot.hub_in), ("hub_out", slot.hub_out)))  # fmt: skip
        own = all(p.startswith((OWN, "candidates[")) for f in self.plan.grids for p in f.paths)
        inertia = any(p.endswith((".hub_in", ".hub_out")) for f in self.plan.grids for p in f.paths)
        return bool(self.plan.grids) and hubs and own and not inertia

    def _assembled(self, cell: tuple[float, ...], first: int, last: int) -> list[Stack]:
        samples = self.plan.samples(first, last)
        situations = [self.scenario.situations[s] for s in self.situations]
        with ONE_ASSEMBLES:
            if last - first >= FEW:
                with suppress(Unlike, *REFUSALS):
                    return self._at_once(self.values(cell, samples.T), last - first, situations)
            values = [self.values(cell, x) for x in samples]
            return [one_by_one([self._try(v, s) for v in values]) for s in situations]

    def _at_once(self, values: Mapping[str, Any], count: int, situations: list[Situation]) -> list[Stack]:
        """All draws by array operations; Unlike or one of REFUSALS if one of them is not to be had so."""
        draws: dict[str, dict[str, Num]] = {}
        for path, v in values.items():
            owner, _, name = path.rpartition(".")
            draws.setdefault(owner, {})[name] = alike(np.ascontiguousarray(v))
        names = {s.item.path for s in self.scenario.situations.values()}
        line = {owner: drawn for owner, drawn in draws.items() if owner not in names}
        w1 = alike(np.asarray(lowest_mode(self.scenario, line)))
        c = self.scenario.candidates[self.name]
        out = []
        for s in situations:
            own = {**line, s.item.path: draws[s.item.path]} if s.item.path in draws else line
            out.append(at_once(make_case(self.scenario, c, s, w1, self.rtol, draws=own), count))
        return out

    def _try(self, values: Mapping[str, float], situation: Situation) -> Case | str:
        try:
            return self._make(values, situation)
        except REFUSALS as error:
            return str(error) or type(error).__name__

    def _turned(self, stack: Stack, cell: tuple[float, ...], first: int, last: int) -> Stack:
        """The same draws with the candidate's own row for another cell."""
        if stack.base is None or stack.turning is None or not self.plan.grids:
            return stack
        i = stack.base.candidate or 0
        values = self.values(cell, self.plan.samples(first, last)[stack.good].T)
        rows = stack.cases.rows.copy()
        changed = named(values, stack.base.graph.elements[i].path)
        rows[stack.good, i] = turned_rows(stack.turning, rows[stack.good, i], changed)
        heat_limit = changed.get("heat_limit", stack.heat_limit)
        return replace(stack, cases=stack.cases._replace(rows=rows), heat_limit=heat_limit)

    def _run_one(
        self, j: int, stack: Stack, status: Ints, out: dict[str, Floats], faults: list[tuple[int, int, str]],
        first: int, solve: Solve,
    ) -> None:  # fmt: skip
        faults += [(first + d, j, text) for d, text in stack.faults]
        if stack.case is None or stack.base is None:
            return
        meas, ended = solve(stack)
        status[:, j] = np.where(stack.good, ended, NOT_ASSEMBLED)
        fine = stack.good & (ended <= ar.Status.STOPPED)
        faults += [
            (first + int(d), j, ar.MESSAGES[ar.Status(int(ended[d]))]) for d in np.flatnonzero(stack.good & ~fine)
        ]
        got = measured(stack.base, meas, stack.cases.rows, stack.case.protected, stack.heat_limit)
        expect = self.scenario.situations[self.situations[j]].expect
        got["mates"] = failing(stack.base, meas, expect)
        got["met"] = np.asarray(meets(expect, got, stack.heat_limit) & (got["mates"] == 0.0), dtype=float)
        got["burnt"] = np.asarray(burnt(got, stack.heat_limit), dtype=float)
        uses = uses_of(self.scenario, self.name, stack.base, stack.allowable, meas)
        got |= {AT + name: use for name, use in uses.items()}
        got["use"] = largest(uses, len(meas))
        for name in out.keys() & got.keys():
            out[name][fine, j] = got[name][fine]

    def _ask(self, j: int, stack: Stack, asks: Floats) -> None:
        """Smallest setting that still meets an ordinary situation, draw by draw."""
        situation = self.scenario.situations[self.situations[j]]
        if situation.expect == "let go" or stack.case is None:
            return
        found = smallest_settings(stack.case, stack.cases, stack.heat_limit)
        asks[stack.good, j] = found[stack.good]
