"""Writes the kernel module: one branch a kind, dispatched by plain if/elif on the kind's number."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from simcore.contract import N_GUARD, Part

HEAD = '''"""Generated kernel; do not edit."""

from math import inf

from simcore.contract import Q
from simcore.solver.compile import ENTRY, INNER

'''

LOCALS = """    row = line.parts[e]
    a = row[1]
    b = row[2]
    p = line.p[e]
    ta = p[30] * y[a]
    wa = p[30] * y[nn + a]
    tb = p[31] * y[b]
    wb = p[31] * y[nn + b]
    q = Q(
        state.mode[e], t, ta - tb, wa - wb, ta, wa, tb, wb, y[row[3] : row[3] + row[4]], state.mem[e],
        (state.wire[row[5]], state.wire[row[6]], state.wire[row[7]]), p, line.tab,
    )
"""

EVALUATE_HEAD = """@njit(**INNER)
def evaluate(t, full, y, dy, T, G, line, state):
    nn = line.nodes.shape[0]
    count = line.parts.shape[0]
    for n in range(nn):
        dy[n] = y[nn + n]
        line.nodes[n, 1] = 0.0
        line.nodes[n, 2] = 0.0
        line.nodes[n, 3] = 0.0
    source = 0.0
    for e in range(count):
"""

EVALUATE_TAIL = """
        T[e] = torque
        line.nodes[a, 1] += p[30] * (ga - torque)
        line.nodes[b, 1] += p[31] * (gb + torque)
        if row[13] != 0:
            r = abs(p[30])
            if p[30] < 0.0:
                hb, hf, rb, rf = hf, hb, rf, rb
            line.nodes[a, 2] += r * hb
            line.nodes[a, 3] += r * hf
            s = state.mode[count + a]
            if s == 1:
                line.nodes[a, 1] -= r * rf
                lost += r * rf * y[nn + a]
            elif s == -1:
                line.nodes[a, 1] += r * rb
                lost -= r * rb * y[nn + a]
        dy[row[14]] = lost
        if lost < 0.0:
            source -= lost
        if row[15] >= 0:
            dy[row[15]] = abs(torque)
            dy[row[15] + 1] = torque * wb
            dy[row[15] + 2] = abs(wa - wb) if line.klass[e, state.mode[e]] >= 2 else 0.0
    dy[y.shape[0] - 1] = source
    if full > 0.5:
        last = G.shape[0] - 1
        G[last] = 1.0
    for n in range(nn):
        s = state.mode[count + n]
        if s == 0:
            dy[nn + n] = 0.0
            if full > 0.5:
                G[4 * count + n] = min(
                    line.nodes[n, 1] + line.nodes[n, 2], line.nodes[n, 3] - line.nodes[n, 1]
                )
        else:
            dy[nn + n] = line.nodes[n, 1] * line.nodes[n, 0]
            if full > 0.5 and s != 9:
                G[4 * count + n] = s * y[nn + n]
        if full > 0.5 and line.nodes[n, 4] > 0.0:
            G[last] = line.nodes[n, 4] - abs(y[nn + n])
