"""Tiny lines for tests: nodes and parts put down by hand, with speeds, wind-ups and modes as wanted.

The tables are filled by :mod:`simcore.line.assemble`; only the start differs.  A node that is *led* has
no inertia of its own: it keeps its angle speed whatever pulls at it (its work is in no ledger).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import copysign, inf
from typing import Any

import numpy as np

from simcore.contract import N_MEMORY, Part
from simcore.line import assemble as asm
from simcore.line.graph import GROUND, Element, Graph, Node
from simcore.line.modes import local_frequency
from simcore.line.relative_damping import resolve
from simcore.line.steady_groups import steady_table
from simcore.line.weights import error_weights
from simcore.parts import REGISTRY
from simcore.scenario.model import Quantity, Series
from simcore.scenario.models import default_value
from simcore.solver import arrays as ar
from simcore.solver import kernel as kn

TIGHT = 1e-10
"""Relative tolerance of every comparison with a closed form."""


def raw_of(part: Part, **given: Any) -> dict[str, Any]:
    """Raw inputs in SI: what is given, else the part's defaults; choices by their word, lists as tuples."""
    out = {}
    for p in part.kind.params:
        v = given.pop(p.name, None)
        if v is None:
            v = default_value(p)
        if isinstance(v, Quantity):
            v = v.si
        if isinstance(v, str):
            v = p.choices.index(v)
        if p.many:
            if v is not None:
                out[p.name] = tuple(v.si if isinstance(v, Series) else v)
        elif v is not None:
            out[p.name] = float(v)
    assert not given, f"{part.kind.name} has no input {sorted(given)}"
    return out


