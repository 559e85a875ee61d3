"""The friction disc through the kernel: time at rest, slip speed, wear, burning, and what must not change."""

from __future__ import annotations

from math import exp, log, log10, pi

import numpy as np
import pytest
from lines import SLIDES, STUCK, Line, Run, ideal_disc, raw_of, row_of, run, sheet_of, sliding
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from states import REGISTRY

from simcore.errors import InputError
from simcore.parts import friction_disc as fd
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar
from simcore.solver.compile import Adopter

PART = REGISTRY["friction disc"]
FADES, WEARS_OUT, BURNS = 2, 3, 4


def guard_events(r: Run, e: int, guard: int) -> list[float]:
    return [float(v[0]) for v in r.out.events if v[1] == e and v[2] == guard]


def before(r: Run, t: float, values: np.ndarray) -> float:
    """Value in the trace at the event ``t``, limit from the left."""
    return float(values[np.flatnonzero(np.isclose(r.t, t, rtol=0.0, atol=1e-11))[0]])


@pytest.mark.parametrize(("dwell", "factor"), [(0.0, 1.0), (0.5, 1.0), (1.0, 1.0), (10.0, 1.05), (3600.0, 1.17781513)])
def test_first_breakaway_grows_with_the_time_at_rest(dwell, factor):
    """1 + 0.05*lg(t/1 s) with the time at rest before and after the situation began; the later ones of this cycle come
    after less than a second and stay.  Logarithmic growth, Armstrong-Helouvry (from memory); the cycle, Den Hartog."""
    line = Line()
    drawn, n = line.lead(0.5), line.mass(0.8)
    line.part("shaft", drawn, n, stiffness=450.0)
    disc = line.part("friction disc", n, 0, dwell=dwell, relative_damping=0.5, **ideal_disc(18.0, 1e6, 24.0 / 18.0))
    r = run(line, 1.5, fast=1.0, w1=1e3)
    slips = r.events(disc, SLIDES)
    tops = [before(r, t, r.torque(disc)) for t in slips]
    assert len(tops) >= 4
    assert tops[0] == pytest.approx(24.0 * (1.0 + 0.05 * log10(max(dwell + slips[0], 1.0))), rel=1e-8)
    assert tops[0] == pytest.approx(24.0 * factor, rel=5e-3)
    assert tops[1:] == pytest.approx([24.0] * len(tops[1:]), rel=1e-8)
    s = sheet_of("friction disc", dwell=dwell, **ideal_disc(18.0, 1e6, 24.0 / 18.0))
    assert s["first breakaway"] == pytest.approx(24.0 * factor, rel=1e-8)
    assert s["breakaway"] == pytest.approx(24.0, rel=1e-12)
    assert fd.band(row_of("friction disc", setting=18.0, dwell=dwell, breakaway=4 / 3)) == pytest.approx(4 / 3 * factor)


GROWS = {"dwell_growth": 0.08, **ideal_disc(18.0, 2e3, 24.0 / 18.0)}


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_breakaway_grows_in_every_later_standstill(sense):
    """Drawn slowly by a spring it sticks for seconds between slips: each breakaway comes at 24*(1 + 0.08*lg(t/1 s)),
    t from the instant at which it stuck.  Instants against scipy's solution of the stuck line (mass between two
    springs, the drawn end led), begun from the state at sticking.  Source as above."""
    line = Line()
    drawn, n = line.lead(0.015 * sense), line.mass(0.8)
    line.part("shaft", drawn, n, stiffness=450.0, relative_damping=0.5)
    disc = line.part("friction disc", n, 0, relative_damping=0.5, **GROWS)
    r = run(line, 14.0, fast=1.0, w1=30.0, rtol=1e-10)
    slips, sticks = r.events(disc, SLIDES if sense > 0.0 else 4), r.events(disc, STUCK)
    assert len(slips) >= 4
    grown = []
    for stuck, slip in zip(sticks, slips[1:], strict=False):
        top = 24.0 * (1.0 + 0.08 * log10(max(slip - stuck, 1.0)))
        assert sense * before(r, slip, r.torque(disc)) == pytest.approx(top, rel=1e-8)
        assert slip == pytest.approx(breaks_away(r, n, drawn, disc, stuck, sense), abs=1e-6)
        grown.append(slip - stuck)
    assert min(grown) > 1.5
    assert sense * before(r, slips[0], r.torque(disc)) == pytest.approx(24.0 * (1.0 + 0.08 * log10(slips[0])), rel=1e-8)


