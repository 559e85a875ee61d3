"""What happens after a protection has let go: how the drive is taken off, whether the load runs back, what holds it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import zip_longest
from math import inf, isnan, nan, pi
from typing import Final, NamedTuple

import numpy as np

from simcore.contract import ENGAGED, OPEN, SLIPPING
from simcore.line.graph import GROUND, load_station
from simcore.line.reflect import side_nodes
from simcore.line.weight import weights
from simcore.measures.cases import Case
from simcore.results.model import BARE, Floats, Remark, Run
from simcore.units import show

STILL: Final = 0.01
"""Share of running speed past which the load still runs back at the horizon."""
LATE: Final = 0.8
"""Share of the time since the trigger after which it must have grown faster: a load thrown back slows down."""
FALLS: Final = 0.9
"""Share of its speed then that a load must still have which a weight pulls back through what is not open: one that
swings on slack or against a backstop has been further back before, or is slowed."""
FAR: Final = {"m": 3.0, "rad": 6.0 * pi}
"""Way back past which it is not told: the machine ends before (three metres, three turns; our choice)."""
SOON: Final = 60.0
"""Longest time to a heat limit [s] that is told where a stop chain is there; without one every time is."""
LAST: Final = 0.8
CREEPS: Final = 0.1
"""From this share of the run on, and share of its driving hub's way past which a protection slips, not creeps."""
ACTS: Final = frozenset({"stopped", "ramping down", "pausing", "reversing"})
"""Modes of a stop chain from its first action on."""
DRIVE_OFF: Final = "with the drive off"
"""How a remark begins on a load that takes the line back with it."""
Pairs = Iterable[tuple[Case, Run]]
Say = Callable[[float], str]


def remarks(pairs: Pairs, say: Say, ranks: Mapping[str, int]) -> tuple[Remark, ...]:
    """Sentences for the first screen; ``say`` writes a torque in the scenario's unit, ``ranks``: of the candidates."""
    protected = [(c, r) for c, r in pairs if r.candidate != BARE]
    kept = [(c, r) for c, r in protected if not isnan(r.measures["trigger"])]
    return (
        *_worst_stop(kept),
        *_reverses(protected),
        *_holds_again(kept),
        *_runs_back(protected, ranks),
        *_backstops(kept, say),
        *_heats_on(kept),
    )


def stopped_at(run: Run) -> tuple[str, float, float] | None:
    """Of the stop chain that acts first: name, instant at which it notices and at which it acts; None without."""
    found = []
    for c in run.connections:
        if c.role != "stop":
            continue
        own = [e for e in run.events if e.who == c.name and e.time >= 0.0]
        noticed = next((e.time for e in own if e.new == "noticed"), None)
        acts = next((e.time for e in own if e.old == "noticed" and e.new in ACTS), None)
        if noticed is not None and acts is not None:
            found.append((c.name, noticed, acts))
    return min(found, key=lambda f: f[2], default=None)


def driven(case: Case, run: Run, t: float) -> bool:
    """Whether a motor of the line is on and has not tripped at the instant ``t`` [s]; not so for NaN."""
    if isnan(t):
        return False
    at = int(np.searchsorted(run.time, t))
    drives = [(i, e.part.kind) for i, e in enumerate(case.assembly.graph.elements) if e.part.kind.family == "drive"]
    now = [kind.modes[run.mode[at, i]] for i, kind in drives]
    return any(m.name != "off" and m.klass < OPEN for m in now)


def heat_by(run: Run, t: float) -> float:
    """Heat of the protection from the event to ``t`` [J]."""
    if run.protection is None:
        return 0.0
    heat = run.heat[:, run.protection]
    return float(np.interp(t, run.time, heat) - np.interp(0.0, run.time, heat))


