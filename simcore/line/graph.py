"""The line as nodes and elements, walked in the order of the engineer's sketch.

A node is a place with one motion (a shaft, or a travelling part) and the inertia of all that moves with
it.  An element connects two nodes, or one node and the ground (node 0).  ``ra`` and ``rb`` turn node
motion into motion at the part's own shaft, so ratios and drum radii live here and nowhere else.

Of many cases at once every number may be an array (cases,); see ``line/laws.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np

from simcore.contract import SIGNALS, WARMTH, Part, choice_code
from simcore.errors import Fault
from simcore.line.laws import Draws, Num, of_raw, one, over_raw
from simcore.parts import REGISTRY
from simcore.parts._powers import square
from simcore.parts._protection import hubs_by_size
from simcore.scenario.model import Candidate, Item, Limit, Quantity, Scenario, Series, Situation, Station
from simcore.scenario.placed import refused
from simcore.units import units_of, words

GROUND = 0
SPEEDS = (SIGNALS.index("speed in"), SIGNALS.index("speed out"))


class Place(NamedTuple):
    """Where the walk stands: a node, motion here per motion of the node, and its domain."""

    node: int
    scale: Any
    domain: str


@dataclass(slots=True)
class Node:
    """A place with one motion.  ``shares``: who brings how much inertia, at the node's own motion."""

    name: str
    domain: str
    shares: dict[str, Any] = field(default_factory=dict)

    @property
    def inertia(self) -> Any:
        return sum(self.shares.values())


@dataclass(slots=True)
class Element:
    """A part between two nodes with its raw inputs in SI."""

    name: str
    part: Part
    path: str
    raw: dict[str, Any]
    a: int
    b: int
    ra: Any
    rb: Any
    domain: str
    limit: Limit | None = None
    role: str = "line"
    """'line', 'candidate' (the protection under trial), 'event' or 'stop' (a stop chain)."""
    lists: dict[str, tuple[float, ...]] = field(default_factory=dict)
    """Inputs that hold lists, in SI."""
    senses: tuple[tuple[str, int], ...] = ()
    """Elements it watches, by name, and what of each (code of contract.SIGNALS)."""


@dataclass(slots=True)
class Graph:
    """All nodes and elements of one line, and where each station stands (its driven side)."""

    nodes: list[Node]
    elements: list[Element]
    places: dict[str, Place]
    entries: dict[str, Place]
    slots: dict[str, Place]
    draws: Draws = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    joints: dict[int, list[list[tuple[int, int]]]] = field(default_factory=dict)
    """What hangs on every node, by the number of elements it was found for (``line/ways.py``)."""

    def element(self, name: str) -> Element | None:
        for e in self.elements:
            if e.name == name:
                return e
        return None


def raw_inputs(item: Item, part: Part, draws: Draws | None = None) -> dict[str, Any]:
    """Numbers of an item in SI; choices as their position."""
    out: dict[str, Any] = {}
    for p in part.kind.params:
        v = item.values.get(p.name)
        if isinstance(v, Quantity):
            out[p.name] = v.si
        elif isinstance(v, str):
            out[p.name] = choice_code(p, v)
        elif isinstance(v, bool):
            out[p.name] = float(v)
    drawn = (draws or {}).get(item.path, {})
    return out | {p.name: drawn[p.name] for p in part.kind.params if p.name in drawn}


def list_inputs(item: Item) -> dict[str, tuple[float, ...]]:
    """Inputs of an item that hold lists, in SI."""
    return {n: v.si for n, v in item.values.items() if isinstance(v, Series)}


def build(scenario: Scenario, candidate: Candidate | None, draws: Draws | None = None) -> Graph:
    """Walk the sketch; every slot but the candidate's is closed rigidly.

    Raises InputError with all faults: a part where the motion does not fit, a node without inertia.
    """
    g = Graph([Node("ground", "ground")], [], {}, {}, {}, draws or {})
    wanted = None if candidate is None else scenario.slot_of(candidate).name
    here: Place | None = None
    for s in scenario.stations:
        here = _walk_station(g, s, here, candidate if s.name == wanted else None)
    _check_inertia(g)
    if g.faults:
        raise refused(g.faults, scenario)
    return g


