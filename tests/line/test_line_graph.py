"""The sketch becomes nodes and elements: places, ratios, radii, inertias; numbers worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from line_texts import bare, candidate, fitted, motor, scenario, situation, station

from simcore.conduct import Settings, conduct
from simcore.errors import InputError
from simcore.line.assemble import lowest_mode
from simcore.line.cautions import cautions
from simcore.line.graph import GROUND, build, load_station
from simcore.line.reflect import inertia_table, load_torque, motor_torque, motor_torque_of, seen_from
from simcore.measures.cases import running_speeds
from simcore.scenario.read import read_text
from simcore.solver.kernel import run_one

GEAR = station("gear", "gear", ratio=10, efficiency=1, stiffness="2 kN*m/rad", inertia_in="0.001 kg*m^2",
               inertia_out="0.05 kg*m^2")  # fmt: skip
SLOT = station("slot", "slot", hub_in="0.01 kg*m^2", hub_out="0.02 kg*m^2")
SHAFT = station("shaft", "shaft", stiffness="5 kN*m/rad", inertia="0.004 kg*m^2", allowable="400 N*m",
                allowable_source="shaft calculation")  # fmt: skip
DRUM = station("drum", "drum", radius="0.2 m", inertia="0.3 kg*m^2")
BELT = station("belt", "belt or chain", stiffness="100 kN/m")
MASS = station("linen", "moving mass", mass="50 kg")
RAILS = station("rails", "friction load", running="400 N", breakaway="500 N")
TRAVEL = (motor(), GEAR, SLOT, SHAFT, DRUM, BELT, MASS, RAILS)
JAM = situation("jam", "hard stop", stiffness="1 MN/m")
DISC = candidate("friction disc", setting="150 N*m")


def laundry(*more):
    return scenario(*TRAVEL, JAM, *more)


def test_stations_become_nodes_and_elements_in_order():
    g = build(laundry(), None)
    assert [(n.name, n.domain) for n in g.nodes] == [
        ("ground", "ground"), ("motor", "rotation"), ("gear", "rotation"), ("shaft", "rotation"), ("belt", "travel"),
    ]  # fmt: skip
    ends = {e.name: (e.a, e.b, e.ra, e.rb) for e in g.elements}
    assert ends == {
        "motor": (GROUND, 1, 1.0, 1.0), "gear": (1, 2, 0.1, 1.0), "shaft": (2, 3, 1.0, 1.0),
        "belt": (3, 4, 0.2, 1.0), "rails": (4, GROUND, 1.0, 1.0),
    }  # fmt: skip


def test_inertias_sit_on_the_right_nodes():
    nodes = build(laundry(), None).nodes
    assert nodes[1].shares == pytest.approx({"motor": 0.02, "gear": 0.001})
    assert nodes[2].shares == pytest.approx({"gear": 0.05, "slot": 0.03, "shaft": 0.002})
    assert nodes[3].shares == pytest.approx({"shaft": 0.002, "drum": 0.3})
    assert nodes[4].shares == pytest.approx({"linen": 50.0})


def test_inertias_reflected_to_the_protected_shaft():
    """0.02*10^2; 0.001*10^2 + 0.05; 50*0.2^2."""
    a = bare(laundry())
    assert inertia_table(a, a.index("shaft")) == pytest.approx(
        {"motor": 2.0, "gear": 0.15, "slot": 0.03, "shaft": 0.004, "drum": 0.3, "linen": 2.0}
    )


def test_inertias_reflected_to_the_fast_shaft_and_to_travel():
    a = bare(laundry())
    at_motor = inertia_table(a, a.index("motor"))
    assert at_motor["linen"] == pytest.approx(50.0 * (0.2 / 10) ** 2)
    at_belt = inertia_table(a, a.index("belt"))
    assert at_belt["motor"] == pytest.approx(0.02 * 100 / 0.04)
    assert at_belt["linen"] == pytest.approx(50.0)


def test_torques_reflected_to_the_protected_shaft():
    """400 N at 0.2 m is 80 N*m; 30 N*m through 10 to 1 is 300 N*m."""
    a = bare(laundry())
    p = a.index("shaft")
    assert load_torque(a, p) == pytest.approx((80.0, 100.0))
    assert motor_torque(a, p) == pytest.approx(300.0)
    s = seen_from(a, p)
    assert (s.speed, s.up, s.down) == pytest.approx((10.0, 2.0 + 0.1 + 0.05 + 0.03 + 0.002, 0.302 + 2.0))


def test_gear_loss_taken_off_the_motor_torque():
    s = scenario(motor(), GEAR.replace("efficiency = 1", "efficiency = 0.9"), SLOT, SHAFT, DRUM, BELT, MASS, RAILS, JAM)
    a = bare(s)
    assert motor_torque(a, a.index("shaft")) == pytest.approx(270.0)


def test_gear_loss_added_to_a_load_behind_it():
    """80 N*m behind a gear of 90 % ask 80/(10 * 0.9) N*m before it; what drives back arrives with its losses off."""
    gear = GEAR.replace("efficiency = 1", "efficiency = 0.9\nefficiency_back = 0.8")
    fast = station("coupling", "shaft", stiffness="9 kN*m/rad")
    a = bare(scenario(motor(), fast, gear, SLOT, SHAFT, DRUM, BELT, MASS, RAILS, JAM))
    run, breakaway = load_torque(a, a.index("coupling"))
    assert (run, breakaway) == pytest.approx((80.0 / 9.0, 100.0 / 9.0))
    assert load_torque(a, a.index("gear"))[0] == pytest.approx(80.0)
    hill = station("hill", "incline", angle="10 deg", mass="50 kg", lifts="backward")
    a = bare(scenario(motor(), fast, gear, SLOT, SHAFT, DRUM, BELT, MASS, hill, JAM))
    behind = load_torque(a, a.index("gear"))[0]
    assert behind < 0.0
    assert load_torque(a, a.index("coupling"))[0] == pytest.approx(0.8 * behind / 10.0)


def test_viscous_load_counts_at_running_speed():
    """30 N*s/m at 10 rad/s * 0.2 m: 60 N more, 12 N*m at the shaft."""
    rails = station("rails", "friction load", running="400 N", viscous="30 N*s/m")
    a = bare(scenario(*TRAVEL[:-1], rails, JAM))
    assert load_torque(a, a.index("shaft"))[0] == pytest.approx(92.0)


def test_drum_turns_travel_back_into_rotation():
    """A tail drum of 0.1 m: 0.008 kg*m^2 is 0.8 kg on the belt; 6 N*m of bearing drag 60 N, 12 N*m at the shaft."""
    tail = station("tail drum", "drum", radius="0.1 m", inertia="0.008 kg*m^2")
    drag = station("bearings", "friction load", running="6 N*m")
    s = scenario(motor(), GEAR, SLOT, SHAFT, DRUM, BELT, MASS, tail, drag, JAM.replace("MN/m", "MN*m/rad"))
    a = bare(s)
    assert a.graph.places["bearings"].domain == "rotation"
    assert a.graph.nodes[4].shares == pytest.approx({"linen": 50.0, "tail drum": 0.8})
    assert load_torque(a, a.index("shaft"))[0] == pytest.approx(12.0)
    own = a.own_speeds()
    assert own[a.index("bearings")] == pytest.approx(20.0)  # 10 rad/s * 0.2 m / 0.1 m
    assert inertia_table(a, a.index("shaft"))["tail drum"] == pytest.approx(0.032)


def test_shaft_behind_a_tail_drum_has_a_place_of_its_own():
    tail = station("tail drum", "drum", radius="0.1 m")
    more = (station("tail shaft", "shaft", stiffness="1 kN*m/rad"),
            station("wheel", "flywheel", inertia="0.5 kg*m^2"))  # fmt: skip
    g = build(scenario(*TRAVEL[:-1], tail, *more, situation("jam", "hard stop", stiffness="1 MN*m/rad")), None)
    e = g.element("tail shaft")
    assert (e.ra, e.rb, e.domain) == (10.0, 1.0, "rotation")
    assert g.nodes[e.b].shares == {"wheel": 0.5}


def test_branch_leaves_from_its_station():
    fan = station("fan shaft", "shaft", stiffness="300 N*m/rad", after="gear")
    wheel = station("fan", "flywheel", inertia="0.7 kg*m^2")
    air = station("air", "friction load", running="5 N*m")
    s = scenario(*TRAVEL, fan, wheel, air, situation("jam", "hard stop", stiffness="1 MN/m", at="linen"))
    a = bare(s, "jam")
    e = a.graph.element("fan shaft")
    assert (e.a, a.graph.nodes[e.b].name, a.graph.nodes[e.b].shares) == (2, "fan shaft", {"fan": 0.7})
    seen = seen_from(a, a.index("shaft"))
    assert seen.up == pytest.approx(2.182 + 0.7)
    assert seen.between == pytest.approx(0.302 + 2.0)
    assert load_torque(a, a.index("shaft"))[0] == pytest.approx(80.0)
    assert load_torque(a, a.index("fan shaft"))[0] == pytest.approx(5.0)
    assert load_torque(a, a.index("gear"))[0] == pytest.approx(85.0)


TWO_DRIVES = (
    motor(), GEAR, station("slot", "slot"), SHAFT, DRUM, BELT, MASS, RAILS,
    motor(torque="10 N*m", speed="40 rad/s", name="helper motor"),
    station("helper gear", "gear", ratio=4, efficiency=1, stiffness="2 kN*m/rad", joins="drum"),
)  # fmt: skip


def test_second_drive_joins():
    """Both at 10 rad/s without load and 3 % droop: 80 N*m are shared as their torques at the drum, 300 to 40."""
    s = scenario(*TWO_DRIVES, situation("jam", "hard stop", stiffness="1 MN/m", at="linen", horizon="0.05 s"))
    a = bare(s, "jam")
    e = a.graph.element("helper gear")
    assert (a.graph.nodes[e.a].name, e.b, e.ra) == ("helper motor", 3, 0.25)
    r = conduct(s, Settings(evidence=False)).runs["none", "jam"]
    names = [c.name for c in r.connections]
    i = int((r.time < 0.0).nonzero()[0][0])
    shaft, helper = r.torque[i, names.index("shaft")], r.torque[i, names.index("helper gear")]
    assert shaft + helper == pytest.approx(80.0, rel=1e-6)
    assert shaft / helper == pytest.approx(300.0 / 40.0, rel=1e-6)


def carried(s, *names: str) -> list[float]:
    """Torques in steady running before the event."""
    a = bare(s, "later")
    out = run_one(a)
    assert out.status <= 1
    return [float(out.trace[0, 1 + len(a.y0) + a.index(n)]) for n in names]


LATER = situation("later", "load step", extra="1 mN", horizon="5 ms")


def test_second_drive_shares_the_load_as_both_reach_it():
    """Gears of 0.5 and 0.9: 300 and 40 N*m reach the drum as 150 and 36, and so they share its 80 N*m."""
    lossy = [t.replace("efficiency = 1", "efficiency = 0.5") for t in TWO_DRIVES[:-1]]
    s = scenario(*lossy, TWO_DRIVES[-1].replace("efficiency = 1", "efficiency = 0.9"), LATER)
    hand = 80.0 * 150.0 / 186.0
    a = bare(s)
    assert [load_torque(a, a.index(n))[0] for n in ("gear", "shaft")] == pytest.approx([hand, hand])
    assert carried(s, "gear", "shaft") == pytest.approx([hand, hand], rel=1e-5)


def test_gear_carries_what_its_own_loss_leaves():
    """30 N*m through 10 to 1 at 0.5: 150 N*m in the mesh and behind it; so in the run, for what the motor gives."""
    s = scenario(motor(), GEAR.replace("efficiency = 1", "efficiency = 0.5"), *TRAVEL[2:], LATER)
    a = bare(s)
    at = [a.index(n) for n in ("gear", "shaft")]
    assert [motor_torque(a, i) for i in at] == pytest.approx([150.0, 150.0])
    gives, mesh, shaft = carried(s, "motor", "gear", "shaft")
    torques = [gives if e.name == "motor" else 0.0 for e in a.graph.elements]
    assert gives == pytest.approx(16.0, rel=1e-5)
    assert [motor_torque_of(a, i, torques) for i in at] == pytest.approx([mesh, shaft], rel=1e-5)


def test_load_that_drives_reaches_the_mesh_whole():
    """60 N*m drive the gear and lose 0.8 of that behind the mesh: over 10 to 1, 1.2 N*m are left to brake."""
    wheel = station("wheel", "flywheel", inertia="0.5 kg*m^2")
    pull = station("pull", "tabled load", times=["0 s", "1 s"], loads=2 * ["-60 N*m"], acts="pulls backward")
    gear = GEAR.replace("efficiency = 1", "efficiency = 0.4\nefficiency_back = 0.2")
    rotor_shaft = (station("rotor shaft", "shaft", stiffness="5 kN*m/rad", inertia="1e-3 kg*m^2"),)
    s = scenario(motor(), *rotor_shaft, gear, SHAFT, wheel, pull, LATER.replace("mN", "mN*m"))
    a, names = bare(s), ("rotor shaft", "gear", "shaft")
    hand = [load_torque(a, a.index(n))[0] for n in names]
    assert hand == pytest.approx([-1.2, -60.0, -60.0])
    assert carried(s, *names) == pytest.approx(hand, rel=1e-4)


def test_what_a_detent_calls_back_is_no_loss():
    """A ball detent between gear and load: the pull of 60 N*m reaches the gear whole."""
    pull = station("pull", "tabled load", times=["0 s", "1 s"], loads=2 * ["-300 N"], acts="pulls backward")
    s = scenario(*TRAVEL[:-1], pull, LATER, candidate("ball detent", setting="150 N*m"))
    a = fitted(s, "ball detent")
    assert load_torque(a, a.index("gear"))[0] == pytest.approx(-60.0, rel=1e-12)


CHAIN = station("chain", "chain drive", pitch="19 mm", teeth_in=19, teeth_out=25, breaking_load="29 kN",
                strand_length="600 mm")  # fmt: skip
BARE_GEAR = station("gear", "gear", ratio=10, stiffness="2 kN*m/rad")
BARE_SHAFT = SHAFT.replace('inertia = "0.004 kg*m^2"\n', "")


@pytest.mark.parametrize(
    ("between", "cure"),
    [((BARE_GEAR, BARE_SHAFT), "'gear' inertia_out"), ((CHAIN, BARE_SHAFT), "'chain' inertia_out"),
     ((BARE_SHAFT, BARE_GEAR), "'gear' inertia_in"),
     ((BARE_SHAFT, BARE_SHAFT.replace('"shaft"', '"other"', 1)), "'shaft' inertia")],
)  # fmt: skip
def test_a_node_without_inertia_is_told_which_input_gives_it_one(between, cure):
    s = scenario(motor(), *between, station("wheel", "flywheel", inertia="1 kg*m^2"), LATER.replace("mN", "mN*m"))
    with pytest.raises(InputError, match=f"give {cure}, or put an inertia between them"):
        build(s, None)


def test_steady_speed_by_the_droop():
    """80 of 300 N*m takes 3 % * 80/300 of the speed."""
    s = laundry()
    node = build(s, None).places["shaft"].node
    assert running_speeds(s, None, 30.0)[node] == pytest.approx(10.0 * (1 - 0.03 * 80 / 300), rel=1e-7)


def test_candidate_in_the_slot_brings_its_hubs():
    s = laundry(candidate("friction disc", setting="150 N*m"),
                candidate("ball detent", setting="150 N*m", hub_in="0.5 kg*m^2"))  # fmt: skip
    nodes = build(s, s.candidates["friction disc"]).nodes
    assert [n.name for n in nodes] == ["ground", "motor", "gear", "slot", "shaft", "belt"]
    assert nodes[2].shares == pytest.approx({"gear": 0.05, "friction disc": 0.01})
    assert nodes[3].shares == pytest.approx({"friction disc": 0.02, "shaft": 0.002})
    own = build(s, s.candidates["ball detent"])
    assert own.nodes[2].shares["ball detent"] == 0.5
    assert own.nodes[3].shares["ball detent"] == pytest.approx(0.02)


@pytest.mark.parametrize(("setting", "factor"), [(150.0, 1.0), (1200.0, 32.0)])
def test_hubs_by_size_where_nobody_gives_them(setting, factor):
    """8 and 4 g*m^2 at 150 N*m, as T^(5/3): 8 times the torque is 32 times the inertia."""
    line = (motor(), GEAR, station("slot", "slot"), SHAFT, DRUM, BELT, MASS, RAILS, JAM)
    s = scenario(*line, candidate("friction disc", setting=f"{setting} N*m"))
    nodes = build(s, s.candidates["friction disc"]).nodes
    assert nodes[2].shares["friction disc"] == pytest.approx(8e-3 * factor)
    assert nodes[3].shares["friction disc"] == pytest.approx(4e-3 * factor)
    assert "friction disc" not in inertia_table(bare(s), bare(s).index("shaft"))


def test_every_other_slot_is_closed_rigidly():
    fast = station("fast slot", "slot", hub_in="0.002 kg*m^2", hub_out="0.003 kg*m^2")
    line = (motor(), fast, GEAR, SLOT, SHAFT, DRUM, BELT, MASS, RAILS, JAM)
    s = scenario(*line, candidate("friction disc", setting="15 N*m"),
                 candidate("ball detent", setting="150 N*m", slot="slot"))  # fmt: skip
    both_shut = build(s, None)
    assert len(both_shut.nodes) == 5
    assert both_shut.nodes[1].shares["fast slot"] == pytest.approx(0.005)
    first = build(s, s.candidates["friction disc"])
    assert [e.name for e in first.elements if e.role == "candidate"] == ["friction disc"]
    assert first.element("friction disc").a == 1
    assert first.nodes[first.element("gear").b].shares["slot"] == pytest.approx(0.03)
    second = build(s, s.candidates["ball detent"])
    assert second.nodes[1].shares["fast slot"] == pytest.approx(0.005)
    assert second.element("ball detent").a == second.element("gear").b


def test_motor_side_candidate_counts_at_the_protected_shaft():
    """13 N*m on the motor side of 10 to 1 are 130 N*m at the shaft; it lets go there when the drum stops dead."""
    fast = station("fast slot", "slot", hub_in="0.002 kg*m^2", hub_out="0.003 kg*m^2")
    s = scenario(motor(), fast, *TRAVEL[1:], situation("jam", "hard stop", stiffness="1 MN/m", horizon="0.1 s"),
                 candidate("friction disc", setting="13 N*m", slot="fast slot"))  # fmt: skip
    answer = conduct(s, Settings(evidence=False)).answers[0]
    assert answer.to_protected == pytest.approx(10.0)
    assert answer.slot == "fast slot"
    assert answer.lets_go > 0.0
    assert answer.overshoot == pytest.approx(answer.peak - 130.0)


def test_standing_protection_and_candidate_in_one_line():
    """The weaker of the two goes first and spares the other."""
    events = (situation("jam", "hard stop", stiffness="1 MN/m", horizon="0.1 s"),)

    def first_to_go(pins: float, disc: float) -> str:
        guard = station("guard pins", "shear pins", setting=f"{pins} N*m", hub_in="0.01 kg*m^2", hub_out="0.01 kg*m^2")
        s = scenario(motor(), GEAR, SLOT, guard, SHAFT, DRUM, BELT, MASS, RAILS, *events,
                     candidate("friction disc", setting=f"{disc} N*m", breakaway=1.0))  # fmt: skip
        g = build(s, s.candidates["friction disc"])
        assert [e.name for e in g.elements if e.part.kind.family == "protection"] == ["friction disc", "guard pins"]
        assert (g.element("friction disc").role, g.element("guard pins").role) == ("candidate", "line")
        r = conduct(s, Settings(evidence=False)).runs["friction disc", "jam"]
        return next(e.who for e in r.events if e.new in ("broken", "sliding forward", "winding up forward"))

    assert first_to_go(pins=140.0, disc=600.0) == "guard pins"
    assert first_to_go(pins=600.0, disc=140.0) == "friction disc"


def test_load_station_is_the_last_that_moves_or_drags():
    assert load_station(laundry()) == "rails"
    assert load_station(scenario(*TRAVEL[:-1], JAM)) == "linen"


def faults_of(*tables: str) -> str:
    s = scenario(*tables)
    with pytest.raises(InputError) as caught:
        cautions(s)
    return str(caught.value)


def test_node_without_inertia_is_named():
    text = faults_of(motor(), station("front", "shaft", stiffness="1 kN*m/rad"), SHAFT.replace("0.004", "0"), DRUM,
                     situation("jam", "hard stop", stiffness="1 MN/m"))  # fmt: skip
    assert "no inertia between 'front' and 'shaft'" in text


def test_a_slot_whose_hubs_nobody_gave_is_named():
    """A candidate's hubs follow from its size; with the slot closed, on the bare line, nothing is left there."""
    text = """
line = [
  {name = "motor", part = "torque-speed motor", rated_power = "1 kW", rated_speed = "1430 rpm", inertia = "3 g*m^2"},
  {name = "front", part = "shaft", stiffness = "20 kN*m/rad"}, {name = "gap", part = "slot"},
  {name = "back", part = "shaft", stiffness = "20 kN*m/rad", allowable = "300 N*m"},
  {name = "wheel", part = "flywheel", inertia = "1 kg*m^2"}]
title = "Butter churn"
protect = "back"
candidates."friction disc" = {setting = "150 N*m"}
situations.jam = {event = "hard stop", stiffness = "20 kN*m/rad"}
"""
    with pytest.raises(InputError) as caught:
        cautions(read_text(text))
    assert "no inertia between 'front' and 'back': give the slot 'gap' hub_in and hub_out" in str(caught.value)