def _worst_stop(pairs: list[tuple[Case, Run]]) -> list[Remark]:
    """The stop chain with the most slip heat before its action begins."""
    found = [(heat_by(r, s[2]), r, s) for _, r in pairs if (s := stopped_at(r)) is not None]
    if not found:
        return []
    heat, run, (name, noticed, acts) = max(found, key=lambda f: f[0])
    text = (f"'{name}' on '{run.candidate}' in '{run.situation}' notices after {show(noticed, 'time')} and acts after "
            f"{show(acts, 'time')}; slip heat by then {show(heat, 'energy')}")  # fmt: skip
    if heat > 0.0:
        share = 100.0 * heat_by(run, noticed) / heat
        text += f", {share:.0f} % of it unnoticed"
    back = reversals(run)
    if back and back[0].by == name:
        often = f"{len(back)} times, the last time" if len(back) > 1 else ""
        text += f"; it reverses the drive{' ' * bool(often)}{often} until {show(back[-1].ends, 'time')}"
    slower = len(found) - 1
    return [Remark("Stop", text + ("; the most of all stops." if slower else "."))]


class Reversal(NamedTuple):
    """A stretch [s] in which the stop chain ``by`` reverses the drive."""

    by: str
    begins: float
    ends: float


def reversals(run: Run) -> list[Reversal]:
    """Of the first stop chain that reverses the drive: each time; empty if none does."""
    stops = {c.name for c in run.connections if c.role == "stop"}
    begins = [e for e in run.events if e.who in stops and e.time >= 0.0 and e.new == "reversing"]
    own = [e for e in run.events if begins and e.who == begins[0].who and e.time >= 0.0]
    ends = [e.time for e in own if e.old == "reversing"]
    starts = [e.time for e in own if e.new == "reversing"]
    return [Reversal(own[0].who, a, b) for a, b in zip_longest(starts, ends, fillvalue=float(run.time[-1]))]


def _reverses(pairs: list[tuple[Case, Run]]) -> Iterator[Remark]:
    """What the load does while a stop chain reverses the drive, by chain and situation."""
    found: dict[tuple[str, str], list[str]] = {}
    for c, r in pairs:
        back = reversals(r)
        if not back:
            continue
        ways = [way_back_between(c, r, b.begins, b.ends) for b in back]
        lengths = [show(max(way, 0.0), "length" if unit == "m" else "angle") for way, unit in ways]
        by = f"by {', then '.join(lengths)} with '{r.candidate}' ("
        by += "; ".join(f"from {show(b.begins, 'time')} to {show(b.ends, 'time')}" for b in back) + ")"
        found.setdefault((back[0].by, r.situation), []).append(by)
    for (name, situation), ways_told in found.items():
        yield Remark("Reverses", f"'{name}' in '{situation}' turns the load back {', '.join(ways_told)}.")


def way_back_between(case: Case, run: Run, begins: float, ends: float) -> tuple[float, str]:
    """How far the load has come back between two instants [s], from its furthest point; and the unit (m or rad)."""
    x, unit = _load_way(case, run)
    within = (run.time >= begins) & (run.time <= ends)
    return float(np.max(x[within]) - x[within][-1]), unit


def _load_way(case: Case, run: Run) -> tuple[Floats, str]:
    """Way of the load in the sense of running, and its unit."""
    place = case.assembly.graph.places[load_station(case.scenario)]
    sense = float(np.sign(case.assembly.free_speeds[place.node])) or 1.0
    return sense * run.angle[:, place.node - 1] * place.scale, "m" if place.domain == "travel" else "rad"


def is_cleared(case: Case) -> bool:
    """Whether what jams the load is taken away again within the situation."""
    s = case.situation
    return s.expect == "let go" and any(i.part == "clear" or not isnan(i.si("lasts")) for i in s.items)


def held_again(case: Case, run: Run) -> float:
    """Instant from which a protection that slips is engaged for good; NaN if it slips at the end."""
    e = case.assembly.graph.elements[case.assembly.candidate or 0]
    engaged = {m.name for m in e.part.kind.modes if m.klass == ENGAGED}
    own = [v for v in run.events if v.who == e.name]
    if run.measures["end_class"] != ENGAGED or not own:
        return nan
    back = [v.time for v in own if v.new in engaged and v.old not in engaged]
    return back[-1] if back else nan


