"""Warning on a load that runs back once the protection has let go."""

from __future__ import annotations

from collections.abc import Iterator

from simcore.contract import ENGAGED, OPEN, SLIPPING, Kind
from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.reflect import side_nodes
from simcore.line.weight import demand, holders, weights
from simcore.scenario.model import Scenario

SURE = 0.8
"""Share of the friction that may be counted on to hold a weight (common practice, from memory)."""


def lets_fall(kind: Kind) -> bool:
    """Whether a protection that has let go bears no weight: it opens, or slips poles, each as much forth as back."""
    carries_twist = any(m.klass == ENGAGED and m.tie for m in kind.modes)
    slips = any(m.klass == SLIPPING for m in kind.modes)
    return max(m.klass for m in kind.modes) >= OPEN or (slips and carries_twist and not kind.slides)


def released_load(scenario: Scenario, a: Assembly, i: int) -> Iterator[Caution]:
    """A protection that lets a weight fall which neither friction nor a backstop on its side holds."""
    elements, own = a.graph.elements, a.own_speeds()
    if not lets_fall(elements[i].part.kind):
        return
    behind = side_nodes(a, i, elements[i].b)
    pulls = {j: w * abs(own[j]) for j, w in weights(elements, a.rows, a.tab, own).items() if elements[j].a in behind}
    power = sum(pulls.values())
    friction = sum(
        abs(own[j]) * (d.breakaway - d.weight)
        for j, e in enumerate(elements)
        if e.part.kind.family == "load" and e.role == "line" and e.a in behind and "command" not in e.part.kind.reads
        for d in (demand(e, a.rows[j], a.tab, float(own[j])),)
    )
    if not pulls or abs(power) <= SURE * friction:
        return
    if any(elements[j].a in behind for j in holders(elements, a.rows, a.tab, own, power > 0.0)):
        return
    name, hung = a.names[i], elements[max(pulls, key=lambda j: abs(pulls[j]))].name
    yield Caution(
        "released load", scenario.candidates[name].item.path,
        f"once '{name}' has let go nothing holds '{hung}': friction is not sure to, and no backstop or brake stands on "
        "the load side", grave=True,
    )  # fmt: skip
