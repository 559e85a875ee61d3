"""The whole way on the demo and on a small line: evidence, ledger, honest verdicts, sensitivity, mirror."""

from __future__ import annotations

import numpy as np
import pytest
from measure_texts import DEMO, STEP, case_of, fit, sawmill

from simcore.conduct import Settings, conduct
from simcore.errors import InputError, SolveError
from simcore.line.assemble import lowest_mode
from simcore.measures import sensitivity
from simcore.measures.sensitivity import UNIMPORTANT, defaults_of, peak_of, scaled_damping, swings
from simcore.scenario.read import read

QUICK = Settings(evidence=False)
PINS = fit("shear pins", setting="60 N*m")
DISC = fit("friction disc", setting="60 N*m")
SOFT_STOP = '[situations."bales"]\nevent = "hard stop"\nstiffness = "2 N*m/rad"\nhorizon = "{} s"\n'


@pytest.fixture(scope="module")
def demo():
    return conduct(read(DEMO))


def test_ledger_closes_in_every_run(demo):
    assert len(demo.runs) == 20
    assert max(abs(r.ledger["relative"]) for r in demo.runs.values()) <= 1e-6
    assert demo.findings["worst ledger residual"] == max(abs(r.ledger["relative"]) for r in demo.runs.values())


def test_ledger_is_the_balance_it_says(demo):
    """(E0 - E1 - losses) / (E0 + work of sources); the drives' work counts as a loss below zero."""
    for r in demo.runs.values():
        e = r.ledger
        assert e["turned_over"] == pytest.approx(e["energy_start"] + e["source_work"], rel=1e-12)
        open_by = e["energy_start"] - e["energy_end"] - e["net_loss"]
        assert e["relative"] == pytest.approx(open_by / e["turned_over"], abs=1e-12)


def test_nothing_moves_before_the_event(demo):
    assert 0.0 < demo.findings["steady transient"] <= 1e-3


def test_evidence(demo):
    assert abs(demo.findings["tighter run moves the peak by"]) < 1e-5
    halved, doubled = (demo.findings[f"damping {f} moves the peak by"] for f in ("halved", "doubled"))
    assert 1e-4 < abs(doubled) < 0.1
    assert halved * doubled < 0.0


def test_hand_bounds_hold(demo):
    for b in demo.bounds:
        assert b.value <= b.bound, b


def test_defaults_counted_once_and_ranked(demo):
    s = read(DEMO)
    paths = [d.path for d in demo.defaults]
    assert sorted(paths) == sorted(f"{i.path}.{p.name}" for i, p in defaults_of(s))
    assert len(set(paths)) == len(paths)
    known = [d.swing for d in demo.defaults if not np.isnan(d.swing)]
    assert known == sorted(known, reverse=True)
    assert len(known) > 5
    assert all(np.isnan(d.swing) for d in demo.defaults[len(known) :])


def test_what_only_judges_does_not_swing(demo):
    judged = [d for d in demo.defaults if d.path.rsplit(".", 1)[1] in UNIMPORTANT]
    assert len(judged) > 4
    assert all(np.isnan(d.swing) for d in judged)


def test_only_the_deciding_candidate_swings(demo):
    best = min(demo.answers, key=lambda a: a.rank).name
    swinging = {d.path.split(".")[0] for d in demo.defaults if d.path.startswith("cand") and not np.isnan(d.swing)}
    assert swinging == {f'candidates["{best}"]'}


def test_swing_is_what_the_scenario_itself_shows():
    """Breakaway from 1.02 to 1.4 written into the file moves the peak as the swing says."""
    s = sawmill(DISC)
    case = case_of(s, "friction disc", "crash")
    found = {d.path: d.swing for d in swings(case, lowest_mode(s), 1e-6, 400.0)}
    base = peak_of(case)
    written = [peak_of(case_of(sawmill(fit("friction disc", setting="60 N*m", breakaway=b)), "friction disc", "crash"))
               for b in (1.02, 1.4)]  # fmt: skip
    swing = found['candidates["friction disc"].breakaway']
    assert swing == pytest.approx(max(abs(p - base) for p in written) / 400.0, rel=1e-9)
    assert swing > 1e-3


def test_scaled_damping_scales_every_connection():
    s = sawmill(DISC)
    case = case_of(s, "friction disc", "crash")
    a, b = case.assembly, scaled_damping(case, 2.0, lowest_mode(s), 1e-6).assembly
    i = a.index("shaft")
    assert b.rows[i, 1] == pytest.approx(2 * a.rows[i, 1])
    assert {e.name for e in a.graph.elements if "relative_damping" in e.raw} == {"shaft", "friction disc", "crash"}
    for e, f in zip(a.graph.elements, b.graph.elements, strict=True):
        assert f.raw.get("relative_damping", 0) == 2 * e.raw.get("relative_damping", 0)


def test_same_twice(demo):
    again = conduct(read(DEMO), QUICK)
    for key, r in demo.runs.items():
        for ours, theirs in ((r.measures, again.runs[key].measures), (r.high, again.runs[key].high)):
            np.testing.assert_array_equal(list(ours.values()), list(theirs.values()))
        np.testing.assert_array_equal(r.torque, again.runs[key].torque)
    asks = [m.asks for a in demo.answers for m in a.margins]
    np.testing.assert_array_equal(asks, [m.asks for a in again.answers for m in a.margins])


