"""From the graph to the kernel's tables: rows, modes to begin in, error weights, steady groups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.contract import (
    COL_BEND,
    COL_BURNT,
    COL_RA,
    COL_RB,
    COL_SETTING,
    COL_TALLY,
    FREE_SPEED_IN,
    FREE_SPEED_OUT,
    N_MEMORY,
    N_READ,
    N_ROW,
    SIGNALS,
    WIRES,
)
from simcore.errors import Fault
from simcore.line.begin import start_modes, start_state
from simcore.line.graph import GROUND, Element, Graph, add_events, add_stops, build
from simcore.line.laws import Draws, Num, Unlike, count_of, of_row, one, over, stacked
from simcore.line.modes import local_frequency, spectrum
from simcore.line.relative_damping import damped_row, stiffness_of
from simcore.line.running import by_name, lead_time, spread, way
from simcore.line.steady_groups import steady_table
from simcore.line.weight import held, rest_table
from simcore.line.weights import error_weights
from simcore.scenario.model import Candidate, Scenario, Situation
from simcore.scenario.placed import refused
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPEED_IN = SIGNALS.index("speed in")
H_MAX = 0.05
LONGEST = 20.0
"""Longest step [s] of the L-stable stepper."""
MOST_STEPS = 400_000
RECORDS = 100
"""Records of a cycle, beside its events, once the first one is over."""
NEAR_RUNNING = 0.98
"""A start is over when the load runs at this share of its running speed."""


@dataclass(frozen=True, slots=True)
class Assembly:
    """Everything the kernel needs for one candidate in one situation, plus names for people.

    Put together for many cases at once, ``rows``, ``nodes``, ``y0``, ``steady``, ``scale``, ``setup``, ``free_speeds``,
    ``w1`` and ``w_top`` have a first axis over the cases, and numbers of the graph may be arrays over them.
    """

    graph: Graph
    parts: NDArray[np.uint32]
    rows: Floats
    nodes: Floats
    klass: Ints
    y0: Floats
    mode0: Ints
    mem0: Floats
    wire0: Floats
    steady: Floats
    scale: Floats
    setup: Floats
    free_speeds: Floats
    states: int
    w1: Any
    w_top: Any
    tab: Floats

    @property
    def names(self) -> list[str]:
        return [e.name for e in self.graph.elements]

    @property
    def candidate(self) -> int | None:
        """Index of the protection under trial; None for the bare line."""
        for i, e in enumerate(self.graph.elements):
            if e.role == "candidate":
                return i
        return None

    def index(self, name: str) -> int:
        """Index of the element called ``name``; ValueError if there is none."""
        return self.names.index(name)

    def own_speeds(self) -> Floats:
        """Speed of every element at its own shaft when the drives run without load [rad/s or m/s]."""
        return own_speeds(self.graph.elements, self.free_speeds)

    def dialled(self, f: float) -> Floats:
        """Rows with the candidate's setting times ``f``."""
        rows = self.rows.copy()
        i = self.candidate
        if i is not None:
            new = self.graph.elements[i].part.call("dial", rows[i], f)
            rows[i, : len(new)] = new
        return rows

    def stopping_at(self, node: int, speed: Num) -> Assembly:
        """The same, ended once ``node`` runs at ``speed`` [rad/s or m/s] and no part has anything more in store.

        ``speed`` has a sign: a load that falls does not start.  Said of several nodes it holds of all of them at once.
        """
        nodes = self.nodes.copy()
        nodes[..., node, ar.STOP_SPEED] = speed
        return replace(self, nodes=nodes)

    def with_rows(self, rows: Floats) -> Assembly:
        return replace(self, rows=rows)

    def with_setup(self, **values: float) -> Assembly:
        """Another setup, by name (see SETUP)."""
        setup = self.setup.copy()
        for name, v in values.items():
            setup[SETUP.index(name)] = v
        return replace(self, setup=setup)


