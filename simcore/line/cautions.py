"""Warnings that need no run: what a beginner overlooks, found by hand formulas."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from simcore.contract import COL_SETTING, OPEN
from simcore.line.assemble import SPEED_IN, Assembly, assemble, lowest_mode
from simcore.line.bearing import bearing_loads
from simcore.line.belt_grip import belt_below_setting
from simcore.line.caution import Caution as Caution
from simcore.line.effort_words import effort_words, torque_words
from simcore.line.graph import Element
from simcore.line.modes import frequencies, local_frequency
from simcore.line.odd_ratio import odd_ratio, ratio_below_one
from simcore.line.overload import check_loads
from simcore.line.oversights import (
    heat_of_another_size,
    high_ratio,
    load_not_held,
    odd_hubs,
    odd_stiffness,
    overhauling,
    place_not_said,
    slot_not_said,
    stops_at_once,
    usual_overshoot,
    without_start,
)
from simcore.line.past_slot import drive_past_slot
from simcore.line.plate import one_curve
from simcore.line.reflect import (
    Seen,
    load_torque,
    motor_torque,
    overshoot_bound,
    seen_from,
    side_nodes,
    speed_ratio,
    stiffness_at,
)
from simcore.line.release import released_load
from simcore.line.running import by_name
from simcore.line.starting import start_above_setting
from simcore.line.starting_angle import one_angle
from simcore.line.worm import limiter_before_worm, worm_alike, worm_not_locking
from simcore.parts import REGISTRY
from simcore.parts.stop_chain import SPEED_LOSS, TORQUE
from simcore.scenario.model import Candidate, Scenario

STIFF_CONTACT = 3.0
LIGHT_ROTOR = 0.03
"""Kinetic energy of a rotor over its rated power [s] below which it looks forgotten (common practice, from memory)."""


def cautions(scenario: Scenario) -> list[Caution]:
    """All warnings of a scenario, each once, in the order of the file.  Raises InputError."""
    w1 = lowest_mode(scenario)
    out = list(_rotor(scenario))
    check_loads(scenario, w1)
    running = assemble(scenario, None, None, w1)
    out += _carry(running)
    out += odd_stiffness(scenario, running)
    out += odd_ratio(running)
    out += ratio_below_one(running)
    out += _contacts(scenario, w1)
    out += without_start(scenario)
    out += stops_at_once(scenario)
    out += place_not_said(scenario)
    out += load_not_held(scenario, running)
    out += overhauling(running)
    out += worm_not_locking(running)
    out += worm_alike(running)
    out += one_curve(running)
    out += one_angle(scenario)
    out += bearing_loads(running)
    for c in scenario.candidates.values():
        out += _candidate(scenario, c, w1)
    return list(dict.fromkeys(out))


def grouped(found: list[Caution], everyone: Collection[str] = ()) -> list[str]:
    """One sentence a kind of warning; others it holds for are named behind it, unless all of ``everyone``."""
    kinds: dict[str, list[Caution]] = {}
    for c in found:
        kinds.setdefault(c.name, []).append(c)
    out = []
    for cs in kinds.values():
        others = [t for t in dict.fromkeys(c.candidate for c in cs[1:]) if t not in ("", cs[0].candidate)]
        every = len(others) > 1 and {cs[0].candidate, *others} >= set(everyone) != set()
        who = "all others" if every else ", ".join(others)
        out.append(cs[0].sentence(f" (likewise {who})" if others else ""))
        out += [c.sentence() for c in cs[1:] if not c.candidate]
    return out


def _rotor(scenario: Scenario) -> Iterator[Caution]:
    """Rotor inertia against the size rule ``J w^2 / P`` = 0.05...0.25 s (common practice, from memory)."""
    for s in scenario.stations:
        item = s.item
        if item is None or "inertia" not in item.values or "rated_power" not in item.values:
            continue
        seconds = item.si("inertia") * item.si("rated_speed") ** 2 / item.si("rated_power")
        if seconds < LIGHT_ROTOR or seconds > 2.0:
            word = "small" if seconds < LIGHT_ROTOR else "large"
            yield Caution(
                "odd inertia", f"{s.path}.inertia",
                f"the rotor inertia of '{s.name}' looks too {word} for its power (usual 0.05 to 0.25 s of rated "
                f"power as kinetic energy, here {seconds:.2g} s): a factor 1000, or not the rotor's own shaft?",
            )  # fmt: skip


def _carry(a: Assembly) -> Iterator[Caution]:
    """Inertias that look unreflected: one connection's hubs differ by more than 10 000."""
    for e in a.graph.elements:
        if e.a == 0 or e.b == 0 or e.ra == e.rb:
            continue
        ja, jb = a.graph.nodes[e.a].inertia / e.ra**2, a.graph.nodes[e.b].inertia / e.rb**2
        if ja < 1e-4 * jb:
            yield Caution(
                "odd inertia", e.path,
                f"at '{e.name}' the inertia before it, at its shaft, is under a ten-thousandth of the one "
                "behind it: already reflected by hand? Give each inertia at its own shaft",
            )  # fmt: skip


