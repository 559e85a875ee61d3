"""The simulator against independent reference solutions, event by event.

The stored numbers come from the equations alone (scipy's DOP853 with terminal events; CVODE with root
finding gives the same, see the last test); nothing there calls a part, the assembler or the kernel.
"""

from __future__ import annotations

from functools import cache

import pytest

from simcore.line.assemble import assemble
from simcore.scenario.read import read
from simcore.solver.kernel import run_one

from .record import differences, of_simulator
from .regenerate import CASES, compute, stored

INSTANT, PEAK, ENERGY = 1e-7, 1e-5, 2e-5
"""Allowed at the default tolerance: seconds, share of the peak, share of the energy turned over."""
TIGHT = 1e-9


@cache
def simulated(name: str, rtol: float | None):
    case = CASES[name]
    scenario = read(case.scenario)
    situation = scenario.situations[case.situation]
    assert situation.horizon == case.horizon
    more = {} if rtol is None else {"rtol": rtol}
    assembly = assemble(scenario, scenario.candidates[case.candidate], situation, **more)
    return of_simulator(assembly, run_one(assembly))


@pytest.mark.parametrize("name", CASES)
def test_default_tolerance(name: str) -> None:
    """Same switches in the same order; instants, peaks of every connection and the ledger."""
    d = differences(stored(name), simulated(name, None))
    assert not d["other"], d["other"]
    assert d["instant"] < INSTANT, d["where"]
    assert d["peak"] < PEAK
    assert d["energy"] < ENERGY


@pytest.mark.parametrize("name", CASES)
def test_tight_tolerance(name: str) -> None:
    """With a tight tolerance every line comes within the instants asked for: the equations agree."""
    d = differences(stored(name), simulated(name, TIGHT))
    assert not d["other"], d["other"]
    assert d["instant"] < INSTANT, d["where"]
    assert d["peak"] < 1e-7
    assert d["energy"] < 1e-6


def test_ratcheting_is_compared_up_to_the_thirtieth_switch() -> None:
    """The detent of the laundry drops in and climbs out again, more than thirty switches in all."""
    mine = stored("laundry")["events"]["ball detent"]
    theirs = simulated("laundry", None)["events"]["ball detent"]
    assert len(mine) >= 30
    assert [e[1:] for e in mine[:30]] == [e[1:] for e in theirs[:30]]
    assert max(abs(a[0] - b[0]) for a, b in zip(mine[:30], theirs[:30], strict=True)) < INSTANT


def test_the_comparison_can_fail() -> None:
    """A switch left out, a later one, a higher peak and lost heat are all noticed."""
    ref = stored("sawmill")
    got = {**ref, "events": {**ref["events"], "motor": ref["events"]["motor"][:-1]}}
    assert differences(ref, got)["other"]
    got = {**ref, "events": {k: [[e[0] + 1e-5, *e[1:]] for e in v] for k, v in ref["events"].items()}}
    assert differences(ref, got)["instant"] == pytest.approx(1e-5)
    assert differences(ref, {**ref, "peaks": {k: 1.01 * v for k, v in ref["peaks"].items()}})["peak"] > 9e-3
    assert differences(ref, {**ref, "heat": {k: 0.9 * v for k, v in ref["heat"].items()}})["energy"] > 1e-3
    d = differences(ref, ref)
    assert (d["other"], d["instant"], d["peak"], d["energy"]) == ([], 0.0, 0.0, 0.0)


def test_demo_written_out_by_hand() -> None:
    """A third way for the demo line: one compiled right-hand side without elements, by scipy and CVODE."""
    from . import demo_compiled as demo

    events = stored("bakery_friction_disc")["events"]
    want = sorted(e[0] for mine in events.values() for e in mine if e[0] > 0.0)
    for run in (demo.simulate, demo.simulate_cvode):
        log, y = run()
        assert [t for t, _ in log] == pytest.approx(want, abs=INSTANT)
        assert y[13] == pytest.approx(stored("bakery_friction_disc")["heat"]["friction disc"], rel=1e-7)


QUICK = ("sawmill", "bakery_shear_pins")
"""Made anew in every session; the others are among the slow tests."""


@pytest.mark.parametrize("engine", ["scipy", "cvode"])
@pytest.mark.parametrize("name", [n if n in QUICK else pytest.param(n, marks=pytest.mark.slow) for n in CASES])
def test_stored_numbers(name: str, engine: str) -> None:
    """The stored numbers come out again, and CVODE agrees with them."""
    d = differences(stored(name), compute(name, engine))
    assert not d["other"], d["other"]
    assert d["instant"] < 5e-8, d["where"]
    assert d["peak"] < 1e-7
    assert d["energy"] < 1e-6
