"""A process of its own for a thread of the crew: the same bytes, and nothing lost where it cannot be had."""

from __future__ import annotations

from pathlib import Path

import pytest

from simcore.line.assemble import assemble
from simcore.scenario.read import read
from simcore.solver.kernel import kernel_for, run_one
from simcore.sweep import apart
from simcore.sweep.blocks import BlockKey
from simcore.sweep.crew import Bench, compute
from simcore.sweep.join import setup

DEMO = Path(__file__).parents[2] / "scenarios" / "bakery_tray_conveyor.toml"


@pytest.fixture(scope="module")
def work(tmp_path_factory):
    s = setup(DEMO, tmp_path_factory.mktemp("sweep") / "folder", {"sweep.draws": "6"})
    return s.make_trial, s.expects, s.versions


def test_the_same_bytes_as_here(work, kernel):
    make_trial, expects, versions = work
    cells = make_trial.plan.cells()
    keys = [BlockKey("friction disc", cells[0], 0, 3), BlockKey("ball detent", cells[1], 3, 6)]
    process = apart.starter(*work)()
    try:
        there = [process.compute(key) for key in keys]
    finally:
        process.close()
    assert there == [compute(Bench(make_trial), key, expects, versions) for key in keys]
    assert process.process.returncode is not None


def test_one_that_is_killed_says_so(work, kernel):
    process = apart.starter(*work)()
    process.process.kill()
    with pytest.raises(OSError, match="worker process ended with code -9"):
        process.compute(BlockKey("friction disc", (1.0,), 0, 1))
    process.close()


def test_none_where_other_parts_are_known(work, monkeypatch):
    monkeypatch.setattr(apart, "_parts", lambda: "another kernel")
    assert apart.starter(*work)() is None


def test_none_where_the_trial_cannot_be_handed_over(work):
    assert apart.starter(lambda name: None, *work[1:])() is None


def test_none_where_the_kernel_would_be_compiled_by_each(work, monkeypatch):
    monkeypatch.setattr(apart, "_kernel_is_shared", lambda: False)
    assert apart.starter(*work)() is None


def test_one_compiled_form_of_the_kernel_serves_runs_and_sweeps(work):
    """Arrays of another layout would have numba compile the whole kernel once more."""
    scenario = read(DEMO)
    a = assemble(scenario, scenario.candidates["friction disc"], None)
    run_one(a)
    work[0]("friction disc").run(work[0].plan.cells()[0], 0, 2)
    assert len(kernel_for(a).run_batch.signatures) == 1
