"""A case without an answer costs its candidate the verdict, and the others nothing."""

from __future__ import annotations

from dataclasses import replace
from math import isnan
from pathlib import Path
from typing import Any

import pytest
from mates import SCREW
from measure_texts import STEP, fit, sawmill

from simcore import conduct as room
from simcore.api import run
from simcore.charts import draw
from simcore.conduct import Settings, conduct
from simcore.errors import InputError, SolveError
from simcore.output import save
from simcore.results.model import Answer, ResultSet
from simcore.results.read import open_result
from simcore.scenario.read import read_text
from simcore.solver.arrays import Status
from simcore.solver.kernel import Outcome, run_one

DISC = fit("disc", part="friction disc", setting="60 N*m")
PINS = fit("pins", part="shear pins", setting="70 N*m", pins=2)
WEAK = fit("weak pins", part="shear pins", setting="8 N*m", pins=2)
TOLD = "it lets go in ordinary running already, so there is no steady state to begin from"


def of(result: ResultSet, name: str) -> Answer:
    return next(a for a in result.answers if a.name == name)


def test_a_candidate_too_weak_to_run_leaves_the_others_their_verdict(kernel: object, tmp_path: Path) -> None:
    result = conduct(sawmill(DISC, WEAK, STEP, allowable=1500.0), Settings(evidence=False))
    alone = conduct(sawmill(DISC, STEP, allowable=1500.0), Settings(evidence=False))
    assert str(of(result, "disc")) == str(of(alone, "disc"))  # as text: NaN is not itself
    weak = of(result, "weak pins")
    assert (weak.passed, weak.disconnects, weak.again, weak.rank) == (False, "not known", "not known", 2)
    assert f"no answer in 'crash', 'thick log': {TOLD}" in weak.reasons
    assert isnan(weak.peak)
    assert "weak pins" not in result.candidates  # nothing ran that could be drawn
    assert "cases given up" not in result.findings  # a verdict, not a failure
    save(result, tmp_path)
    assert of(open_result(tmp_path / "result.h5"), "weak pins").reasons == weak.reasons


def gives_up(monkeypatch: pytest.MonkeyPatch, part: str, status: Status) -> None:
    """The solver ends half way with ``part`` as candidate."""

    def half(a: Any) -> Outcome:
        out = run_one(a)
        if a.candidate is None or a.graph.elements[a.candidate].part.kind.name != part:
            return out
        return replace(out, status=status, trace=out.trace[: len(out.trace) // 2])

    monkeypatch.setattr(room, "run_one", half)


def test_what_the_solver_gives_up_is_told_and_drawn(
    kernel: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its trace up to there is kept, its measures are not."""
    gives_up(monkeypatch, "shear pins", Status.ENDLESS_CHAIN)
    result = conduct(sawmill(DISC, PINS, STEP, allowable=1500.0))
    pins = of(result, "pins")
    assert (pins.passed, pins.disconnects) == (False, "not known")
    assert result.warnings[0].startswith("'pins' has no answer in 'crash': the solver gave up: parts switch each other")
    assert "last to switch was '" in result.warnings[0]
    assert result.findings["cases given up"] == 2.0
    run = result.run("pins", "crash")
    assert len(run.time) > 10
    assert isnan(run.measures["peak"])
    assert run.measures["failed"] == Status.ENDLESS_CHAIN
    assert of(result, "disc").passed
    assert result.findings["worst ledger residual"] < 1e-6
    save(result, tmp_path)
    again = open_result(tmp_path / "result.h5")
    assert again.run("pins", "crash").measures["failed"] == Status.ENDLESS_CHAIN
    assert len(draw.draw_all(again, tmp_path / "charts")) >= 6


def test_nothing_solved_ends_in_words(kernel: object, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(a: Any) -> Outcome:
        return replace(run_one(a), status=Status.STEP_TOO_SMALL)

    monkeypatch.setattr(room, "run_one", never)
    with pytest.raises(SolveError, match=r"^The bare line has|^'disc' has no answer in 'crash': the solver gave up"):
        conduct(sawmill(DISC), Settings(evidence=False))


def test_a_line_that_its_motor_cannot_carry_is_still_the_inputs_fault(kernel: object) -> None:
    with pytest.raises(InputError, match="the motor cannot carry the load"):
        conduct(sawmill(DISC, torque=5.0), Settings(evidence=False))


@pytest.mark.parametrize(("event", "drag"), [('"start"', ""), ('"partial jam"', ', drag="9 N*m"')])
def test_where_the_line_itself_cannot_run_situation_and_corner_are_named(kernel: object, event: str, drag: str) -> None:
    """The motor gives 2000 N*m at the screw and cold chips want 2100 N*m; warm ones 800 N*m."""
    cold = f'corners.cold."line[\\"chips\\"].running" = "2100 N*m"\nsituations."cold one" = {{event={event}{drag}, '
    text = SCREW.replace("PRETENSION", 'pretension = "900 N"').replace("SETTING", "3 kN*m") + cold + 'corner="cold"}\n'
    with pytest.raises(InputError) as refusal:
        run(read_text(text, "screw.toml"))
    assert "(bare line in 'cold one', corner 'cold')" in str(refusal.value)
    assert "belt drive" in str(refusal.value)


@pytest.mark.parametrize(("setting", "passes"), [(13.4, True), (13.2, False), (8.0, False)])
def test_a_low_end_that_cannot_run_does_not_pass_a_crash(kernel: object, setting: float, passes: bool) -> None:
    """Ordinary running asks for 12 N*m: 90 % of 13.2 is less, of 13.4 more; it lets go in the crash all the same."""
    pins = fit("pins", part="shear pins", setting=f"{setting} N*m", tolerance="10 %", clearance="0 deg")
    result = conduct(sawmill(pins, allowable=1500.0), Settings(evidence=False))
    end = " at the low end of its band" if setting > 12.0 else ""
    assert of(result, "pins").reasons == (() if passes else (f"no answer in 'crash'{end}: {TOLD}",))
    assert result.sentence.startswith(
        "Fit the pins" if passes else "No candidate passes: it lets go in ordinary running"
    )


def test_an_end_of_the_band_that_the_solver_gives_up_is_told(kernel: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """The low end decides nothing in a crash, but its peak and heat would count."""
    many = room.run_many

    def low_lost(a: Any, rows: Any) -> Any:
        meas, counts, status = many(a, rows)
        status[1] = Status.STEP_TOO_SMALL
        return meas, counts, status

    monkeypatch.setattr(room, "run_many", low_lost)
    result = conduct(sawmill(DISC, allowable=1500.0), Settings(evidence=False))
    assert of(result, "disc").passed
    assert result.warnings[0].startswith(
        "'disc' has no answer at the low end of its band in 'crash': the solver gave up"
    )
    assert result.warnings[0].endswith("peaks and heat are without it.")