@pytest.fixture(scope="module")
def mirrored():
    """The motor turns the other way."""
    changes = {'line["motor"].rated_speed': "-1420 rpm", 'line["motor"].synchronous_speed': "-1500 rpm"}
    return conduct(read(DEMO, changes), QUICK)


@pytest.mark.parametrize("situation", ["tray jams", "heavy batch", "tray rubs, then clears", "full start"])
def test_mirror(demo, mirrored, situation):
    """Same peaks, instants, switches and settings asked; the instant of a flat peak is less sharp."""
    names = ("trigger", "lets_go", "disconnect", "reengage", "peak", "peak_time", "standstill", "end", "heat")
    for (who, what), r in demo.runs.items():
        if what != situation:
            continue
        m = mirrored.runs[who, what]
        np.testing.assert_allclose(m.peak, r.peak, rtol=1e-9, atol=1e-9)
        assert [m.measures[n] for n in names] == pytest.approx([r.measures[n] for n in names], rel=1e-9, nan_ok=True)
        assert [e.who for e in m.events] == [e.who for e in r.events]
        np.testing.assert_allclose([e.time for e in m.events], [e.time for e in r.events], rtol=1e-9, atol=1e-12)
    for a, b in zip(demo.answers, mirrored.answers, strict=True):
        ours, theirs = (next(m for m in x.margins if m.situation == situation) for x in (a, b))
        assert (theirs.met, theirs.note) == (ours.met, ours.note)
        assert theirs.asks == pytest.approx(ours.asks, rel=1e-9, nan_ok=True)


def honest(*tables, **how):
    return " ".join(conduct(sawmill(*tables, **how), QUICK).warnings)


def test_no_limiter_helps_is_said_when_true():
    """The driven hub alone, against a roll that stands: 100*sqrt(5000*0.01) = 707 N*m; the roll springs back, at
    most at the same speed: twice that.  The roll's own 0.5 kg*m^2 does not pass through the shaft."""
    said = honest(PINS, allowable=40.0)
    assert "No limiter helps here" in said
    seen = float(said.split("'shaft' sees ")[1].split(" N*m,")[0])
    assert 707.0 < seen < 2.0 * 707.0
    assert "No limiter helps" not in honest(PINS, allowable=1.02 * seen)
    assert "No limiter helps" not in honest(fit("shear pins", setting="15 N*m"), STEP, allowable=5100.0)


def test_no_limiter_helps_is_not_said_when_one_passes():
    r = conduct(sawmill(PINS, allowable=4000.0), QUICK)
    assert r.answers[0].passed
    assert not any("No limiter helps" in w for w in r.warnings)


@pytest.mark.parametrize(("speed", "torque", "said"), [(60.0, 30.0, True), (68.0, 30.0, False), (60.0, 28.0, False)])
def test_motor_not_inertia_is_said_when_true(speed, torque, said):
    """Bales of 2 N*m/rad: the motor has 30 - 12 N*m to spare, 0.04 kg*m^2 before the shaft add w sqrt(2 * 0.04).

    That is 17.0 N*m at 60 rad/s and 19.2 at 68; with 28 N*m there are 16 to spare.
    """
    told = conduct(sawmill(PINS, SOFT_STOP.format(3), speed=speed, torque=torque), QUICK).warnings
    assert any("It is the motor, not the inertia" in w for w in told) is said


def test_what_comes_in_a_start_is_no_crash():
    """A start that is to let go peaks by the motor as well: not worth a word."""
    start = '[situations."go"]\nevent = "start"\nexpect = "let go"\nhorizon = "1 s"\n'
    assert "It is the motor" not in honest(PINS, start)


@pytest.mark.parametrize("scatter", [{"scatter_strength": 0.05}, {"scatter_clearance": "0.01 deg"}])
def test_spread_pins_run_with_the_default_number_of_pins(scatter):
    """Whether the number acts is asked with three pins, not with 2.02, of which the third would lie past all pins."""
    result = conduct(sawmill(fit("shear pins", setting="60 N*m", **scatter)), QUICK)
    assert result.answers[0].peak > 0.0
    assert 'candidates["shear pins"].pins' in {d.path for d in result.defaults}


def test_whole_numbers_and_flags_are_tried_as_such(monkeypatch):
    tried = []

    def given(part, raw):
        tried.extend((p, raw[p.name]) for p in part.kind.params if p.kind in ("count", "flag") and p.name in raw)
        return []

    monkeypatch.setattr(sensitivity, "_given", given)
    for file in sorted(DEMO.parent.glob("*.toml")):
        list(defaults_of(read(file)))
    assert {p.kind for p, _ in tried} == {"count", "flag"}
    assert all(v.is_integer() for _, v in tried)
    assert all(v <= 1.0 for p, v in tried if p.kind == "flag")


@pytest.mark.parametrize(("error", "shows"), [(InputError("x"), False), (SolveError("x"), False),
                                              (ZeroDivisionError(), False), (KeyError("x"), True)])  # fmt: skip
def test_only_an_impossible_end_is_left_out(monkeypatch, error, shows):
    """What a line or a law cannot do costs the swing of that input; a fault of the program shows."""
    s = sawmill(DISC)
    case = case_of(s, "friction disc", "crash")

    def fails(*args):
        raise error

    monkeypatch.setattr(sensitivity, "make_case", fails)
    if shows:
        with pytest.raises(KeyError):
            swings(case, lowest_mode(s), 1e-6, 400.0)
    else:
        assert all(np.isnan(d.swing) for d in swings(case, lowest_mode(s), 1e-6, 400.0))
