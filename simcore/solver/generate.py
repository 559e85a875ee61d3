"""Writes the kernel module: one branch a kind, dispatched by plain if/elif on the kind's number."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from simcore.contract import COL_RA, COL_RB, N_READ, N_SENSE, Part
from simcore.solver import arrays as ar

HEAD = '''"""Generated kernel; do not edit."""

from math import inf

from numpy import uint64

from simcore.contract import Q
from simcore.solver import sense as _sense
from simcore.solver.compile import ENTRY, INNER

'''

LOCALS = f"""    row = line.parts[e]
    p = line.p[e]
    ta = p[{COL_RA}] * y[row[1]]
    wa = p[{COL_RA}] * y[row[3]]
    tb = p[{COL_RB}] * y[row[2]]
    wb = p[{COL_RB}] * y[row[4]]
"""


def q_line(p: Part) -> str:
    """What the part sees; states and wires only where it has any."""
    x = "y[row[5] : row[5] + row[6]]" if p.kind.states else "y"
    w = "(" + ", ".join(["0.0"] * N_READ) + ")"
    if p.kind.reads:
        w = "(" + ", ".join(f"state.wire[row[{ar.W0 + i}]]" for i in range(N_READ)) + ")"
    return f"q = Q(state.mode[e], t, ta - tb, wa - wb, ta, wa, tb, wb, {x}, state.mem[e], {w}, p, line.tab)"


EVALUATE_HEAD = f"""@njit(**INNER)
def evaluate(t, full, y, dy, T, G, line, state):
    nn = uint64(line.nodes.shape[0])
    count = uint64(line.parts.shape[0])
    for n in range(nn):
        line.nodes[n, {ar.SUM}] = 0.0
        line.nodes[n, {ar.HOLD_B}] = 0.0
        line.nodes[n, {ar.HOLD_F}] = 0.0
        line.nodes[n, {ar.VARYING}] = 0.0
    source = 0.0
    for e in range(count):
"""

EVALUATE_TAIL = f"""
        T[e] = torque
        a = row[1]
        line.nodes[a, {ar.SUM}] += p[{COL_RA}] * (ga - torque)
        line.nodes[row[2], {ar.SUM}] += p[{COL_RB}] * (gb + torque)
        if row[{ar.ACCOUNT}] != 0:
            r = abs(p[{COL_RA}])
            if p[{COL_RA}] < 0.0:
                hb, hf, rb, rf = hf, hb, rf, rb
            line.nodes[a, {ar.HOLD_B}] += r * hb
            line.nodes[a, {ar.HOLD_F}] += r * hf
            s = state.mode[count + a]
            if s == 1:
                line.nodes[a, {ar.SUM}] -= r * rf
                lost += r * rf * y[row[3]]
            elif s == -1:
                line.nodes[a, {ar.SUM}] += r * rb
                lost -= r * rb * y[row[3]]
        dy[row[{ar.LOSS}]] = lost
        if lost < 0.0:
            source -= lost
        if row[{ar.PROTECTS}] != 0:
            j = row[{ar.QUAD}]
            dy[j] = abs(torque)
            dy[j + 1] = torque * wb
            dy[j + 2] = abs(wa - wb) if line.klass[e, state.mode[e]] >= 2 else 0.0
    dy[y.shape[0] - 1] = source
    last = uint64(G.shape[0]) - uint64(1)
    behind = -inf
    for n in range(nn):
        dy[n] = y[nn + n]
        s = state.mode[count + n]
        if s == 0:
            dy[nn + n] = 0.0
            if full > 0.5:
                pull = line.nodes[n, {ar.SUM}]
                over = min(pull + line.nodes[n, {ar.HOLD_B}], line.nodes[n, {ar.HOLD_F}] - pull)
                G[last - nn + n] = over + line.nodes[n, {ar.SLACK}]
        else:
            dy[nn + n] = line.nodes[n, {ar.SUM}] * line.nodes[n, {ar.INV_J}]
            if full > 0.5 and s != 9:
                G[last - nn + n] = s * y[nn + n]
        if full > 0.5 and line.nodes[n, {ar.STOP_NOW}] != 0.0:
            behind = max(behind, 1.0 - y[nn + n] / line.nodes[n, {ar.STOP_NOW}])
    if full > 0.5:
        G[last] = behind if behind > -inf else 1.0
