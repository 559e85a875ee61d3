"""Parts called as plain functions: rows, states and modes for the tests of every part."""

from __future__ import annotations

from typing import Any

from lines import raw_of

from simcore.contract import N_MEMORY, N_ROW, Part, Q
from simcore.parts import REGISTRY

Raw = dict[str, float | str | tuple[float, ...]]

FADES: dict[str, Any] = {"rated_current": 1.0, "excitation": "programmed", "inductance": 0.4, "resistance": 20.0,
         "current_times": (0.02, 0.06, 0.2, 0.2), "currents": (1.0, 0.3, 0.3, 1.2)}  # fmt: skip
"""A coil's current that falls and comes back."""

NEEDED: dict[str, Raw] = {
    "friction disc": {"setting": 150.0},
    "ball detent": {"setting": 150.0},
    "shear pins": {"setting": 150.0, "clearance": 0.002},
    "magnet disc": {"setting": 150.0},
    "constant-torque motor": {"torque": 20.0, "speed": 100.0, "inertia": 0.01},
    "torque-speed motor": {
        "rated_power": 1500.0, "rated_speed": 149.0, "synchronous_speed": 157.0, "inertia": 0.004,
        "limit": 1.5,
    },
    "gear": {"ratio": 10.0, "stiffness": 9000.0, "lash": 0.003},
    "shaft": {"stiffness": 5000.0},
    "flexible coupling": {"stiffness": 5000.0, "lash": 0.01},
    "belt or chain": {"stiffness": 2e5},
    "drum": {"radius": 0.1, "inertia": 0.05},
    "flywheel": {"inertia": 0.5},
    "moving mass": {"mass": 100.0},
    "friction load": {"running": 30.0, "breakaway": 40.0, "viscous": 0.2},
    "hard stop": {"stiffness": 1e5},
    "partial jam": {"drag": 50.0},
    "load step": {"extra": 20.0},
    "start": {},
    "rigid coupling": {"rated_torque": 120.0},
    "misaligned coupling": {
        "stiffness": 5000.0, "angular_misalignment": 0.02, "parallel_offset": 5e-4, "pitch_radius": 0.04,
    },
    "universal joint": {"joint_angle": 0.3, "stiffness": 5000.0},
    "eddy-current clutch": {"setting": 150.0},
    "notched-wheel pawl": {"setting": 150.0},
    "tipping sprag": {"setting": 150.0},
    "wrap spring freewheel": {"capacity": 200.0},
    "wrap spring backstop": {"energising_moment": 0.5, "wrap_angle": 25.0},
    "roller freewheel": {"capacity": 200.0},
    "roller backstop": {"capacity": 200.0},
    "ratchet freewheel": {"capacity": 200.0, "teeth": 24.0},
    "ratchet backstop": {"tooth_load": 4e3, "pitch_radius": 0.05, "teeth": 24.0},
    "sprag freewheel": {"capacity": 200.0},
    "sprag backstop": {"capacity": 200.0},
    "roller detent": {"setting": 150.0},
    "magnetic particle clutch": {"setting": 150.0},
    "magnetic hysteresis clutch": {"setting": 150.0},
    "power off": {},
    "restart": {},
    "reverse": {},
    "creep speed": {},
    "reset": {},
    "clear": {},
    "emergency stop": {},
    "stop chain": {"senses": "letting go"},
    "soft stop": {"stiffness": 1e5, "effective_mass": 2.0},
    "wedge": {"resistance": 200.0, "depth": 0.02},
    "crushed product": {"plateau": 100.0, "stiffness": 1e5},
    "foreign body": {"drag": 50.0, "stays_over": 0.1},
    "brake": {"torque": 60.0},
    "winding roll": {
        "tension": 100.0, "core_diameter": 0.1, "thickness": 1e-3, "grammage": 0.5, "width": 0.6, "core_inertia": 0.02,
    },
    "worm gear": {"ratio": 20.0, "rated_torque": 100.0},
    "planetary gear": {"ratio": 10.0, "rated_torque": 100.0},
    "flat belt": {"radius_in": 0.06, "radius_out": 0.12, "centre_distance": 0.6, "tensile_stiffness": 5e4},
    "slipping belt": {"setting": 150.0},
    "V-belt": {"radius_in": 0.06, "radius_out": 0.12, "centre_distance": 0.6},
    "chain drive": {"pitch": 0.01905, "teeth_in": 17.0, "teeth_out": 38.0, "stiffness": 4e6},
    "conveyor resistance": {"length": 80.0, "rise": 6.0, "goods": 50.0, "belt": 9.0, "rollers": 14.0},
    "incline": {"angle": 0.2, "mass": 900.0},
    "hoisted mass": {"mass": 120.0},
    "fan": {"torque": 26.0, "speed": 100.0},
    "pump": {"torque": 26.0, "speed": 100.0},
    "viscous load": {"torque": 26.0, "speed": 100.0},
    "tabled load": {"places": (0.0, 0.5, 1.0), "loads": (20.0, 40.0, 20.0)},
    "crank": {"radius": 0.1, "rod": 0.3, "mass": 20.0},
    "cam": {"lift": 0.03, "mass": 4.0, "rise_angle": 1.7, "return_angle": 2.0, "preload": 60.0, "spring_rate": 2e3},
    "induction motor": {"rated_power": 7500.0, "rated_speed": 152.0, "locked_rotor": 2.3, "inertia": 0.03},
    "converter-fed motor": {"rated_power": 7500.0, "rated_speed": 152.0, "inertia": 0.03},
    "servo motor": {"rated_torque": 3.2, "inertia": 8e-4, "speed": 300.0},
    "DC motor": {
        "voltage": 48.0, "resistance": 0.8, "inductance": 2e-3, "torque_constant": 0.4, "inertia": 0.01,
    },
    "tabled motor": {
        "speeds": (0.0, 100.0, 140.0, 157.0), "torques": (20.0, 15.0, 28.0, 0.0), "inertia": 0.02,
    },
    "nip-fed roll": {
        "web_speed": 1.5, "tension": 60.0, "grip": 150.0, "core_diameter": 0.1, "start_diameter": 0.3,
        "thickness": 1e-3, "grammage": 0.5, "width": 0.6, "core_inertia": 0.02,
    },
}  # fmt: skip
"""The least inputs that every kind runs with, in SI."""