def row_and_lists(kind: str, w1: float = 1.0, **given: float | str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Resolved row of a part, from SI inputs, and its lists as the kernel has them."""
    part = REGISTRY[kind]
    raw, tab = raw_of(part, **given), [0.0]
    for name, values in raw.items():
        if isinstance(values, tuple):
            raw[name] = float(len(tab))
            tab += [float(len(values)), *values]
    return part.call("resolve", part.raw(raw), w1), tuple(tab)


def row_of(kind: str, w1: float = 1.0, **given: float | str) -> tuple[float, ...]:
    """Resolved row of a part, from SI inputs."""
    return row_and_lists(kind, w1, **given)[0]


def sheet_of(kind: str, **given: float | str) -> dict[str, float]:
    """Data-sheet values of a part in SI, from SI inputs."""
    return {k: v[0] for k, v in REGISTRY[kind].described("sheet", *row_and_lists(kind, **given)).items()}


@dataclass
class Start:
    """How one part begins; ``row`` overrides resolved columns by name."""

    mode: int | None = None
    x: Sequence[float] = ()
    memory: dict[int, float] = field(default_factory=dict)
    row: dict[str, float] = field(default_factory=dict)


def stop_at(gap: float, sense: float = 1.0) -> Start:
    """A hard stop that is clear yet and stands ``gap`` away in the ``sense`` of running."""
    return Start(mode=0, memory={0: sense * gap, 1: sense})


class Line:
    """A line put down node by node and part by part.  Node 0 is the ground."""

    def __init__(self, registry: dict[str, Part] = REGISTRY) -> None:
        self.registry = registry
        self.nodes = [Node("ground", "ground")]
        self.angles = [0.0]
        self.speeds = [0.0]
        self.led: set[int] = set()
        self.elements: list[Element] = []
        self.starts: list[Start] = []

    def mass(self, inertia: float, speed: float = 0.0, angle: float = 0.0) -> int:
        """A free node; gives its number."""
        self.nodes.append(Node(f"n{len(self.nodes)}", "any", {"own": inertia}))
        self.speeds.append(speed)
        self.angles.append(angle)
        return len(self.nodes) - 1

    def lead(self, speed: float, angle: float = 0.0) -> int:
        """A node led at constant speed; gives its number."""
        n = self.mass(1.0, speed, angle)
        self.led.add(n)
        return n

    def part(
        self, kind: str, a: int = GROUND, b: int = GROUND, ra: float = 1.0, rb: float = 1.0,
        start: Start | None = None, role: str = "line", senses: tuple[tuple[int, int], ...] = (), **raw: float | str,
    ) -> int:  # fmt: skip
        """A part between two nodes, undamped unless told otherwise; gives its number.

        ``senses``: numbers of the parts it watches, and the code of each signal.
        """
        p = self.registry[kind]
        if any(q.name == "relative_damping" for q in p.kind.params):
            raw.setdefault("relative_damping", 0.0)
        name = f"e{len(self.elements)}"
        both = raw_of(p, **raw)
        lists = {k: v for k, v in both.items() if isinstance(v, tuple)}
        own = {k: v for k, v in both.items() if k not in lists}
        self.elements.append(Element(name, p, name, own, a, b, ra, rb, "any", role=role, lists=lists,
                                     senses=tuple((f"e{i}", c) for i, c in senses)))  # fmt: skip
        self.starts.append(start or Start())
        return len(self.elements) - 1

    def assembly(
        self, t_end: float, t0: float = 0.0, rtol: float = TIGHT, w1: float = 1.0, fast: float = 0.0,
        steady: bool = False, h_max: float = 0.05, h0: float = inf, on: bool = True,
        order: Sequence[int] = (), stepper: float = ar.AUTOMATIC,
    ) -> asm.Assembly:  # fmt: skip
        """The tables; ``fast`` is the speed that errors are judged by, ``order`` lists the parts anew."""
        order = list(order) or list(range(len(self.elements)))
        elements = [self.elements[i] for i in order]
        starts = [self.starts[i] for i in order]
        g = Graph(self.nodes, elements, {}, {}, {})
        parts, states = asm._part_table(g, elements)
        tab = asm.place_lists(elements)
        rows = self._rows(g, starts, w1)
        speeds = np.array(self.speeds)
        k = [float(e.part.call("hint", rows[i])) if e.part.has("hint") else 0.0 for i, e in enumerate(elements)]
        shake = np.array([local_frequency(n, g.nodes, elements, k) for n in range(len(g.nodes))])
        w_top = float(shake.max())
        mode0 = self._modes(elements, starts, rows)
        y0, mem0 = self._state(elements, starts, rows, tab, states)
        table = steady_table(g, elements, rows, tab, mode0, speeds, shake)
        h0 = min(h0, 0.05 / w_top if w_top > 0.0 else 1e-3)
        setup = np.array([t0, t_end, h0, h_max, 2 * len(g.nodes) + states, 4e6, float(steady), 0.0,
                          *asm._cycle(elements), stepper, asm.LONGEST, 0.0, 0.0])  # fmt: skip
        weights = np.abs(speeds)
        weights[1:] = np.maximum(weights[1:], fast or float(weights.max()) or 1.0)
        return asm.Assembly(
            g, parts, rows, self._node_table(), asm._classes(elements), y0, mode0, mem0,
            asm._wires(not on), table, error_weights(g, elements, rows, weights, shake, states, rtol),
            setup, speeds, states, w1, w_top, tab,
        )  # fmt: skip

    def _rows(self, g: Graph, starts: list[Start], w1: float) -> Any:
        rows = asm._rows(g, w1)
        for i, (e, s) in enumerate(zip(g.elements, starts, strict=True)):
            r = resolve(e, w1)
            rows[i, : len(r)] = r
            for name, v in s.row.items():
                rows[i, e.part.kind.column(name)] = v
        return rows

    def _modes(self, elements: list[Element], starts: list[Start], rows: Any) -> Any:
        count = len(elements)
        mode = np.zeros(count + len(self.nodes), dtype=np.int64)
        mode[count:] = ar.NO_ACCOUNT
        for i, (e, s) in enumerate(zip(elements, starts, strict=True)):
            v = self.speeds[e.a] * e.ra if e.a else self.speeds[e.b] * e.rb
            if s.mode is not None:
                mode[i] = s.mode
            elif e.part.has("start_mode"):
                mode[i] = e.part.call("start_mode", rows[i], float(np.sign(v)))
            if e.part.has("friction"):
                mode[count + e.a] = int(np.sign(self.speeds[e.a]))
        return mode

    def _state(self, elements: list[Element], starts: list[Start], rows: Any, tab: Any, states: int) -> tuple[Any, Any]:
        nn, count = len(self.nodes), len(elements)
        protections = sum(e.part.kind.family == "protection" for e in elements)
        y = np.zeros(2 * nn + states + count + 3 * protections + 1)
        y[:nn] = self.angles
        y[nn : 2 * nn] = self.speeds
        mem = np.zeros((count, N_MEMORY))
        j = 2 * nn
        for i, (e, s) in enumerate(zip(elements, starts, strict=True)):
            if e.part.has("start_state"):
                y[j : j + len(e.part.kind.states)] = e.part.call(
                    "start_state", rows[i], float(np.sign(self.speeds[e.a])), tab
                )
            y[j : j + len(s.x)] = s.x
            j += len(e.part.kind.states)
            for cell, v in s.memory.items():
                mem[i, cell] = v
        return y, mem

    def _node_table(self) -> Any:
        table = np.zeros((len(self.nodes), ar.N_NODE))
        for n, node in enumerate(self.nodes):
            if n != GROUND and n not in self.led:
                table[n, ar.INV_J] = 1.0 / node.inertia
                table[n, ar.INERTIA] = node.inertia
        return table


class Run:
    """A finished run with its trace by name."""

    def __init__(self, a: asm.Assembly, module: Any = None) -> None:
        self.a = a
        self.out = kn.run_one(a, module=module)
        self.status = self.out.status
        self.meas = self.out.meas
        self.t = self.out.trace[:, 0]
        self.nn, self.ny, self.count = len(a.nodes), len(a.y0), len(a.parts)

    @property
    def end(self) -> float:
        return float(self.meas[-1, ar.L_T_END])

    @property
    def residual(self) -> float:
        """Energy that is missing in the balance over what was turned over."""
        return float(abs(self.meas[-1, ar.L_RESIDUAL]) / self.meas[-1, ar.L_TURNED])

    def angle(self, n: int) -> Any:
        return self.out.trace[:, 1 + n]

    def speed(self, n: int) -> Any:
        return self.out.trace[:, 1 + self.nn + n]

    def state(self, e: int, i: int = 0) -> Any:
        return self.out.trace[:, 1 + int(self.a.parts[e, ar.X0]) + i]

    def torque(self, e: int) -> Any:
        return self.out.trace[:, 1 + self.ny + e]

    def heat(self, e: int) -> Any:
        """Energy lost in the part since the start, booked heat counted in [J]."""
        lost = self.out.trace[:, 1 + int(self.a.parts[e, ar.LOSS])]
        return lost + self.out.trace[:, 1 + self.ny + self.count + e]

    def mode(self, e: int) -> Any:
        return self.out.trace[:, 1 + self.ny + 2 * self.count + e].astype(int)

    def peak(self, e: int) -> float:
        return float(self.meas[e, ar.PEAK])

    def events(self, e: int, new: int | None = None) -> list[float]:
        """Instants at which part ``e`` (or node account ``count + n``) switched, to mode ``new`` if given."""
        return [float(r[0]) for r in self.out.events if r[1] == e and (new is None or r[4] == new)]

    def at(self, t: float, values: Any) -> float:
        """Value in the trace at the event ``t``, limit from the right."""
        return float(values[np.flatnonzero(np.isclose(self.t, t, rtol=0.0, atol=1e-11))[-1]])

    def zeros(self, values: Any) -> list[float]:
        """Instants at which a smooth trace column passes through zero (fourth-order interpolation)."""
        out = []
        for i in np.flatnonzero((values[:-1] * values[1:] < 0.0) & (np.diff(self.t) > 0.0)):
            t, v = self._around(i, values)
            out.append(_zero(_poly(t, v), t, self.t[i], self.t[i + 1]))
        return out

    def turning(self, n: int) -> list[tuple[float, float]]:
        """Instants and angles at which node ``n`` turns round."""
        out = []
        for instant in self.zeros(self.speed(n)):
            i = int(np.searchsorted(self.t, instant)) - 1
            t, w = self._around(i, self.speed(n))
            mid = 0.5 * (t[0] + t[-1])
            way = _poly(t, w).integ()
            out.append((instant, float(self.angle(n)[i] + way(instant - mid) - way(self.t[i] - mid))))
        return out

    def _around(self, i: int, values: Any) -> tuple[Any, Any]:
        """Up to six neighbouring rows of the trace around the gap after row ``i``, with no event between them."""
        twice = np.flatnonzero(np.diff(self.t) == 0.0)
        first = max(0, i - 2, *(twice[twice < i] + 1))
        last = min(len(self.t) - 1, i + 3, *twice[twice > i])
        return self.t[first : last + 1], values[first : last + 1]


def _poly(t: Any, v: Any) -> Any:
    """Polynomial through the points, in time from their middle."""
    return np.polynomial.polynomial.Polynomial.fit(t - 0.5 * (t[0] + t[-1]), v, len(t) - 1)


def _zero(p: Any, t: Any, left: float, right: float) -> float:
    mid = 0.5 * (t[0] + t[-1])
    low = p(left - mid)
    for _ in range(80):
        x = 0.5 * (left + right)
        if p(x - mid) * low > 0.0:
            left = x
        else:
            right = x
    return 0.5 * (left + right)


def run(line: Line, t_end: float, module: Any = None, **how: Any) -> Run:
    """Run a line; fails the test if the solver gave up."""
    r = Run(line.assembly(t_end, **how), module)
    assert r.status <= ar.Status.STOPPED, ar.MESSAGES[r.status]
    return r


def run_until(line: Line, t_end: float, node: int, speed: float, **how: Any) -> Run:
    """Run until ``node`` reaches ``speed``; the end is located as an event."""
    r = Run(line.assembly(t_end, **how).stopping_at(node, speed))
    assert r.status == ar.Status.STOPPED, ar.MESSAGES[r.status]
    return r


def pull(line: Line, node: int, torque: float) -> int:
    """A constant torque on ``node``: a drive at its limit that never comes to speed."""
    return line.part(
        "constant-torque motor", 0, node, start=Start(mode=2), torque=abs(torque),
        speed=copysign(1e9, torque), inertia=1.0,
    )  # fmt: skip


def ideal_disc(setting: float, stiffness: float, breakaway: float = 1.0) -> dict[str, float]:
    """Inputs of a friction disc with the same running torque at any slip speed and temperature."""
    return {
        "setting": setting, "stiffness": stiffness, "breakaway": breakaway, "stribeck_speed": 0.0,
        "rise": 0.0, "fade": 0.0,
    }  # fmt: skip


STUCK, SLIDES = 0, 3


def sliding(setting: float, stiffness: float, phi: float = 0.0) -> Start:
    """A disc that slides forward from the start, wound up to its running torque."""
    return Start(mode=SLIDES, x=(phi - setting / stiffness,))
