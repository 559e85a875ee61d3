"""Draws put together by array operations are, bit by bit, those put together one by one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from simcore.line.laws import Unlike, alike, one
from simcore.parts import REGISTRY
from simcore.scenario.model import Quantity, Scenario
from simcore.scenario.read import read
from simcore.sweep.stack import Stack, one_by_one
from simcore.sweep.trial import Trial

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
QUICK = {("bakery_tray_conveyor", 0.2), ("laundry_bag_lift", 1.0)}
COUNT = 70
"""Enough for the compiled laws."""
RHYTHM = ("every", "times", "when")
"""Inputs of repeats: cases whose cycles differ are put together one by one."""


def inputs(s: Scenario) -> Iterator[tuple[str, float]]:
    """Every number of the scenario that is there and not a count, by path [SI]."""
    items = [x.item for x in (*s.stations, *s.candidates.values(), *s.stops.values()) if x.item is not None]
    for item in [*items, *(i for situation in s.situations.values() for i in situation.items)]:
        for p in REGISTRY[item.part].kind.params:
            v = item.values.get(p.name)
            if isinstance(v, Quantity) and v.kind != "count" and v.si != 0.0 and p.name not in RHYTHM:
                yield f"{item.path}.{p.name}", v.si
    for station in s.stations:
        if station.limit is not None:
            yield f"{station.path}.allowable", station.limit.allowable.si


def trial_of(s: Scenario, candidate: str) -> Trial:
    plan: Any = SimpleNamespace(situations=tuple(s.situations), grids=(), scatters=())
    return Trial(s, plan, candidate)


def both_ways(trial: Trial, values: dict[str, Any], situation: str) -> tuple[Stack, Stack]:
    s = trial.scenario.situations[situation]
    count = len(next(iter(values.values())))
    each = [{p: float(v[c]) for p, v in values.items()} for c in range(count)]
    return trial._at_once(values, count, [s])[0], one_by_one([trial._try(v, s) for v in each])


def compare(fast: Stack, slow: Stack) -> None:
    assert slow.good.all(), slow.faults
    for name in fast.cases._fields:
        assert getattr(fast.cases, name).tobytes() == getattr(slow.cases, name).tobytes(), name
    assert fast.allowable.keys() == slow.allowable.keys()
    count = len(slow.good)
    for i, stated in slow.allowable.items():
        assert np.array_equal(np.broadcast_to(fast.allowable[i], count), stated)
    assert np.array_equal(np.broadcast_to(fast.heat_limit, count), slow.heat_limit, equal_nan=True)


@pytest.mark.usefixtures("kernel")
@pytest.mark.parametrize(("path", "share"), [
    pytest.param(p, share, id=f"{p.stem} {share}", marks=[] if (p.stem, share) in QUICK else [pytest.mark.slow])
    for p in SCENARIOS for share in (1.0, 0.2)
])  # fmt: skip
def test_all_inputs_of_a_machine(path: Path, share: float) -> None:
    """Each number 0.4 % up and down, all of them or a few, in every situation and corner."""
    s, rng = read(path), np.random.default_rng(11)
    for candidate in s.candidates:
        trial = trial_of(s, candidate)
        own = s.candidates[candidate].item.path + "."
        near = {p: v for p, v in inputs(s) if not p.startswith("candidates[") or p.startswith(own)}
        values = {p: v * rng.uniform(0.996, 1.004, COUNT) for p, v in near.items() if rng.random() < share}
        for situation in s.situations:
            compare(*both_ways(trial, values, situation))
        if share < 1.0:  # too few for compiled laws
            compare(*both_ways(trial, {p: v[:9] for p, v in values.items()}, next(iter(s.situations))))


@pytest.mark.usefixtures("kernel")
def test_hubs_of_the_slot_and_hubs_by_size() -> None:
    """A hub that is left out follows the setting; one that the sweep gives to the slot replaces that."""
    s = read(SCENARIOS[0])
    rng = np.random.default_rng(2)
    trial = trial_of(s, "friction disc")
    setting = {'candidates["friction disc"].setting': rng.uniform(300.0, 400.0, COUNT)}
    hub = {'line["slot"].hub_in': rng.uniform(0.01, 0.02, COUNT)}
    compare(*both_ways(trial, setting | hub, "tray jams"))
    fast, _ = both_ways(trial, setting, "tray jams")
    assert len(np.unique(fast.cases.rows[:, fast.base.candidate], axis=0)) == COUNT  # type: ignore[union-attr]


@pytest.mark.usefixtures("kernel")
def test_a_draw_that_cannot_be_costs_itself_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rails that no motor of this size pulls over: that draw is a fault, the others are as if it were not there."""
    s = read(SCENARIOS[0])
    trial = trial_of(s, "friction disc")
    drag = np.where(np.arange(COUNT) == 3, 1e6, np.linspace(900.0, 1100.0, COUNT))
    paths = ('line["rails"].running', 'line["rails"].breakaway')
    samples = np.stack([drag, drag], axis=1)
    monkeypatch.setattr(trial, "plan", SimpleNamespace(samples=lambda a, b: samples[a:b]))
    monkeypatch.setattr(trial, "situations", ("full start",))
    monkeypatch.setattr(trial, "values", lambda cell, x: dict(zip(paths, x, strict=True)))
    (stack,) = trial._assembled((), 0, COUNT)
    assert np.flatnonzero(~stack.good).tolist() == [3]
    assert stack.faults[0][0] == 3
    assert "no steady running state" in stack.faults[0][1]
    sound = dict.fromkeys(paths, np.where(drag > 1e5, 1000.0, drag))
    want = trial._at_once(sound, COUNT, [s.situations["full start"]])[0].cases
    assert all(np.delete(getattr(stack.cases, n), 3, 0).tobytes() == np.delete(getattr(want, n), 3, 0).tobytes()
               for n in ("rows", "setup", "y0", "steady", "scale", "stop"))  # fmt: skip


def test_what_all_cases_have_in_common() -> None:
    assert alike(np.array([0.1, 0.1])) == 0.1
    assert isinstance(alike(np.array([0.0, -0.0])), np.ndarray)
    assert one(np.array([2.0, 2.0])) == 2.0
    with pytest.raises(Unlike):
        one(np.array([2.0, 3.0]))