def breaks_away(r: Run, n: int, drawn: int, disc: int, stuck: float, sense: float) -> float:
    """Instant [s] of the breakaway that follows the sticking at ``stuck``, by scipy."""
    c_shaft, c_disc = 0.5 * 450.0 / (2.0 * pi * 30.0), 0.5 * 2e3 / (2.0 * pi * 30.0)
    x0, w0, lead = (r.at(stuck, v) for v in (r.angle(n), r.speed(n), r.angle(drawn)))
    slip = r.at(stuck, r.state(disc))

    def torque(y):
        return 2e3 * (y[0] - slip) + c_disc * y[1]

    def slopes(t, y):
        led = lead + 0.015 * sense * (t - stuck)
        return [y[1], (450.0 * (led - y[0]) + c_shaft * (0.015 * sense - y[1]) - torque(y)) / 0.8]

    def limit(t, y):
        return 24.0 * (1.0 + 0.08 * log10(max(t - stuck, 1.0))) - sense * torque(y)

    limit.terminal = True
    out = solve_ivp(slopes, (stuck, stuck + 10.0), [x0, w0], "DOP853", rtol=1e-11, atol=1e-13, events=limit)
    return float(out.t_events[0][0])


def test_without_growth_every_breakaway_is_the_same():
    line = Line()
    drawn, n = line.lead(0.015), line.mass(0.8)
    line.part("shaft", drawn, n, stiffness=450.0, relative_damping=0.5)
    disc = line.part("friction disc", n, 0, relative_damping=0.5, **(GROWS | {"dwell_growth": 0.0, "dwell": 1e4}))
    r = run(line, 14.0, fast=1.0, w1=30.0)
    tops = [before(r, t, r.torque(disc)) for t in r.events(disc, SLIDES)]
    assert len(tops) >= 3
    assert tops == pytest.approx([24.0] * len(tops), rel=1e-8)


@pytest.mark.parametrize("v", [0.01, 0.5, 1.0, 5.0, 40.0])
def test_running_torque_over_slip_speed(v):
    """(1 + 0.15*exp(-v/1) + 0.0005*v) over its value at 5 rad/s.  Stribeck curve with a linear rise,
    Armstrong-Helouvry (from memory)."""
    line = Line()
    disc = line.part("friction disc", line.lead(v), 0, setting=150.0, fade=0.0)
    r = run(line, 0.02 / v, w1=60.0, fast=v)
    assert r.mode(disc)[-1] == SLIDES
    at = lambda u: 1.0 + 0.15 * exp(-u) + 0.0005 * u
    assert r.torque(disc)[-1] == pytest.approx(150.0 * at(v) / at(5.0), rel=1e-9)


def worn(seconds: float, **more: float) -> tuple[Run, int]:
    line = Line()
    disc_in = ideal_disc(100.0, 5e4) | {"wear": 1e-4, **more}
    disc = line.part("friction disc", line.lead(20.0), 0, start=sliding(100.0, 5e4), **disc_in)
    return run(line, seconds), disc


def test_wear_lowers_the_setting():
    """dE/dt = S*v*(1 - w*E), so T = S*exp(-w*S*v*t) = 54.8811636 N*m after 3 s.  Closed form."""
    r, disc = worn(3.0)
    assert r.torque(disc)[-1] == pytest.approx(100.0 * exp(-0.6), rel=1e-7)
    assert r.state(disc, fd.ENERGY)[-1] == pytest.approx((1.0 - exp(-0.6)) / 1e-4, rel=1e-7)
    assert r.heat(disc)[-1] == pytest.approx(r.state(disc, fd.ENERGY)[-1], rel=1e-9)


