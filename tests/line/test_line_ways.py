"""Ways along the line, and what they cost."""

from __future__ import annotations

import sys
from itertools import pairwise

import pytest
from line_texts import bare, motor, scenario, situation, station

from simcore.line.cautions import cautions
from simcore.line.reflect import seen_from
from simcore.line.ways import joints, walk

JAM = situation("jam", "hard stop", stiffness="1 MN*m/rad")


def mangles(count: int):
    """A shaft with rolls and drag for every mangle in a row."""
    rows = [
        station(f"shaft {i}", "shaft", stiffness="90 kN*m/rad", allowable="500 N*m", allowable_source="own")
        + station(f"rolls {i}", "flywheel", inertia="0.05 kg*m^2")
        + station(f"drag {i}", "friction load", running=f"{20 / count} N*m")
        for i in range(count)
    ]
    return scenario(motor(), station("slot", "slot"), *rows, JAM, protect="shaft 0")


def test_a_walk_knows_the_way_to_every_node_and_stops_at_the_cut():
    gear = station("gear", "gear", ratio=10, stiffness="2 kN*m/rad", inertia_out="0.1 kg*m^2")
    fan = station("fan shaft", "shaft", stiffness="1 kN*m/rad", after="gear")
    own = [station(f"{n} wheel", "flywheel", inertia="1 kg*m^2") for n in ("first", "second")]
    first = station("shaft", "shaft", stiffness="5 kN*m/rad", allowable="900 N*m", allowable_source="own")
    a = bare(scenario(motor(), gear, first, own[0], fan, own[1], JAM))
    at = {e.name: (i, e) for i, e in enumerate(a.graph.elements)}
    (gear_at, g), (shaft_at, s), (fan_at, f) = at["gear"], at["shaft"], at["fan shaft"]
    whole = walk(a.graph, g.a, -1)
    assert whole.to(f.b) == [gear_at, fan_at]
    assert whole.lossy[f.b] == whole.lossy[s.b] == (gear_at,)
    assert whole.to(g.a) == []
    cut = walk(a.graph, g.a, shaft_at)
    assert set(cut.nodes) == {g.a, g.b, f.b}
    assert cut.to(s.b) == []
    assert joints(a.graph)[g.b] == [(gear_at, g.a), (shaft_at, s.b), (fan_at, f.b)]


def lines_run(work) -> int:
    """Lines of Python it takes."""
    count = 0

    def note(_frame, event, _arg):
        nonlocal count
        count += event == "line"
        return note

    before = sys.gettrace()
    sys.settrace(note)
    try:
        work()
    finally:
        sys.settrace(before)
    return count


@pytest.mark.parametrize("ask", [cautions, lambda s: seen_from(bare(s), bare(s).index("shaft 0"))])
def test_a_line_twice_as_long_costs_four_times_at_most(ask):
    """Every connection may ask about every other one, once."""
    costs = [lines_run(lambda s=s: ask(s)) for s in map(mangles, (8, 16, 32))]
    assert all(long < 4.2 * short for short, long in pairwise(costs))
