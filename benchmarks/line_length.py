"""Cost of one step against the number of parts: chains of flywheels and shafts with one limiter."""

from __future__ import annotations

from typing import Any

import numpy as np

from benchmarks.common import Line, check, interleaved, report
from simcore.contract import N_MEMORY
from simcore.line import assemble as asm
from simcore.line.begin import start_modes, start_state
from simcore.line.graph import GROUND, Element, Graph, Node
from simcore.line.modes import local_frequency
from simcore.parts import REGISTRY
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_many, run_one

LENGTHS = (10, 50, 200, 500)
J, K, C, SPEED = 0.01, 1e4, 0.5, 10.0
LINEAR = 0.1


def element(kind: str, name: str, a: int, b: int, **raw: float) -> Element:
    """A part by its raw SI inputs; what is not given keeps its default."""
    from simcore.scenario.model import Quantity
    from simcore.scenario.models import default_value

    part = REGISTRY[kind]
    values = {}
    for p in part.kind.params:
        v = default_value(p)
        v = v.si if isinstance(v, Quantity) else v
        if isinstance(v, str):
            v = p.choices.index(v)
        if v is not None:
            values[p.name] = float(v)
    return Element(name, part, name, {**values, **raw}, a, b, 1.0, 1.0, "rotation")


def chain(parts: int, t_end: float, rtol: float) -> asm.Assembly:
    """``parts`` connections in a row between flywheels, each with its own speed at the start.

    The connection in the middle is a friction disc set far above what comes.  All flywheels move, because
    one that a wave has not yet reached computes with denormal numbers, which are slow by themselves.
    """
    nodes = [Node("ground", "ground")] + [Node(f"n{i}", "rotation", {"own": J}) for i in range(parts + 1)]
    elements = []
    for i in range(parts):
        if i == parts // 2:
            e = element("friction disc", f"e{i}", i + 1, i + 2, setting=1e6, stiffness=K)
        else:
            e = element("shaft", f"e{i}", i + 1, i + 2, stiffness=K)
        elements.append(e)
    g = Graph(nodes, elements, {}, {}, {})
    table, states = asm._part_table(g, elements)
    rows = asm._rows(g, 1.0)
    for i, e in enumerate(elements):
        rows[i, e.part.kind.column("c")] = C
    shake = np.array([local_frequency(n, g.nodes, elements, [K] * parts) for n in range(len(nodes))])
    speeds = np.full(len(nodes), SPEED)
    speeds[GROUND] = 0.0
    mode0 = start_modes(g, elements, rows, np.ones(parts))
    y0 = start_state(g, elements, rows, np.zeros(1), np.ones(parts), states, speeds, True)
    y0[len(nodes) + 1 :][: parts + 1] = speeds_at_start(parts)
    h = 0.2 / float(shake.max())
    setup = np.array([0.0, t_end, h, h, 2 * len(nodes) + states, 1e7, 0.0, 0.0, 0.0, 0.0, np.inf, 0.0,
                      ar.EXPLICIT_ONLY, h, 0.0, 0.0])  # fmt: skip
    fields: dict[str, Any] = {
        "graph": g, "parts": table, "rows": rows, "nodes": asm._node_table(g), "klass": asm._classes(elements),
        "y0": y0, "mode0": mode0, "mem0": np.zeros((parts, N_MEMORY)), "wire0": np.array([1.0, 0.0]),
        "steady": np.zeros((2, len(nodes), 5)), "scale": weights(shake, states, rtol),
        "setup": setup, "free_speeds": speeds, "states": states, "w1": 1.0, "w_top": float(shake.max()),
        "tab": np.zeros(1),
    }  # fmt: skip
    return asm.Assembly(**fields)


def weights(shake: Any, states: int, rtol: float) -> Any:
    """One over the tolerance of every state."""
    out = np.zeros(2 * len(shake) + states)
    out[1 : len(shake)] = shake[1:] / (rtol * SPEED)
    out[len(shake) + 1 : 2 * len(shake)] = 1.0 / (rtol * SPEED)
    out[2 * len(shake) :] = 100.0 / rtol
    return np.stack([out, out])


