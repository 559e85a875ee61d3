"""The line seen from one shaft: inertias, torques and stiffness reflected, and the hand bounds.

Everything here is for the engineer to believe the run: formulas a person can check on paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, nan, sqrt
from typing import NamedTuple

from simcore.line.assemble import Assembly, Floats
from simcore.line.graph import GROUND
from simcore.line.ways import loses, walk
from simcore.line.weight import Demand, demand, held, weights


@dataclass(frozen=True, slots=True)
class Seen:
    """What the protected connection sees, at its own shaft (N*m, kg*m^2, N*m/rad; or N, kg, N/m)."""

    speed: float
    up: float
    down: float
    between: float
    running: float
    breakaway: float
    motor: float
    stiffness: float
    to_ground: float
    lash: float
    weight: float = 0.0
    """Pull of the load behind it that is there at rest."""
    held: str = "nothing"
    """What carries that pull before a start: 'behind' or 'before' the connection, 'nothing'."""
    series: float = inf
    """Stiffness of all connections of the line one after the other."""
    play: float = 0.0
    """Play of the whole line, that of ``lash`` included."""
    alone: bool = True
    """One drive, whose torque does not rise with its speed, and no load before the connection that breaks loose."""
    contact: float = inf
    """Stiffness of the contact of a crash."""
    others: float = 0.0
    """Largest torque of the drives behind the connection."""


def speed_ratio(a: Assembly, node: int, protected: int) -> float:
    """Motion of a node per motion at the protected connection's shaft."""
    return _ratio(a, node, a.own_speeds()[protected])


def _ratio(a: Assembly, node: int, own: float) -> float:
    return float(a.free_speeds[node] / own) if own else 0.0


def inertia_table(a: Assembly, protected: int) -> dict[str, float]:
    """Inertia of every contributor at the protected connection's shaft, in the order of the line."""
    own = a.own_speeds()[protected]
    out: dict[str, float] = {}
    for n, node in enumerate(a.graph.nodes):
        for who, j in node.shares.items():
            out[who] = out.get(who, 0.0) + j * _ratio(a, n, own) ** 2
    return out


def side_nodes(a: Assembly, cut: int, start: int) -> set[int]:
    """Nodes reachable from ``start`` without crossing element ``cut``."""
    return set(walk(a.graph, start, cut).nodes)


@dataclass(frozen=True, slots=True)
class Asked:
    """What every place of a line needs to know of all of it, found once."""

    own: Floats
    loads: dict[int, Demand]
    drives: dict[int, float]
    """Largest torque of every drive at its own shaft, by its place in the elements."""


def asked(a: Assembly) -> Asked:
    """Own speeds, loads and drives of the line."""
    own = a.own_speeds()
    loads, drives = {}, {}
    for i, e in enumerate(a.graph.elements):
        if e.part.kind.family == "load":
            loads[i] = demand(e, a.rows[i], a.tab, float(own[i]))
        elif e.part.kind.family == "drive":
            drives[i] = e.part.of_drive("top_torque", a.rows[i], a.tab)
    return Asked(own, loads, drives)


def efficiency(a: Assembly, gears: Iterable[int]) -> float:
    out = 1.0
    for i in gears:
        out /= 1.0 + a.rows[i, a.graph.elements[i].part.kind.column("up")]
    return out


def _with_losses(a: Assembly, gears: Iterable[int], load: float) -> float:
    """A load seen from before the gears on its way: more where it is driven, less where it drives (none if held)."""
    if load >= 0.0:
        return load / efficiency(a, gears)
    for i in gears:
        load *= max(1.0 - float(a.rows[i, a.graph.elements[i].part.kind.column("back")]), 0.0)
    return load


def motor_torque(a: Assembly, at: int, known: Asked | None = None) -> float:
    """Largest torque that reaches element ``at``, at its own shaft: drives before it, gear losses taken off.

    A gear carries its torque behind its own loss: the mesh sees what its output gives.
    """
    known = known or asked(a)
    return _before(a, at, known, known.drives)


def motor_torque_of(a: Assembly, at: int, torques: Sequence[float]) -> float:
    """As ``motor_torque``, for the ``torques`` [N*m] that all elements carry at one instant."""
    known = asked(a)
    return abs(_before(a, at, known, {i: torques[i] for i in known.drives}))


