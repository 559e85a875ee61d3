"""A line with play that has been stopped stands still: it does not rattle about no torque for ever (own invention)."""

from __future__ import annotations

import pytest
from random_lines import line

from simcore.line.assemble import lowest_mode
from simcore.measures.cases import make_case
from simcore.parts import _contact as ct
from simcore.scenario.read import read_text
from simcore.solver import arrays as ar
from simcore.solver.kernel import run_one

STOPPED = """
title = "Crate lift gate"
protect = "main shaft"
line = [
  {name = "motor", part = "converter-fed motor", rated_power="911 W", rated_speed="700 rpm", inertia="54 kg*cm^2"},
  {name = "coupling", part = "flexible coupling", stiffness="1170 N*m/rad", inertia_out="5.4 kg*cm^2", lash="0.91 deg"},
  {name = "gearbox", part = "gear", ratio = 40, efficiency = 0.987, stiffness = "139 kN*m/rad", lash = "0.22 deg"},
  {name = "slot", part = "slot", hub_in = "0.056 kg*m^2", hub_out = "0.076 kg*m^2"},
  {name = "main shaft", part = "flexible coupling", stiffness = "51.4 kN*m/rad", allowable = "1594 N*m"},
  {name = "gate", part = "flywheel", inertia = "2 kg*m^2"},
  {name = "guides", part = "friction load", running = "314 N*m", breakaway = "361 N*m"}]
candidates."eddy current" = {part = "eddy-current clutch", setting = "826 N*m", peak_slip = "8 rad/s"}
situations.start = {event = "start", horizon = "4 s"}
stops.watch = {senses = "slip angle", angle = "20 deg"}
"""


@pytest.mark.parametrize("rtol", [1e-5, 1e-6, 1e-7])
def test_a_stopped_line_with_play_comes_to_rest_of_steps(kernel: object, rtol: float) -> None:
    s = read_text(STOPPED)
    case = make_case(s, s.candidates["eddy current"], s.situations["start"], lowest_mode(s), rtol)
    out = run_one(case.assembly)
    assert out.status == ar.Status.DONE
    stands = out.trace[:, 0] > 2.0
    nodes = len(case.assembly.nodes)
    assert abs(out.trace[stands, 1 + nodes : 1 + 2 * nodes]).max() < 1e-3
    assert out.counts[ar.STEPS] < 8000
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6


def test_a_flank_parts_where_it_would_unless_the_swing_is_nothing() -> None:
    """No later than 0.4 urad of stretch, and at 1 rad/s by six millionths of that; what it stored is heat."""
    k, half = 1e5, 1e-3
    for m, side in ((ct.FORWARD, 1.0), (ct.BACKWARD, -1.0)):
        phi = side * (half - 0.9 * ct.CALM_TWIST)
        T = ct.flank_torque(m, phi, 0.0, k, 0.0, half)
        assert side * T < 0.0
        assert ct.play_guards(m, phi, 0.0, k, 0.0, half, T)[0] > 0.0
        assert ct.play_guards(m, side * half, -side, k, 0.0, half, -side * 1e-5 * k * ct.CALM_TWIST)[0] < 0.0
        new, heat = ct.play_switch(m, 0, phi, k, half)
        assert (new, heat) == (ct.OPEN_PLAY, pytest.approx(0.5 * k * (0.9 * ct.CALM_TWIST) ** 2))
        assert ct.play_switch(m, 0, side * (half + 1e-4), k, half)[1] == 0.0


HELD = """
title = "Log ramp"
protect = "main shaft"
line = [
  {name = "motor", part = "induction motor", rated_power="1507.5 W", rated_speed="1420 rpm", breakdown=2.6,
   locked_rotor=2.1, inertia="0.00999173 kg*m^2"},
  {name = "coupling", part = "flexible coupling", stiffness="2056.46 N*m/rad", inertia_out="0.000999173 kg*m^2",
   lash="0.654743 deg"},
  {name = "gearbox", part = "worm gear", ratio = 40, stiffness="51851.6 N*m/rad"},
  {name = "brake", part = "brake", torque = "313.869 N*m"},
  {name = "slot", part = "slot", hub_in = "0.0773644 kg*m^2", hub_out = "0.103286 kg*m^2"},
  {name = "main shaft", part = "flexible coupling", stiffness = "132122 N*m/rad", allowable = "1461 N*m"},
  {name = "joint", part = "universal joint", inertia_in="0.0523115 kg*m^2", joint_angle="7.29213 deg",
   stiffness="104623 N*m/rad", inertia_out="0.0523115 kg*m^2"},
  {name = "stopper", part = "roller backstop", capacity = "5941.45 N*m"},
  {name = "drum", part = "drum", radius = "0.193738 m", inertia = "0.209246 kg*m^2"},
  {name = "belt", part = "belt or chain", stiffness = "1.94612e6 N/m"},
  {name = "logs", part = "moving mass", mass = "169.593 kg"},
  {name = "ramp", part = "friction load", running = "1950.08 N", breakaway = "2242.59 N"}]
candidates."disc" = {part = "friction disc", setting = "826 N*m"}
situations.start = {event = "start", horizon = "2 s"}
"""


