"""Inertias as the protection sees them: at the shaft of each slot, before it and behind it."""

from __future__ import annotations

from simcore.inertia_words import over_a_turn, ranked_words
from simcore.line.assemble import Assembly, assemble, lowest_mode
from simcore.line.reflect import inertia_table, seen_from, side_nodes, speed_ratio
from simcore.scenario.model import Scenario

LARGEST = "largest inertia"
"""How the data sheet of a part that varies over a turn begins the name of what it adds at most."""


def swings(a: Assembly, protected: int) -> dict[str, float]:
    """What inertias that vary over a turn add at most, by who brings them, at the protected connection's shaft."""
    out = {}
    for i, e in enumerate(a.graph.elements):
        if e.part.has("inertia") and e.role == "line":
            sheet = e.part.described("sheet", a.rows[i], a.tab)
            most = max((v for name, (v, _) in sheet.items() if name.startswith(LARGEST)), default=0.0)
            if most > 0.0:
                out[e.name] = most * (e.ra * speed_ratio(a, e.a, protected)) ** 2
    return out


def swings_on(a: Assembly, protected: int, start: int) -> float:
    """What they add together on the side of the protected connection that begins at the node ``start``."""
    there = side_nodes(a, protected, start)
    return sum((v for n, v in swings(a, protected).items() if a.graph.elements[a.index(n)].a in there), 0.0)


def inertias_at_slots(scenario: Scenario) -> list[str]:
    """A sentence for each slot that has a candidate, the largest contributor first.  Raises InputError."""
    w1 = lowest_mode(scenario)
    slots = [s.name for s in scenario.stations if s.is_slot]
    out: dict[str, str] = {}
    for c in scenario.candidates.values():
        slot = c.slot or (slots[0] if slots else "")
        a = assemble(scenario, c, None, w1)
        if slot in out or a.candidate is None:
            continue
        i, e = a.candidate, a.graph.elements[a.candidate]
        seen = seen_from(a, i)
        before = over_a_turn(seen.up, swings_on(a, i, e.a), " kg*m^2")
        behind = over_a_turn(seen.down, swings_on(a, i, e.b))
        told = ranked_words(inertia_table(a, i), swings(a, i), {c.name: "hubs", slot: "hubs"})
        out[slot] = f"Seen at '{slot}': {before} before '{c.name}', {behind} behind it ({told})."
    return list(out.values())