def _holds_again(pairs: list[tuple[Case, Run]]) -> Iterator[Remark]:
    """Which of the protections that only slip hold again once the jam is gone, by situation, unless the load falls."""
    found: dict[str, list[tuple[str, float, float]]] = {}
    for c, r in pairs:
        kind = c.assembly.graph.elements[c.assembly.candidate or 0].part.kind
        if is_cleared(c) and max(m.klass for m in kind.modes) < OPEN and not back_way(c, r)[1]:
            end = c.situation.horizon
            found.setdefault(r.situation, []).append((r.candidate, held_again(c, r), end))
    for situation, seen in found.items():
        said = [f"{name} from {show(t, 'time')} on" for name, t, _ in seen if not isnan(t)]
        still = [name for name, t, _ in seen if isnan(t)]
        text = f"after '{situation}' "
        text += f"hold again: {', '.join(said)}" if said else "none holds again"
        if still:
            text += f"; still slipping at {show(seen[0][2], 'time')}: {', '.join(still)}"
        yield Remark("Holds again", text + ".")


def back_way(case: Case, run: Run) -> tuple[float, bool, str]:
    """How far the load has run back after the trigger (without one: the event), whether it still does, and the unit."""
    place = case.assembly.graph.places[load_station(case.scenario)]
    sense = float(np.sign(case.assembly.free_speeds[place.node])) or 1.0
    after = run.time >= (0.0 if isnan(run.measures["trigger"]) else run.measures["trigger"])
    way, unit = _load_way(case, run)
    x = way[after]
    t, speed = run.time[after], sense * run.speed[after, place.node - 1]
    late = t[0] + LATE * (t[-1] - t[0])
    v, before = speed[-1], float(np.interp(late, t, speed))
    still = -STILL * abs(float(case.assembly.free_speeds[place.node]))
    if run.measures["end_class"] >= OPEN:
        return float(np.max(x) - x[-1]), bool(v < still and v < before), unit
    falls = max(before, float(np.max(speed[t >= late]))) < still and v < FALLS * before
    lowest = x[-1] <= np.min(x[np.argmax(x) :])
    return float(np.max(x) - x[-1]), bool(falls and lowest and _lets_fall(case, run)), unit


def _lets_fall(case: Case, run: Run) -> bool:
    """Whether a weight pulls back and nothing turns the load back by intent: the part slips, or the drive is off."""
    a, end = case.assembly, float(run.time[-1])
    pulls = weights(a.graph.elements, a.rows, a.tab, a.own_speeds())
    turned = any(r.ends >= end for r in reversals(run))
    slips = run.measures["end_class"] >= SLIPPING
    return max(pulls.values(), default=0.0) > 0.0 and not turned and (slips or not driven(case, run, end))


def holds_back(case: Case) -> bool:
    """Whether a backstop or a brake stands on the load side of the protection: it ought to hold the load."""
    a = case.assembly
    if a.candidate is None:
        return False
    behind = side_nodes(a, a.candidate, a.graph.elements[a.candidate].b)
    return any(GROUND in (e.a, e.b) and {e.a, e.b} & behind
               and (e.part.kind.family == "overrunning clutch" or e.part.kind.name == "brake")
               for e in a.graph.elements)  # fmt: skip