"""

INDENTED = "\n".join("    " + s if s else s for s in LOCALS.splitlines()) + "\n"


def first_owners(parts: Sequence[Part]) -> dict[Callable[..., object], int]:
    """Number of the first kind that has each function: kinds that share a law share its compiled code."""
    out: dict[Callable[..., object], int] = {}
    for p in parts:
        for f in p.functions.values():
            out.setdefault(f, p.index)
    return out


def named(p: Part, function: str, owners: dict[Callable[..., object], int]) -> str:
    return f"k{owners[p.functions[function]]}_{function}"


def branches(parts: Sequence[Part], body: Callable[[Part], list[str]], pad: str) -> str:
    """An if/elif chain over the kinds that have anything to do; kinds with the same lines share a branch."""
    groups: dict[tuple[str, ...], list[int]] = {}
    for p in parts:
        lines = tuple(body(p))
        if lines:
            groups.setdefault(lines, []).append(p.index)
    out: list[str] = []
    for lines, kinds in groups.items():
        out.append(f"{pad}{'elif' if out else 'if'} {' or '.join(f'kind == {k}' for k in kinds)}:")
        out += [f"{pad}    {s}" for s in lines]
    return "\n".join(out) + "\n"


INERTIA_LINE = f"line.nodes[row[{ar.ANGLE_A}], {ar.VARYING}] += p[{COL_RA}] * p[{COL_RA}] * {{}}(q)"
INV_J_LINE = (
    f"line.nodes[row[{ar.ANGLE_A}], {ar.INV_J}] = 1.0 / "
    f"(line.nodes[row[{ar.ANGLE_A}], {ar.INERTIA}] + line.nodes[row[{ar.ANGLE_A}], {ar.VARYING}])"
)


def sense_lines(p: Part) -> list[str]:
    """The pair of sensed values, for a part that watches others."""
    if not p.kind.senses:
        return []
    pair = ", ".join(f"sensed(row[{ar.SENSED0 + i}], row[{ar.SIGNAL0 + i}], y, T, line, state)" for i in range(N_SENSE))
    return [f"s = ({pair})"]


def evaluate_lines(p: Part, owners: dict[Callable[..., object], int]) -> list[str]:
    """What one kind contributes to one evaluation."""
    lines = [q_line(p), *sense_lines(p)]
    s = ", s" if p.kind.senses else ""
    for function, line in (
        ("inertia", INERTIA_LINE),
        ("inertia", INV_J_LINE),
        ("torque", "torque = {}(q)"),
        ("ground", "ga, gb = {}(q, torque)"),
        ("friction", "hb, hf, rb, rf = {}(q, torque)"),
        ("loss", "lost = {}(q, torque)"),
        ("rate", f"dx = {{}}(q, torque{s})"),
    ):
        if p.has(function):
            lines.append(line.format(named(p, function, owners)))
    if p.has("rate"):
        lines += [f"dy[row[5] + {i}] = dx[{i}]" for i in range(len(p.kind.states))]
    if p.has("guards"):
        lines.append("if full > 0.5:")
        lines.append(f"    g = {named(p, 'guards', owners)}(q, torque{s})")
        lines += [f"    G[row[{ar.G_FIRST}] + {i}] = g[{i}]" for i in range(len(p.kind.guards))]
    return lines if len(lines) > 1 else []


def evaluate_text(parts: Sequence[Part]) -> str:
    body = "        kind = line.parts[e, 0]\n"
    body += "        torque = 0.0\n        ga = 0.0\n        gb = 0.0\n        lost = 0.0\n"
    body += "        hb = 0.0\n        hf = 0.0\n        rb = 0.0\n        rf = 0.0\n"
    owners = first_owners(parts)
    chain = branches(parts, lambda p: evaluate_lines(p, owners), "        ")
    return EVALUATE_HEAD + body + INDENTED + chain + EVALUATE_TAIL


def single(name: str, signature: str, parts: Sequence[Part], body: Callable[[Part], list[str]], rest: str) -> str:
    """A function that hands one call on to the part it concerns."""
    text = f"@njit(**INNER)\ndef {name}({signature}):\n"
    text += "    kind = line.parts[e, 0]\n" + LOCALS
    return text + branches(parts, body, "    ") + f"    return {rest}\n"


def has_call(function: str, parts: Sequence[Part]) -> Callable[[Part], list[str]]:
    owners = first_owners(parts)
    return lambda p: [q_line(p), f"return {named(p, function, owners)}(q)"] if p.has(function) else []


def switch_lines(p: Part, owners: dict[Callable[..., object], int]) -> list[str]:
    if not p.has("switch"):
        return []
    wires = range(len(p.kind.writes))
    s = ", s" if p.kind.senses else ""
    return [
        q_line(p),
        *sense_lines(p),
        *(f"state.out[{i}] = state.wire2[row[{ar.O0 + i}]]" for i in wires),
        f"new, heat = {named(p, 'switch', owners)}(k, q, T[e]{s}, q.x, q.mem, state.out)",
        *(f"state.wire2[row[{ar.O0 + i}]] = state.out[{i}]" for i in wires),
        "return new, heat",
    ]


def pulled(parts: Sequence[Part]) -> str:
    """Names of the compiled part functions."""
    used = ("torque", "ground", "friction", "rate", "guards", "clock", "switch", "loss", "store", "inertia")
    owners = first_owners(parts)
    names = [f"k{p.index}_{f}" for p in parts for f in used if p.has(f) and owners[p.functions[f]] == p.index]
    return "\n".join(["sensed = _adopter.adopt(_sense.sensed)", *(f"{n} = {n}()" for n in names)]) + "\n\n"


ENTRIES = """for _plain, _made in (
    (_dispatch.evaluate, evaluate),
    (_dispatch.switch_part, switch_part),
    (_dispatch.part_torque, part_torque),
    (_dispatch.part_clock, part_clock),
    (_dispatch.part_store, part_store),
):
    _adopter.put(_plain, _made)

from simcore.solver import batch as _batch

_prepare = _adopter.adopt(_batch.prepare)
_batch_loop = _adopter.adopt(_batch.run_batch)


@njit(**ENTRY)
def run_batch(first, last, cases, y, jac, line, state, work, meas, counts, status):
    return _batch_loop(first, last, cases, y, jac, line, state, work, meas, counts, status)
"""


def module_text(parts: Sequence[Part]) -> str:
    """Text of the whole module."""
    owners = first_owners(parts)

    def switch(p: Part) -> list[str]:
        return switch_lines(p, owners)

    return "".join(
        [
            HEAD,
            pulled(parts),
            evaluate_text(parts),
            "\n\n",
            single("switch_part", "e, k, t, y, T, line, state", parts, switch, "state.mode[e], 0.0"),
            "\n\n",
            single("part_torque", "e, t, y, line, state", parts, has_call("torque", parts), "0.0"),
            "\n\n",
            single("part_clock", "e, t, y, line, state", parts, has_call("clock", parts), "inf"),
            "\n\n",
            single("part_store", "e, t, y, line, state", parts, has_call("store", parts), "0.0"),
            "\n\n",
            ENTRIES,
        ]
    )
