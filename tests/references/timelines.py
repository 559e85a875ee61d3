"""References of whole timelines: several events in one situation, of lines of our own invention."""

from __future__ import annotations

from math import atan, ceil, inf, pi, radians, tan

from .contacts import HardStop, LashyGear, Shaft, Spring, TightGear
from .derived import damping, lowest_mode
from .drives import CurveMotor, DryLoad, FlatMotor, Jam
from .hybrid import Element, System, steady
from .protections import BallDetent, FrictionDisc, MagnetDisc, ShearPins

RPM = 2.0 * pi / 60.0


class SlipWatch(Element):
    """Notices a twist between two hubs, counted from steady running; the drive is told after sensor, scan, output."""

    tie = False

    def __init__(self, name, a, b, angle, sensor, scan, phase, scans, output) -> None:
        super().__init__(name, a, b)
        self.angle, self.sensor, self.scan, self.phase, self.scans = angle, sensor, scan, phase, scans
        self.output, self.zero, self.due_at, self.mode = output, 0.0, inf, "blind"

    def guards(self, t, T, phi, nu, wb, x):
        return (self.angle - abs(phi - self.zero),) if self.mode == "watching" else ()

    def sizes(self):
        return (self.angle,) if self.mode == "watching" else ()

    def clock(self):
        if self.mode == "blind":
            return 0.0
        return self.due_at if self.mode == "noticed" else inf

    def switch(self, i, t, T, phi, nu, wb, x):
        if self.mode == "blind":
            self.zero = phi
            return "watching", 0.0
        if i < 0:
            return "drive off", 0.0
        read = (ceil((t + self.sensor) / self.scan - self.phase) + self.phase) * self.scan
        self.due_at = read + (self.scans - 1) * self.scan + self.output
        return "noticed", 0.0


class RingSwitch(SlipWatch):
    """The same, noticing that the detent has left its place."""

    detent: BallDetent

    def guards(self, t, T, phi, nu, wb, x):
        return (0.5 if self.detent.klass() == "engaged" else -0.5,) if self.mode == "watching" else ()


class WatchedMotor(FlatMotor):
    """Runs from the start; off from the instant the watch takes it off."""

    watch: SlipWatch | PowerOff

    def clock(self):
        return self.watch.due_at if self.mode != "off" else inf

    def switch(self, i, t, T, phi, nu, wb, x):
        return ("off" if i < 0 else self.corner(i)), 0.0