def test_wear_ends_at_its_floor():
    """The tenth of the setting is left after ln(10)/(w*S*v) = 11.5129255 s; from there it stays.  Closed form."""
    r, disc = worn(14.0, heat_limit=1e5)
    assert guard_events(r, disc, WEARS_OUT) == pytest.approx([log(10.0) / 0.2], abs=1e-5)
    assert r.torque(disc)[-1] == pytest.approx(10.0, rel=1e-7)
    assert np.diff(r.torque(disc)).min() < 0.0 < r.torque(disc).min()


def test_usual_wear_comes_from_its_volume():
    """c*V/A with V volume per energy, A all faces, c lost setting per depth; 10 to 120 mm^3/MJ, 87000 to 3600 mm^2,
    3 to 15 % per 0.1 mm.  Common practice, from memory."""
    low, high = (10.0 / 87000.0 * 3.0 / 0.1, 120.0 / 3600.0 * 15.0 / 0.1)  # %/MJ
    usual = [float(str(u).split()[0]) for u in PART.kind.param("wear").usual or ()]
    assert usual == pytest.approx([low, high], rel=0.15)
    assert pytest.approx(0.24, rel=0.03) == 50.0 / 17000.0 * 8.0 / 0.1


def burn_line(limit: float, w: float = 20.0, **more: float) -> tuple[Line, int]:
    line = Line()
    inputs = ideal_disc(100.0, 5e4) | {"heat_capacity": 100.0, "heat_limit": limit, **more}
    return line, line.part("friction disc", line.lead(w), 0, start=sliding(100.0, 5e4), **inputs)


def test_burn_instant():
    """2 kW into 100 J/K with 3.5 W/K and two layers reaches 30 K.  Closed form, root by brentq."""
    line, disc = burn_line(30.0)
    r = run(line, 3.0)
    area = 17e-3 * (100.0 / 150.0) ** (2.0 / 3.0)
    lead, lag = 4e-3 / (3.0 * 50.0 * area), 16e-6 / 1.385e-5

    def surface(t: float) -> float:
        bulk = 2e3 / 3.5 * (1.0 - exp(-0.035 * t))
        fast = 0.145 * (1.0 - exp(-t / (1.108e-3 * lag)))
        return bulk + 2e3 * lead * (fast + 0.738 * (1.0 - exp(-t / (44.58e-3 * lag))))

    want = brentq(lambda t: surface(t) - 30.0, 1e-3, 3.0, xtol=1e-13)
    assert guard_events(r, disc, BURNS) == pytest.approx([want], abs=1e-6)
    assert r.meas[disc, ar.BURNT] == pytest.approx(want, abs=1e-6)
    bulk_alone = -log(1.0 - 30.0 * 3.5 / 2e3) / 0.035
    assert bulk_alone - want > 0.05


def test_burning_only_books_the_instant():
    """Same trace with the limit out of reach, up to the step that ends on the instant."""
    one, other = (run(burn_line(x)[0], 2.0) for x in (30.0, 1e6))
    assert one.meas[0, ar.BURNT] > 0.0
    assert other.meas[0, ar.BURNT] == 0.0
    assert one.torque(0)[-1] == pytest.approx(other.torque(0)[-1], rel=1e-12)
    assert one.state(0, fd.TEMP)[-1] == pytest.approx(other.state(0, fd.TEMP)[-1], rel=1e-9)
    assert one.mode(0)[-1] == SLIDES
    assert len(guard_events(one, 0, BURNS)) == 1


