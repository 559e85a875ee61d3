"""Loads in lines: an incline let go and held, starts from rest under a weight, what the bounds by hand make of it."""

from __future__ import annotations

from math import radians

import pytest
from lines import Line, Run, pull, run, sheet_of

from simcore.errors import InputError
from simcore.line.assemble import Assembly, assemble, lowest_mode
from simcore.line.reflect import load_torque, seen_from, start_estimate
from simcore.parts import REGISTRY
from simcore.parts import _one_way as ow
from simcore.parts import ball_detent as bd
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar

LADDER = """
title = "Log ladder of a small sawmill"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "30 N*m"
speed = "{speed} rad/s"
inertia = "0.02 kg*m^2"
{brake}
[[line]]
name = "gear"
part = "gear"
ratio = 30
rated_torque = "600 N*m"
lash = "6 arcmin"
[[line]]
name = "slot"
part = "slot"
hub_in = "0.05 kg*m^2"
hub_out = "0.05 kg*m^2"
[[line]]
name = "shaft"
part = "shaft"
stiffness = "60 kN*m/rad"
allowable = "2000 N*m"
{backstop}
[[line]]
name = "drum"
part = "drum"
radius = "150 mm"
inertia = "0.6 kg*m^2"
[[line]]
name = "logs"
part = "moving mass"
mass = "900 kg"
[[line]]
name = "slope"
part = "incline"
angle = "12 deg"
mass = "900 kg"
lifts = "{lifts}"
[candidates."ball detent"]
setting = "900 N*m"
[situations."start"]
event = "start"
ramp = "0.3 s"
horizon = "0.6 s"
[situations."jam"]
event = "partial jam"
at = "logs"
drag = "6 kN"
lasts = "80 ms"
horizon = "0.6 s"
"""
BACKSTOP = """
[[line]]
name = "backstop"
part = "roller backstop"
capacity = "1500 N*m"
blocks = "{blocks}"
"""
BRAKE = """
[[line]]
name = "brake"
part = "brake"
torque = "40 N*m"
"""
PULL = 900.0 * 9.81 * 0.2079116908 * 0.15
"""m*g*sin(12 deg)*r [N*m]."""


def ladder(situation: str, backstop: bool = False, brake: bool = False, sense: int = 1) -> Assembly:
    ahead, back = ("forward", "backward") if sense > 0 else ("backward", "forward")
    text = LADDER.format(speed=120 * sense, lifts=ahead, brake=BRAKE if brake else "",
                         backstop=BACKSTOP.format(blocks=back) if backstop else "")  # fmt: skip
    s = read_text(text)
    return assemble(s, s.candidates["ball detent"], s.situations[situation], rtol=1e-7)


def logs(r: Run) -> tuple[int, float]:
    """Node of the load and travel for one radian there."""
    place = r.a.graph.places["logs"]
    return place.node, place.scale