"""

INDENTED = "\n".join("    " + s if s else s for s in LOCALS.splitlines()) + "\n"


def branches(parts: Sequence[Part], body: Callable[[Part], list[str]], pad: str) -> str:
    """An if/elif chain over the kinds that have anything to do."""
    out: list[str] = []
    for p in parts:
        lines = body(p)
        if lines:
            word = "if" if not out else "elif"
            out.append(f"{pad}{word} kind == {p.index}:")
            out += [f"{pad}    {s}" for s in lines]
    return "\n".join(out) + "\n"


def evaluate_lines(p: Part) -> list[str]:
    """What one kind contributes to one evaluation."""
    k = f"k{p.index}"
    lines = []
    if p.has("torque"):
        lines.append(f"torque = {k}_torque(q)")
    if p.has("ground"):
        lines.append(f"ga, gb = {k}_ground(q, torque)")
    if p.has("friction"):
        lines.append(f"hb, hf, rb, rf = {k}_friction(q, torque)")
    if p.has("loss"):
        lines.append(f"lost = {k}_loss(q, torque)")
    if p.has("rate"):
        lines.append(f"dx = {k}_rate(q, torque)")
        lines += [f"dy[row[3] + {i}] = dx[{i}]" for i in range(len(p.kind.states))]
    if p.has("guards"):
        lines.append("if full > 0.5:")
        lines.append(f"    g = {k}_guards(q, torque)")
        lines += [f"    G[{N_GUARD} * e + {i}] = g[{i}]" for i in range(len(p.kind.guards))]
    return lines


def evaluate_text(parts: Sequence[Part]) -> str:
    body = "        kind = line.parts[e, 0]\n"
    body += "        torque = 0.0\n        ga = 0.0\n        gb = 0.0\n        lost = 0.0\n"
    body += "        hb = 0.0\n        hf = 0.0\n        rb = 0.0\n        rf = 0.0\n"
    return EVALUATE_HEAD + body + INDENTED + branches(parts, evaluate_lines, "        ") + EVALUATE_TAIL


def single(name: str, signature: str, parts: Sequence[Part], body: Callable[[Part], list[str]], rest: str) -> str:
    """A function that hands one call on to the part it concerns."""
    text = f"@njit(**INNER)\ndef {name}({signature}):\n    nn = line.nodes.shape[0]\n"
    text += "    kind = line.parts[e, 0]\n" + LOCALS
    return text + branches(parts, body, "    ") + f"    return {rest}\n"


def has_call(function: str, call: str) -> Callable[[Part], list[str]]:
    return lambda p: [call.format(k=f"k{p.index}")] if p.has(function) else []


def switch_lines(p: Part) -> list[str]:
    if not p.has("switch"):
        return []
    lines = [f"new, heat = k{p.index}_switch(k, q, T, q.x, q.mem, state.out)"]
    lines += [f"state.wire2[row[{8 + i}]] = state.out[{i}]" for i in range(len(p.kind.writes))]
    return [*lines, "return new, heat"]


def pulled(parts: Sequence[Part]) -> str:
    """Names of the compiled part functions."""
    used = ("torque", "ground", "friction", "rate", "guards", "clock", "switch", "loss", "store")
    names = [f"k{p.index}_{f}" for p in parts for f in used if p.has(f)]
    return "\n".join(f"{n} = {n}()" for n in names) + "\n\n"


ENTRIES = """for _plain, _made in (
    (_dispatch.evaluate, evaluate),
    (_dispatch.switch_part, switch_part),
    (_dispatch.part_clock, part_clock),
    (_dispatch.part_store, part_store),
):
    _adopter.put(_plain, _made)

from simcore.solver import batch as _batch

_prepare = _adopter.adopt(_batch.prepare)
_batch_loop = _adopter.adopt(_batch.run_batch)


@njit(**ENTRY)
def run_batch(first, last, rows, setup, start, y, steady, jac, line, state, work, meas, counts, status):
    return _batch_loop(
        first, last, rows, setup, start, y, steady, jac, line, state, work, meas, counts, status
    )
"""


def module_text(parts: Sequence[Part]) -> str:
    """Text of the whole module."""
    return "".join(
        [
            HEAD,
            pulled(parts),
            evaluate_text(parts),
            "\n\n",
            single("switch_part", "e, k, t, y, T, line, state", parts, switch_lines, "state.mode[e], 0.0"),
            "\n\n",
            single("part_clock", "e, t, y, line, state", parts, has_call("clock", "return {k}_clock(q)"), "inf"),
            "\n\n",
            single("part_store", "e, t, y, line, state", parts, has_call("store", "return {k}_store(q)"), "0.0"),
            "\n\n",
            ENTRIES,
        ]
    )
