"""From the graph to the kernel's tables: rows, modes to begin in, error weights, steady groups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

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
from simcore.line.graph import GROUND, Element, Graph, add_events, add_stops, build
from simcore.line.modes import frequencies, local_frequency
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
    """Everything the kernel needs for one candidate in one situation, plus names for people."""

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
    w1: float
    w_top: float
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

    def stopping_at(self, node: int, speed: float) -> Assembly:
        """The same, ended as soon as ``node`` runs at ``speed`` [rad/s or m/s]."""
        nodes = self.nodes.copy()
        nodes[node, ar.STOP_SPEED] = abs(speed)
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
    """Speed of every element at its own shaft from the speeds ``v`` of the nodes."""
    return np.array([e.ra * v[e.a] if e.a else e.rb * v[e.b] for e in elements])


def lowest_mode(scenario: Scenario) -> float:
    """Lowest elastic frequency of the bare line [rad/s]; it sets the default damping."""
    g = build(scenario, None)
    k = [stiffness_of(e, 1.0) for e in g.elements]
    own = [k_ if GROUND not in (e.a, e.b) else 0.0 for k_, e in zip(k, g.elements, strict=True)]
    w = frequencies(g.nodes, g.elements, own)
    if len(w) == 0:
        raise refused([Fault("line", "nothing elastic in the line: at least one connection needs a "
                             "stiffness between two inertias")], scenario)  # fmt: skip
    return float(w[0])


def assemble(
    scenario: Scenario,
    candidate: Candidate | None,
    situation: Situation | None,
    w1: float | None = None,
    changes: Mapping[tuple[str, str], float] | None = None,
    rtol: float = 1e-6,
) -> Assembly:
    """Tables of one candidate (None: bare line) in one situation (None: steady running, no horizon).

    ``changes`` overrides raw inputs by (element, input), in SI.  Raises InputError.
    """
    g = build(scenario, candidate)
    event = None if situation is None else add_events(g, scenario, situation)
    add_stops(g, scenario, candidate)
    for (name, what), v in (changes or {}).items():
        found = g.element(name)
        if found is not None:
            found.raw[what] = v
    if event is not None and event.part.kind.name == "start" and event.raw.get("ramp", -1.0) >= 0.0:
        for e in g.elements:
            if e.part.kind.family == "drive":
                e.raw["ramp"] = event.raw["ramp"]
    watched = {who for e in g.elements for who, _ in e.senses}
    live = [e for e in g.elements if e.part.kind.family != "body" or e.name in watched]
    g.elements[:] = live
    w1 = lowest_mode(scenario) if w1 is None else w1
    horizon = 0.0 if situation is None else situation.horizon
    return _tables(g, event, horizon, 0.0 if situation is None else situation.lead, w1, rtol)


def _tables(g: Graph, event: Element | None, horizon: float, lead: float, w1: float, rtol: float) -> Assembly:
    elements = g.elements
    tab = place_lists(elements)
    rows = _rows(g, w1)
    speeds, sense = _running_guess(g, rows, tab)
    _tell_free_speeds(elements, rows, speeds)
    resting = event is not None and event.part.kind.name == "start"
    travel, at = (0.0, GROUND) if event is None else way(event)
    lead = lead if event is None else lead_time(event, lead)
    parts, n_states = _part_table(g, elements)
    sense[[e.role == "stop" for e in elements]] = 1.0  # has no hubs to tell it that the line runs
    sense = 0.0 * sense if resting else sense
    mode0 = _start_modes(g, elements, rows, sense)
    k = [float(e.part.call("hint", rows[i])) if e.part.has("hint") else 0.0 for i, e in enumerate(elements)]
    shake = np.array([local_frequency(n, g.nodes, elements, k) for n in range(len(g.nodes))])
    w_top = float(shake.max())
    y0 = _start_state(g, elements, rows, tab, sense, n_states, speeds, resting)
    steady = steady_table(g, elements, rows, tab, mode0, speeds, shake)
    holding = held(elements, rows, tab, own_speeds(elements, speeds)) if resting else {}
    if holding:
        steady = rest_table(steady, elements, holding)
    for i, m in holding.items():
        mode0[i] = m
    cycle = _cycle(elements)
    setup = np.array([
        0.0 if resting else -lead, horizon, 0.05 / w_top, H_MAX, 2 * len(g.nodes) + n_states,
        MOST_STEPS * max(1.0, horizon / cycle[1] if cycle[1] else 1.0), 0.0 if resting and not holding else 1.0, 0.0,
        *cycle,
        ar.AUTOMATIC, LONGEST, travel, at,
    ])  # fmt: skip
    return Assembly(
        g, parts, rows, _node_table(g), _classes(elements), y0, mode0,
        np.zeros((len(elements), N_MEMORY)), _wires(resting), steady,
        error_weights(g, elements, rows, speeds, shake, n_states, rtol), setup, speeds, n_states, w1, w_top, tab,
    )  # fmt: skip


def _cycle(elements: list[Element]) -> tuple[float, float, float, float]:
    """End of the first cycle, its length, and how finely the trace is kept, from the first event that repeats."""
    for e in elements:
        every = e.raw.get("every", 0.0)
        if every > 0.0:
            end = e.raw.get("when", 0.0) + every
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


def _rows(g: Graph, w1: float) -> Floats:
    rows = np.zeros((len(g.elements), N_ROW))
    for i, e in enumerate(g.elements):
        r = damped_row(g, e, w1)
        rows[i, : len(r)] = r
        rows[i, COL_RA], rows[i, COL_RB] = e.ra, e.rb
        if e.part.kind.family == "protection":
            rows[i, COL_SETTING] = e.part.call("sheet", rows[i])["setting"][0]
            tally = e.part.kind.tally
            rows[i, COL_TALLY] = e.part.kind.memory.index(tally) if tally else N_MEMORY - 1
            rows[i, COL_BEND] = e.part.call("slip_scale", rows[i]) if e.part.has("slip_scale") else 0.0
            burns = e.part.kind.burns
            rows[i, COL_BURNT] = e.part.kind.memory.index(burns) if burns else N_MEMORY - 1
    return rows


def _running_guess(g: Graph, rows: Floats, tab: Floats) -> tuple[Floats, Floats]:
    """Speed without load of every node, and the sign of running of every element."""
    speed = np.full(len(g.nodes), np.nan)
    speed[GROUND] = 0.0
    for i, e in enumerate(g.elements):
        if e.part.kind.family == "drive" and np.isnan(speed[e.b]):
            speed[e.b] = e.part.of_drive("free_speed", rows[i], tab) / e.rb
            spread(g, speed)
    speed[np.isnan(speed)] = 0.0
    return speed, np.sign([speed[e.a] * e.ra if e.a else speed[e.b] * e.rb for e in g.elements])


def _tell_free_speeds(elements: list[Element], rows: Floats, speeds: Floats) -> None:
    """Fill in how fast the places that a part watches run without load, each at its own shaft."""
    at = by_name(elements)
    for i, e in enumerate(elements):
        for (who, code), column in zip(e.senses, (FREE_SPEED_IN, FREE_SPEED_OUT), strict=False):
            if column in e.part.kind.row:
                j = at[who]
                node, share = (elements[j].a, COL_RA) if code == SPEED_IN else (elements[j].b, COL_RB)
                rows[i, e.part.kind.column(column)] = rows[j, share] * speeds[node]


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


def _start_modes(g: Graph, elements: list[Element], rows: Floats, sense: Floats) -> Ints:
    mode = np.zeros(len(elements) + len(g.nodes), dtype=np.int64)
    mode[len(elements) :] = ar.NO_ACCOUNT
    for i, e in enumerate(elements):
        if e.part.has("start_mode"):
            mode[i] = e.part.call("start_mode", rows[i], float(sense[i]))
        if e.part.has("friction"):
            mode[len(elements) + e.a] = int(sense[i] * np.sign(e.ra))
    return mode


def _start_state(
    g: Graph,
    elements: list[Element],
    rows: Floats,
    tab: Floats,
    sense: Floats,
    states: int,
    speeds: Floats,
    resting: bool,
) -> Floats:
    nn = len(g.nodes)
    protections = sum(e.part.kind.family == "protection" for e in elements)
    y = np.zeros(2 * nn + states + len(elements) + 3 * protections + 1)
    if not resting:
        y[nn : 2 * nn] = speeds
    j = 2 * nn
    for i, e in enumerate(elements):
        own = len(e.part.kind.states)
        if e.part.has("start_state"):
            y[j : j + own] = e.part.call("start_state", rows[i], float(sense[i]), tab)
        j += own
    return y


def _node_table(g: Graph) -> Floats:
    table = np.zeros((len(g.nodes), 7))
    for n, node in enumerate(g.nodes):
        if n != GROUND:
            table[n, ar.INV_J] = 1.0 / node.inertia
            table[n, ar.INERTIA] = node.inertia
    return table


def _classes(elements: list[Element]) -> Ints:
    table = np.zeros((len(elements), 16), dtype=np.int64)
    for i, e in enumerate(elements):
        for j, m in enumerate(e.part.kind.modes):
            table[i, j] = m.klass
    return table
