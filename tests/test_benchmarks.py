"""Every benchmark still gets its answers right; no times are judged here."""

from __future__ import annotations

from importlib import import_module

import pytest


@pytest.mark.parametrize(
    "name",
    ["crash_peers", "batch_rate", "line_length", "law_cost", "registered", "sweep_rate", "sweep_peers", "duty_hour"],
)
def test_answers(name: str, kernel: object) -> None:
    if name in ("crash_peers", "sweep_peers", "duty_hour"):
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


def test_results_page() -> None:
    from benchmarks.common import Line
    from benchmarks.run import text

    page = text({"x": [Line("a", ">= 40", "39 times", False, "why")]}, "took 1 s")
    assert "| a | >= 40 | 39 times | **not met** |" in page
    assert "- a: why." in page
