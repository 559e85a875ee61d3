"""Inertias as the protection sees them: at the shaft of each slot, before it and behind it."""

from __future__ import annotations

from simcore.line.assemble import assemble, lowest_mode
from simcore.line.reflect import inertia_table, seen_from
from simcore.scenario.model import Scenario
from simcore.units import plain


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
        seen = seen_from(a, a.candidate)
        ranked = sorted(inertia_table(a, a.candidate).items(), key=lambda item: -item[1])
        told = ", ".join(f"{'hubs' if n in (c.name, slot) else n} {plain(j)}" for n, j in ranked if j > 0.0)
        out[slot] = (f"Seen at '{slot}': {plain(seen.up)} kg*m^2 before '{c.name}', {plain(seen.down)} behind it "
                     f"({told}).")  # fmt: skip
    return list(out.values())