def _walk_station(g: Graph, s: Station, here: Place | None, candidate: Candidate | None) -> Place:
    part = None if s.item is None else REGISTRY[s.item.part]
    if s.after is not None:
        here = g.places[s.after]
    elif here is None or (part is not None and part.kind.family == "drive"):
        here = _new_node(g, s.name, "rotation")
    if s.item is None:
        here = _walk_slot(g, s, here, candidate)
    elif part is not None:
        here = _walk_part(g, s, s.item, part, here)
    g.places[s.name] = here
    return here


def _new_node(g: Graph, name: str, domain: str) -> Place:
    g.nodes.append(Node(name, domain))
    return Place(len(g.nodes) - 1, 1.0, domain)


def _give_inertia(g: Graph, place: Place, who: str, value: Num, factor: Num = 1.0) -> None:
    """Add ``value`` (at a shaft turning ``factor`` times the place) to the place's node."""
    there = np.where(np.isnan(value), 0.0, value) if np.ndim(value) else value
    if np.any((there == there) & (there != 0.0)):
        shares = g.nodes[place.node].shares
        shares[who] = shares.get(who, 0.0) + there * square(factor * place.scale)


def _walk_slot(g: Graph, s: Station, here: Place, candidate: Candidate | None) -> Place:
    g.slots[s.name] = here
    g.entries[s.name] = here
    drawn = g.draws.get(s.path, {})
    hubs: dict[str, Num] = {n: q.si for n, q in (("hub_in", s.hub_in), ("hub_out", s.hub_out)) if q is not None}
    hubs |= {n: v for n, v in drawn.items() if n in ("hub_in", "hub_out")}
    if here.domain != "rotation":
        g.faults.append(Fault(s.path, "a protection slot needs a turning shaft, this station travels"))
        return here
    _check_limit(g, s, here)
    if candidate is None:
        _give_inertia(g, here, s.name, hubs.get("hub_in", 0.0) + hubs.get("hub_out", 0.0))
        return here
    item = candidate.item
    part = REGISTRY[item.part]
    raw = hubs | raw_inputs(item, part, g.draws)
    _size_hubs(part, raw)
    return _connect(g, s, candidate.name, item, part, raw, here, "candidate")


def _size_hubs(part: Part, raw: dict[str, Any]) -> None:
    """Fill hub inertias left out by the size rule."""
    if "hub_in" in raw and "hub_out" in raw:
        return
    size = over_raw(lambda r: hubs_by_size(setting_of(part, r)), raw)
    raw.setdefault("hub_in", size[0])
    raw.setdefault("hub_out", size[1])


def setting_of(part: Part, raw: Mapping[str, float]) -> float:
    """Setting of a protection from its raw inputs [N*m]."""
    row = part.call("resolve", part.raw(raw), 1.0)
    return float(part.call("sheet", row)["setting"][0])


def _walk_part(g: Graph, s: Station, item: Item, part: Part, here: Place) -> Place:
    raw = raw_inputs(item, part, g.draws)
    if part.kind.domain not in ("any", here.domain):
        g.faults.append(Fault(
            s.path, f"'{item.part}' needs a {_word(part.kind.domain)} station, this one {_verb(here.domain)}",
            hint="a drum turns rotation into travel and back",
        ))  # fmt: skip
        return here
    _check_effort(g, item, part, here)
    _check_limit(g, s, here)
    if part.kind.family == "protection":
        _size_hubs(part, raw)
    if part.kind.hubs == 2:
        return _connect(g, s, s.name, item, part, raw, here, "line")
    g.entries[s.name] = here
    if part.kind.family == "drive":
        _give_inertia(g, here, s.name, of_raw(part, "inertias", raw)[1])
        g.elements.append(Element(s.name, part, item.path, raw, GROUND, here.node, 1.0, here.scale, here.domain,
                                  lists=list_inputs(item)))  # fmt: skip
        return here
    turning = here
    if part.has("scale"):
        r = of_raw(part, "scale", raw)
        factor, domain = (r, "travel") if here.domain == "rotation" else (1.0 / r, "rotation")
        here = Place(here.node, here.scale * factor, domain)
        turning = turning if turning.domain == "rotation" else here
    if part.has("inertias"):
        _give_inertia(g, turning, s.name, of_raw(part, "inertias", raw)[0])
    if part.has("torque") or part.has("friction"):
        g.elements.append(Element(s.name, part, item.path, raw, here.node, GROUND, here.scale, 1.0, here.domain,
                                  s.limit, lists=list_inputs(item)))  # fmt: skip
    return here


