"""Every part says what it is, what it takes, and what it cannot be."""

from __future__ import annotations

import inspect
from math import pi

import pytest
from lines import raw_of
from states import NEEDED, REGISTRY

from simcore import units
from simcore.contract import FUNCTIONS, N_GUARD, N_MEMORY, N_OWN, N_STATE
from simcore.scenario.models import WORDY

KINDS = list(REGISTRY.values())
by_kind = pytest.mark.parametrize("part", KINDS, ids=[p.kind.name for p in KINDS])
PARAMS = [(p, q) for p in KINDS for q in p.kind.params]


@by_kind
def test_kind_is_complete(part):
    k = part.kind
    assert k.summary
    assert k.sources
    assert inspect.getdoc(part.module)
    assert "ource" in inspect.getdoc(part.module)
    assert len(k.row) <= N_OWN
    assert len(k.guards) <= N_GUARD
    assert len(k.memory) <= N_MEMORY
    assert len(k.states) <= N_STATE
    assert len({m.name for m in k.modes}) == len(k.modes)
    assert all(s.meaning and s.unit and s.scale > 0.0 for s in k.states)


@by_kind
def test_functions_fit_the_declarations(part):
    k = part.kind
    assert part.has("guards") == bool(k.guards)
    assert part.has("rate") == bool(k.states)
    assert not k.guards or part.has("switch")
    assert not k.tally or k.tally in k.memory
    if part.has("torque"):
        assert part.has("loss")
    public = [n for n, f in vars(part.module).items() if inspect.isfunction(f) and f.__module__ == part.module.__name__]
    assert {n for n in public if not n.startswith("_")} <= set(FUNCTIONS)


@pytest.mark.parametrize("part", [p for p in KINDS if p.kind.family == "protection"], ids=lambda p: p.kind.name)
def test_protections_say_how_they_let_go(part):
    k = part.kind
    assert k.lets_go
    assert k.leaves
    assert k.runs_again
    assert k.cautions
    assert {m.klass for m in k.modes} > {0}
    for name in ("dial", "band", "hint", "sheet", "refuse", "inertias"):
        assert part.has(name)
    assert "setting" in part.call("sheet", part.call("resolve", part.raw(raw_of(part, **NEEDED[k.name])), 60.0))


@pytest.mark.parametrize(("part", "param"), PARAMS, ids=[f"{p.kind.name}: {q.name}" for p, q in PARAMS])
def test_every_input_has_meaning_unit_and_bounds(part, param):
    assert len(param.meaning) > 5
    assert param.source
    if param.kind in WORDY:
        assert param.kind != "choice" or param.required or param.default in param.choices
        return
    assert param.kind in units.kinds()
    if param.kind != "speed":
        assert any(b is not None for b in (param.low, param.above, param.high))


@by_kind
def test_sheet_is_in_known_units(part):
    if part.has("sheet"):
        row = part.call("resolve", part.raw(raw_of(part, **NEEDED[part.kind.name])), 60.0)
        for name, (value, kind) in part.call("sheet", row).items():
            assert name
            assert value == value
            assert kind in units.kinds()


@by_kind
def test_least_inputs_are_accepted(part):
    if part.has("refuse"):
        assert part.call("refuse", part.raw_lists(raw_of(part, **NEEDED[part.kind.name]))) == []


EDGE = {"setting": 100.0, "flank": "sharp edge", "pocket_half_width": 0.004, "pitch_radius": 0.05}
DISC = {"disc_height": 0.0018, "disc_thickness": 0.001, "disc_deflection": 0.0012}
ROLL = {"tension": 100.0, "core_diameter": 0.1, "thickness": 1e-3, "core_inertia": 0.02}
NIP = {"web_speed": 1.0, "tension": 40.0, "grip": 90.0, "core_diameter": 0.1, "thickness": 1e-3, "grammage": 0.5,
       "width": 1.0, "core_inertia": 0.02}  # fmt: skip