def brick_feeder() -> tuple[System, list[float]]:
    """Bricks wedge for good, the friction disc slips, the slip watch takes the drive off, the motor runs out."""
    i = 20.0
    J = [0.0, 0.012, 0.03, 0.02, 6.0]
    k_gear, k_shaft, k_disc = 15e3, 8e3, 300.0 / radians(0.43)
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft)])
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.94)
    disc = FrictionDisc(
        "friction disc", 2, 3, 300.0, k_disc, damping(0.25, k_disc, w1, J[2], J[3]), 1.02, 1.0, 0.0005, 5.0, 700.0,
        3.5, -0.001,
    )  # fmt: skip
    watch = SlipWatch("slip watch", 2, 3, radians(30), 5e-3, 10e-3, 0.5, 2, 20e-3)
    motor = WatchedMotor("motor", 1, 24.0, 1200 * RPM, 0.03, 0.0, True)
    motor.watch = watch
    system = System(
        ["ground", "motor", "gearbox", "slot", "head shaft"], J,
        [
            motor, gear, disc,
            Shaft("head shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            DryLoad("rollers", 4, 1, 90.0, 110.0), Jam("bricks wedge", 4, 1, 700.0, 0.3), watch,
        ],
    )  # fmt: skip
    system.account[1] = system.account[4] = 1
    y = steady(system, [0, 1, 1 / i, 1 / i, 1 / i], 1195 * RPM)
    return system, y


class PowerOff(Element):
    """The command is taken away at an instant."""

    tie = False

    def __init__(self, name, at) -> None:
        super().__init__(name, 0, 0)
        self.due_at, self.mode = at, "waiting"

    def clock(self):
        return self.due_at if self.mode == "waiting" else inf

    def switch(self, i, t, T, phi, nu, wb, x):
        return "given", 0.0


def seed_table() -> tuple[System, list[float]]:
    """A clod holds the table, the magnet disc slips poles, the clod goes, then the power goes off."""
    i = 28.0
    J = [0.0, 0.002, 0.02, 0.03, 1.0]
    k_gear, k_shaft = 8e3, 6e3
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft)])
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.91)
    off = PowerOff("2: power off", 0.9)
    motor = WatchedMotor("motor", 1, 4.4, 900 * RPM, 0.03, 0.0, True)
    motor.watch = off
    system = System(
        ["ground", "motor", "gearbox", "slot", "table shaft"], J,
        [
            motor, gear, MagnetDisc("magnet disc", 2, 3, 60.0, 6, damping(0.25, 60.0 * 6, w1, J[2], J[3])),
            Shaft("table shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            DryLoad("rollers", 4, 1, 20.0, 26.0), Jam("clod, then off", 4, 1, 90.0, 0.4), off,
        ],
    )  # fmt: skip
    system.account[1] = system.account[4] = 1
    return system, steady(system, [0, 1, 1 / i, 1 / i, 1 / i], 895 * RPM)


class EmergencyStop(PowerOff):
    """The button at an instant; its contacts open a little later and the brakes are told."""

    def __init__(self, name, at, delay) -> None:
        super().__init__(name, at + delay)

    def switch(self, i, t, T, phi, nu, wb, x):
        return "done", 0.0


class ServiceBrake(Element):
    """Dry friction against the ground some time after the stop tells it to close."""

    tie = False

    def __init__(self, name, a, torque, told_at, apply) -> None:
        super().__init__(name, a)
        self.closed_torque, self.told_at, self.apply, self.mode = torque, told_at, apply, "open"

    def clock(self):
        return {"open": self.told_at, "closing": self.told_at + self.apply, "closed": inf}[self.mode]

    def switch(self, i, t, T, phi, nu, wb, x):
        return ("closing" if self.mode == "open" else "closed"), 0.0

    def dry(self, T):
        f = self.closed_torque if self.mode == "closed" else 0.0
        return f, f, f, f


class ToldBrake(ServiceBrake):
    """The same, told by a watch."""

    watch: SlipWatch

    def clock(self):
        self.told_at = self.watch.due_at
        return super().clock()


def peat_screw() -> tuple[System, list[float]]:
    """A stone stops the screw, the pins shear, the button takes the power off and the brake stops the motor."""
    i = 22.0
    J = [0.0, 0.004, 0.012, 0.015, 0.8]
    k_gear, k_shaft, k_pins, k_stop = 9e3, 7e3, 120.0 / radians(0.1), 60e3
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft)])
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.93)
    button = EmergencyStop("2: emergency stop", 0.1, 0.03)
    motor = WatchedMotor("motor", 1, 6.0, 1000 * RPM, 0.03, 0.0, True)
    motor.watch = button
    stop = HardStop("stone, then the button", 4, 0, 1, 1, k_stop, damping(0.25, k_stop, w1), False)
    pins = ShearPins(
        "shear pins", 2, 3, 120.0, radians(2.0), k_pins, damping(0.25, k_pins, w1, J[2], J[3]), radians(0.05),
        "forward flank",
    )  # fmt: skip
    system = System(
        ["ground", "motor", "gearbox", "slot", "screw shaft"], J,
        [
            motor, ServiceBrake("motor brake", 1, 12.0, button.due_at, 0.04), gear, pins,
            Shaft("screw shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            DryLoad("peat", 4, 1, 40.0, 44.0), stop, button,
        ],
    )  # fmt: skip
    system.account[1] = system.account[4] = 1
    y = steady(system, [0, 1, 1 / i, 1 / i, 1 / i], 995 * RPM, {3: -radians(0.07)})
    stop.gap = y[4]
    return system, y


class SwitchedMotor(CurveMotor):
    """On at t = 0, off and on again at the instants given; each time with its ramp."""

    plan: list[float]

    def clock(self):
        ramp_ends = inf if self.since is None else self.since + self.ramp
        return min(self.plan[0] if self.plan else inf, ramp_ends)

    def switch(self, i, t, T, phi, nu, wb, x):
        if i < 0 and self.plan and t >= self.plan[0]:
            self.plan.pop(0)
            if self.mode != "off":
                self.since = None
                return "off", 0.0
        return super().switch(i, t, T, phi, nu, wb, x)


class GrowingLoad(Element):
    """Extra dry drag that grows in a straight line, stays, and is over."""

    def __init__(self, name, a, ra, extra, at, rise, lasts) -> None:
        super().__init__(name, a, 0, ra)
        self.extra, self.at, self.grows, self.lasts, self.mode, self.now = extra, at, rise, lasts, "waiting", 0.0

    def clock(self):
        due = {"waiting": 0.0, "growing": self.grows, "dragging": self.lasts, "cleared": inf}
        return self.at + due[self.mode]

    def switch(self, i, t, T, phi, nu, wb, x):
        return {"waiting": "growing", "growing": "dragging", "dragging": "cleared"}[self.mode], 0.0

    def torque(self, t, phi, nu, wb, x):
        self.now = t
        return 0.0

    def dry(self, T):
        share = {"growing": (self.now - self.at) / self.grows, "dragging": 1.0}.get(self.mode, 0.0)
        f = self.extra * max(0.0, share)
        return f, f, f, f


def quarry_skip() -> tuple[System, list[float]]:
    """Start from rest with the disc slipping, a sticky stretch, then the power goes and comes again."""
    i, r = 24.0, 0.15
    J = [0.0, 0.010, 0.03, 0.02, 0.3 + 450.0 * r * r]
    k_gear, k_coupling, k_disc = 22e3, 8e3, 420.0 / radians(0.43)
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_coupling)])
    gear = LashyGear(
        "gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]), radians(10 / 60),
        "in the play",
    )  # fmt: skip
    gear.give_efficiency(0.92)
    disc = FrictionDisc(
        "friction disc", 2, 3, 420.0, k_disc, damping(0.25, k_disc, w1, J[2], J[3]), 1.02, 1.0, 0.0005, 5.0, 700.0,
        3.5, -0.001,
    )  # fmt: skip
    motor = SwitchedMotor("motor", 1, 3600.0, 1440 * RPM, 1500 * RPM, 2.9, 2.0, 0.06, False)
    motor.plan = [0.0, 0.85, 0.93]
    system = System(
        ["ground", "motor", "gearbox", "slot", "feed coupling"], J,
        [
            motor, gear, disc,
            Spring("feed coupling", 3, 4, 1, 1, k_coupling, damping(0.8, k_coupling, w1, J[3], J[4])),
            DryLoad("track", 4, r, 1400.0, 1900.0), GrowingLoad("2: load step", 4, r, 800.0, 0.5, 0.04, 0.2),
            PowerOff("3: power off", 0.85), PowerOff("4: restart", 0.93),
        ],
    )  # fmt: skip
    return system, system.start()