def speeds_at_start(parts: int) -> Any:
    """A spread of speeds up to SPEED, the same every time."""
    return SPEED * ((np.arange(parts + 1) * 0.6180339887) % 1.0)


def by_expm(parts: int, t: float) -> tuple[Any, Any]:
    """Angles and speeds of the same linear chain by scipy's matrix exponential."""
    from scipy.linalg import expm

    n = parts + 1
    d = np.zeros((parts, n))
    d[np.arange(parts), np.arange(parts)] = 1.0
    d[np.arange(parts), np.arange(parts) + 1] = -1.0
    k = np.full(parts, K)
    c = np.full(parts, C)
    a = np.zeros((2 * n, 2 * n))
    a[:n, n:] = np.eye(n)
    a[n:, :n] = -(d.T * k) @ d / J
    a[n:, n:] = -(d.T * c) @ d / J
    y = np.zeros(2 * n)
    y[n:] = speeds_at_start(parts)
    z = expm(a * t) @ y
    return z[:n], z[n:]


def verify(parts: int) -> float:
    """Largest error of any speed over the running speed at the end of 20 ms."""
    a = chain(parts, 0.02, 1e-9)
    out = run_one(a, trace=False)
    check(out.status == ar.Status.DONE, f"chain of {parts}: {out.status}")
    angles, speeds = by_expm(parts, 0.02)
    nn = parts + 2
    worst = float(np.abs(out.y[nn + 1 : 2 * nn] - speeds).max()) / SPEED
    check(worst < 1e-7, f"chain of {parts} against the matrix exponential: {worst:.1e}")
    check(float(np.abs(out.y[1:nn] - angles).max()) < 1e-7 * SPEED / 1e3, f"angles of a chain of {parts}")
    return worst


def measure(quick: bool = False) -> list[Line]:
    lengths = LENGTHS[:2] if quick else LENGTHS
    errors = [verify(n) for n in lengths]
    lines = {n: chain(n, 0.02, 1e-6) for n in lengths}
    runs = {n: max(1, LENGTHS[-1] // n) for n in lengths}
    jobs = {str(n): lambda a=a, n=n: run_many(a, np.repeat(a.rows[None], runs[n], 0)) for n, a in lines.items()}
    times = interleaved(jobs, 2 if quick else 15)
    counts = {n: run_many(a, a.rows[None])[1][0] for n, a in lines.items()}
    step = np.array([times[str(n)].cpu / runs[n] / (counts[n][ar.STEPS] + counts[n][ar.REJECTED]) for n in lengths])
    call = np.array([times[str(n)].cpu / runs[n] / counts[n][ar.CALLS] for n in lengths])
    slope, base = np.polyfit(lengths, step, 1, w=1.0 / step)
    power = float(np.polyfit(np.log(lengths), np.log(step), 1)[0])
    off = float(np.abs((base + slope * np.array(lengths)) / step - 1.0).max())
    each = ", ".join(f"{n} parts: {s * 1e6:.2f} us a step, {c / n * 1e9:.1f} ns a part and evaluation"
                     for n, s, c in zip(lengths, step, call, strict=True))  # fmt: skip
    return [
        Line("cost of a step against the number of parts, distance from a straight line", f"<= {LINEAR * 100:.0f} %",
             f"{off * 100:.0f} %", off <= LINEAR,
             f"line {base * 1e6:.2f} us + {slope * 1e9:.0f} ns a part, weighted by 1/cost; {each}; against the matrix "
             f"exponential within {max(errors):.0e}; that long lines outgrow the first-level cache is a guess, not "
             "measured"),
        Line("the same as a power of the number of parts", "", f"{power:.2f}"),
    ]  # fmt: skip


if __name__ == "__main__":
    report("Length of the line", measure())