SETUP = (
    "t0",
    "t_end",
    "h0",
    "h_max",
    "states",
    "most_steps",
    "steady",
    "first_trigger",
    "mark",
    "cycle",
    "fine_until",
    "coarse",
    "stepper",
    "longest",
    "way",
    "way_node",
)


def own_speeds(elements: list[Element], v: Floats) -> Floats:
    """Speed (..., elements) of every element at its own shaft from the speeds ``v`` (..., nodes)."""
    return stacked([e.ra * v[..., e.a] if e.a else e.rb * v[..., e.b] for e in elements], v.shape[:-1])


def lowest_mode(scenario: Scenario, draws: Draws | None = None) -> Any:
    """Lowest elastic frequency of the bare line [rad/s], (cases,) with ``draws``; it sets the default damping."""
    g = build(scenario, None, draws)
    k = [stiffness_of(e, 1.0) for e in g.elements]
    own = [k_ if GROUND not in (e.a, e.b) else 0.0 for k_, e in zip(k, g.elements, strict=True)]
    w = spectrum(g.nodes, g.elements, own)
    if w.shape[-1] == 0 or np.isnan(w[..., -1]).any():
        raise refused([Fault("line", "nothing elastic in the line: at least one connection needs a "
                             "stiffness between two inertias")], scenario)  # fmt: skip
    lowest = np.nanmin(w, axis=-1)
    return lowest if lowest.ndim else float(lowest)


def assemble(
    scenario: Scenario,
    candidate: Candidate | None,
    situation: Situation | None,
    w1: Num | None = None,
    changes: Mapping[tuple[str, str], float] | None = None,
    rtol: float = 1e-6,
    draws: Draws | None = None,
) -> Assembly:
    """Tables of one candidate (None: bare line) in one situation (None: steady running, no horizon).

    ``changes`` overrides raw inputs by (element, input), in SI.  With ``draws`` the tables are those of many cases at
    once, where any of them is an array (cases,); so may ``w1`` be.
    Raises InputError; Unlike if the cases differ in more than numbers.
    """
    g = build(scenario, candidate, draws)
    event = None if situation is None else add_events(g, scenario, situation)
    add_stops(g, scenario, candidate)
    for (name, what), v in (changes or {}).items():
        found = g.element(name)
        if found is not None:
            found.raw[what] = v
    if event is not None and event.part.kind.name == "start" and np.all(event.raw.get("ramp", -1.0) >= 0.0):
        for e in g.elements:
            if e.part.kind.family == "drive":
                e.raw["ramp"] = event.raw["ramp"]
    watched = {who for e in g.elements for who, _ in e.senses}
    live = [e for e in g.elements if e.part.kind.family != "body" or e.name in watched]
    g.elements[:] = live
    w1 = lowest_mode(scenario, draws) if w1 is None else w1
    horizon: Num = 0.0
    lead: Num = 0.0
    if situation is not None:
        drawn = g.draws.get(situation.path, {})
        horizon, lead = drawn.get("horizon", situation.horizon), drawn.get("lead", situation.lead)
    return _tables(g, event, horizon, lead, w1, rtol)