def test_both_sides_of_the_limit():
    """Cooling holds the face at P/G + leads*P; a limit just above is never met, one just below is."""
    top = 100.0 / 2.0 + sum(row_of("friction disc", setting=100.0)[i] for i in (fd.R_1, fd.R_2)) * 100.0
    for share, burns in ((1.0 + 1e-6, False), (1.0 - 1e-6, True)):
        line, disc = burn_line(top * share, w=1.0, cooling=2.0, heat_capacity=0.5)
        assert bool(run(line, 8.0).meas[disc, ar.BURNT] > 0.0) is burns


def test_a_face_without_lead_burns_with_its_bulk():
    line, disc = burn_line(30.0, surface_resistance=0.0)
    r = run(line, 3.0)
    assert r.meas[disc, ar.BURNT] == pytest.approx(-log(1.0 - 30.0 * 3.5 / 2e3) / 0.035, abs=1e-6)


def crash(sense: float = 1.0, scale: float = 1.0, setting: float = 120.0, lasts: float = 0.12) -> Run:
    """Motor, disc with everything it has, load that is held for a while and let go."""
    line = Line()
    a, b = line.mass(0.15 * scale, sense * 30.0), line.mass(0.2 * scale, sense * 30.0)
    line.part("constant-torque motor", 0, a, torque=60.0 * scale, speed=sense * 30.0, droop=0.05, inertia=1.0)
    line.part("friction disc", a, b, setting=setting * scale, twist_at_setting=0.01, relative_damping=0.1,
              dwell=100.0, wear=1e-5 / scale, hub_conductance=5.0 * scale, hub_capacity=100.0 * scale,
              heat_capacity=50.0 * scale, cooling=3.5 * scale, heat_limit=3.0,
              facing_area=0.01 * scale)  # fmt: skip
    line.part("partial jam", b, 0, drag=300.0 * scale, lasts=lasts)
    return run(line, 0.6, w1=60.0, rtol=1e-7)


def test_crash_lets_go_burns_and_sticks_again():
    r = crash()
    modes = r.mode(1)
    assert SLIDES in modes
    assert modes[-1] == STUCK
    assert r.meas[1, ar.BURNT] > 0.0
    first = r.events(1)[0]
    assert r.peak(1) == pytest.approx(120.0 * 1.15 * (1.0 + 0.05 * log10(100.0 + first)), rel=1e-6)


def test_ledger_and_heat():
    """Energy balance through breakaway, slip and sticking again; heat only grows; all of it is in disc, hub and air."""
    r = crash()
    assert r.residual < 1e-6
    assert np.diff(r.heat(1)).min() > -1e-9
    assert np.diff(r.state(1, fd.ENERGY)).min() >= 0.0
    kept = 50.0 * r.state(1, fd.TEMP) + 100.0 * r.state(1, fd.HUB)
    off = 3.5 * np.concatenate([[0.0], np.cumsum(np.diff(r.t) * 0.5 * (r.state(1, 1)[1:] + r.state(1, 1)[:-1]))])
    assert (kept + off)[-1] == pytest.approx(r.state(1, fd.ENERGY)[-1], rel=1e-5)


def test_mirrored():
    there, back = crash(), crash(-1.0)
    assert np.array_equal(there.t, back.t)
    assert back.torque(1) == pytest.approx(-there.torque(1), rel=1e-12, abs=1e-9)
    for i in (fd.TEMP, fd.SKIN_1, fd.HUB, fd.ENERGY):
        assert back.state(1, i) == pytest.approx(there.state(1, i), rel=1e-12, abs=1e-9)


def test_scaled():
    """Torques, inertias, heat capacities and faces times four: same instants, same temperatures."""
    one, four = crash(), crash(scale=4.0)
    assert [e[2:].tolist() for e in four.out.events] == [e[2:].tolist() for e in one.out.events]
    assert four.out.events[:, 0] == pytest.approx(one.out.events[:, 0], abs=1e-6)
    assert four.state(1, fd.TEMP)[-1] == pytest.approx(one.state(1, fd.TEMP)[-1], rel=1e-6)
    assert four.heat(1)[-1] == pytest.approx(4.0 * one.heat(1)[-1], rel=1e-6)