VARIANTS: list[tuple[str, dict[str, Any]]] = [
    *NEEDED.items(),
    ("ball detent", {"setting": 150.0, "spring": "coil", "after_release": "ratchets", "pockets_every": 0.5}),
    (
        "roller detent",
        {
            "setting": 150.0,
            "friction": 0.2,
            "guide_friction": 0.1,
            "guide_radius": 0.03,
            "pitch_radius": 0.05,
            "flank": "sharp edge",
            "roller_radius": 0.005,
            "pocket_half_width": 0.004,
            "spring": "coil",
        },
    ),
    (
        "roller detent",
        {
            "setting": 150.0,
            "after_release": "ratchets",
            "ratcheting": "torque pulses",
            "pockets_every": 0.5,
            "lift": 0.001,
            "disc_height": 0.0018,
            "disc_thickness": 0.001,
            "disc_deflection": 0.0012,
        },
    ),
    ("belt or chain", {"stiffness": 2e5, "strands": "two", "pretension": 500.0}),
    ("flexible coupling", {"stiffness": 5000.0, "lash": 0.01, "small_swing_damping": 0.2, "damping_swing": 0.01}),
    ("shear pins", {"setting": 150.0, "clearance": 0.0}),
    ("shear pins", {"setting": 150.0, "clearance": 0.0, "rate_factor": 1.3, "fatigue": 1.0}),
    (
        "shear pins",
        {
            "setting": 150.0,
            "pins": 3.0,
            "clearance": 0.001,
            "scatter_clearance": 0.0006,
            "scatter_strength": 0.1,
            "rate_factor": 1.2,
            "fatigue": 1.0,
        },
    ),
    ("shear pins", {"setting": 150.0, "pins": 2.0, "clearance": 0.0, "scatter_strength": 0.1}),
    ("gear", {"ratio": 10.0, "stiffness": 9000.0}),
    ("flexible coupling", {"stiffness": 5000.0}),
    ("friction disc", {"setting": 150.0, "dwell": 1e4, "wear": 1e-3, "hub_conductance": 5.0, "heat_limit": 5.0}),
    ("flexible coupling", {"rated_torque": 90.0, "twist_at_rated": 0.015, "progression": 2.5, "lash": 0.01}),
    (
        "misaligned coupling",
        {
            "stiffness": 5000.0,
            "twist_at_rated": 0.01,
            "progression": 3.0,
            "lash": 0.01,
            "error_once": 0.02,
            "error_twice": 0.01,
        },
    ),
    ("universal joint", {"joint_angle": 0.6, "stiffness": 5000.0, "lash": 0.01, "phase": 0.0}),
    (
        "magnet disc",
        {"setting": 150.0, "wall_drag": 0.1, "wall_peak_speed": 15.0, "wall_side": 0.3, "remanence_fade": -0.0011},
    ),
    ("magnet disc", {"setting": 150.0, "heat_limit": 5.0, "lasting_loss": 0.005}),
    (
        "magnet disc",
        {"setting": 150.0, "wall_drag": 0.1, "wall_peak_speed": 90.0, "wall_side": 0.4, "wall_shields": "yes"},
    ),
    ("eddy-current clutch", {"setting": 150.0, "peak_slip": 5.0, "knee_current": 1.2, "residual": 0.02}),
    ("notched-wheel pawl", {"setting": 150.0, "loading": "pneumatic", "friction": 0.0}),
    ("tipping sprag", {"setting": 150.0, "exponent": 1.0}),
    ("wrap spring freewheel", {"capacity": 200.0, "engaging_angle": 0.0, "drag": 0.1}),
    ("roller freewheel", {"capacity": 200.0, "engaging_angle": 0.002, "drag": 0.1, "drives": "backward"}),
    ("sprag backstop", {"capacity": 200.0, "engaging_angle": 0.002, "progressive": 0.4, "drag": 0.1}),
    ("ratchet backstop", {"capacity": 200.0, "teeth": 360.0, "pawls": 12.0, "blocks": "forward"}),
    ("magnetic particle clutch", {"setting": 150.0, "excitation": "fixed voltage"}),
    ("magnetic particle clutch", {"setting": 150.0, "requested_torque": 60.0}),
    (
        "magnetic hysteresis clutch",
        {
            "loop_energy": 25e3,
            "ring_diameter": 0.1,
            "ring_width": 0.04,
            "ring_thickness": 0.01,
            "excitation": "fixed voltage",
        },
    ),
    ("worm gear", {"ratio": 40.0, "rated_torque": 100.0, "lead_angle": 0.05, "friction": 0.08, "lash": 0.0}),
    ("chain drive", {"pitch": 0.01905, "teeth_in": 9.0, "teeth_out": 20.0, "stiffness": 4e6, "slack": 0.0}),
    ("tabled load", {"places": (-0.3, 0.5, 1.0), "loads": (20.0, -40.0, 20.0), "acts": "pulls backward"}),
    ("tabled load", {"times": (0.0, 0.5), "loads": (20.0, 40.0), "acts": "pulls backward", "afterwards": "repeats"}),
    ("induction motor", {**NEEDED["induction motor"], "starting": "star-delta", "rated_speed": -152.0}),
    ("converter-fed motor", {**NEEDED["converter-fed motor"], "lag": 0.0, "speed": -400.0}),
    (
        "servo motor",
        {
            "rated_torque": 3.2,
            "inertia": 8e-4,
            "index_angle": 1.0,
            "move_time": 0.1,
            "dwell_time": 0.1,
            "lag": 0.0,
            "position_time": 0.02,
        },
    ),
]
TAB: list[float] = [0.0]
"""Lists of inputs, one after the other, as the kernel has them."""
IDS = [f"{k} {i}" for i, (k, _) in enumerate(VARIANTS)]