def _contacts(scenario: Scenario, w1: float) -> Iterator[Caution]:
    for s in scenario.situations.values():
        if not REGISTRY[s.event].has("hint"):
            continue
        a = assemble(scenario, None, s, w1)
        i = next(j for j, e in enumerate(a.graph.elements) if e.role == "event")
        event = a.graph.elements[i]
        k = [float(e.part.call("hint", a.rows[j])) if e.part.has("hint") else 0.0
             for j, e in enumerate(a.graph.elements)]  # fmt: skip
        contact = local_frequency(event.a, a.graph.nodes, [event], [k[i]])
        highest = float(frequencies(a.graph.nodes, a.graph.elements[:i], k[:i])[-1])
        if contact > STIFF_CONTACT * highest:
            yield Caution(
                "stiff contact", f"{s.path}.stiffness",
                f"the contact of '{s.name}' rings at {contact / 6.2832:.0f} Hz, the line's highest mode is "
                f"{highest / 6.2832:.0f} Hz: stiffer than the line's model resolves",
            )  # fmt: skip


def _candidate(scenario: Scenario, c: Candidate, w1: float) -> Iterator[Caution]:
    a = assemble(scenario, c, None, w1)
    i = a.candidate
    if i is None:
        return
    setting = float(a.rows[i, COL_SETTING])
    tol = c.item.si("tolerance", 0.0)
    say = torque_words(scenario)
    path = f"{c.item.path}.setting"
    band = float(a.graph.elements[i].part.described("band", a.rows[i], a.tab))
    run, _ = load_torque(a, i)
    if run > setting * (1.0 - tol):
        yield Caution("service above setting", path,
                      f"'{c.name}' holds no more than {say(setting * (1.0 - tol))} at the low end of its band, and "
                      f"ordinary running already asks for {say(run)} there")  # fmt: skip
    top = motor_torque(a, i)
    weak = list(belt_below_setting(scenario, c, a, i, band * setting, say))
    yield from weak
    if band * setting > top and not weak:
        yield Caution("motor below setting", path,
                      f"'{c.name}' breaks away at {say(band * setting)}, the motor gives {say(top)} there "
                      "at its limit: a soft jam stalls the motor and nothing lets go")  # fmt: skip
    yield from slot_not_said(scenario, c)
    yield from _room(scenario, c, a, i, setting, band, tol)
    if scenario.protect in a.names:
        yield from start_above_setting(scenario, c, a, w1, say)
    yield from high_ratio(scenario, c, a, i)
    yield from limiter_before_worm(scenario, a, i, tol)
    yield from drive_past_slot(scenario, c, a, i)
    yield from released_load(scenario, a, i)
    yield from odd_hubs(scenario, a, i)
    yield from heat_of_another_size(c, a, i)
    yield from _blind(scenario, c, a)
    classes = [m.klass for m in a.graph.elements[i].part.kind.modes]
    if max(classes) < OPEN and not any(_notices_slip(a, e, i, setting) for e in a.graph.elements if e.role == "stop"):
        yield Caution("slips without a stop", c.item.path,
                      f"'{c.name}' slips and never disconnects, and no stop that notices it is given: it heats until "
                      "someone switches the drive off", grave=True)  # fmt: skip