def test_travelling_station_under_a_rotating_part():
    text = faults_of(motor(), SHAFT, DRUM, station("wheel", "flywheel", inertia="1 kg*m^2"), BELT, MASS, JAM)
    assert "'flywheel' needs a turning station, this one travels" in text


def test_turning_station_under_a_travelling_part():
    text = faults_of(motor(), SHAFT, MASS, JAM)
    assert "'moving mass' needs a travelling station, this one turns" in text


def test_slot_on_a_travelling_station():
    assert "a protection slot needs a turning shaft" in faults_of(motor(), SHAFT, DRUM, SLOT, BELT, MASS, JAM)


@pytest.mark.parametrize(("line", "event", "words"), [
    (RAILS.replace("400 N", "400 N*m").replace("500 N", "500 N*m"), JAM,
     "is a torque, but this station travels: a force"),
    (RAILS, JAM.replace("MN/m", "MN*m/rad"), "a linear stiffness is needed"),
])  # fmt: skip
def test_torque_where_a_force_is_needed(line, event, words):
    assert words in faults_of(*TRAVEL[:-1], line, event)


@pytest.mark.parametrize(("was", "bears", "words"), [
    (SHAFT, SHAFT.replace("400 N*m", "400 N"), "is a force, but this station turns: a torque is needed"),
    (SLOT, SLOT + 'allowable = "4 kN"\n', "is a force, but this station turns: a torque is needed"),
    (BELT, BELT + 'allowable = "4 kN*m"\n', "is a torque, but this station travels: a force is needed"),
])  # fmt: skip
def test_allowable_of_the_wrong_sort(was, bears, words):
    assert words in faults_of(*(bears if t == was else t for t in TRAVEL), JAM)


