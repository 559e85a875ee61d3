"""Parts called as plain functions: rows, states and modes for the tests of every part."""

from __future__ import annotations

from typing import Any

from lines import raw_of

from simcore.contract import N_MEMORY, N_ROW, Part, Q
from simcore.parts import REGISTRY

NEEDED: dict[str, dict[str, float | str]] = {
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
    "magnetic particle clutch": {"setting": 150.0},
    "magnetic hysteresis clutch": {"setting": 150.0},
}  # fmt: skip
"""The least inputs that every kind runs with, in SI."""

VARIANTS: list[tuple[str, dict[str, float | str]]] = [
    *NEEDED.items(),
    ("ball detent", {"setting": 150.0, "spring": "coil", "after_release": "ratchets", "pockets_every": 0.5}),
    ("belt or chain", {"stiffness": 2e5, "strands": "two", "pretension": 500.0}),
    ("shear pins", {"setting": 150.0, "clearance": 0.0}),
    ("gear", {"ratio": 10.0, "stiffness": 9000.0}),
    ("flexible coupling", {"stiffness": 5000.0}),
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
]
IDS = [f"{k} {i}" for i, (k, _) in enumerate(VARIANTS)]


def row(part: Part, raw: dict[str, float | str]) -> tuple[float, ...]:
    """Parameter row, padded as in the kernel."""
    if not part.has("resolve"):
        return (0.0,) * N_ROW
    r = tuple(part.call("resolve", part.raw(raw_of(part, **raw)), 60.0))
    return r + (0.0,) * (N_ROW - len(r))


def state(
    part: Part, p: tuple[float, ...], mode: int, phi: float = 0.0, nu: float = 0.0, x: Any = (),
    mem: Any = None, t: float = 0.0, ground_b: bool = True,
) -> Q:  # fmt: skip
    """What a part sees with hub b (or, for drives, hub a) held."""
    x = tuple(x) + (0.0,) * (len(part.kind.states) - len(x))
    mem = mem or [0.0] * N_MEMORY
    ta, wa, tb, wb = (phi, nu, 0.0, 0.0) if ground_b else (0.0, 0.0, -phi, -nu)
    return Q(mode, t, phi, nu, ta, wa, tb, wb, x, mem, (1.0, 0.0, 0.0), p, (0.0,))


def torque(part: Part, q: Q) -> float:
    return part.call("torque", q) if part.has("torque") else 0.0


__all__ = ["IDS", "NEEDED", "REGISTRY", "VARIANTS", "row", "state", "torque"]