@pytest.mark.parametrize("sense", [1, -1])
def test_released_load_runs_back_unless_a_backstop_holds_it(sense):
    """The detent lets go at a short jam.  Without a backstop behind it the logs run back with 1.70 m/s^2 (inclined
    plane); with one they are caught within its engaging angle and its wind-up."""
    free, held = Run(ladder("jam", False, sense=sense)), Run(ladder("jam", True, sense=sense))
    for r in (free, held):
        assert r.status == ar.Status.DONE
        assert r.residual < 1e-6
        d = r.a.index("ball detent")
        assert bd.OUT_HELD in r.mode(d) or bd.OUT_F in r.mode(d) or bd.OUT_B in r.mode(d)
        assert r.peak(d) == pytest.approx(900.0, rel=0.05)
    n, radius = logs(free)
    late = free.t > 0.45
    speed, t = sense * radius * free.speed(n)[late], free.t[late]
    assert (speed[-1] - speed[0]) / (t[-1] - t[0]) == pytest.approx(-1.7013, rel=0.06), "residual drag of the detent"
    assert sense * radius * free.angle(n)[-1] < -0.08
    way = sense * held.angle(n)
    largest_play = sheet_of("roller backstop", capacity=1500.0)["largest engaging angle"]
    assert way.max() - way[held.t > 0.1].min() < largest_play + 0.05
    b = held.a.index("backstop")
    assert ow.DRIVING in held.mode(b)
    assert held.peak(b) > PULL


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize(("backstop", "brake"), [(True, False), (False, True), (True, True)])
def test_start_begins_held(sense, backstop, brake):
    """Before the command the backstop, or the brake through all springs, carries m*g*sin*r; nothing moves back by more
    than the faintest ripple until the motor lifts.  Statics, textbook."""
    r = Run(ladder("start", backstop, brake, sense))
    assert r.status == ar.Status.DONE
    assert r.residual < 1e-6
    names = ("gear", "ball detent", "shaft") if brake else ("backstop",)
    for name in names:
        assert abs(r.torque(r.a.index(name))[0]) == pytest.approx(PULL, rel=5e-7)
    n, radius = logs(r)
    x = sense * radius * r.angle(n)
    assert x[0] < 0.0
    assert (x - x[0]).min() > -2e-5
    assert x[-1] > 0.15
    if brake:
        g, s = r.a.index("gear"), r.a.index("shaft")
        d = r.a.index("ball detent")
        k = [float(r.a.graph.elements[i].part.call("hint", r.a.rows[i])) for i in (g, d, s)]
        half = radians(0.1) / 2.0
        assert -x[0] / radius == pytest.approx(PULL * sum(1.0 / v for v in k) + half, rel=1e-6)


def test_start_with_nothing_to_hold_the_load():
    """It begins unwound and sags into the play before the motor lifts it."""
    r = Run(ladder("start"))
    n, _ = logs(r)
    assert r.angle(n)[0] == 0.0
    assert r.angle(n).min() < -0.01
    assert r.residual < 1e-6


def test_brake_too_weak_lets_the_load_down():
    """275.3/30 = 9.2 N*m at the motor: a brake of 5 N*m slips from the first instant."""
    a = ladder("start", brake=True)
    b = a.index("brake")
    rows = a.rows.copy()
    rows[b, 0:2] = 5.0
    r = Run(a.with_rows(rows).with_setup(t_end=0.05))
    n, _ = logs(r)
    assert r.angle(n)[-1] < r.angle(n)[0] - 1e-4
    assert r.heat(b)[-1] > 0.0


def test_weight_past_the_setting_is_told():
    """A detent that the weight alone opens: no state at rest is found, in a sentence."""
    from simcore.measures.cases import check_outcome
    from simcore.solver.kernel import run_one

    a = ladder("start", brake=True)
    a = a.with_rows(a.dialled(0.2))
    s = read_text(LADDER.format(speed=120, lifts="forward", brake=BRAKE, backstop=""))
    with pytest.raises(InputError, match="holds the load at rest"):
        check_outcome(run_one(a, trace=False), a, "start", s)


def test_what_the_bounds_by_hand_see():
    """Running W + F, at rest W, at the shaft: by the loads' own functions, whatever they are."""
    for a, held in ((ladder("start"), "nothing"), (ladder("start", brake=True), "before"),
                    (ladder("start", backstop=True), "behind")):  # fmt: skip
        i = a.index("shaft")
        seen = seen_from(a, i)
        friction = 0.03 * 900.0 * 9.81 * 0.9781476007 * 0.15
        assert load_torque(a, i) == pytest.approx((PULL + friction, PULL + friction), rel=1e-9)
        assert seen.weight == pytest.approx(PULL, rel=1e-9)
        assert seen.held == held


BENCH = """
title = "Lift of a laundry"
protect = "shaft"
[[line]]
name = "motor"
part = "constant-torque motor"
torque = "50 N*m"
speed = "1000 rad/s"
inertia = "0.4 kg*m^2"
{brake}
[[line]]
name = "shaft"
part = "shaft"
stiffness = "4000 N*m/rad"
relative_damping = 0
allowable = "900 N*m"
[[line]]
name = "drum"
part = "drum"
radius = "0.1 m"
inertia = "0.1 kg*m^2"
[[line]]
name = "cage"
part = "hoisted mass"
mass = "20 kg"
[[line]]
name = "guides"
part = "friction load"
running = "60 N"
breakaway = "90 N"
[situations."start"]
event = "start"
horizon = "60 ms"
"""


