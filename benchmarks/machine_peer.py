"""Any assembled line by CVODE with root finding: compiled right-hand side, guards, switches and measures."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from benchmarks.machine_pieces import BREATH, Pieces
from simcore.line.assemble import Assembly
from simcore.solver import arrays as ar
from simcore.solver.arrays import working_arrays
from simcore.solver.kernel import cases_of

FREE = 1e30
"""Absolute tolerance of quadratures: they never steer a step."""
MOST_STRETCHES = 20_000
PATIENCE = 5.0
"""Seconds of CPU after which a run is given up."""


class StuckError(RuntimeError):
    """The library did not come through."""


@dataclass(frozen=True)
class Found:
    """Measures (parts + 1, N_MEAS), switches and library steps."""

    meas: Any
    events: int
    steps: int
    calls: int
    """Of compiled laws, guards and Jacobians by the library."""


class MachinePeer:
    """One case from its start to its horizon; tolerances over the kernel's own error weights."""

    def __init__(self, a: Assembly, pieces: Pieces, method: str, tolerance: float) -> None:
        self.a, self.do, self.method, self.tolerance = a, pieces, method, tolerance
        self.n = a.scale.shape[1]
        self.calls = 0
        size = 1e6 / np.maximum(a.scale[0], 1e-300)
        """What an error is judged against; the kernel's weights are those of its default tolerance, 1e-6."""
        self.sizes = np.where(size < FREE, size, 1.0)
        self.atol = np.full(len(a.y0), FREE)
        self.atol[: self.n] = np.minimum(tolerance * size, FREE)

    def __str__(self) -> str:
        return f"{self.method} at {self.tolerance:.0e}"

    def run(self) -> Found:
        """Raises StuckError."""
        a, do, setup = self.a, self.do, self.a.setup
        arrays = working_arrays(a, 0, 0)
        work = arrays[2]
        y, size = a.y0.copy(), a.steady.shape[1]
        fine, clock = do.begin(cases_of(a), y, np.zeros((size, size)), *arrays)
        t, t_end, steps = float(setup[0]), float(setup[1]), 0
        live = t >= 0.0
        self.calls = 0
        began = time.process_time()
        for _ in range(MOST_STRETCHES):
            if time.process_time() - began > PATIENCE:
                raise StuckError(f"takes longer than {PATIENCE:.0f} s")
            if not fine:
                raise StuckError("meets switches without end")
            if t >= t_end:
                do.close(t, y, *arrays)
                return Found(work.meas, int(work.count[ar.EVENTS]), steps, self.calls)
            goal = min(clock, t_end) if live else min(clock, t_end, 0.0)
            h = min(BREATH, goal - t)
            do.breathe(t, h, y, self.n, live, *arrays)
            t = goal if h < BREATH else t + h
            if t < goal and work.g[ar.G1].min() > 0.0:
                ts, ys, rooted = self.stretch(t, y, goal, arrays)
                if live:
                    do.take_in(ts, ys, *arrays)
                steps += len(ts) - 1
                y[:] = ys[-1]
                t = float(ts[-1]) if rooted else goal
            if not live and t >= 0.0:
                live = True
                do.opened(t, y, *arrays)
            fine, clock = do.arrive(t, y, live, *arrays)
        raise StuckError(f"stops more than {MOST_STRETCHES} times")

    def handing_over(self, many: int = 5000) -> float:
        """Seconds of CPU it takes to hand all arrays to a compiled function that does nothing."""
        arrays, y = working_arrays(self.a, 0, 0), self.a.y0.copy()
        dy = np.zeros_like(y)
        self.do.nothing(0.0, y, dy, *arrays)
        began = time.process_time()
        for _ in range(many):
            self.do.nothing(0.0, y, dy, *arrays)
        return (time.process_time() - began) / many

    def stretch(self, t: float, y: Any, goal: float, arrays: Any) -> tuple[Any, Any, bool]:
        """From ``t`` to the first root or to ``goal``."""
        from sksundae.cvode import CVODE

        do, count = self.do, arrays[2].g.shape[1]
        line, state, work = arrays

        def rhs(t: float, y: Any, dy: Any) -> None:
            self.calls += 1
            do.slopes(t, y, dy, line, state, work)

        def roots(t: float, y: Any, out: Any) -> None:
            self.calls += 1
            do.roots(t, y, out, line, state, work)

        def jac(t: float, y: Any, yp: Any, JJ: Any) -> None:
            self.calls += 1
            JJ[:] = 0.0
            do.jacobian(t, y, JJ, self.n, self.sizes, line, state, work)

        roots.terminal, roots.direction = [True] * count, [-1] * count  # type: ignore[attr-defined]
        solver = CVODE(rhs, method=self.method, rtol=1e-15, atol=self.atol, max_num_steps=10**6, eventsfn=roots,
                       num_events=count, jacfn=jac, max_step=float(self.a.setup[3]))  # fmt: skip
        s = solver.solve(np.array([t, goal]), y)
        if not s.success:
            raise StuckError(str(s.message))
        ts = np.asarray(s.t)
        return ts, np.ascontiguousarray(s.y), bool(ts[-1] < goal)
