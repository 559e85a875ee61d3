"""Rows of a line: the damping's frequency costs no second call of the law where it is the line's own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simcore.line import relative_damping
from simcore.line.assemble import assemble, lowest_mode
from simcore.line.relative_damping import damped_row, damping_frequency, resolve
from simcore.scenario.read import read

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.stem)
def test_the_row_is_that_at_the_damping_frequency(path: Path) -> None:
    s = read(path)
    w1 = lowest_mode(s)
    moved = 0
    for c in s.candidates.values():
        a = assemble(s, c, next(iter(s.situations.values())), w1)
        for e in a.graph.elements:
            w = damping_frequency(a.graph, e, w1)
            want = np.array(resolve(e, w), dtype=float)
            assert np.array(damped_row(a.graph, e, w1), dtype=float).tobytes() == want.tobytes()
            moved += w != w1
    assert moved or path.stem not in ("bakery_tray_conveyor", "laundry_bag_lift")


def test_the_law_is_called_once_where_the_frequency_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    s = read(SCENARIOS[0])
    w1 = lowest_mode(s)
    g = assemble(s, None, None, w1).graph
    calls: list[str] = []
    monkeypatch.setattr(relative_damping, "resolve", lambda e, w: calls.append(e.name) or resolve(e, w))
    for e in g.elements:
        calls.clear()
        damped_row(g, e, w1)
        assert len(calls) == 1 + (damping_frequency(g, e, w1) != w1)


def test_one_table_of_steady_running_where_nothing_slides() -> None:
    """The cut line is the whole one where no candidate may slide; a slipping clutch has a table of its own."""
    s = read(next(p for p in SCENARIOS if p.stem == "film_rewinder"))
    situation = next(x for x in s.situations.values() if x.event != "start")
    same, apart = [], []
    for c in [None, *s.candidates.values()]:
        a = assemble(s, c, situation)
        slides = any(e.part.kind.slides for e in a.graph.elements)
        (apart if slides else same).append(bool(np.array_equal(a.steady[0], a.steady[1])))
    assert all(same)
    assert apart
    assert not any(apart)
