"""Cost of each law against the plain shaft: chains of eight equal connections, or of shafts with eight equal loads.

Every kind between two hubs and every load that is registered takes its turn; none switches on the way.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from benchmarks.common import Line, check, interleaved, report
from benchmarks.line_length import chain, element
from simcore.contract import N_MEMORY, Kind
from simcore.line import assemble as asm
from simcore.line.begin import start_modes, start_state
from simcore.line.graph import Element, Graph
from simcore.parts import REGISTRY
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many

PARTS = 8
INPUTS: dict[str, dict[str, float]] = {
    "friction disc": {"stiffness": 1e4, "setting": 1e5},
    "magnet disc": {"setting": 1e4, "pole_pairs": 8},
    "magnetic hysteresis clutch": {"setting": 1e4},
    "eddy-current clutch": {"setting": 1e3},
    "rigid coupling": {"rated_torque": 100.0},
    "misaligned coupling": {"stiffness": 1e4, "error_once": 0.01, "error_twice": 0.005},
    "universal joint": {"stiffness": 1e4, "joint_angle": 0.2},
    "ratchet freewheel": {"capacity": 1e5, "teeth": 30},
    "incline": {"angle": 0.1, "mass": 1.0},
    "cam": {"lift": 0.01, "rise_angle": 2.0, "return_angle": 2.0, "mass": 1.0},
    "winding roll": {
        "tension": 10.0, "core_diameter": 0.1, "thickness": 1e-4, "core_inertia": 0.01, "grammage": 0.1, "width": 1.0,
    },
    "nip-fed roll": {
        "web_speed": 0.5, "tension": 10.0, "grip": 1e6, "core_diameter": 0.1, "start_diameter": 0.1, "thickness": 1e-4,
        "grammage": 0.1, "width": 1.0, "core_inertia": 0.01,
    },
}  # fmt: skip
"""Inputs that the usual ones below do not serve."""
USUAL = {"stiffness": 1e4, "setting": 1e5, "ratio": 1.0, "capacity": 1e5}
FAMILIES = ("transmission", "protection", "overrunning clutch")
REST = {
    "radius": 0.1, "radius_in": 0.1, "radius_out": 0.1, "pitch": 0.0127, "teeth_in": 19.0, "teeth_out": 19.0,
    "running": 1.0, "torque": 1.0, "speed": 10.0, "length": 10.0, "goods": 10.0, "belt": 10.0, "rollers": 10.0,
    "mass": 1.0, "rod": 0.5, "stiffness": 1e4,
}  # fmt: skip
"""What required inputs are given."""


def inputs_of(kind: Kind) -> dict[str, float]:
    if kind.name in INPUTS:
        return INPUTS[kind.name]
    names = {p.name for p in kind.params}
    usual = {n: v for n, v in USUAL.items() if n in names and kind.hubs == 2}
    return {p.name: REST[p.name] for p in kind.params if p.required and p.name in REST} | usual


def wanted() -> list[Kind]:
    """Kinds between two hubs, and loads."""
    both = [p.kind for p in REGISTRY.values() if p.has("torque") or p.has("friction")]
    return [k for k in both if (k.hubs == 2 and k.family in FAMILIES) or (k.hubs == 1 and k.family == "load")]


def elements_of(kind: Kind) -> list[Element]:
    own = inputs_of(kind)
    if kind.hubs == 2:
        return [element(kind.name, f"e{i}", i + 1, i + 2, **own) for i in range(PARTS)]
    shafts = [element("shaft", f"s{i}", i + 1, i + 2, stiffness=1e4) for i in range(PARTS)]
    return shafts + [element(kind.name, f"e{i}", i + 1, 0, **own) for i in range(PARTS)]


def of_kind(kind: Kind) -> asm.Assembly:
    """The chain of :mod:`benchmarks.line_length` with parts of one kind, gently running."""
    a = chain(PARTS, 0.05, 1e-6)
    elements = elements_of(kind)
    count = len(elements)
    g = Graph(a.graph.nodes, elements, {}, {}, {})
    table, states = asm._part_table(g, elements)
    nn = len(g.nodes)
    rows = asm._rows(g, 100.0)
    y0 = start_state(g, elements, rows, np.zeros(1), np.ones(count), states, a.free_speeds, True)
    y0[nn + 1 : 2 * nn] = 10.0 + 0.01 * (np.arange(nn - 1) % 3)
    scale = np.concatenate([a.scale[:, : 2 * nn], np.full((2, states), 1e8)], axis=1)
    setup = a.setup.copy()
    setup[4] = 2 * nn + states
    return replace(
        a, graph=g, parts=table, rows=rows, klass=asm._classes(elements), y0=y0, states=states,
        mode0=start_modes(g, elements, rows, np.ones(count)), mem0=np.zeros((count, N_MEMORY)), scale=scale,
        setup=setup,
    )  # fmt: skip


def chains() -> tuple[dict[str, asm.Assembly], dict[str, Any], list[str]]:
    """Chains by kind and their counters, the shaft's first; kinds that stand in none, and why."""
    lines, counts, out = {}, {}, []
    for kind in sorted(wanted(), key=lambda k: (k.name != "shaft", k.hubs != 2)):
        if any(p.many and p.required for p in kind.params):
            continue
        try:
            a = of_kind(kind)
        except (KeyError, ValueError, TypeError, IndexError) as error:
            out.append(f"{kind.name}: {error!r}")
            continue
        _, c, status = run_many(a, a.rows[None])
        if status[0] != ar.Status.DONE:
            out.append(f"{kind.name}: {ar.MESSAGES[ar.Status(int(status[0]))]}")
            continue
        lines[kind.name], counts[kind.name] = a, c[0]
    return lines, counts, out


def left_out() -> list[str]:
    return chains()[2]


def measure(quick: bool = False) -> list[Line]:
    lines, counts, _ = chains()
    check("shaft" in lines, "chain of shafts")
    times = interleaved({k: lambda a=a: run_many(a, a.rows[None]) for k, a in lines.items()}, 2 if quick else 15)
    whole = {k: times[k].cpu / counts[k][ar.CALLS] / PARTS * 1e9 for k in lines}
    plain = whole["shaft"]
    hubs = {k: REGISTRY[k].kind.hubs for k in lines}
    joints = ", ".join(f"{k} {c:.1f} ns ({c / plain:.2f})" for k, c in whole.items() if hubs[k] == 2)
    loads = ", ".join(f"{k} {c - plain:.1f} ns ({c / plain - 1.0:.2f})" for k, c in whole.items() if hubs[k] == 1)
    dear = max((k for k in whole if hubs[k] == 2), key=lambda k: whole[k])
    what = "cost of a part in one evaluation (over the shaft's), step and switching shared out"
    return [
        Line(what, "", f"shaft {plain:.1f} ns, dearest of {sum(h == 2 for h in hubs.values())} kinds: {dear} "
             f"{whole[dear]:.1f} ns ({whole[dear] / plain:.2f})", note=joints),
        Line("what a load adds to a shaft in one evaluation (over the shaft's)", "",
             f"{sum(h == 1 for h in hubs.values())} kinds", note=loads),
    ]  # fmt: skip


if __name__ == "__main__":
    report("Cost of each law", measure())