def malt_conveyor() -> tuple[System, list[float]]:
    """A sack stops the drum, the detent lets go and stays out, its switch takes the power off, the brake closes."""
    i = 22.0
    J = [0.0, 0.004, 0.012, 0.015, 0.8]
    k_gear, k_shaft, k_detent, k_stop = 9e3, 7e3, 120.0 / radians(0.25), 60e3
    w1 = lowest_mode([J[1], J[2] + J[3], J[4]], [(0, 1, 1 / i, 1, k_gear), (1, 2, 1, 1, k_shaft)])
    gear = TightGear("gearbox", 1, 2, 1 / i, 1, k_gear, damping(0.25, k_gear, w1, J[1] * i * i, J[2]))
    gear.give_efficiency(0.93)
    switch = RingSwitch("ring switch", 2, 3, 1.0, 2e-3, 10e-3, 0.5, 2, 20e-3)
    motor = WatchedMotor("motor", 1, 6.0, 1000 * RPM, 0.03, 0.0, True)
    motor.watch = switch
    stop = HardStop("sack caught", 4, 0, 1, 1, k_stop, damping(0.25, k_stop, w1), False)
    up = tan(radians(45) + atan(0.11))
    detent = BallDetent(
        "ball detent", 2, 3, 120.0, 0.35 * 120.0, radians(4), 1.0 / up, tan(radians(45) - atan(0.11)) / up,
        k_detent, damping(0.25, k_detent, w1, J[2], J[3]), 0.015 * 120.0, 2.0 * pi, 30 * RPM, False,
    )  # fmt: skip
    switch.detent = detent
    brake = ToldBrake("motor brake", 1, 11.0, inf, 0.03)
    brake.watch = switch
    system = System(
        ["ground", "motor", "gearbox", "slot", "head shaft"], J,
        [
            motor, brake, gear, detent,
            Shaft("head shaft", 3, 4, 1, 1, k_shaft, damping(0.25, k_shaft, w1, J[3], J[4])),
            DryLoad("bed", 4, 1, 40.0, 44.0), stop, switch,
        ],
    )  # fmt: skip
    system.account[1] = system.account[4] = 1
    y = steady(system, [0, 1, 1 / i, 1 / i, 1 / i], 995 * RPM)
    stop.gap = y[4]
    return system, y