def test_load_the_motor_cannot_carry():
    """1600 N at 0.2 m are 320 N*m, the motor gives 300 N*m; 1400 N it carries."""
    heavy = station("rails", "friction load", running="1600 N")
    text = faults_of(*TRAVEL[:-1], heavy, JAM)
    assert "the motor cannot carry: ordinary running asks for 320 N*m at 'gear', the motor gives 300 N*m" in text
    cautions(scenario(*TRAVEL[:-1], station("rails", "friction load", running="1400 N"), JAM))


def test_nothing_elastic():
    s = laundry()
    rigid = replace(s, stations=(s.stations[0], s.station("drum"), s.station("linen")))
    with pytest.raises(InputError, match="nothing elastic in the line"):
        lowest_mode(rigid)


def test_two_faults_in_one_go():
    text = faults_of(motor(), SHAFT, MASS, station("rails", "friction load", running="5 N"), JAM)
    assert "needs a travelling station" in text
    assert "a torque is needed" in text


def test_fitted_line_has_its_candidate():
    s = laundry(DISC)
    a = fitted(s, "friction disc", "jam")
    assert a.names[a.candidate] == "friction disc"
    assert bare(s, "jam").candidate is None
    assert a.dialled(2.0)[a.candidate][0] == 2.0 * a.rows[a.candidate][0]