def _before(a: Assembly, at: int, known: Asked, torques: Mapping[int, float]) -> float:
    total = 0.0
    for gives, gain, gears in _drives_before(a, at, known.own, torques):
        total += gives * gain * efficiency(a, gears)
    return total


def _drives_before(
    a: Assembly, at: int, own: Floats, torques: Mapping[int, float]
) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """Torque of every drive before element ``at``, its speed per speed there, and the gears up to and with ``at``."""
    elements = a.graph.elements
    own_gear = (at,) if loses(elements[at]) else ()
    for i, gives in torques.items():
        found = walk(a.graph, elements[i].b, at).lossy
        if elements[at].a in found:
            yield gives, abs(own[i] / own[at]) if own[at] else 0.0, (*found[elements[at].a], *own_gear)


def _others(a: Assembly, at: int, known: Asked) -> float:
    """Largest torque of the drives behind element ``at``, at its own shaft, as far as they take load off it.

    The gears that it drives take their losses off.  Those between ``at`` and where it joins count for it: the drives
    before ``at`` have their losses to bear, it has not.
    """
    elements, total = a.graph.elements, 0.0
    for i, gives in known.drives.items():
        found = walk(a.graph, elements[i].b, at)
        if elements[at].b not in found.nodes or not known.own[at]:
            continue
        share = 1.0
        for gear in found.lossy[elements[at].b]:
            along = found.came.get(elements[gear].b, (-1, 0))[0] == gear
            share = share * efficiency(a, (gear,)) if along else share / efficiency(a, (gear,))
        total += gives * abs(known.own[i] / known.own[at]) * share
    return total


def load_torque(a: Assembly, at: int, known: Asked | None = None) -> tuple[float, float]:
    """Running and breakaway load behind element ``at``, at its own shaft, losses of the gears between them added.

    A second drive behind it takes its share of the load, by largest torque.
    """
    known = known or asked(a)
    own = known.own
    gears = walk(a.graph, a.graph.elements[at].b, at).lossy
    run = brk = 0.0
    for i, load in known.loads.items():
        node = a.graph.elements[i].a
        if node in gears and own[at]:
            gain = abs(own[i] / own[at])
            run += gain * _with_losses(a, gears[node], load.running)
            brk += gain * _with_losses(a, gears[node], load.breakaway)
    share = shared(a, at, known).share
    return float(share * run), float(share * brk)


class Shared(NamedTuple):
    """What a second drive behind a connection takes off it."""

    share: float
    """What is left of the load, by largest torque."""
    rotors: float
    """Inertia of its rotor, at the connection."""


def shared(a: Assembly, at: int, known: Asked | None = None) -> Shared:
    """What drives behind element ``at`` take off it."""
    known = known or asked(a)
    others, before = _others(a, at, known), motor_torque(a, at, known)
    behind = side_nodes(a, at, a.graph.elements[at].b)
    ends = {a.graph.elements[i].name: a.graph.elements[i].b for i in known.drives}
    rotors = sum(a.graph.nodes[n].shares.get(name, 0.0) * _ratio(a, n, known.own[at]) ** 2
                 for name, n in ends.items() if n in behind)  # fmt: skip
    return Shared(before / (before + others) if others > 0.0 else 1.0, float(rotors))


def weight_torque(a: Assembly, at: int) -> tuple[float, str]:
    """Pull at rest behind element ``at``, at its own shaft, against running, and what carries it (see Seen.held)."""
    own = a.own_speeds()
    behind = side_nodes(a, at, a.graph.elements[at].b)
    elements = a.graph.elements
    pulls = {i: w for i, w in weights(elements, a.rows, a.tab, own).items() if elements[i].a in behind}
    total = sum(w * abs(own[i] / own[at]) for i, w in pulls.items()) if own[at] else 0.0
    if total == 0.0:
        return 0.0, "nothing"
    found = [elements[i].a in behind for i in held(elements, a.rows, a.tab, own)]
    return float(total), ("behind" if any(found) else "before") if found else "nothing"


def stiffness_at(a: Assembly, i: int, protected: int) -> float:
    """Stiffness of element ``i`` at the protected connection's shaft; inf if rigid."""
    return _stiffness(a, i, protected, a.own_speeds())


