"""Warnings on worm gears: self-locking taken for granted, one efficiency both ways, a limiter before the worm."""

from __future__ import annotations

from collections.abc import Iterator

from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.graph import GROUND, Element
from simcore.line.reflect import side_nodes
from simcore.line.weight import held, weights
from simcore.scenario.model import Scenario

LOCKS_BELOW = 0.5
"""Efficiency when driving from which on a worm does not lock by itself: friction alike both ways, textbook."""
ALIKE = 0.005
HARDLY_LOSES = 0.9
"""Efficiency above which the two ways differ too little to matter."""
COLD = 0.05
"""Efficiency that a worm loses at least while cold or new (common practice, from memory)."""


def _worms(a: Assembly) -> Iterator[tuple[int, Element, float, float]]:
    """Every worm gear: place, element, efficiency when driving and when driven."""
    for i, e in enumerate(a.graph.elements):
        if e.part.kind.name == "worm gear":
            yield i, e, 1.0 / (1.0 + _cell(a, i, "up")), 1.0 - _cell(a, i, "back")


def _cell(a: Assembly, i: int, column: str) -> float:
    return float(a.rows[i, a.graph.elements[i].part.kind.column(column)])


def locks_behind(a: Assembly, i: int) -> bool:
    """Whether a worm that cannot be driven backward is or lies behind the element ``i``."""
    behind = side_nodes(a, i, a.graph.elements[i].b)
    return any(back <= 0.0 and (j == i or e.a in behind) for j, e, _, back in _worms(a))


def worm_not_locking(a: Assembly) -> Iterator[Caution]:
    """A weight behind a worm that does not lock by itself, and nothing else holds it."""
    own, elements = a.own_speeds(), a.graph.elements
    pulls = weights(elements, a.rows, a.tab, own)
    if not pulls or held(elements, a.rows, a.tab, own):
        return
    for i, e, forward, back in _worms(a):
        behind = side_nodes(a, i, e.b)
        hung = next((elements[j].name for j in pulls if elements[j].a in behind), None)
        if hung is None or (forward <= LOCKS_BELOW and back <= 0.0):
            continue
        driven = f"and {back:.2g} when driven" if back > 0.0 else "above a half, so hardly none when driven"
        yield Caution(
            "worm does not lock", e.path,
            f"'{e.name}' has an efficiency of {forward:.2g} {driven}: it does not lock by itself, and no backstop or "
            f"brake holds '{hung}'", grave=True,
        )  # fmt: skip


def worm_alike(a: Assembly) -> Iterator[Caution]:
    """One efficiency entered for both ways."""
    for _, e, forward, back in _worms(a):
        if forward < HARDLY_LOSES and back > forward - ALIKE:
            yield Caution(
                "worm alike both ways", f"{e.path}.efficiency_back",
                f"'{e.name}' loses as little when driven ({back:.2g}) as when driving ({forward:.2g}); the same "
                f"friction gives {2.0 - 1.0 / forward:.2g} there",
            )  # fmt: skip


def limiter_before_worm(scenario: Scenario, a: Assembly, i: int, tolerance: float) -> Iterator[Caution]:
    """A limiter on the motor side of a worm whose efficiency scatters more than the setting."""
    behind = side_nodes(a, i, a.graph.elements[i].b)
    for _, e, forward, _back in _worms(a):
        cold = e.raw.get("cold_loss", 0.0)
        lost = max(cold, COLD) / (forward + cold)
        if GROUND in (e.a, e.b) or e.a not in behind or lost <= tolerance:
            continue
        name = a.names[i]
        yield Caution(
            "limiter before a worm", scenario.candidates[name].item.path,
            f"'{name}' sits before '{e.name}', whose efficiency scatters by {100 * lost:.2g} % between cold and run "
            f"in: more than the {100 * tolerance:.2g} % of the setting, and the load sees both",
        )  # fmt: skip
