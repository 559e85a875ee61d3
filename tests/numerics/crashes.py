"""Crash lines for the solver's tests: drive, protection, lash, load, stop."""

from __future__ import annotations

from lines import Line, Start, stop_at

PROTECTIONS = {
    "friction disc": {"setting": 120.0, "twist_at_setting": 0.01},
    "ball detent": {"setting": 120.0, "after_release": "ratchets", "pockets_every": 0.6, "seat_speed": 4.0},
    "shear pins": {"setting": 120.0, "clearance": 0.0, "twist_to_fracture": 0.02},
    "magnet disc": {"setting": 120.0, "pole_pairs": 5},
}


def crash(kind: str, sense: float = 1.0, scale: float = 1.0, w: float = 20.0, psi: float = 0.25) -> Line:
    """Motor, protection, coupling with lash, friction load, stop 30 mrad ahead; ``scale`` times all torques,
    stiffnesses, inertias and what takes up heat; ``sense`` -1 runs backward."""
    line = Line()
    a, b, c = (line.mass(j * scale, sense * w) for j in (0.15, 0.05, 0.2))
    raw = PROTECTIONS[kind] | {"setting": 120.0 * scale}
    if kind == "friction disc":
        raw |= {"heat_capacity": 700.0 * scale, "cooling": 3.5 * scale, "facing_area": 0.02 * scale}
    line.part("constant-torque motor", 0, a, torque=60.0 * scale, speed=sense * w, droop=0.05, inertia=1.0)
    line.part(kind, a, b, relative_damping=psi, **raw)
    line.part("flexible coupling", b, c, stiffness=9000.0 * scale, lash=0.01, relative_damping=psi,
              start=Start(mode=0))  # fmt: skip
    line.part("friction load", c, 0, running=10.0 * scale, breakaway=12.0 * scale, viscous=0.05 * scale)
    line.part("hard stop", c, 0, stiffness=4e4 * scale, relative_damping=psi,
              start=stop_at(0.03, sense))  # fmt: skip
    return line


HOW = {"w1": 60.0, "rtol": 1e-7}