def _stiffness(a: Assembly, i: int, protected: int, own: Floats) -> float:
    e = a.graph.elements[i]
    if not e.part.has("hint"):
        return inf
    return float(e.part.call("hint", a.rows[i])) * float(own[i] / own[protected]) ** 2


def seen_from(a: Assembly, protected: int) -> Seen:
    """Everything the hand bounds need, at the protected connection's shaft."""
    e = a.graph.elements[protected]
    up_nodes = side_nodes(a, protected, e.a)
    down_nodes = side_nodes(a, protected, e.b)
    own = a.own_speeds()[protected]
    j = {n: a.graph.nodes[n].inertia * _ratio(a, n, own) ** 2 for n in range(1, len(a.graph.nodes))}
    run, brk = load_torque(a, protected)
    weight, carrier = weight_torque(a, protected)
    event = _contact(a)
    if event is None:
        on_way = down_nodes
    else:
        goal = a.graph.elements[event].a
        ways = walk(a.graph, e.b, protected).to(goal)
        on_way = {e.b, goal} | {n for i in ways for n in (a.graph.elements[i].a, a.graph.elements[i].b)}
    if a.candidate is not None:
        on_way = on_way | (up_nodes & side_nodes(a, a.candidate, a.graph.elements[a.candidate].b))
    return Seen(
        speed=abs(float(own)),
        up=sum(v for n, v in j.items() if n in up_nodes),
        down=sum(v for n, v in j.items() if n in down_nodes),
        between=sum(v for n, v in j.items() if n in on_way),
        running=run,
        breakaway=brk,
        motor=motor_torque(a, protected),
        stiffness=stiffness_at(a, protected, protected),
        to_ground=_series_to_ground(a, protected),
        lash=_lash(a, protected, up_nodes),
        weight=weight,
        held=carrier,
        series=_series(a, protected),
        play=_lash(a, protected, up_nodes | down_nodes),
        alone=_drives_alone(a, down_nodes),
        contact=inf if event is None else stiffness_at(a, event, protected),
        others=_others(a, protected, asked(a)),
    )


def _drives_alone(a: Assembly, behind: set[int]) -> bool:
    """See Seen.alone; ``behind``: nodes behind the connection."""
    known = asked(a)
    before = [x for i, x in known.loads.items() if a.graph.elements[i].a not in behind]
    parts = [(a.graph.elements[i].part, a.rows[i]) for i in known.drives]
    rising = any(part.has("rises") and part.of_drive("rises", row, a.tab) for part, row in parts)
    return len(parts) == 1 and not rising and all(x.breakaway <= x.running for x in before)


def _contact(a: Assembly) -> int | None:
    """The event's element if it is a contact."""
    for i, e in enumerate(a.graph.elements):
        if e.role == "event" and e.part.has("hint"):
            return i
    return None


def _series_to_ground(a: Assembly, protected: int) -> float:
    """Series stiffness from the protected connection to ground through the contact; NaN without one."""
    event = _contact(a)
    if event is None:
        return float("nan")
    e = a.graph.elements[event]
    way = walk(a.graph, a.graph.elements[protected].b, protected).to(e.a)
    own = a.own_speeds()
    stiff = [_stiffness(a, i, protected, own) for i in [protected, *way, event]]
    return 1.0 / sum(1.0 / k for k in stiff) if min(stiff) > 0.0 else 0.0


def _series(a: Assembly, protected: int) -> float:
    """Stiffness of all connections between two hubs, one after the other, at the protected connection's shaft."""
    own = a.own_speeds()
    between = [i for i, e in enumerate(a.graph.elements) if GROUND not in (e.a, e.b)]
    soft = sum(1.0 / k for k in (_stiffness(a, i, protected, own) for i in between) if k > 0.0)
    return 1.0 / soft if soft else inf


def _lash(a: Assembly, protected: int, nodes: set[int]) -> float:
    """Play of what begins on the ``nodes``, at the protected connection's shaft."""
    own = a.own_speeds()
    total = 0.0
    for i, e in enumerate(a.graph.elements):
        if "half" in e.part.kind.row and e.a in nodes and own[i]:
            total += 2.0 * a.rows[i, e.part.kind.column("half")] * abs(own[protected] / own[i])
    return float(total)