def _tables(g: Graph, event: Element | None, horizon: Num, lead: Num, w1: Num, rtol: float) -> Assembly:
    elements = g.elements
    shape = count_of(*(v for drawn in g.draws.values() for v in drawn.values()), w1)
    tab = place_lists(elements)
    rows = _rows(g, w1, shape)
    speeds, sense = _running_guess(g, rows, tab)
    _tell_free_speeds(elements, rows, speeds)
    resting = event is not None and event.part.kind.name == "start"
    travel, at = (0.0, GROUND) if event is None else way(event)
    lead = lead if event is None else lead_time(event, lead)
    parts, n_states = _part_table(g, elements)
    sense[[e.role == "stop" for e in elements]] = 1.0  # has no hubs to tell it that the line runs
    sense = 0.0 * sense if resting else sense
    mode0 = start_modes(g, elements, rows, sense)
    k = [of_row(e.part, "hint", rows[..., i, :]) if e.part.has("hint") else 0.0 for i, e in enumerate(elements)]
    shake = stacked([local_frequency(n, g.nodes, elements, k) for n in range(len(g.nodes))], shape)
    w_top = shake.max(axis=-1)
    y0 = start_state(g, elements, rows, tab, sense, n_states, speeds, resting)
    steady = steady_table(g, elements, rows, tab, mode0, speeds, shake)
    holding = _held(elements, rows, tab, own_speeds(elements, speeds)) if resting else {}
    if holding:
        steady = rest_table(steady, elements, holding)
    for i, m in holding.items():
        mode0[i] = m
    cycle = _cycle(elements)
    setup = stacked([
        0.0 if resting else -lead, horizon, 0.05 / w_top, H_MAX, 2 * len(g.nodes) + n_states,
        MOST_STEPS * np.maximum(1.0, horizon / cycle[1] if cycle[1] else 1.0), 0.0 if resting and not holding else 1.0,
        0.0, *cycle,
        ar.AUTOMATIC, LONGEST, travel, at,
    ], shape)  # fmt: skip
    return Assembly(
        g, parts, rows, _node_table(g, shape), _classes(elements), y0, mode0,
        np.zeros((len(elements), N_MEMORY)), _wires(resting), steady,
        error_weights(g, elements, rows, speeds, shake, n_states, rtol), setup, speeds, n_states, w1,
        w_top if shape else float(w_top), tab,
    )  # fmt: skip


def _held(elements: list[Element], rows: Floats, tab: Floats, own: Floats) -> dict[int, int]:
    """What holds a line with weights at rest, in all cases (``line/weight.py``)."""
    if rows.ndim == 2:
        return held(elements, rows, tab, own)
    found = [held(elements, r, tab, v) for r, v in zip(rows, own, strict=True)]
    if any(h != found[0] for h in found):
        raise Unlike
    return found[0]


def _cycle(elements: list[Element]) -> tuple[float, float, float, float]:
    """End of the first cycle, its length, and how finely the trace is kept, from the first event that repeats."""
    for e in elements:
        every = one(e.raw.get("every", 0.0))
        if every > 0.0:
            end = one(e.raw.get("when", 0.0)) + every
            return end, every, end, every / RECORDS
    return 0.0, 0.0, np.inf, 0.0


def _wires(resting: bool) -> Floats:
    """Commands to begin with: drives permitted, and on unless the line rests; all else off."""
    wires = np.zeros(ar.NO_WIRE + 1)
    wires[WIRES.index("command")] = 0.0 if resting else 1.0
    wires[WIRES.index("permit")] = 1.0
    return wires


def place_lists(elements: list[Element]) -> Floats:
    """All list inputs one after the other, each led by its length; an element's input becomes its place there."""
    tab = [0.0]
    for e in elements:
        for name, values in e.lists.items():
            e.raw[name] = float(len(tab))
            tab += [float(len(values)), *values]
    return np.array(tab)


def _rows(g: Graph, w1: Num, shape: tuple[int, ...] = ()) -> Floats:
    rows = np.zeros((*shape, len(g.elements), N_ROW))
    for i, e in enumerate(g.elements):
        fill_row(rows[..., i, :], e, damped_row(g, e, w1))
    return rows


def fill_row(row: Floats, e: Element, inputs: tuple[Num, ...]) -> None:
    """Write an element's row (..., N_ROW) in place: its own columns from ``inputs``, then those of the kernel."""
    for j, value in enumerate(inputs):
        row[..., j] = value
    row[..., COL_RA], row[..., COL_RB] = e.ra, e.rb
    if e.part.kind.family == "protection":
        row[..., COL_SETTING] = over(lambda r: e.part.call("sheet", r)["setting"][0], row)
        tally = e.part.kind.tally
        row[..., COL_TALLY] = e.part.kind.memory.index(tally) if tally else N_MEMORY - 1
        row[..., COL_BEND] = of_row(e.part, "slip_scale", row) if e.part.has("slip_scale") else 0.0
        burns = e.part.kind.burns
        row[..., COL_BURNT] = e.part.kind.memory.index(burns) if burns else N_MEMORY - 1


