"""Reference of the demo line, trays jam: the numbers of scenarios/bakery_tray_conveyor.toml, written anew."""

from __future__ import annotations

from math import atan, pi, radians, tan

from .contacts import Flanks, HardStop, OneSided, Spring, TightGear
from .derived import damping, lowest_mode
from .drives import CurveMotor, DryLoad
from .hybrid import System, steady
from .protections import BallDetent, FrictionDisc, MagnetDisc, ShearPins

RPM = 2.0 * pi / 60.0
J_MOTOR, J_IN, J_OUT, J_SPROCKET, M_TRAYS = 0.0034, 0.012, 0.010, 0.04, 180.0
RATIO, ETA, K_GEAR = 20.0, 0.95, 12e3
K_HEAD, K_CHAIN, K_STOP, RADIUS = 9e3, 400e3, 2e6, 0.09
SETTING = {"friction disc": 340.0, "ball detent": 340.0, "shear pins": 240.0, "magnet disc": 340.0}
PSI = 0.25
SYNC = 1500.0 * RPM
HORIZON = 0.5


def bare_mode() -> float:
    """Lowest mode of the line with a rigid slot."""
    return lowest_mode(
        [J_MOTOR, J_IN + J_OUT, J_SPROCKET, M_TRAYS],
        [(0, 1, 1 / RATIO, 1, K_GEAR), (1, 2, 1, 1, K_HEAD), (2, 3, RADIUS, 1, K_CHAIN)],
    )


def protection(kind: str, w1: float):
    """The candidate between node 2 and node 3, with the data that the scenario leaves to the defaults."""
    twist = {"friction disc": 0.43, "ball detent": 0.25, "shear pins": 0.1}
    setting = SETTING[kind]
    k = setting * 8 if kind == "magnet disc" else setting / radians(twist[kind])
    c = damping(PSI, k, w1, J_IN, J_OUT)
    if kind == "friction disc":
        return FrictionDisc(kind, 2, 3, setting, k, c, 1.15, 1.0, 0.0005, 5.0, 700.0, 3.5, -0.001)
    if kind == "ball detent":
        rho, alpha = atan(0.11), radians(45.0)
        up = tan(alpha + rho)
        return BallDetent(
            kind, 2, 3, setting, 0.35 * setting, radians(4.0), tan(alpha) / up, tan(alpha - rho) / up, k, c,
            0.015 * setting, 2 * pi, 30 * RPM, False,
        )  # fmt: skip
    if kind == "shear pins":
        return ShearPins(kind, 2, 3, setting, radians(1.0), k, c, radians(0.05), "forward flank")
    return MagnetDisc(kind, 2, 3, setting, 8, c)


def build(kind: str) -> tuple[System, list[float]]:
    """The line in steady running with the stop at the sprocket."""
    w1 = bare_mode()
    gear = TightGear("gearbox", 1, 2, 1 / RATIO, 1.0, K_GEAR, damping(PSI, K_GEAR, w1, J_MOTOR * RATIO**2, J_IN))
    gear.give_efficiency(ETA)
    chain = OneSided(
        "tray chain", 4, 5, RADIUS, 1.0, K_CHAIN, damping(PSI, K_CHAIN, w1, J_SPROCKET / RADIUS**2, M_TRAYS), True
    )
    stop = HardStop("tray jams", 4, 0, RADIUS, 1.0, K_STOP, damping(PSI, K_STOP, w1), False)
    elements = [
        CurveMotor("motor", 1, 1500.0, 1420 * RPM, SYNC, 2.8, 1.5, 0.2, True),
        gear,
        protection(kind, w1),
        Spring("head shaft", 3, 4, 1, 1, K_HEAD, damping(PSI, K_HEAD, w1, J_OUT, J_SPROCKET)),
        chain,
        DryLoad("rails", 5, 1.0, 1055.0, 1200.0),
        stop,
    ]
    nodes = ["ground", "motor", "gearbox", "slot", "head shaft", "tray chain"]
    system = System(nodes, [0.0, J_MOTOR, J_IN, J_OUT, J_SPROCKET, M_TRAYS], elements)
    system.account[1] = system.account[5] = 1
    v = 1.0 / RATIO
    offsets = {3: -radians(0.051)} if isinstance(elements[2], Flanks) else {}
    y = steady(system, [0.0, 1.0, v, v, v, v * RADIUS], 0.99 * SYNC, offsets)
    stop.gap = RADIUS * y[4]
    return system, y