def crash_estimate(s: Seen) -> float:
    """One inertia wound by the running torque against a dead stop, drive at its limit [N*m].

    ``Tm + sqrt((Tm - L)^2 + k J w^2)``: energy balance, textbook; exact for one inertia.
    """
    return s.motor + sqrt((s.motor - s.running) ** 2 + s.to_ground * s.up * s.speed**2)


def crash_bound(s: Seen) -> float:
    """Not exceeded at this connection: all moving energy, and all that the drives wind up, into it alone [N*m].

    ``M + sqrt(k (J w^2 + D^2 (1/K + 1/kc) + 2 A b))``, ``K`` all springs, ``kc`` the contact, ``b`` all play,
    ``A`` what all drives of the line give at their limit and ``D`` what that leaves over the load, ``M`` and ``M - L``
    with none behind: each spring and the contact hold at most ``D`` less than at the limit, and play may lie on the
    other flank.  Energy balance about that rest, springs linear, any number of inertias.
    """
    every = s.motor + s.others
    left = s.motor - s.running
    if s.others > 0.0:
        left = left * every / s.motor if s.motor > 0.0 else s.others
    wound = left**2 * (1.0 / s.series + 1.0 / s.contact) + 2.0 * every * s.play
    return s.motor + sqrt(s.stiffness * ((s.up + s.down) * s.speed**2 + wound))


def start_estimate(s: Seen) -> float:
    """Peak of a start by a torque step from rest against dry load friction and weight [N*m].

    Two inertias, the load breaking loose at ``L0`` if ``T + sqrt((T - W)^2 + 2 T b k)``, the peak where it never does,
    comes so far; springs wound by the weight ``W`` if it is held before them:
    ``e = L0 - L - s(T - L)``, ``L + s(T - L) + sqrt(e^2 + s((L0 - W)(2T - L0 - W) + 2 T b k))``; a weight that nothing
    holds, springs unwound: ``2(L + s(T - L))``; a load that pulls onward has nothing to break loose.  Energy balance,
    textbook.  Of sizes: where such a load drives in the end, ``-L`` at least.
    """
    share = s.down / (s.up + s.down)
    t, run, brk = s.motor, s.running, s.breakaway
    if s.weight > 0.0 and s.held == "nothing":
        return 2.0 * (run + share * (t - run))
    wound = s.weight if s.held == "before" else 0.0
    play = 2.0 * t * s.lash * s.stiffness
    stuck = t + sqrt((t - wound) ** 2 + play)
    if stuck < brk:
        return stuck
    loose = brk if wound < 0.0 else max(brk, 0.0)
    level = run + share * (t - run)
    swing = (loose - level) ** 2 + share * ((loose - wound) * (2.0 * t - loose - wound) + play)
    return max(abs(level) + sqrt(swing), -run)


def start_bound(s: Seen) -> float:
    """Not exceeded at this connection in a start by a torque step: all twist and play of the line into it alone [N*m].

    ``M + sqrt(k/K (M^2 + 2 M b K + 2(L0 - L) N))``, ``M = max(T, L)``, ``K`` all springs, ``b`` all play of the line.
    Until the load breaks loose ``sum (Ti - T)^2/ki <= T^2/K + 2 T b``, so that the line is twisted by no more than
    ``N/K``, ``N = M + sqrt(M^2 + 2 M b K)``.  The load then holds ``L0`` where it slides at ``L``, and leaves
    ``(L0 - L) N/K`` in the line.  Energy balance about the common motion, springs linear, any number of inertias.
    NaN, no bound is known: several drives share what the load leaves, a torque that rises with speed feeds the swing, a
    load before the connection leaves more.
    """
    if not s.alone:
        return nan
    most = max(s.motor, s.running)
    swing = (most + max(-s.weight, 0.0)) ** 2 + 2.0 * most * s.play * s.series
    left = 2.0 * max(s.breakaway - s.running, 0.0) * (most + sqrt(swing))
    return most + sqrt(s.stiffness / s.series * (swing + left))


def overshoot_bound(s: Seen) -> float:
    """What a limiter cannot stop: all moving energy between it and the jam into the protected connection [N*m].

    On the bare line: between that connection and the jam, as if the limiter sat right before it.
    """
    return s.speed * sqrt(s.stiffness * s.between)
