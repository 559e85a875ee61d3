"""Warnings on what is easily overlooked: a start not tried, sizes that do not fit, inertia behind the limiter."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from math import degrees, sqrt

from simcore.contract import COL_SETTING
from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.graph import GROUND, Element, load_station
from simcore.line.reflect import Seen, asked, load_torque, motor_torque, seen_from, stiffness_at
from simcore.line.relative_damping import stiffness_of
from simcore.line.weight import demand, held, weights
from simcore.line.worm import locks_behind
from simcore.parts import REGISTRY
from simcore.parts._protection import hubs_by_size
from simcore.scenario.model import Candidate, Scenario
from simcore.scenario.stop_rules import AT_ONCE
from simcore.units import show

HIGH_RATIO = 10.0
"""Ratio past which a place on the fast side is worth a word (common practice, from memory)."""
MUCH_BEHIND = 0.2
"""Inertia behind a limiter over the one before it past which much of the blow passes by it (common practice)."""
FAR_OFF = 4.0
"""Factor past which a size is worth a word (common practice, from memory)."""
HUBS = frozenset(("hub_in", "hub_out"))
DELAYS = ("sensor", "filter", "scan", "output")
LEAST_TWIST, MOST_TWIST = 0.005, 60.0
"""Twist of a connection at its allowable [deg], outside of which its stiffness or its allowable is doubtful."""
NUDGE = 0.01
"""Share by which an input is changed to see whether a stiffness hangs on it."""


def without_start(scenario: Scenario) -> Iterator[Caution]:
    """Starts, not crashes, usually set the lower limit of a setting."""
    if scenario.candidates and not any(s.event == "start" for s in scenario.situations.values()):
        yield Caution("start not tried", "situations", "no situation is a start: a full start is what trips a "
                      "protection most often")  # fmt: skip


def load_not_held(scenario: Scenario, a: Assembly) -> Iterator[Caution]:
    """A weight that neither brake, backstop nor friction holds before a start."""
    own, elements = a.own_speeds(), a.graph.elements
    pulls = weights(elements, a.rows, a.tab, own)
    asked = {i: demand(elements[i], a.rows[i], a.tab, float(own[i])) for i in pulls}
    loose = [i for i, d in asked.items() if abs(d.weight) > d.breakaway - d.weight]
    starts = any(s.event == "start" for s in scenario.situations.values())
    if not loose or not starts or held(elements, a.rows, a.tab, own):
        return
    e = elements[loose[0]]
    yield Caution("load not held", e.path, f"nothing holds '{e.name}' at rest, no brake, no backstop: a start begins "
                  "with slack springs, and the load moves by itself until the motor takes it", grave=True)  # fmt: skip


def overhauling(a: Assembly) -> Iterator[Caution]:
    """A load that drives the line in ordinary running, by more than the motor holds at its limit."""
    known = asked(a)
    for i, e in enumerate(a.graph.elements):
        if GROUND in (e.a, e.b):
            continue
        pull, top = -load_torque(a, i, known)[0], motor_torque(a, i, known)
        if 0.0 < top < pull and not locks_behind(a, i):
            unit = "force" if e.domain == "travel" else "torque"
            yield Caution("load overhauls the motor", e.path,
                          f"in ordinary running the load drives '{e.name}' with {show(pull, unit)}, the motor holds "
                          f"{show(top, unit)} there at its limit: the load runs away with it", grave=True)  # fmt: skip
            return


def odd_stiffness(scenario: Scenario, a: Assembly) -> Iterator[Caution]:
    """Connections that twist far too little or too much at what they bear."""
    for i, e in enumerate(a.graph.elements):
        if e.limit is None or e.domain != "rotation" or GROUND in (e.a, e.b):
            continue
        k = stiffness_at(a, i, i)
        twist = degrees(e.limit.allowable.si / k) if k > 0.0 else MOST_TWIST
        if not LEAST_TWIST <= twist <= MOST_TWIST:
            item = scenario.station(e.name).item
            makes = made_of(e, a.w1, frozenset() if item is None else item.given) or ["stiffness"]
            where = "" if makes == ["stiffness"] else f" in {listed(makes)}"
            yield Caution(
                "odd stiffness", f"{e.path}.{makes[0]}",
                f"'{e.name}' would twist by {twist:.2g} deg at what it bears (usual 0.02 to 15 deg): a factor 1000"
                f"{where}, or a value of another shaft?",
            )  # fmt: skip


def made_of(e: Element, w1: float, given: Collection[str]) -> list[str]:
    """Inputs in the file that an element's stiffness was computed from, the steepest first; counts are left out."""
    before = stiffness_of(e, w1)
    moved = {}
    for p in e.part.kind.params:
        if p.name in given and p.kind != "count" and p.name in e.raw and p.name not in e.lists:
            other = replace(e, raw={**e.raw, p.name: e.raw[p.name] * (1.0 + NUDGE)})
            moved[p.name] = abs(float(stiffness_of(other, w1)) / before - 1.0) if before else 0.0
    return sorted((n for n, share in moved.items() if share > 0.1 * NUDGE), key=lambda n: -round(moved[n] / NUDGE, 1))


