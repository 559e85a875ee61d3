"""Every benchmark still gets its answers right; no times are judged here."""

from __future__ import annotations

from importlib import import_module

import pytest

NAMES = ("crash_peers", "batch_rate", "line_length", "law_cost", "kinds", "machines", "sweep_rate", "sweep_peers",
         "duty_hour")  # fmt: skip


SLOW = pytest.mark.slow
"""It compiles its pieces anew."""


@pytest.mark.parametrize("name", [pytest.param(n, marks=SLOW) if n == "machines" else n for n in NAMES])
def test_answers(name: str, kernel: object) -> None:
    if name in ("crash_peers", "duty_hour", "machines", "sweep_peers"):
        pytest.importorskip("sksundae")
    lines = import_module(f"benchmarks.{name}").measure(quick=True)
    assert lines
    assert all(x.measured for x in lines)


def test_wrong_answers_stop() -> None:
    from benchmarks.crash_peers import Truth

    truth = Truth(0.0115, 395.0)
    assert truth.accepts(0.0115 + 0.9e-7, 395.0 * (1 + 0.9e-5))
    assert not truth.accepts(0.0115 + 1.1e-7, 395.0)
    assert not truth.accepts(0.0115, 395.0 * (1 + 1.1e-5))
    assert not truth.accepts(float("nan"), 395.0)


def test_every_benchmark_is_run_and_tested() -> None:
    from benchmarks.run import ALL

    assert {*NAMES, "start_up"} == set(ALL)


def test_machines_answers_are_compared() -> None:
    from benchmarks.machines import Answer

    nan = float("nan")
    truth = Answer(0.0115, 395.0)
    assert truth.near(Answer(0.0115 + 0.9e-7, 395.0 * (1 + 0.9e-5)))
    assert not truth.near(Answer(0.0115 + 0.9e-7, 395.0), 0.1)
    assert not truth.near(Answer(nan, 395.0))
    assert not truth.near(Answer(0.0115, nan))
    assert Answer(nan, 395.0).near(Answer(nan, 395.0))
    assert not Answer(nan, 395.0).near(Answer(nan, 395.1))


def test_every_law_has_a_cost() -> None:
    """Of the kinds between two hubs and of the loads, all stand in a chain."""
    from benchmarks.law_cost import left_out

    assert left_out() == []


def test_a_wrong_answer_stands_in_the_table(monkeypatch: pytest.MonkeyPatch) -> None:
    from benchmarks import law_cost
    from benchmarks.common import check
    from benchmarks.run import measured, text

    monkeypatch.setattr(law_cost, "measure", lambda: check(False, "chain of shafts"))
    (line,) = measured("law_cost")
    assert line.met is False
    assert "WRONG ANSWER: chain of shafts" in text({"law_cost": [line]}, "took 1 s")


def test_results_page() -> None:
    from benchmarks.common import Line
    from benchmarks.run import text

    page = text({"x": [Line("a", ">= 40", "39 times", False, "why")]}, "took 1 s")
    assert "| a | >= 40 | 39 times | **not met** |" in page
    assert "- a: why." in page