def _connect(
    g: Graph, s: Station, name: str, item: Item, part: Part, raw: dict[str, Any], here: Place, role: str
) -> Place:
    ra, rb = of_raw(part, "ratios", raw) if part.has("ratios") else (1.0, 1.0)
    there = g.entries[s.joins] if s.joins else _new_node(g, s.name, here.domain)
    ja, jb = of_raw(part, "inertias", raw) if part.has("inertias") else (0.0, 0.0)
    _give_inertia(g, here, name, ja, ra)
    _give_inertia(g, there, name, jb, rb)
    g.entries[s.name] = here
    g.elements.append(
        Element(name, part, item.path, raw, here.node, there.node, ra * here.scale, rb * there.scale, here.domain,
                s.limit, role, list_inputs(item))
    )  # fmt: skip
    return there


def _word(domain: str) -> str:
    return "turning" if domain == "rotation" else "travelling"


def _verb(domain: str) -> str:
    return "turns" if domain == "rotation" else "travels"


def _check_effort(g: Graph, item: Item, part: Part, here: Place) -> None:
    """Torque on a turning station, force on a travelling one."""
    pairs = {
        "effort": ("torque", "force"),
        "any_stiffness": ("stiffness", "linear_stiffness"),
        "any_damping": ("damping", "linear_damping"),
        "travel": ("angle", "length"),
        "any_inertia": ("inertia", "mass"),
    }
    for p in part.kind.params:
        v = item.values.get(p.name)
        if p.kind not in pairs or not isinstance(v, Quantity | Series) or v.kind not in pairs[p.kind]:
            continue
        want = pairs[p.kind][0 if here.domain == "rotation" else 1]
        if v.kind != want:
            _wrong_kind(g, f"{item.path}.{p.name}", v, want, here)


def _check_limit(g: Graph, s: Station, here: Place) -> None:
    """A torque that a turning connection bears, a force that a travelling one does."""
    want = "torque" if here.domain == "rotation" else "force"
    if s.limit is not None and s.limit.allowable.kind != want:
        _wrong_kind(g, f"{s.path}.allowable", s.limit.allowable, want, here)


def _wrong_kind(g: Graph, path: str, v: Quantity | Series, want: str, here: Place) -> None:
    g.faults.append(Fault(
        path, f"is a {v.kind.replace('_', ' ')}, but this station {_verb(here.domain)}: {words(want)} is needed",
        v.text, f"units: {', '.join(units_of(want)[:5])}",
    ))  # fmt: skip


def _check_inertia(g: Graph) -> None:
    for n, node in enumerate(g.nodes):
        if n != GROUND and np.any(node.inertia <= 0.0):
            touching = [e.name for e in g.elements if n in (e.a, e.b)]
            where = next((e.path for e in reversed(g.elements) if n in (e.a, e.b)), "line")
            g.faults.append(Fault(
                where, f"no inertia between {' and '.join(repr(t) for t in touching)}: give {_bearer(g, n)}",
            ))  # fmt: skip


def _bearer(g: Graph, node: int) -> str:
    """Who could bring a node its inertia; a slot's hubs are left on the bare line when no candidate stands there."""
    slot = next((name for name, place in g.slots.items() if place.node == node), None)
    if slot is not None:
        return f"the slot '{slot}' hub_in and hub_out, which the bare line keeps"
    ends = [(e, word) for e in g.elements for n, word in ((e.b, "inertia_out"), (e.a, "inertia_in")) if n == node]
    ends = sorted(ends, key=lambda end: end[1] == "inertia_in") + [(e, "inertia") for e, _ in ends]
    own = next((f"'{e.name}' {word}" for e, word in ends if word in {p.name for p in e.part.kind.params}), "")
    things = "(a hub, a drum, a flywheel, a mass)"
    return f"{own}, or put an inertia between them {things}" if own else f"one of them an inertia {things}"


