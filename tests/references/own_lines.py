"""References of four lines of our own invention; the numbers of tests/references/lines/*.toml, written anew."""

from __future__ import annotations

from math import atan, pi, radians, tan

from .contacts import HardStop, LashyGear, OneSided, Shaft, Spring, TightGear, TwoStrands
from .derived import damping, lowest_mode
from .drives import CurveMotor, DryLoad, FlatMotor, Jam
from .hybrid import System, steady
from .protections import BallDetent, FrictionDisc, MagnetDisc, ShearPins

RPM = 2.0 * pi / 60.0


def laundry() -> tuple[System, list[float]]:
    """Ball detent that drops into every pocket while the drum is wedged against a stop."""
    i, r = 14.0, 0.1
    J = [0.0, 0.003, 0.006, 0.004, 0.03, 40.0]
    k = {"gear": 6e3, "shaft": 5e3, "belt": 150e3, "stop": 1e6, "detent": 90.0 / radians(0.25)}
    w1 = lowest_mode(
        [0.003, 0.010, 0.03, 40.0],
        [(0, 1, 1 / i, 1, k["gear"]), (1, 2, 1, 1, k["shaft"]), (2, 3, r, 1, k["belt"])],
    )
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k["gear"], damping(0.25, k["gear"], w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.94)
    up = tan(radians(45) + atan(0.11))
    detent = BallDetent(
        "ball detent", 2, 3, 90.0, 0.35 * 90.0, radians(4), 1.0 / up, tan(radians(45) - atan(0.11)) / up,
        k["detent"], damping(0.25, k["detent"], w1, J[2], J[3]), 0.2 * 90.0, radians(60), 90 * RPM, True,
    )  # fmt: skip
    stop = HardStop("sheet wedges", 4, 0, r, 1, k["stop"], damping(0.25, k["stop"], w1), False)
    system = System(
        ["ground", "motor", "gearbox", "slot", "drum shaft", "belt"], J,
        [
            FlatMotor("motor", 1, 12.0, 1200 * RPM, 0.04, 0.0, True), gear, detent,
            Shaft("drum shaft", 3, 4, 1, 1, k["shaft"], damping(0.3, k["shaft"], w1, J[3], J[4])),
            OneSided("belt", 4, 5, r, 1, k["belt"], damping(0.25, k["belt"], w1, J[4] / r**2, J[5]), True),
            DryLoad("table", 5, 1, 400.0), stop,
        ],
    )  # fmt: skip
    system.account[1] = system.account[5] = 1
    y = steady(system, [0, 1, 1 / i, 1 / i, 1 / i, r / i], 1195 * RPM)
    stop.gap = r * y[4]
    return system, y


def sawmill() -> tuple[System, list[float]]:
    """Start from rest through a lashy gear; the friction disc slips while the carriage gathers speed."""
    i, r = 25.0, 0.15
    J = [0.0, 0.012, 0.03, 0.02, 0.3 + 600.0 * r * r]
    k_gear, k_star, k_disc = 25e3, 8e3, 420.0 / radians(0.43)
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_star)])
    gear = LashyGear(
        "gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]), radians(10 / 60),
        "in the play",
    )  # fmt: skip
    gear.give_efficiency(0.92)
    disc = FrictionDisc(
        "friction disc", 2, 3, 420.0, k_disc, damping(0.25, k_disc, w1, J[2], J[3]), 1.02, 1.0, 0.0005, 5.0, 700.0,
        3.5, -0.001,
    )  # fmt: skip
    system = System(
        ["ground", "motor", "gearbox", "slot", "feed coupling"], J,
        [
            CurveMotor("motor", 1, 4000.0, 1440 * RPM, 1500 * RPM, 2.9, 2.0, 0.05, False), gear, disc,
            Spring("feed coupling", 3, 4, 1, 1, k_star, damping(0.8, k_star, w1, J[3], J[4])),
            DryLoad("track", 4, r, 1500.0, 2200.0),
        ],
    )  # fmt: skip
    return system, system.start()


def turntable() -> tuple[System, list[float]]:
    """Magnet disc that slips poles while a carton is caught and falls back into step when it comes free."""
    i = 30.0
    J = [0.0, 0.002, 0.02, 0.03, 1.2]
    k_gear, k_shaft = 9e3, 7e3
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft)])
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.90)
    system = System(
        ["ground", "motor", "gearbox", "slot", "table shaft"], J,
        [
            FlatMotor("motor", 1, 4.0, 900 * RPM, 0.03, 0.0, True), gear,
            MagnetDisc("magnet disc", 2, 3, 60.0, 6, damping(0.25, 60.0 * 6, w1, J[2], J[3])),
            Shaft("table shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            DryLoad("rollers", 4, 1, 20.0, 26.0), Jam("carton caught", 4, 1, 90.0, 0.9),
        ],
    )  # fmt: skip
    system.account[1] = system.account[4] = 1
    return system, steady(system, [0, 1, 1 / i, 1 / i, 1 / i], 895 * RPM)


def packaging() -> tuple[System, list[float]]:
    """Shear pins with clearance that stretch, twice, but outlive a bag wedged for a moment."""
    i, r = 24.0, 0.08
    J = [0.0, 0.0015, 0.01, 0.01, 0.02, 50.0]
    k_gear, k_shaft, k_strand, k_pins = 8e3, 6e3, 120e3, 90.0 / radians(0.1)
    w1 = lowest_mode(
        [J[1], J[2] + J[3], J[4], J[5]],
        [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft), (2, 3, r, 1, 2 * k_strand)],
    )
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.93)
    belt = TwoStrands("infeed belt", 4, 5, r, 1, k_strand, damping(0.125, 2 * k_strand, w1, J[4] / r**2, J[5]), 600.0)
    system = System(
        ["ground", "motor", "gearbox", "slot", "infeed shaft", "infeed belt"], J,
        [
            FlatMotor("motor", 1, 3.6, 1400 * RPM, 0.05, 0.0, True), gear,
            ShearPins(
                "shear pins", 2, 3, 90.0, radians(8), k_pins, damping(0.25, k_pins, w1, J[2], J[3]), radians(0.15),
                "forward flank",
            ),
            Shaft("infeed shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            belt, DryLoad("slide bed", 5, 1, 250.0, 250.0, 120.0), Jam("bag wedges", 5, 1, 700.0, 0.06),
        ],
    )  # fmt: skip
    system.account[1] = system.account[5] = 1
    return system, steady(system, [0, 1, 1 / i, 1 / i, 1 / i, r / i], 1390 * RPM, {3: -radians(0.17)})