def listed(words: Sequence[str]) -> str:
    """Words as alternatives.

    >>> listed(["pitch"]), listed(["pitch", "strand_length", "stiffness"])
    ('pitch', 'pitch, strand_length or stiffness')
    """
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def stops_at_once(scenario: Scenario) -> Iterator[Caution]:
    """Stop chains that are given no delay at all: neither sensor, filter, control and contactor nor brake."""
    brakes = (s.item for s in scenario.stations if s.item is not None and "apply_time" in s.item.values)
    if any(b.si("apply_time") > 0.0 for b in brakes):
        return
    for stop in scenario.stops.values():
        item = stop.item
        if item.values["action"] == AT_ONCE and not any(item.si(word) > 0.0 for word in DELAYS):
            yield Caution(
                "stop at once", f"{item.path}.output",
                f"'{item.name}' takes the drive off in the very instant it notices, no time for {', '.join(DELAYS)} or "
                "brake: slip heat comes out too small",
            )  # fmt: skip


def odd_hubs(scenario: Scenario, a: Assembly, i: int) -> Iterator[Caution]:
    """Hubs of a protection far from the usual size for its setting."""
    e = a.graph.elements[i]
    setting = float(a.rows[i, COL_SETTING])
    c = scenario.candidates[e.name]
    slot = scenario.slot_of(c)
    own = bool(HUBS & c.item.given)
    if not own and slot.hub_in is slot.hub_out is None:
        return
    share = sum(e.raw[word] for word in HUBS) / sum(hubs_by_size(setting))
    if not 1.0 / FAR_OFF <= share <= FAR_OFF:
        word = "light" if share < 1.0 else "heavy"
        yield Caution(
            "odd hubs", e.path,
            f"the hubs of '{e.name if own else slot.name}' are {share:.2g} times as heavy as usual for "
            f"'{e.name}' at its setting: too {word}?",
        )  # fmt: skip


def heat_of_another_size(c: Candidate, a: Assembly, i: int) -> Iterator[Caution]:
    """Defaults of a protection's heat that belong to another size than its setting."""
    setting, kind = float(a.rows[i, COL_SETTING]), a.graph.elements[i].part.kind
    odd = [p for p in kind.params if p.size == p.size and p.name not in c.item.given
           and not 1.0 / FAR_OFF <= setting / p.size <= FAR_OFF]  # fmt: skip
    if odd:
        taken = ", ".join(f"{p.name} {p.default}" for p in odd)
        way = "fast" if setting > odd[0].size else "slowly"
        yield Caution(
            "heat of another size", f"{c.item.path}.{odd[0].name}",
            f"'{c.name}' has the heat of a {show(odd[0].size, 'torque')} size by default ({taken}), and its setting is "
            f"{show(setting, 'torque')}: it is reckoned to heat too {way}",
        )  # fmt: skip


def slot_not_said(scenario: Scenario, c: Candidate) -> Iterator[Caution]:
    """A candidate that says no slot where the line has several: it is tried in the first."""
    slots = [s.name for s in scenario.stations if s.is_slot]
    if c.slot is None and len(slots) > 1:
        named = ", ".join(f"'{s}'" for s in slots)
        yield Caution(
            "slot not said", f"{c.item.path}.slot",
            f"'{c.name}' does not say which of the slots {named} it is for, and fits the first, '{slots[0]}': say "
            f'slot = "{slots[0]}" or slot = "{slots[1]}"',
        )  # fmt: skip


def place_not_said(scenario: Scenario) -> Iterator[Caution]:
    """Events that do not say where they happen, in a line whose last load stands on a branch that others share."""
    stations, load = scenario.stations, load_station(scenario)
    names = [s.name for s in stations]
    last = names.index(load)
    fork = max((n for n in range(last + 1) if stations[n].after is not None), default=0)
    others = [s.name for s in stations[:fork] if s.item is not None and REGISTRY[s.item.part].kind.family == "load"]
    untold = [s for s in scenario.situations.values() if s.at is None and REGISTRY[s.event].kind.hubs > 0]
    if others and untold:
        named = " and ".join(f"'{s.name}'" for s in untold)
        yield Caution(
            "place not said", f"{untold[0].path}.at",
            f"{named} {'happens' if len(untold) == 1 else 'happen'} at '{load}', the last load in the file, which "
            f"stands on a branch: say at = \"{load}\" or at = \"{others[-1]}\"",
        )  # fmt: skip


def high_ratio(scenario: Scenario, c: Candidate, a: Assembly, i: int) -> Iterator[Caution]:
    """A limiter on the fast side of a high ratio, with much inertia left behind it, gear and own hub included."""
    own = a.own_speeds()
    shafts = [abs(float(own[j])) for j, e in enumerate(a.graph.elements)
              if e.domain == "rotation" and e.a and e.b and own[j]]  # fmt: skip
    ratio = abs(float(own[i])) / min(shafts) if shafts else 1.0
    s = seen_from(a, i)
    if ratio > HIGH_RATIO and s.down > MUCH_BEHIND * s.up:
        yield Caution(
            "motor side of a high ratio", c.item.path,
            f"'{c.name}' sits on the fast side of a ratio of {ratio:.3g}: {show(s.up, 'inertia')} before it, but "
            f"{show(s.down, 'inertia')} behind it, up to '{load_station(scenario)}' (both at its shaft), which it "
            "cannot keep out of a jam",
        )  # fmt: skip


def usual_overshoot(s: Seen, hub: float, body: float, contact: float) -> float:
    """Usual size of what a limiter lets through beyond its breakaway [N*m].

    The driven hub and the ``body`` at the jam swing against the connection, ``w sqrt(k) (sqrt(Jb) + sqrt(Jd k/(k +
    kj)))``, all at the protected shaft, ``contact`` the jam's stiffness; energy balance, textbook.
    """
    return s.speed * sqrt(s.stiffness) * (sqrt(hub) + sqrt(body * s.stiffness / (s.stiffness + contact)))