PLATE = {"rated_power": 7500.0, "rated_speed": 152.0, "inertia": 0.03}
SERVO = {"rated_torque": 3.2, "inertia": 8e-4}
REFUSED = [
    ("friction disc", {}, "give the setting, or faces"),
    ("friction disc", {"setting": 100.0, "faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12,
                       "clamp_force": 4e3, "friction": 0.3}, "contradicts the geometry"),
    ("friction disc", {"setting": 100.0, "outer_diameter": 0.1, "inner_diameter": 0.2},
     "inner_diameter 200 mm must be smaller than outer_diameter 100 mm"),
    ("friction disc", {"faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "clamp_force": 4e3,
                       "spring_rate": 4e5, "nut_pitch": 2e-3, "nut_turns": 20.0}, "contradicts nut and spring"),
    ("friction disc", {"faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "spring_rate": 4e5,
                       "nut_pitch": 2e-3, "nut_turns": 34.6, "solid_travel": 11e-3}, "solid at 11 mm"),
    ("friction disc", {"setting": 230.5, "faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "spring_rate": 4e5,
                       "nut_pitch": 2e-3, "solid_travel": 9e-3}, "solid at 9 mm"),
    ("friction disc", {"faces": 2, "outer_diameter": 0.2, "inner_diameter": 0.12, "clamp_force": 4e3,
                       "allowable_pressure": 0.26e6}, "above the allowable 0.26 MPa"),
    ("ball detent", {"setting": 100.0, "flank_angle": 1.5, "friction": 0.3}, "jams"),
    ("ball detent", {}, "give the setting, or balls"),
    ("ball detent", {"setting": 100.0, "spring": "coil", "crest_torque": 0.5}, "cannot fall"),
    ("ball detent", {"setting": 100.0, "spring": "disc", "crest_torque": 1.2}, "falls"),
    ("ball detent", {"setting": 100.0, "pockets_every": 0.05}, "next pocket"),
    ("ball detent", {"setting": 100.0, "flank": "sharp edge", "ball_radius": 0.005}, "pocket_half_width and"),
    ("ball detent", EDGE | {"ball_radius": 0.004}, "falls through"),
    ("ball detent", EDGE | {"ball_radius": 0.005, "lift": 0.001}, "contradicts the sharp edge"),
    ("ball detent", {"setting": 100.0, "ball_radius": 0.005}, 'belong to flank = "sharp edge"'),
    ("ball detent", {"setting": 100.0, "friction": 0.1, "setting_friction": 1.0, "flank_angle": 0.9}, "jams"),
    ("ball detent", {"balls": 6, "ball_force": 300.0, "pitch_radius": 0.05, "setting_friction": 0.1},
     "belongs to a stated setting"),
    ("ball detent", {"setting": 100.0, "guide_friction": 1.0}, "guide jams"),
    ("ball detent", {"setting": 100.0, "guide_radius": 0.05}, "guide_radius needs"),
    ("ball detent", {"setting": 100.0, "balls": 6, "first_carries": 7.0}, "at most the number of balls"),
    ("ball detent", {"setting": 100.0, "spring_rate": 6e4}, 'belongs to spring = "coil"'),
    ("ball detent", {"setting": 100.0, "spring_rate": 6e4, "spring": "coil"}, "spring_rate needs ball_force"),
    ("ball detent", {"setting": 100.0, "spring_rate": 6e4, "spring": "coil"}, "spring_rate needs pitch_radius"),
    ("ball detent", {"setting": 100.0, "disc_height": 0.001}, "together"),
    ("ball detent", {"setting": 100.0, "spring": "coil", **DISC}, 'but spring = "coil"'),
    ("ball detent", {"setting": 100.0, "crest_torque": 0.5, **DISC}, "leave one of the two out"),
    ("ball detent", {"setting": 100.0, **DISC}, "needs the lift"),
    ("ball detent", {"setting": 100.0, **DISC, "disc_outer": 0.06}, "only give a force together"),
    ("ball detent", {"setting": 100.0, **DISC, "disc_outer": 0.06, "disc_inner": 0.07}, "must be smaller"),
    ("ball detent", {"setting": 100.0, **DISC, "disc_outer": 0.06, "disc_inner": 0.03}, "give their number"),
    ("ball detent", {"setting": 100.0, "lift": 0.001, **DISC, "disc_height": 0.003, "disc_deflection": 0.004},
     "snapped through when seated"),
    ("ball detent", {"setting": 100.0, "lift": 0.003, "reset": "automatic", **DISC, "disc_height": 0.003,
                     "disc_deflection": 0.0025}, "holds the elements out"),
    ("ball detent", {"setting": 100.0, "drift_per_1000": -0.1, "releases_done": 2e4}, "nothing of the setting"),
    ("ball detent", {"setting": 100.0, "pockets": (0.0, 0.1)}, "nearer than the width of a pocket"),
    ("ball detent", {"setting": 100.0, "pockets": (0.0, 6.2)}, "nearer than the width of a pocket"),
    ("ball detent", {"setting": 100.0, "pockets": (1.0, 0.5)}, "rising"),
    ("ball detent", {"setting": 100.0, "pockets": (0.0, 2 * pi)}, "one and the same"),
    ("ball detent", {"setting": 100.0, "pockets": (0.0, 2.0), "pockets_every": 1.0}, "not both"),
    ("ball detent", {"setting": 100.0, "ratcheting": "torque pulses"}, "torque pulses need after_release"),
    ("ball detent", {"setting": 100.0, "ratcheting": "torque pulses", "after_release": "ratchets",
                     "pockets_every": 0.1}, "at least twice the release twist"),
    ("ball detent", {"setting": 100.0, "moving_mass": 0.2, "pitch_radius": 0.05}, "it needs reset"),
    ("ball detent", {"setting": 100.0, "moving_mass": 0.2, "reset": "automatic"}, "moving_mass needs pitch_radius"),
    ("roller detent", {}, "give the setting, or rollers"),
    ("roller detent", {"setting": 100.0, "roller_force": 300.0, "rollers": 4, "pitch_radius": 0.05}, "contradicts"),
    ("roller detent", EDGE | {"roller_radius": 0.004}, "falls through"),
    ("roller detent", {"setting": 100.0, "spring": "coil", "crest_torque": 0.5}, "cannot fall"),
    ("shear pins", {}, "give the setting, or pin_diameter"),
    ("shear pins", {"setting": 100.0, "pin_diameter": 0.1, "radius": 0.05}, "as thick as its circle"),
    ("shear pins", {"setting": 100.0, "shear_strength": 3e8, "tensile_strength": 5e8}, "both state the pin"),
    ("shear pins", {"setting": 100.0, "pins": 2.5}, "must be whole"),
    ("shear pins", {"setting": 100.0, "pins": 3, "pin_strengths": (0.9, 1.1)}, "one for each pin"),
    ("shear pins", {"setting": 100.0, "pins": 2, "clearances": (0.0, 0.1), "scatter_clearance": 0.01},
     "nothing left to scatter"),
    ("shear pins", {"setting": 100.0, "pins": 9, "scatter_strength": 0.1}, "at most 8"),
    ("shear pins", {"setting": 100.0, "pins": 1, "scatter_strength": 0.1}, "cannot scatter"),
    ("shear pins", {"setting": 100.0, "start_peak": 120.0}, "the first start breaks"),
    ("shear pins", {"setting": 100.0, "starts_done": 5, "fatigue": 1.0}, "give start_peak too"),
    ("shear pins", {"setting": 100.0, "starts_done": 5, "start_peak": 50.0}, "count only with fatigue"),
    ("magnet disc", {}, "give the setting, or gap"),
    ("magnet disc", {"setting": 100.0, "outer_radius": 0.03, "inner_radius": 0.05}, "inner_radius 50 mm must be"),
    ("magnet disc", {"setting": 100.0, "gap": 0.003, "pole_pitch": 0.02}, "together"),
    ("constant-torque motor", {"torque": 1.0, "speed": 0.0, "inertia": 0.01}, "nothing to drive"),
    ("torque-speed motor", {"rated_power": 1e3, "rated_speed": 160.0, "synchronous_speed": 157.0,
                            "inertia": 0.01}, "below the synchronous speed"),
    ("torque-speed motor", {"rated_power": 1e3, "rated_speed": 150.0, "synchronous_speed": 157.0,
                            "inertia": 0.01, "limit": 3.5}, "stalls"),
    ("gear", {"ratio": 5.0}, "stiffness at the output"),
    ("gear", {"ratio": 5.0, "stiffness": 1e4, "efficiency": 0.8, "efficiency_back": 1.3},
     "out of reach"),
    ("shaft", {"diameter": 0.04}, "diameter and length"),
    ("shaft", {"stiffness": 1e4, "diameter": 0.04, "length": 0.5}, "contradicts"),
    ("flexible coupling", {"stiffness": 1e4, "warmer_by": 20.0, "temperature_factor": 0.8}, "one sets the other"),
    ("flexible coupling", {"rated_torque": 100.0}, "give the stiffness"),
    ("flexible coupling", {"stiffness": 1e4, "rated_torque": 100.0, "twist_at_rated": 0.1}, "contradicts"),
    ("belt or chain", {"stiffness": 1e5, "pretension": 100.0}, "two strands"),
    ("belt or chain", {"stiffness": 1e5, "strands": "two"}, "need a pretension"),
    ("friction load", {"running": 10.0, "breakaway": 5.0}, "below running"),
    ("hard stop", {"stiffness": 1e5, "after": 0.1, "distance": 0.1}, "not both"),
    ("rigid coupling", {}, "rated torque (and the twist at it)"),
    ("rigid coupling", {"rated_torque": 100.0, "mounting": "flange for a sprocket or pulley"}, "needs pulley_radius"),
    ("flexible coupling", {"stiffness": 1e4, "allowable_load": 900.0}, "allowable_load belongs to a flange"),
    ("misaligned coupling", {"stiffness": 1e4, "allowable_load": 900.0}, "give radial_stiffness and parallel_offset"),
    ("rigid coupling", {"stiffness": 1e5, "mounting": "flange for a sprocket or pulley", "pulley_radius": 0.05},
     "overhung load"),
    ("rigid coupling", {"rated_torque": 100.0, "pulley_radius": 0.05}, "belongs to a flange"),
    ("flexible coupling", {"stiffness": 1e4, "progression": 2.0}, "stated at rated torque"),
    ("flexible coupling", {"stiffness": 1000.0, "rated_torque": 100.0, "twist_at_rated": 0.1,
                           "progression": 2.5}, "contradicts"),
    ("misaligned coupling", {}, "give the stiffness"),
    ("misaligned coupling", {"stiffness": 1e4, "angular_misalignment": 0.035, "allowed_angle": 0.0175},
     "angular_misalignment 2.005 deg is more than the allowed_angle 1.003 deg"),
    ("misaligned coupling", {"stiffness": 1e4, "parallel_offset": 6e-4, "allowed_offset": 4e-4, "error_once": 0.0},
     "parallel_offset 0.6 mm is more than the allowed_offset 0.4 mm"),
    ("misaligned coupling", {"stiffness": 1e4, "parallel_offset": 6e-4}, "needs pitch_radius"),
    ("misaligned coupling", {"stiffness": 1e4, "parallel_offset": 0.02, "pitch_radius": 0.05, "uneven_share": 1.0},
     "would pass 20 deg"),
    ("universal joint", {"joint_angle": 0.3}, "rated torque (and the twist at it)"),
    ("universal joint", {"joint_angle": 0.872664626, "stiffness": 1e4}, "joint_angle 50 deg is not below 45 deg"),
    ("universal joint", {"joint_angle": 0.872664626, "stiffness": 1e4}, "swing by 91 %"),
    ("magnet disc", {"setting": 100.0, "wall_thickness": 1e-3}, "needs wall_thickness"),
    ("magnet disc", {"setting": 100.0, "wall_drag": 0.3, "wall_thickness": 1e-3, "wall_conductivity": 1.4e6,
                     "wall_field": 0.5, "outer_radius": 0.06, "inner_radius": 0.03}, "contradicts the wall"),
    ("magnet disc", {"setting": 100.0, "magnet_rise": 80.0}, "above their heat limit"),
    ("eddy-current clutch", {}, "give the setting, or poles"),
    ("eddy-current clutch", {"setting": 100.0, "pole_radius": 0.1, "pole_diameter": 0.04, "disc_radius": 0.11},
     "over the disc's edge"),
    ("eddy-current clutch", {"setting": 100.0, "poles": 20, "pole_radius": 0.1, "pole_diameter": 0.04}, "side by side"),
    ("eddy-current clutch", {"setting": 100.0, "disc_thickness": 0.006, "air_gap": 0.005}, "thicker than the air gap"),
    ("eddy-current clutch", {"setting": 100.0, "peak_slip": 40.0, "pole_radius": 0.1, "pole_diameter": 0.04,
                             "disc_radius": 0.14, "disc_thickness": 0.006, "air_gap": 0.01},
     "contradicts the geometry"),
    ("eddy-current clutch", {"setting": 100.0, "rotor_rise": 200.0}, "above its heat limit"),
    ("eddy-current clutch", {"setting": 100.0, "voltages": (24.0, 0.0)}, "in pairs"),
    ("eddy-current clutch", {"setting": 100.0, "voltage": 24.0, "voltages": (24.0,), "voltage_times": (0.0,)},
     "not both"),
    ("eddy-current clutch", {"setting": 100.0, "voltages": (24.0, 0.0), "voltage_times": (0.2, 0.1)}, "must not fall"),
    ("notched-wheel pawl", {}, "give the setting, or wheel_radius, lever_ratio and spring_force"),
    ("notched-wheel pawl", {"loading": "pneumatic"}, "lever_ratio and piston_area"),
    ("notched-wheel pawl", {"setting": 100.0, "flank_angle": 1.5, "friction": 0.3}, "jams"),
    ("notched-wheel pawl", {"setting": 100.0, "wheel_radius": 0.08, "lever_ratio": 2.25, "spring_force": 600.0},
     "contradicts the geometry"),
    ("notched-wheel pawl", {"setting": 100.0, "spring_force": 100.0, "spring_force_dead_centre": 120.0},
     "fall towards dead centre"),
    ("notched-wheel pawl", {"setting": 100.0, "spring_force": 100.0, "spring_force_dead_centre": 20.0,
                            "dead_centre_torque": 0.4}, "contradicts the spring forces"),
    ("notched-wheel pawl", {"setting": 100.0, "release_twist": 1.1, "notches": 6}, "next notch"),
    ("notched-wheel pawl", {"setting": 100.0, "pressure": 4e5}, "pneumatic"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "spring_force": 10.0}, "loaded by air"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "reference_pressure": 2e4}, "nothing there"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "pressure": 2e4}, "out from the beginning"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "pressures": (0.0, 4e5),
                            "pressure_times": (0.0, 1.0)}, "out from the beginning"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "pressures": (4e5,)}, "in pairs"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "pressures": (4e5, 0.0),
                            "pressure_times": (0.2, 0.1)}, "must not fall"),
    ("notched-wheel pawl", {"setting": 100.0, "loading": "pneumatic", "pressures": (4e5,), "pressure_times": (0.0,),
                            "pressure": 4e5}, "not both"),
    ("tipping sprag", {}, "give the setting, or sprags"),
    ("slipping belt", {}, "give the setting, or pretension and pulley_radius"),
    ("slipping belt", {"setting": 150.0, "pretension": 500.0, "pulley_radius": 0.1}, "contradicts the geometry"),
    ("slipping belt", {"setting": 150.0, "pulley_radius": 0.1, "centre_distance": 0.2}, "the pulleys touch"),
    ("tipping sprag", {"setting": 100.0, "strut_angle": 0.1, "friction": 0.09}, "slip instead of wedging"),
    ("tipping sprag", {"setting": 100.0, "inner_radius": 0.04, "outer_radius": 0.03}, "inner race"),
    ("tipping sprag", {"setting": 100.0, "twist_at_setting": 0.1, "inner_radius": 0.03, "outer_radius": 0.0383,
                       "cam_angle": 0.2}, "contradicts the cams"),
    ("tipping sprag", {"setting": 100.0, "twist_at_setting": 0.1, "sprags": 18, "inner_radius": 0.03,
                       "contact_length": 0.012}, "contradicts the geometry"),
    ("tipping sprag", {"exponent": 1.5, "twist_at_setting": 0.1, "sprags": 18, "inner_radius": 0.03,
                       "contact_length": 0.012}, "line contact"),
    ("wrap spring freewheel", {}, "give the capacity, or energising_moment"),
    ("wrap spring freewheel", {"capacity": 20.0, "energising_moment": 0.5, "wrap_angle": 25.0}, "contradicts"),
    ("wrap spring backstop", {"energising_moment": 0.5, "wrap_angle": 1.0}, "half the capacity"),
    ("roller freewheel", {}, "give the capacity, or rollers"),
    ("roller freewheel", {"capacity": 100.0, "ramp_angle": 0.2, "friction": 0.1}, "do not lock by themselves"),
    ("roller backstop", {"capacity": 100.0, "race_radius": 0.01, "roller_diameter": 0.02}, "as thick as"),
    ("ratchet freewheel", {"teeth": 24.0}, "give the capacity, or tooth_load"),
    ("ratchet backstop", {"capacity": 100.0, "teeth": 360.0, "pawls": 12.0, "drag": 0.5}, "half a pitch"),
    ("sprag freewheel", {}, "give the capacity, or sprags"),
    ("sprag backstop", {"capacity": 100.0, "strut_angle": 0.1}, "do not lock by themselves"),
    ("magnetic particle clutch", {"setting": 100.0, "current": 1.0, "requested_torque": 50.0}, "not both"),
    ("magnetic particle clutch", {"setting": 100.0, "requested_torque": 200.0}, "no current gives"),
    ("magnetic particle clutch", {"setting": 100.0, "requested_torque": 1.0}, "no current gives"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "fixed voltage", "current": 1.0},
     'belong to excitation = "fixed current"'),
    ("magnetic particle clutch", {"setting": 100.0, "voltage": 24.0}, 'belongs to excitation = "fixed voltage"'),
    ("magnetic particle clutch", {"setting": 100.0, "current_times": (0.0,)}, 'belong to excitation = "programmed"'),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed"}, "needs current_times"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed", "current_times": (0.0, 1.0),
                                  "currents": (1.0,)}, "they go in pairs"),
    ("magnetic particle clutch", {"setting": 100.0, "excitation": "programmed", "current_times": (1.0, 0.0),
                                  "currents": (1.0, 1.0)}, "must not fall"),
    ("magnetic hysteresis clutch", {}, "give the setting, or loop_energy"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "loop_energy": 25e3, "ring_diameter": 0.1, "ring_width": 0.02,
                                    "ring_thickness": 0.005}, "contradicts the geometry"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "ring_diameter": 0.01, "ring_thickness": 0.02}, "no bore"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "requested_torque": 90.0}, "no current gives"),
    ("magnetic hysteresis clutch", {"setting": 9.0, "excitation": "programmed", "current_times": (0.0, 1.0),
                                    "currents": (-0.1, 0.2)}, "turn the signs of all round"),
    ("soft stop", {"stiffness": 1e5, "effective_mass": 2.0, "after": 0.1, "distance": 0.1}, "not both"),
    ("soft stop", {"stiffness": 1e5, "effective_mass": 2.0, "progression": 3.0}, "give the stroke"),
    ("foreign body", {"drag": 50.0}, "no length drags nothing"),
    ("brake", {"torque": 60.0, "holding_torque": 50.0}, "holding torque below"),
    ("winding roll", ROLL | {"start_diameter": 0.09}, "below core_diameter"),
    ("winding roll", ROLL | {"start_diameter": 0.3, "full_diameter": 0.2}, "larger than the diameter at the start"),
    ("winding roll", ROLL | {"grammage": 0.5}, "belong together"),
    ("winding roll", ROLL, "mass of the web one way"),
    ("winding roll", ROLL | {"grammage": 0.5, "width": 1.0, "web_mass": 90.0, "full_diameter": 0.5}, "one way"),
    ("winding roll", ROLL | {"web_mass": 90.0}, "give full_diameter with it"),
    ("shaft", {"diameter": 0.04, "bore": 0.04, "length": 0.5}, "bore is as wide"),
    ("worm gear", {"ratio": 20.0}, "stiffness at the wheel"),
    ("worm gear", {"ratio": 20.0, "rated_torque": 100.0, "lead_angle": 0.785, "friction": 0.99,
                   "pressure_angle": 0.35}, "would bind"),
    ("worm gear", {"ratio": 20.0, "rated_torque": 100.0, "lead_angle": 0.2, "efficiency": 0.9}, "contradicts a lead"),
    ("worm gear", {"ratio": 80.0, "rated_torque": 100.0, "efficiency": 0.3, "cold_loss": 0.3}, "would not turn"),
    ("planetary gear", {"ratio": 5.0}, "stiffness at the output"),
    ("planetary gear", {"ratio": 16.0, "rated_torque": 100.0, "stages": 1.0}, "touch each other"),
    ("planetary gear", {"ratio": 1.8, "rated_torque": 100.0}, "planets vanish"),
    ("flat belt", {"radius_in": 0.06, "radius_out": 0.12, "pretension": 600.0}, "give the stiffness of one strand"),
    ("flat belt", {"radius_in": 0.06, "radius_out": 0.12, "stiffness": 1e5}, "give the pretension"),
    ("flat belt", {"radius_in": 0.06, "radius_out": 0.12, "centre_distance": 0.15, "stiffness": 1e5,
                   "pretension": 600.0}, "pulleys touch"),
    ("V-belt", {"radius_in": 0.06, "radius_out": 0.12, "centre_distance": 0.6, "wrap_angle": 2.0}, "adds wrap"),
    ("chain drive", {"pitch": 0.0127, "teeth_in": 17.0, "teeth_out": 38.5, "stiffness": 1e6}, "whole teeth"),
    ("chain drive", {"pitch": 0.0127, "teeth_in": 17.0, "teeth_out": 38.0, "breaking_load": 2e4}, "strand_length"),
    ("conveyor resistance", {"length": 6.0, "rise": 6.0, "goods": 5.0, "belt": 3.0, "rollers": 4.0}, "not below the"),
    ("incline", {"angle": 0.2}, "give the mass or the weight"),
    ("incline", {"angle": 0.2, "mass": 9.0, "weight": 90.0}, "give the mass or the weight"),
    ("incline", {"angle": 0.2, "mass": 9.0, "friction": 0.3, "breakaway": 0.2}, "breakaway below"),
    ("fan", {"torque": 9.0, "speed": 90.0, "bearings": 0.2}, "below the share of the bearings"),
    ("pump", {"torque": 9.0, "speed": 90.0, "static_share": 0.6}, "below the static share"),
    ("viscous load", {"torque": 9.0, "speed": 90.0, "dry_share": 0.6}, "below the dry share"),
    ("tabled load", {"loads": (1.0, 2.0)}, "give times or places"),
    ("tabled load", {"loads": (1.0, 2.0), "times": (0.0, 1.0), "places": (0.0, 1.0)}, "give times or places"),
    ("tabled load", {"loads": (1.0, 2.0), "times": (0.0, 1.0, 2.0)}, "they go in pairs"),
    ("tabled load", {"loads": (1.0, 2.0), "places": (1.0, 0.0)}, "must not fall"),
    ("tabled load", {"loads": (1.0, 2.0), "places": (1.0, 1.0)}, "must span something"),
    ("tabled load", {"loads": (1.0, -2.0), "times": (0.0, 1.0)}, "cannot be negative"),
    ("crank", {"radius": 0.1, "rod": 0.1, "mass": 5.0}, "longer than the radius"),
    ("cam", {"lift": 0.03, "mass": 4.0, "rise_angle": 3.0, "dwell_angle": 1.0, "return_angle": 3.0},
     "more than a whole turn"),
    ("induction motor", PLATE | {"rated_speed": 0.0}, "no rated torque"),
    ("induction motor", PLATE | {"poles": 3.0}, "come in pairs"),
    ("induction motor", PLATE | {"poles": 6.0}, "1000 rpm by mains and poles"),
    ("induction motor", PLATE | {"locked_rotor": 3.0}, "no curve with one peak"),
    ("induction motor", PLATE | {"locked_rotor": 0.8}, "have to fall with slip"),
    ("induction motor", PLATE | {"rated_speed": 100.0, "poles": 4.0, "locked_rotor": 2.0}, "lies beyond standstill"),
    ("induction motor", PLATE | {"starting": "star-delta", "ramp": 1.0}, "two ways to start"),
    ("converter-fed motor", PLATE | {"limit": 3.0}, "stalls before it"),
    ("converter-fed motor", PLATE | {"trip": 1.2}, "trip lies below the limit"),
    ("converter-fed motor", PLATE | {"speed": 0.0}, "nothing to drive"),
    ("servo motor", SERVO, "give the speed, or index_angle"),
    ("servo motor", SERVO | {"index_angle": 1.0}, "needs move_time and dwell_time too"),
    ("servo motor", SERVO | {"index_angle": 1.0, "move_time": 0.1, "dwell_time": 0.1, "speed": 10.0}, "not both"),
    ("servo motor", SERVO | {"speed": 0.0}, "nothing to drive"),
    ("servo motor", SERVO | {"speed": 9.0, "following_error": 0.1}, "needs position_time"),
    ("servo motor", SERVO | {"speed": 9.0, "controller": "proportional", "integral_time": 0.1}, "integral part"),
    ("DC motor", {"voltage": 0.0, "resistance": 1.0, "inductance": 1e-3, "torque_constant": 0.1, "inertia": 0.01},
     "nothing to drive"),
    ("tabled motor", {"speeds": (0.0, 1.0), "torques": (1.0,), "inertia": 1.0}, "go in pairs"),
    ("tabled motor", {"speeds": (0.0,), "torques": (1.0,), "inertia": 1.0}, "two points"),
    ("tabled motor", {"speeds": (1.0, 1.0), "torques": (1.0, 0.0), "inertia": 1.0}, "must rise"),
    ("tabled motor", {"speeds": (0.0, 1.0), "torques": (0.0, 0.0), "inertia": 1.0}, "nothing drives"),
    ("tabled motor", {"speeds": (0.0, 1.0), "torques": (3.0, 2.0), "inertia": 1.0}, "never falls through zero"),
    ("nip-fed roll", NIP | {"start_diameter": 0.09}, "below core_diameter"),
    ("nip-fed roll", NIP | {"grip": 40.0}, "slip through the nip"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "raw", "words"), REFUSED, ids=[f"{k} {w}" for k, _, w in REFUSED])
def test_impossible_inputs_are_refused_in_a_sentence(kind, raw, words):
    part = REGISTRY[kind]
    said = part.call("refuse", part.raw_lists(raw_of(part, **raw)))
    assert any(words in s for s in said), said
    assert all(len(s.split()) > 4 for s in said)
