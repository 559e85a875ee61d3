"""Warning on a belt drive that slips before the protection lets go."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from simcore.contract import SLIPPING, Kind
from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.graph import load_station
from simcore.line.reflect import asked, efficiency
from simcore.line.ways import loses, walk
from simcore.scenario.model import Candidate, Scenario

Grip = tuple[float, str]
"""Torque [N*m] at the candidate's shaft at which something gives way, and what: a belt drive, or '' for a motor."""


def slips(kind: Kind) -> bool:
    """Whether it is a transmission that carries by friction, a belt drive."""
    return kind.family == "transmission" and any(m.klass == SLIPPING for m in kind.modes)


def belt_below_setting(
    scenario: Scenario, c: Candidate, a: Assembly, i: int, breakaway: float, say: Callable[[float], str]
) -> Iterator[Caution]:
    """Belt drives that slip before the motors stall and before the candidate, element ``i``, breaks away."""
    grips = [_driven(a, i), _behind(scenario, a, i)]
    holds, which = min(grips)
    if which and holds < breakaway:
        yield Caution(
            "belt below setting", f"{c.item.path}.setting",
            f"'{c.name}' breaks away at {say(breakaway)}, and {which} slips at {say(holds)} there: in a soft jam "
            "the belt slips on and burns, and nothing lets go",
        )  # fmt: skip


def _driven(a: Assembly, i: int) -> Grip:
    """What all drives before the candidate can bring to it, and the belts that bring less than their motors."""
    elements, known = a.graph.elements, asked(a)
    total, belts = 0.0, []
    for d, gives in known.drives.items():
        found = walk(a.graph, elements[d].b, i)
        if elements[i].a in found.nodes:
            way = found.to(elements[i].a)
            least = min([(gives * _gain(a, d, i) * _carried(a, way), ""), *_belts(a, way, i)])
            total += least[0]
            belts += [least[1]] if least[1] else []
    return total, " and ".join(belts)


def _behind(scenario: Scenario, a: Assembly, i: int) -> Grip:
    """The weakest belt between the candidate and where it ought to let go, as the candidate sees it."""
    places = {s.at or load_station(scenario) for s in scenario.situations.values() if s.expect == "let go"}
    behind, found = walk(a.graph, a.graph.elements[i].b, i), []
    for place in sorted(places):
        way = behind.to(a.graph.places[place].node)
        found += [(capacity(a, j) * _gain(a, j, i) / _carried(a, way[:n]), f"towards '{place}' '{a.names[j]}'")
                  for n, j in enumerate(way) if slips(a.graph.elements[j].part.kind)]  # fmt: skip
    return min(found, default=(inf, ""))


def _belts(a: Assembly, way: list[int], i: int) -> list[Grip]:
    """Of every belt on the way to the candidate what it brings there when it slips."""
    return [(capacity(a, j) * _gain(a, j, i) * _carried(a, way[n:]), f"'{a.names[j]}'")
            for n, j in enumerate(way) if slips(a.graph.elements[j].part.kind)]  # fmt: skip


def capacity(a: Assembly, j: int) -> float:
    """Torque at the shaft of the belt drive ``j`` at which it slips."""
    return float(a.graph.elements[j].part.call("sheet", a.rows[j])["capacity"][0])


def _gain(a: Assembly, j: int, i: int) -> float:
    """Torque at the shaft of element ``i`` for one at that of ``j``, without losses."""
    own = a.own_speeds()
    return abs(float(own[j] / own[i])) if own[i] else 0.0


def _carried(a: Assembly, way: list[int]) -> float:
    """Efficiency of the gears among these."""
    return efficiency(a, [j for j in way if loses(a.graph.elements[j])])