@pytest.mark.parametrize("rtol", [1e-5, 1e-6])
def test_a_guard_about_zero_that_asks_for_no_switch_does_not_hold_the_steps(kernel: object, rtol: float) -> None:
    """The backstop's rest is reached to the last digits as the brake lets go; each look at it ended a step of 1 ns."""
    s = read_text(HELD.replace(",\n   ", ", "))
    case = make_case(s, None, s.situations["start"], lowest_mode(s), rtol)
    out = run_one(case.assembly)
    assert out.status == ar.Status.STOPPED
    assert out.counts[ar.STEPS] < 1000
    assert out.counts[ar.CALLS] < 10_000
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6


OFF = """
title = "Crate belt"
protect = "drive shaft"
line = [
  {name = "motor", part = "induction motor", rated_power = "2.2 kW", rated_speed = "1430 rpm", locked_rotor = 2.3,
   inertia = "0.0055 kg*m^2"},
  {name = "gearbox", part = "gear", ratio = 40, rated_torque = "560 N*m"},
  {name = "slot", part = "slot", hub_in = "0.02 kg*m^2", hub_out = "0.02 kg*m^2"},
  {name = "drive shaft", part = "shaft", stiffness = "80 kN*m/rad", allowable = "1500 N*m"},
  {name = "drum", part = "drum", radius = "80 mm", inertia = "0.05 kg*m^2"},
  {name = "crates", part = "moving mass", mass = "900 kg"},
  {name = "slide bed", part = "friction load", running = "2.2 kN"}]
candidates."friction disc" = {setting = "420 N*m", heat_capacity = "2 kJ/K"}
stops.watch = {senses = "slip angle", angle = "90 deg"}
situations.rubbing = {event = "partial jam", drag = "4 kN", lasts = "0.5 s", every = "30 s", times = 9,
   horizon = "10 min"}
"""


def test_a_rotor_that_stands_without_current_is_held_by_the_loss_of_its_gear(kernel: object) -> None:
    """The loss goes with the torque of the mesh and is less than it: by the equations the rotor never sticks, it swings
    in the solver's own noise, half a million steps an hour."""
    s = read_text(OFF.replace(",\n   ", ", "))
    case = make_case(s, s.candidates["friction disc"], s.situations["rubbing"], lowest_mode(s), 1e-6)
    out = run_one(case.assembly)
    assert out.status == ar.Status.DONE
    nodes = len(case.assembly.nodes)
    stands = out.trace[:, 0] > 60.0
    assert abs(out.trace[stands, 1 + nodes : 1 + 2 * nodes]).max() < 1e-5
    assert out.counts[ar.STEPS] < 20_000
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6


WATCH = 'stops.watch = {senses = "slip angle", angle = "20 deg"}\n'


@pytest.mark.parametrize(("seed", "candidate"), [(92, "ball detent"), (99, "tipping sprag"), (107, "roller detent")])
def test_a_minute_of_standing_costs_next_to_nothing(kernel: object, seed: int, candidate: str) -> None:
    """Lines drawn by lot after a jam, which swung in the solver's noise by some tolerances: 60 000 steps and more."""
    s = read_text(line(seed) + ("" if "stops.watch" in line(seed) else WATCH), f"line {seed}")
    case = make_case(s, s.candidates[candidate], s.situations["jam"], lowest_mode(s), 1e-6)
    out = run_one(case.assembly.with_setup(t_end=60.0), trace=False)
    assert out.status == ar.Status.DONE
    assert out.counts[ar.STEPS] < 20_000
    assert abs(out.meas[-1, ar.L_RESIDUAL] / out.meas[-1, ar.L_TURNED]) < 1e-6


ONCE = """situations.rubbing = {event = "partial jam", drag = "4 kN", lasts = "3 s", expect = "let go",
   horizon = "14 s", then = [{event = "restart", when = "10 s"}]}
"""
AGAIN = OFF[: OFF.index("situations")] + ONCE


def test_a_node_that_was_held_so_starts_again_when_it_ought_to(kernel: object) -> None:
    """Nothing of what it was held with is left: as a run two decades tighter has it."""
    s = read_text(AGAIN.replace(",\n   ", ", "))
    found = {}
    for rtol in (1e-6, 1e-8):
        case = make_case(s, s.candidates["friction disc"], s.situations["rubbing"], lowest_mode(s), rtol)
        out = run_one(case.assembly)
        assert out.status == ar.Status.DONE
        late = out.events[out.events[:, 0] > 10.0]
        nodes = len(case.assembly.nodes)
        found[rtol] = (late[:3, 0], out.y[nodes : 2 * nodes])
        assert len(late) > 3
        assert abs(out.y[nodes + 1]) > 50.0
    assert found[1e-6][0] == pytest.approx(found[1e-8][0], abs=1e-6)
    assert found[1e-6][1] == pytest.approx(found[1e-8][1], abs=1e-5)