def test_second_drive_carries_its_share_in_the_hand_numbers():
    """At the shaft only the first drive's 300 N*m arrive; of 80 N*m it carries 300/340.  All of it behind the join."""
    a = bare(scenario(*TWO_DRIVES, situation("jam", "hard stop", stiffness="1 MN/m", at="linen")))
    shaft, helper, belt = (a.index(n) for n in ("shaft", "helper gear", "belt"))
    assert motor_torque(a, shaft) == pytest.approx(300.0)
    assert motor_torque(a, helper) == pytest.approx(40.0)
    assert motor_torque(a, belt) == pytest.approx(340.0 / 0.2)
    assert load_torque(a, shaft) == pytest.approx((80.0 * 300 / 340, 100.0 * 300 / 340))
    assert load_torque(a, belt)[0] == pytest.approx(400.0)


@pytest.mark.parametrize(("running", "carried"), [(1650, True), (1750, False)])
def test_two_drives_carry_together(running, carried):
    """340 N*m at 0.2 m are 1700 N."""
    rails = station("rails", "friction load", running=f"{running} N")
    line = [rails if t is RAILS else t for t in TWO_DRIVES]
    jam = situation("jam", "hard stop", stiffness="1 MN/m", at="linen")
    if carried:
        cautions(scenario(*line, jam))
    else:
        assert "the motor cannot carry" in faults_of(*line, jam)