def _blind(scenario: Scenario, c: Candidate, a: Assembly) -> Iterator[Caution]:
    """Stop chains that belong to the candidate but were left out: what they watch has no such state."""
    fitted = {e.name for e in a.graph.elements if e.role == "stop"}
    for stop in scenario.stops.values():
        if stop.fitted_to not in (None, c.name) or stop.item.name in fitted:
            continue
        what = str(stop.item.values["senses"])
        yield Caution("stop that cannot notice", c.item.path,
                      f"'{stop.item.name}' cannot notice the {what} of '{stop.of or c.name}', which has none in this "
                      "model: it does nothing there")  # fmt: skip


def _notices_slip(a: Assembly, stop: Element, i: int, setting: float) -> bool:
    """Whether a stop chain notices that the candidate, element ``i``, slips at its setting."""
    what = int(stop.raw["senses"])
    watched = stop.senses[0][0]
    if what == SPEED_LOSS:
        return _between(a, stop, i)
    if what == TORQUE:
        own = a.own_speeds()
        j = a.index(watched)
        there = setting * abs(float(own[i] / own[j])) if own[j] else 0.0
        return bool(stop.raw["torque"] <= there)
    return watched == a.names[i]


def _between(a: Assembly, stop: Element, i: int) -> bool:
    """Whether element ``i`` lies between the two places whose speeds a stop chain compares."""
    behind = side_nodes(a, i, a.graph.elements[i].b)
    at = by_name(a.graph.elements)
    watched = [(a.graph.elements[at[who]], code) for who, code in stop.senses]
    first, second = (e.a if code == SPEED_IN else e.b for e, code in watched)
    return (first in behind) != (second in behind)


def _room(
    scenario: Scenario, c: Candidate, a: Assembly, i: int, setting: float, band: float, tol: float
) -> Iterator[Caution]:
    """Setting and overshoot against the allowable of the protected connection."""
    path = f"{c.item.path}.setting"
    if scenario.protect not in a.names:
        return
    p = a.index(scenario.protect)
    there = effort_words(scenario, a.graph.elements[p].domain)
    limit = scenario.station(scenario.protect).limit
    own = a.own_speeds()
    gain = abs(float(own[i] / own[p])) if own[p] else 1.0
    if limit is not None:
        allowable = limit.allowable.si
        if allowable < setting * gain:
            yield Caution("allowable below setting", path,
                          f"'{scenario.protect}' bears {there(allowable)}, less than the setting of '{c.name}' "
                          f"({there(setting * gain)} at its shaft)")  # fmt: skip
        else:
            yield from _overshoot(scenario, c, path, band * (1 + tol) * setting * gain, allowable)


def _overshoot(scenario: Scenario, c: Candidate, path: str, breakaway: float, allowable: float) -> Iterator[Caution]:
    for s in scenario.situations.values():
        if not REGISTRY[s.event].has("hint"):
            continue
        a = assemble(scenario, c, s)
        p = a.index(scenario.protect)
        seen = seen_from(a, p)
        over = overshoot_bound(seen)
        if breakaway + over > allowable:
            usual = _usual(a, p, seen)
            say = effort_words(scenario, a.graph.elements[p].domain)
            size = f" (usual size {say(usual)})" if 0.0 < usual < over else ""
            yield Caution("no room for overshoot", path,
                          f"'{c.name}' in '{s.name}': breakaway at the high end, {say(breakaway)}, plus the bound of "
                          f"the overshoot, {say(over)}{size}, passes the {say(allowable)} of '{scenario.protect}'; "
                          "the run tells what it is")  # fmt: skip


def _usual(a: Assembly, p: int, seen: Seen) -> float:
    """Usual overshoot at the protected connection ``p``; 0 unless the jam is right behind it."""
    i, goal = a.candidate, a.graph.elements[p].b
    stop = next(j for j, e in enumerate(a.graph.elements) if e.role == "event")
    if i is None or a.graph.elements[stop].a != goal:
        return 0.0
    hub, body = (a.graph.nodes[n].inertia * speed_ratio(a, n, p) ** 2 for n in (a.graph.elements[i].b, goal))
    return usual_overshoot(seen, hub, body, stiffness_at(a, stop, p))
