"""Warning on a second drive that pushes on past the protection."""

from __future__ import annotations

from collections.abc import Iterator

from simcore.line.assemble import Assembly, assemble
from simcore.line.caution import Caution
from simcore.line.ways import Walk, walk
from simcore.parts import REGISTRY
from simcore.scenario.model import Candidate, Scenario


def drive_past_slot(scenario: Scenario, c: Candidate, a: Assembly, i: int) -> Iterator[Caution]:
    """Drives behind element ``i``, the candidate, that reach what is to be protected there, or the place of a crash."""
    elements = a.graph.elements
    behind = walk(a.graph, elements[i].b, i)
    found = _goal(scenario, c, a, behind)
    if found is None:
        return
    where, goal = found
    past = []
    for e in elements:
        if e.part.kind.family == "drive" and e.b in behind.nodes:
            on_way = walk(a.graph, e.b, i).to(goal)
            if not any(elements[j].part.kind.family == "protection" for j in on_way):
                past.append(e.name)
    if past:
        who = " and ".join(f"'{name}'" for name in past)
        yield Caution(
            "drive past the slot", c.item.path,
            f"{who} {'reach' if len(past) > 1 else 'reaches'} {where} past '{scenario.slot_of(c).name}': what stands "
            f"there does not protect it from {'those drives' if len(past) > 1 else 'that drive'}",
        )  # fmt: skip


def _goal(scenario: Scenario, c: Candidate, a: Assembly, behind: Walk) -> tuple[str, int] | None:
    """What is to be protected behind the candidate, in words, and its node: the connection, else where it crashes."""
    if scenario.protect in a.names:
        e = a.graph.elements[a.index(scenario.protect)]
        if {e.a, e.b} <= set(behind.nodes):
            return f"'{e.name}'", e.b
    for s in scenario.situations.values():
        if REGISTRY[s.event].has("hint"):
            hit = next(e for e in assemble(scenario, c, s, a.w1).graph.elements if e.role == "event")
            if hit.a in behind.nodes:
                return f"the place of '{s.name}'", hit.a
    return None