def add_events(g: Graph, scenario: Scenario, situation: Situation) -> Element:
    """Attach the situation's events to their stations, the first one and what follows; gives the first."""
    first = _add_event(g, scenario, situation.name, situation.item, situation.at)
    first.limit = situation.limit
    for name, step in zip(situation.step_names, situation.then, strict=True):
        _add_event(g, scenario, name, step.item, step.at or situation.at)
    return first


def _add_event(g: Graph, scenario: Scenario, name: str, item: Item, at: str | None) -> Element:
    part = REGISTRY[item.part]
    raw = raw_inputs(item, part, g.draws)
    lists = list_inputs(item)
    if part.kind.hubs == 0:
        e = Element(name, part, item.path, raw, GROUND, GROUND, 1.0, 1.0, "any", role="event", lists=lists)
    else:
        place = g.places[at or load_station(scenario)]
        _check_effort(g, item, part, place)
        if g.faults:
            raise refused(g.faults, scenario)
        e = Element(name, part, item.path, raw, place.node, GROUND, place.scale, 1.0, place.domain, role="event",
                    lists=lists)  # fmt: skip
    g.elements.append(e)
    return e


def add_stops(g: Graph, scenario: Scenario, candidate: Candidate | None) -> None:
    """Attach the stop chains that belong to the candidate; one without a candidate to watch is left out.

    A body has no element of its own: one that is watched gets one, at the place where it stands, without torque.
    """
    trial = next((e.name for e in g.elements if e.role == "candidate"), None)
    for stop in scenario.stops.values():
        if stop.fitted_to is not None and (candidate is None or candidate.name != stop.fitted_to):
            continue
        part = REGISTRY[stop.item.part]
        raw = raw_inputs(stop.item, part, g.draws)
        watched = [w or trial for w in (stop.of, stop.to or stop.of)]
        if None in watched:
            continue
        _give_elements(g, scenario, watched)
        codes = [one(c) for c in of_raw(part, "signals", raw)]
        senses = tuple(_sensed(g, str(w), c) for w, c in zip(watched, codes, strict=True))
        if any(code < 0 for _, code in senses):
            continue
        g.elements.append(Element(stop.item.name, part, stop.item.path, raw, GROUND, GROUND, 1.0, 1.0, "any",
                                  role="stop", lists=list_inputs(stop.item), senses=senses))  # fmt: skip


def _give_elements(g: Graph, scenario: Scenario, watched: list[str | None]) -> None:
    """An element for each body that is watched and has none yet; the speed there is that of its station."""
    here = {e.name for e in g.elements if e.role in ("line", "candidate")}
    for s in scenario.stations:
        if s.name in watched and s.name not in here and s.item is not None:
            p = g.places[s.name]
            part = REGISTRY[s.item.part]
            g.elements.append(Element(s.name, part, s.item.path, raw_inputs(s.item, part, g.draws), p.node, GROUND,
                                      p.scale, 1.0, p.domain))  # fmt: skip


def _sensed(g: Graph, name: str, code: int) -> tuple[str, int]:
    """Element and signal; the speed of a part with one hub is that hub's.

    A temperature is found among the element's own states, -1 if it has none.
    """
    e = next(e for e in g.elements if e.name == name and e.role in ("line", "candidate"))
    if code in SPEEDS and GROUND in (e.a, e.b):
        return name, SPEEDS[e.a == GROUND]
    if code != WARMTH:
        return name, code
    states = e.part.kind.states
    return name, next((len(SIGNALS) + j for j, s in enumerate(states) if s.unit == "K"), -1)


def load_station(scenario: Scenario) -> str:
    """Where the load is: the last station in the file that moves or drags a load, else the last one."""
    for s in reversed(scenario.stations):
        if s.item is not None and REGISTRY[s.item.part].kind.family in ("body", "load"):
            return s.name
    return scenario.stations[-1].name
