"""Cost of each two-hub part's law against the plain shaft: chains of eight equal connections, no switches."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from benchmarks.common import Line, check, interleaved, report
from benchmarks.line_length import chain, element
from simcore.line import assemble as asm
from simcore.line.graph import Graph
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many

PARTS = 8
INPUTS: dict[str, dict[str, float]] = {
    "shaft": {"stiffness": 1e4},
    "flexible coupling": {"stiffness": 1e4},
    "gear": {"stiffness": 1e4, "ratio": 1.0},
    "friction disc": {"stiffness": 1e4, "setting": 1e5},
    "ball detent": {"setting": 1e5},
    "shear pins": {"setting": 1e5},
    "magnet disc": {"setting": 1e4, "pole_pairs": 8},
    "roller detent": {"setting": 1e5},
    "notched-wheel pawl": {"setting": 1e5},
    "tipping sprag": {"setting": 1e5},
    "magnetic particle clutch": {"setting": 1e5},
    "magnetic hysteresis clutch": {"setting": 1e4},
    "eddy-current clutch": {"setting": 1e3},
    "rigid coupling": {"rated_torque": 100.0},
    "misaligned coupling": {"stiffness": 1e4, "error_once": 0.01, "error_twice": 0.005},
    "universal joint": {"stiffness": 1e4, "joint_angle": 0.2},
    "wrap spring freewheel": {"capacity": 1e5},
    "roller freewheel": {"capacity": 1e5},
    "ratchet freewheel": {"capacity": 1e5, "teeth": 30},
    "sprag freewheel": {"capacity": 1e5},
}


def of_kind(kind: str) -> asm.Assembly:
    """The chain of :mod:`benchmarks.line_length` with all connections of one kind, gently running."""
    a = chain(PARTS, 0.05, 1e-6)
    elements = [element(kind, f"e{i}", i + 1, i + 2, **INPUTS[kind]) for i in range(PARTS)]
    g = Graph(a.graph.nodes, elements, {}, {}, {})
    table, states = asm._part_table(g, elements)
    nn = len(g.nodes)
    rows = asm._rows(g, 100.0)
    y0 = asm._start_state(g, elements, rows, np.zeros(1), np.ones(PARTS), states, a.free_speeds, True)
    y0[nn + 1 : 2 * nn] = 10.0 + 0.01 * (np.arange(nn - 1) % 3)
    scale = np.concatenate([a.scale[:, : 2 * nn], np.full((2, states), 1e8)], axis=1)
    setup = a.setup.copy()
    setup[4] = 2 * nn + states
    return replace(
        a, graph=g, parts=table, rows=rows, klass=asm._classes(elements), y0=y0, states=states,
        mode0=asm._start_modes(g, elements, rows, np.ones(PARTS)), scale=scale, setup=setup,
    )  # fmt: skip


def measure(quick: bool = False) -> list[Line]:
    lines = {k: of_kind(k) for k in INPUTS}
    counts: dict[str, Any] = {}
    for kind, a in lines.items():
        _, c, status = run_many(a, a.rows[None])
        check(status[0] == ar.Status.DONE, f"chain of {kind}: status {status[0]}")
        counts[kind] = c[0]
    times = interleaved({k: lambda a=a: run_many(a, a.rows[None]) for k, a in lines.items()}, 2 if quick else 15)
    cost = {k: times[k].cpu / counts[k][ar.CALLS] / PARTS * 1e9 for k in lines}
    text = ", ".join(f"{k} {c:.1f} ns ({c / cost['shaft']:.2f})" for k, c in cost.items())
    return [Line("cost of a part in one evaluation (over the shaft's), step and switching shared out", "", text)]


if __name__ == "__main__":
    report("Cost of each law", measure())
