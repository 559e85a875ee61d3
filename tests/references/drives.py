"""Motors, dry loads and jams of the reference lines."""

from __future__ import annotations

from math import inf

from scipy.optimize import brentq

from .hybrid import Element


class Drive(Element):
    """Base of the motors: off until the command at ``on_at``, then a ramp."""

    source = True
    tie = False

    def __init__(self, name, b, ramp: float, running: bool) -> None:
        super().__init__(name, 0, b)
        self.ramp, self.running, self.since = ramp, running, None
        self.mode = self.linear if running else "off"

    def share(self, t):
        return 1.0 if self.since is None else min(1.0, (t - self.since) / self.ramp)

    def torque(self, t, phi, nu, wb, x):
        if self.mode == "off":
            return 0.0
        return self.share(t) * self.full(wb)

    def loss(self, T, phi, nu, wb, x):
        return -T * wb

    def clock(self):
        if self.mode == "off":
            return 0.0
        return inf if self.since is None else self.since + self.ramp

    def switch(self, i, t, T, phi, nu, wb, x):
        if i >= 0:
            return self.corner(i), 0.0
        if self.mode == "off":
            self.since = t if self.ramp > 0.0 else None
            return self.region(wb), 0.0
        self.since = None
        return self.mode, 0.0


class CurveMotor(Drive):
    """Kloss's curve through breakdown ``top`` at slip ``sk``, held at ``ceiling`` below the slip there."""

    linear = "on its curve"

    def __init__(self, name, b, power, rated, sync, breakdown, limit, ramp, running) -> None:
        super().__init__(name, b, ramp, running)
        rated_torque = power / rated
        self.sync, self.top, self.ceiling = sync, breakdown * rated_torque, limit * rated_torque
        rated_slip = 1.0 - rated / sync
        self.sk = rated_slip * (breakdown + (breakdown**2 - 1.0) ** 0.5)
        self.sc = brentq(lambda s: self.kloss(s) - self.ceiling, 1e-9, self.sk, xtol=1e-16, rtol=1e-15)

    def kloss(self, s):
        return 2.0 * self.top / (s / self.sk + self.sk / s) if s != 0.0 else 0.0

    def full(self, w):
        if self.mode == "at its ceiling":
            return self.ceiling
        if self.mode == "braking at its ceiling":
            return -self.ceiling
        return self.kloss(1.0 - w / self.sync)

    def region(self, w):
        s = 1.0 - w / self.sync
        return "at its ceiling" if s > self.sc else "braking at its ceiling" if s < -self.sc else self.linear

    def guards(self, t, T, phi, nu, wb, x):
        s = 1.0 - wb / self.sync
        if self.mode == "off":
            return ()
        if self.mode == self.linear:
            return self.sc - s, self.sc + s
        return (s - self.sc,) if self.mode == "at its ceiling" else (-self.sc - s,)

    def sizes(self):
        return () if self.mode == "off" else (1.0, 1.0) if self.mode == self.linear else (1.0,)

    def corner(self, i):
        if self.mode == self.linear:
            return ("at its ceiling", "braking at its ceiling")[i]
        return self.linear


class FlatMotor(Drive):
    """Full torque up to the corner, then a straight line to nothing at ``speed`` over the droop."""

    linear = "at speed"

    def __init__(self, name, b, torque, speed, droop, ramp, running) -> None:
        super().__init__(name, b, ramp, running)
        self.top, self.speed, self.droop = torque, speed, droop

    def ask(self, w):
        return self.top / self.droop * (1.0 - w / self.speed)

    def full(self, w):
        if self.mode == "full torque":
            return self.top
        return -self.top if self.mode == "braking at full torque" else self.ask(w)

    def region(self, w):
        a = self.ask(w)
        return "full torque" if a > self.top else "braking at full torque" if a < -self.top else self.linear

    def guards(self, t, T, phi, nu, wb, x):
        a = self.ask(wb)
        if self.mode == "off":
            return ()
        if self.mode == self.linear:
            return self.top - a, self.top + a
        return (a - self.top,) if self.mode == "full torque" else (-self.top - a,)

    def sizes(self):
        s = self.top
        return () if self.mode == "off" else (s, s) if self.mode == self.linear else (s,)

    def corner(self, i):
        if self.mode == self.linear:
            return ("full torque", "braking at full torque")[i]
        return self.linear


class DryLoad(Element):
    """Dry friction with its own breakaway, and viscous drag."""

    def __init__(self, name, a, ra, running, breakaway=None, viscous=0.0) -> None:
        super().__init__(name, a, 0, ra)
        self.run, self.hold = running, running if breakaway is None else breakaway
        self.viscous = viscous

    def torque(self, t, phi, nu, wb, x):
        return self.viscous * nu

    def loss(self, T, phi, nu, wb, x):
        return self.viscous * nu * nu

    def dry(self, T):
        return self.hold, self.hold, self.run, self.run


class Jam(Element):
    """Extra dry drag from t = 0 for ``lasts``."""

    def __init__(self, name, a, ra, drag, lasts=inf) -> None:
        super().__init__(name, a, 0, ra)
        self.drag, self.lasts, self.mode = drag, lasts, "waiting"

    def clock(self):
        return {"waiting": 0.0, "dragging": self.lasts, "cleared": inf}[self.mode]

    def switch(self, i, t, T, phi, nu, wb, x):
        return ("dragging" if self.mode == "waiting" else "cleared"), 0.0

    def dry(self, T):
        f = self.drag if self.mode == "dragging" else 0.0
        return f, f, f, f