@pytest.mark.parametrize("held", [True, False])
def test_peak_of_a_start_against_weight(held):
    """The bound by hand is the peak of a start by a torque step, held (wound by the weight) or not.  Energy balance of
    two inertias, textbook: L + s(T - L) + sqrt(e^2 + s(L0 - W)(2T - L0 - W)), unheld 2(L + s(T - L))."""
    brake = BRAKE + 'release_time = "0 s"' if held else ""
    text = BENCH.format(brake=brake)
    if not held:
        text = text.replace('running = "60 N"', 'running = "0 N"').replace('breakaway = "90 N"', 'breakaway = "0 N"')
    s = read_text(text)
    a = assemble(s, None, s.situations["start"], rtol=1e-8)
    r = Run(a)
    i = a.index("shaft")
    assert r.peak(i) == pytest.approx(start_estimate(seen_from(a, i)), rel=1e-5)


def test_lists_reach_a_load_from_a_scenario():
    """Forces on a turning station are refused, mixed lists as well; a sound list is carried in steady running."""
    text = BENCH.format(brake="").split('[[line]]\nname = "drum"')[0]
    disc = '[[line]]\nname = "rolls"\npart = "flywheel"\ninertia = "0.1 kg*m^2"\n'
    load = '[[line]]\nname = "press"\npart = "tabled load"\ntimes = ["0 s", "10 ms"]\nloads = [{}]\n'
    event = '[situations."x"]\nevent = "partial jam"\ndrag = "1 N*m"\nhorizon = "30 ms"\n'
    for loads, words in (('"5 N", "9 N"', "torque is needed"), ('"5 N", "9 N*m"', "of one sort")):
        with pytest.raises(InputError, match=words):
            lowest_mode(read_text(text + disc + load.format(loads) + event))
    s = read_text(text + disc + load.format('"5 N*m", "9 N*m"') + event)
    a = assemble(s, None, s.situations["x"])
    i = a.index("shaft")
    assert load_torque(a, i) == pytest.approx((5.0, 5.0))
    r = Run(a)
    assert r.torque(i)[0] == pytest.approx(5.0, rel=1e-6)
    assert r.events(a.index("press")) == pytest.approx([0.0, 0.01], abs=1e-12)


def test_scaled_line_takes_the_same_time():
    """All torques and inertias times 7: same instants."""
    ends = []
    for f in (1.0, 7.0):
        line = Line()
        n = line.mass(0.4 * f, 30.0)
        line.part("pump", n, torque=26.0 * f, speed=100.0)
        line.part("crank", n, radius=0.1, rod=0.3, mass=5.0 * f, force_out=100.0 * f)
        pull(line, n, 2.0 * f)
        r = run(line, 3.0, rtol=1e-9)
        assert r.residual < 1e-6
        ends.append((r.events(1), float(r.angle(n)[-1])))
    assert ends[0][0]
    assert ends[1][0] == pytest.approx(ends[0][0], rel=1e-7)
    assert ends[1][1] == pytest.approx(ends[0][1], rel=1e-7)


def test_breakaway_goes_along_with_running_friction_that_passes_it():
    """As scatter in a sweep may have it; sliding at more than it holds at rest it would stick and slip for ever."""
    load, slope = REGISTRY["friction load"], REGISTRY["incline"]
    assert load.call("resolve", load.raw({"running": 1200.0, "breakaway": 1100.0, "viscous": 0.0}), 1.0)[:2] == (
        1200,
        1200,
    )
    own = {"angle": 0.0, "mass": 1.0, "friction": 0.3, "breakaway": 0.2, "lifts": 0.0, "mass_moves": 0.0}
    _, moving, still = slope.call("resolve", slope.raw(own), 1.0)
    assert still == moving > 0.0