def row(part: Part, raw: dict[str, Any]) -> tuple[float, ...]:
    """Parameter row, padded as in the kernel."""
    if not part.has("resolve"):
        return (0.0,) * N_ROW
    values = raw_of(part, **raw)
    for name, v in values.items():
        if isinstance(v, tuple):
            values[name] = float(len(TAB))
            TAB.extend((float(len(v)), *v))
    r = tuple(part.call("resolve", part.raw(values), 60.0))
    return r + (0.0,) * (N_ROW - len(r))


def state(
    part: Part, p: tuple[float, ...], mode: int, phi: float = 0.0, nu: float = 0.0, x: Any = (),
    mem: Any = None, t: float = 0.0, ground_b: bool = True,
) -> Q:  # fmt: skip
    """What a part sees with hub b (or, for drives, hub a) held."""
    x = tuple(x) + (0.0,) * (len(part.kind.states) - len(x))
    mem = mem or [0.0] * N_MEMORY
    ta, wa, tb, wb = (phi, nu, 0.0, 0.0) if ground_b else (0.0, 0.0, -phi, -nu)
    first = 0.0 if part.kind.reads[:1] == ("coil",) else 1.0  # a command stands, no coil is cut
    return Q(mode, t, phi, nu, ta, wa, tb, wb, x, mem, (first, 0.0, 0.0, 0.0), p, TAB)
    wires = (0.0, 0.0, 0.0) if "reset" in part.kind.reads else (1.0, 0.0, 0.0)
    return Q(mode, t, phi, nu, ta, wa, tb, wb, x, mem, wires, p, (0.0,))


def torque(part: Part, q: Q) -> float:
    return part.call("torque", q) if part.has("torque") else 0.0


__all__ = ["IDS", "NEEDED", "REGISTRY", "TAB", "VARIANTS", "row", "state", "torque"]