def _running_guess(g: Graph, rows: Floats, tab: Floats) -> tuple[Floats, Floats]:
    """Speed without load (..., nodes) of every node, and the sign of running (elements,) of every element."""
    speed = np.full((*rows.shape[:-2], len(g.nodes)), np.nan)
    speed[..., GROUND] = 0.0
    for i, e in enumerate(g.elements):
        if e.part.kind.family == "drive" and np.isnan(speed[..., e.b]).any():
            free = over(partial(e.part.of_drive, "free_speed", tab=tab), rows[..., i, :])
            speed[..., e.b] = free / e.rb
            spread(g, speed)
    speed[np.isnan(speed)] = 0.0
    sense = np.sign(own_speeds(g.elements, speed))
    if sense.ndim == 2 and (sense != sense[0]).any():
        raise Unlike
    return speed, sense if sense.ndim == 1 else sense[0].copy()


def _tell_free_speeds(elements: list[Element], rows: Floats, speeds: Floats) -> None:
    """Fill in how fast the places that a part watches run without load, each at its own shaft."""
    at = by_name(elements)
    for i, e in enumerate(elements):
        for (who, code), column in zip(e.senses, (FREE_SPEED_IN, FREE_SPEED_OUT), strict=False):
            if column in e.part.kind.row:
                j = at[who]
                node, share = (elements[j].a, COL_RA) if code == SPEED_IN else (elements[j].b, COL_RB)
                rows[..., i, e.part.kind.column(column)] = rows[..., j, share] * speeds[..., node]


def _part_table(g: Graph, elements: list[Element]) -> tuple[NDArray[np.uint32], int]:
    nn = len(g.nodes)
    table = np.zeros((len(elements), ar.N_PART), dtype=np.int64)
    x0 = 2 * nn
    guard = 0
    protections = 0
    places = by_name(elements)
    for i, e in enumerate(elements):
        nx = len(e.part.kind.states)
        table[i, ar.KIND], table[i, ar.ANGLE_A], table[i, ar.ANGLE_B] = e.part.index, e.a, e.b
        table[i, ar.SPEED_A], table[i, ar.SPEED_B] = nn + e.a, nn + e.b
        table[i, ar.X0], table[i, ar.NX] = x0, nx
        table[i, ar.G_FIRST], table[i, ar.G_COUNT] = guard, len(e.part.kind.guards)
        x0 += nx
        guard += len(e.part.kind.guards)
        reads = e.part.kind.reads
        for j in range(N_READ):
            table[i, ar.W0 + j] = WIRES.index(reads[j]) if j < len(reads) else ar.NO_WIRE
        for j, w in enumerate(e.part.kind.writes):
            table[i, ar.O0 + j] = WIRES.index(w)
        for j, (who, code) in enumerate(e.senses):
            table[i, ar.SENSED0 + j], table[i, ar.SIGNAL0 + j] = places[who], code
        table[i, ar.PROTECTS] = int(e.part.kind.family == "protection")
        table[i, ar.QUAD] = 3 * protections
        protections += e.part.kind.family == "protection"
        table[i, ar.ACCOUNT] = int(e.part.has("friction"))
    table[:, ar.LOSS] = x0 + np.arange(len(elements))
    table[:, ar.QUAD] += x0 + len(elements)
    return table.astype(np.uint32), x0 - 2 * nn


def _node_table(g: Graph, shape: tuple[int, ...] = ()) -> Floats:
    table = np.zeros((*shape, len(g.nodes), ar.N_NODE))
    for n, node in enumerate(g.nodes):
        if n != GROUND:
            table[..., n, ar.INV_J] = 1.0 / node.inertia
            table[..., n, ar.INERTIA] = node.inertia
    return table


def _classes(elements: list[Element]) -> Ints:
    table = np.zeros((len(elements), 16), dtype=np.int64)
    for i, e in enumerate(elements):
        for j, m in enumerate(e.part.kind.modes):
            table[i, j] = m.klass
    return table