def test_free_of_heat_while_it_holds():
    r = crash(setting=4000.0)
    assert set(r.mode(1)) == {STUCK}
    assert r.meas[1, ar.BURNT] == 0.0
    for i in range(6):
        assert not r.state(1, i).any()


@pytest.mark.parametrize("name", ["resolve", "dial"])
def test_row_functions_compile(name):
    """As the kernel compiles: scalars and tuples only."""
    from numba import njit

    given = {"faces": 2.0, "outer_diameter": 0.2, "inner_diameter": 0.12, "spring_rate": 4e5, "nut_pitch": 2e-3,
             "nut_turns": 10.0 * pi, "dwell": 50.0, "pressure_law": "uniform pressure"}  # fmt: skip
    raw = PART.raw(raw_of(PART, **given))
    plain = PART.functions[name]
    args = (raw, 60.0) if name == "resolve" else (fd.resolve(raw, 60.0), 1.3)
    made = njit(Adopter("disc").rebound(plain))
    assert made(*args) == pytest.approx(plain(*args), rel=1e-14)


BENCH = """
title = "Bench"
protect = "shaft"
line = [
  {name = "motor", part = "constant-torque motor", torque = "40 N*m", speed = "90 rpm", inertia = "0.6 kg*m^2"},
  {name = "slot", part = "slot"},
  {name = "shaft", part = "shaft", stiffness = "5 kN*m/rad", allowable = "400 N*m"},
  {name = "wheel", part = "flywheel", inertia = "0.1 kg*m^2"},
]
[situations.jam]
event = "hard stop"
stiffness = "200 kN*m/rad"
[candidates."friction disc"]
faces = 2
outer_diameter = "200 mm"
inner_diameter = "120 mm"
spring_rate = "400 N/mm"
nut_pitch = "2 mm"
"""


@pytest.mark.parametrize("turns", ["0 rev", "-1 rev"])
def test_a_nut_turned_back_past_free_is_refused(turns):
    with pytest.raises(InputError, match="nut_turns") as e:
        read_text(BENCH + f'nut_turns = "{turns}"\n')
    assert "above 0 rev" in str(e.value)


def test_a_nut_in_words():
    s = read_text(BENCH + 'nut_turns = "5 turns"\n').candidates["friction disc"]
    assert s.item.si("nut_turns") == pytest.approx(10.0 * pi)


GEOMETRY = {"faces": 2.0, "outer_diameter": 0.2, "inner_diameter": 0.12, "spring_rate": 4e5, "nut_pitch": 2e-3}


@pytest.mark.parametrize(
    "more",
    [{"nut_turns": 34.5, "solid_travel": 11e-3},  # 10.98 mm
     {"clamp_force": 4e3, "allowable_pressure": 0.266e6},  # 0.2653 MPa at the inner edge
     {"clamp_force": 4e3, "allowable_pressure": 0.2e6, "pressure_law": "uniform pressure"},  # 0.1989 MPa
     {"nut_turns": 10.0 * pi, "clamp_force": 4e3}],
)  # fmt: skip
def test_just_possible_clamping_is_accepted(more):
    """The near misses of what the declarations' test sees refused."""
    assert PART.call("refuse", PART.raw(raw_of(PART, **GEOMETRY, **more))) == []


def test_the_answer_says_when_it_burns():
    from simcore import run as answer

    text = BENCH + 'nut_turns = "4 turns"\nheat_limit = "0.5 K"\nheat_capacity = "120 J/K"\n'
    text = text.replace("40 N*m", "400 N*m").replace('400 N*m"}', '900 N*m"}')
    result = answer(read_text(text + '[situations.rubs]\nevent = "partial jam"\ndrag = "900 N*m"\n'))
    assert "passes its heat limit in 'rubs' after" in " ".join(str(a) for a in result.answers)