def _runs_back(pairs: list[tuple[Case, Run]], ranks: Mapping[str, int]) -> Iterator[Remark]:
    """Loads that still run back at the horizon, by situation, released or with the whole line: crashes first, and of
    each the best candidate first."""
    found: dict[tuple[str, bool], list[tuple[Case, Run]]] = {}
    for c, r in pairs:
        if c.assembly.candidate is not None and back_way(c, r)[1]:
            found.setdefault((r.situation, r.measures["end_class"] >= SLIPPING), []).append((c, r))
    groups = [(gone, sorted(seen, key=lambda p: ranks[p[1].candidate])) for (_, gone), seen in found.items()]
    for gone, seen in sorted(groups, key=lambda g: (g[1][0][1].expect != "let go", ranks[g[1][0][1].candidate])):
        case, run = seen[0]
        likewise = ", ".join(f"'{r.candidate}'" for _, r in seen[1:])
        more = f" (likewise {likewise})" if likewise else ""
        need = "that bears it" if holds_back(case) else "on the load side"
        how = f"released by '{run.candidate}'" if gone else f"{DRIVE_OFF} and '{run.candidate}' holding"
        text = f"{how} in '{run.situation}' the load runs back {_how_far(case, run)}{more}"
        yield Remark("Runs back", f"{text}: a backstop or brake {need} is needed.")


def _how_far(case: Case, run: Run) -> str:
    way, _, unit = back_way(case, run)
    if way > FAR[unit]:
        return "ever faster until something stops it"
    began = run.measures["trigger"]
    seconds = float(run.time[-1]) - (0.0 if isnan(began) else began)
    return f"{show(way, 'length' if unit == 'm' else 'angle')} within {show(seconds, 'time')} and goes on"


def _backstops(pairs: list[tuple[Case, Run]], say: Say) -> Iterator[Remark]:
    """What holds the load afterwards, at its largest; others with which it sees the same, to the digits told."""
    seen: dict[str, list[tuple[float, Run]]] = {}
    for c, r in pairs:
        for i, e in enumerate(c.assembly.graph.elements):
            if e.part.kind.family == "overrunning clutch" and GROUND in (e.a, e.b) and r.peak[i] > 0.0:
                seen.setdefault(e.name, []).append((float(r.peak[i]), r))
    for name, peaks in seen.items():
        peak, run = max(peaks, key=lambda p: p[0])
        alike = [f"'{r.candidate}'" for p, r in peaks if say(p) == say(peak) and r.candidate != run.candidate]
        also = f"; likewise {', '.join(dict.fromkeys(alike))}" if alike else ""
        yield Remark("Backstop", f"'{name}' sees up to {say(peak)} ('{run.candidate}', '{run.situation}'{also}).")


def slips_on(run: Run) -> bool:
    """Whether the protection still slips at the end: in its mode, or by its way over the last fifth, as magnets that
    slip poles are in step at some instants."""
    if run.measures["end_class"] >= SLIPPING:
        return run.measures["end_class"] == SLIPPING
    late = run.time >= LAST * run.time[-1]
    way = float(np.trapezoid(np.abs(run.hub_speed[late, 0]), run.time[late]))
    return abs(float(run.twist[late][-1] - run.twist[late][0])) > CREEPS * way > 0.0


def _heats_on(pairs: list[tuple[Case, Run]]) -> Iterator[Remark]:
    """Protections that slip on when the run ends and reach their heat limit if nobody stops the drive."""
    found: dict[str, list[tuple[float, Run]]] = {}
    for c, r in pairs:
        left = r.measures["time_to_limit"]
        ends = c.situation.expect == "let go" and slips_on(r) and isnan(r.measures["burns_at"])
        if ends and (left <= SOON or (left < inf and not any(x.role == "stop" for x in r.connections))):
            found.setdefault(r.situation, []).append((left, r))
    for situation, seen in found.items():
        left, run = min(seen, key=lambda s: s[0])
        when = f"{show(left, 'time')} after that" if left > 0.0 else "at once"
        text = (f"still slipping at the end of '{situation}', '{run.candidate}' makes "
                f"{show(run.measures['heat_power'], 'power')} of heat and reaches its limit "
                f"{when} if nothing stops the drive")  # fmt: skip
        rest = [f"'{r.candidate}' after {show(t, 'time')}" for t, r in sorted(seen, key=lambda s: s[0])[1:]]
        yield Remark("Heats on", text + (f"; {', '.join(rest)}." if rest else "."))
