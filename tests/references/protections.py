"""The four protections of the reference lines, written in their elastic wind-up ``z`` as own state.

With ``z`` no difference of large angles is left: an elastic mode winds up, ``z' = nu``, a sliding one
keeps it.  The friction disc starts wound up by what it carries.
"""

from __future__ import annotations

from math import cos, exp, log10, pi, sin

from .contacts import ANGLE, Flanks
from .hybrid import Element


class FrictionDisc(Element):
    """States: wind-up z, rise of the disc.  The floor of the fade is not reached in these lines.

    Breakaway grows by 5 % per tenfold time stuck, from 1 s on; what stuck at the start does so since then.
    """

    nx = 2
    growth = 0.05
    since = 0.0

    def __init__(self, name, a, b, setting, k, c, breakaway, stribeck, rise, reference, heat_cap, cooling, fade):
        super().__init__(name, a, b)
        self.S, self.k, self.c, self.over, self.vs, self.rise = setting, k, c, breakaway, stribeck, rise
        self.heat_cap, self.cooling, self.fade = heat_cap, cooling, fade
        self.shape_at_reference = self.shape(reference)
        self.mode = "stuck"

    def shape(self, v):
        return 1.0 + (self.over - 1.0) * exp(-v / self.vs) + self.rise * v

    def wind(self, phi):
        return phi

    def side(self):
        return -1.0 if "backward" in self.mode else 1.0

    def sliding(self, v, rise):
        return self.S * (1.0 + self.fade * rise) * self.shape(abs(v)) / self.shape_at_reference

    def torque(self, t, phi, nu, wb, x):
        if self.mode == "stuck":
            return self.k * x[0] + self.c * nu
        return self.side() * self.sliding(nu, x[1])

    def loss(self, T, phi, nu, wb, x):
        if self.mode == "stuck":
            return self.c * nu * nu
        return (T - self.k * x[0]) * nu if self.mode.startswith("winding") else T * nu

    def store(self, phi, x):
        return 0.5 * self.k * x[0] ** 2

    def rates(self, T, phi, nu, x):
        heat = 0.0 if self.mode == "stuck" else self.loss(T, phi, nu, 0.0, x)
        winds = 0.0 if self.mode.startswith("sliding") else nu
        return winds, (heat - self.cooling * x[1]) / self.heat_cap

    def guards(self, t, T, phi, nu, wb, x):
        if self.mode == "stuck":
            top = self.S * self.over * (1.0 + self.fade * x[1])
            top *= 1.0 + self.growth * log10(max(t - self.since, 1.0))
            return top - T, top + T
        s = self.side()
        return (s * nu,) if self.mode.startswith("sliding") else (s * nu, s * (T - self.k * x[0]))

    def sizes(self):
        if self.mode == "stuck":
            return self.S, self.S
        return (1.0,) if self.mode.startswith("sliding") else (1.0, self.S)

    def relax(self, x, side, top):
        z, full = side * x[0], top / self.k
        if z <= full:
            return 0.0
        heat = 0.5 * self.k * (z * z - full * full)
        x[0] = side * full
        x[1] += heat / self.heat_cap
        return heat

    def switch(self, i, t, T, phi, nu, wb, x):
        if self.mode == "stuck":
            side, way = (1.0, "forward") if i == 0 else (-1.0, "backward")
            top = self.sliding(nu, x[1])
            if side * self.k * x[0] < top:
                return "winding up " + way, 0.0
            return "sliding " + way, self.relax(x, side, top)
        if i == 0:
            self.since = t
        if self.mode.startswith("winding"):
            return ("stuck" if i == 0 else self.mode.replace("winding up", "sliding")), 0.0
        return "stuck", self.relax(x, self.side(), self.sliding(0.0, x[1]))

    def klass(self):
        return "engaged" if self.mode == "stuck" else "slipping"


class BallDetent(Element):
    """States: wind-up z, way u along the flank (signed).  Pocket positions are whole pitches."""

    nx = 2

    def __init__(self, name, a, b, t1, t2, crest, mu_free, mu_back, k, c, drag, pitch, seat_speed, ratchets):
        super().__init__(name, a, b)
        self.t1, self.t2, self.crest, self.free, self.back = t1, t2, crest, mu_free, mu_back
        self.k, self.c, self.drag, self.pitch, self.seat_speed = k, c, drag, pitch, seat_speed
        self.ratchets, self.mode = ratchets, "seated"
        self.here = 0.0
        self.ahead = self.behind = 0.0

    def wind(self, phi):
        return phi

    def side(self):
        return -1.0 if ("backward" in self.mode) else 1.0

    def elastic(self):
        return self.mode == "seated" or "held" in self.mode

    def climb(self, u):
        return self.t1 + (self.t2 - self.t1) * u / self.crest

    def lifted(self, u):
        """Energy in the element springs at flank way ``u`` >= 0: the frictionless torque over the way."""
        return self.free * (self.t1 * u + 0.5 * (self.t2 - self.t1) * u * u / self.crest)

    def torque(self, t, phi, nu, wb, x):
        if self.elastic():
            return self.k * x[0] + self.c * nu
        if self.mode.startswith("out"):
            return self.side() * self.drag
        T = self.side() * self.climb(abs(x[1]))
        return T * self.back if "sliding home" in self.mode else T

    def loss(self, T, phi, nu, wb, x):
        if self.elastic():
            return self.c * nu * nu
        if self.mode.startswith("out"):
            return T * nu
        return (T - self.side() * self.free * self.climb(abs(x[1]))) * nu

    def store(self, phi, x):
        e = 0.5 * self.k * x[0] ** 2
        return e + self.lifted(self.crest if self.mode.startswith("out") else abs(x[1]))

    def rates(self, T, phi, nu, x):
        if self.elastic():
            return nu, 0.0
        return 0.0, (0.0 if self.mode.startswith("out") else nu)

    def guards(self, t, T, phi, nu, wb, x):
        s, u = self.side(), abs(x[1])
        if self.mode == "seated":
            return self.t1 - T, self.t1 + T
        if self.mode == "out, held by its drag":
            return self.drag - T, self.drag + T
        if self.mode.startswith("out"):
            if not self.ratchets:
                return (s * nu,)
            return s * nu, s * ((self.ahead if s > 0 else self.behind) - phi)
        if self.mode.startswith("held"):
            return self.climb(u) - s * T, s * T - self.back * self.climb(u)
        if self.mode.startswith("sliding home"):
            return s * x[1], -s * nu
        return self.crest - s * x[1], s * nu

    def sizes(self):
        if self.elastic():
            size = self.drag if self.mode.startswith("out") else self.t1
            return size, size
        if self.mode.startswith("out"):
            return (1.0, ANGLE) if self.ratchets else (1.0,)
        return ANGLE, 1.0

    def way(self):
        return "falling" if self.t2 < self.t1 else "climbing"

    def switch(self, i, t, T, phi, nu, wb, x):
        s = self.side()
        word = "forward" if s > 0 else "backward"
        if self.mode == "seated":
            return self.way() + (" forward" if i == 0 else " backward"), 0.0
        if self.mode == "out, held by its drag":
            heat = 0.5 * self.k * x[0] ** 2
            x[0] = 0.0
            return "out, turning " + ("forward" if i == 0 else "backward"), heat
        if self.mode.startswith("out"):
            return ("out, held by its drag", 0.0) if i == 0 else self.meet(s, nu, x)
        if self.mode.startswith("held"):
            return (self.way() + " " + word if i == 0 else "sliding home from " + word), 0.0
        if self.mode.startswith("sliding home"):
            if i == 1:
                return self.rest(s, word, x)
            x[1] = 0.0
            return "seated", 0.0
        return self.release(s, word, x) if i == 0 else self.rest(s, word, x)

    def release(self, s, word, x):
        """Past the crest: wind-up is lost, less what the element springs still take up on the way there."""
        heat = 0.5 * self.k * x[0] ** 2 - (self.lifted(self.crest) - self.lifted(min(abs(x[1]), self.crest)))
        x[0] = x[1] = 0.0
        self.ahead = self.here + (self.pitch if s > 0 else 0.0)
        self.behind = self.here - (0.0 if s > 0 else self.pitch)
        return "out, turning " + word, heat

    def rest(self, s, word, x):
        """At rest on the flank: held between the flank's two limits, else the balls move on or back at once.

        The twist ``z + u`` stays; they stop where spring and flank balance, or past the crest, or home.
        """
        twist, u = s * (x[0] + x[1]), s * x[1]
        share = 1.0
        if self.k * s * x[0] < self.climb(u):
            if self.k * s * x[0] >= self.back * self.climb(u):
                return "held on the flank " + word, 0.0
            share = self.back
        rise = (self.t2 - self.t1) / self.crest
        slope = self.k + share * rise
        balance = (self.k * twist - share * self.t1) / slope if slope > 0.0 else self.crest * (share == 1.0)
        if share == 1.0 and balance >= self.crest:
            return self.release(s, word, x)
        before = self.store(0.0, x)
        x[1] = s * max(balance, 0.0)
        x[0] = s * twist - x[1]
        return ("held on the flank " + word if balance > 0.0 else "seated"), before - self.store(0.0, x)

    def meet(self, s, nu, x):
        self.tally += 1
        pocket = self.ahead if s > 0 else self.behind
        if s * nu <= self.seat_speed:
            self.here = pocket
            return "seated", self.lifted(self.crest)
        self.ahead = pocket + (self.pitch if s > 0 else 0.0)
        self.behind = pocket - (0.0 if s > 0 else self.pitch)
        return self.mode, 0.0

    def klass(self):
        if self.mode.startswith("out"):
            return "open"
        return "engaged" if self.mode == "seated" or self.mode.startswith("climbing") else "yielding"


class MagnetDisc(Element):
    """T = Tm sin(p phi) + c nu; modes only count poles."""

    def __init__(self, name, a, b, peak, pairs, c) -> None:
        super().__init__(name, a, b)
        self.peak, self.pairs, self.c, self.mode, self.pole = peak, pairs, c, "in step", 0

    def torque(self, t, phi, nu, wb, x):
        return self.peak * sin(self.pairs * phi) + self.c * nu

    def loss(self, T, phi, nu, wb, x):
        return self.c * nu * nu

    def store(self, phi, x):
        return self.peak / self.pairs * (1.0 - cos(self.pairs * phi))

    def angle(self, phi):
        return self.pairs * phi - 2.0 * pi * self.pole

    def side(self):
        return -1.0 if "backward" in self.mode else 1.0

    def guards(self, t, T, phi, nu, wb, x):
        q, s = self.angle(phi), self.side()
        if self.mode == "in step":
            return pi / 2 - q, pi / 2 + q
        return pi - s * q, (s * nu if "slipping" in self.mode else s * q - pi / 2)

    def sizes(self):
        return 1.0, 1.0

    def switch(self, i, t, T, phi, nu, wb, x):
        s, word = self.side(), ("backward" if "backward" in self.mode else "forward")
        if self.mode == "in step":
            return "past its peak " + ("forward" if i == 0 else "backward"), 0.0
        if i == 0:
            self.pole += int(s)
            self.tally += 1
            return "slipping poles " + word, 0.0
        q = self.angle(phi)
        if "past" in self.mode or abs(q) <= pi / 2:
            return "in step", 0.0
        return "past its peak " + ("forward" if q > 0 else "backward"), 0.0

    def klass(self):
        return {"i": "engaged", "p": "yielding", "s": "slipping"}[self.mode[0]]


class ShearPins(Flanks):
    """Flanks with play about a plastic twist; states: plastic twist, plastic way."""

    nx = 2

    def __init__(self, name, a, b, strength, plastic, k, c, half, mode) -> None:
        super().__init__(name, a, b, 1.0, 1.0, k, c, half, mode)
        self.strength, self.plastic = strength, plastic

    def torque(self, t, phi, nu, wb, x):
        if self.mode == "broken":
            return 0.0
        if self.mode.startswith("stretching"):
            return self.side() * self.strength
        return super().torque(t, phi - x[0], nu, wb, x)

    def loss(self, T, phi, nu, wb, x):
        if self.mode == "broken":
            return 0.0
        return T * nu if self.mode.startswith("stretching") else super().loss(T, phi - x[0], nu, wb, x)

    def store(self, phi, x):
        return 0.0 if self.mode == "broken" else super().store(phi - x[0], x)

    def rates(self, T, phi, nu, x):
        return (nu, abs(nu)) if self.mode.startswith("stretching") else (0.0, 0.0)

    def guards(self, t, T, phi, nu, wb, x):
        if self.mode == "broken":
            return ()
        if self.mode.startswith("stretching"):
            return self.side() * nu, self.plastic - x[1]
        own = super().guards(t, T, phi - x[0], nu, wb, x)
        return (*own, self.strength - T, self.strength + T) if "flank" in self.mode and len(own) == 1 else own

    def sizes(self):
        if self.mode == "broken":
            return ()
        if self.mode.startswith("stretching"):
            return 1.0, ANGLE
        own = super().sizes()
        return (*own, self.strength, self.strength) if len(own) == 1 else own

    def switch(self, i, t, T, phi, nu, wb, x):
        if self.mode.startswith("stretching"):
            if i == 1:
                self.tally += 1
                return "broken", super().store(phi - x[0], x)
            return self.mode.replace("stretching ", "") + " flank", 0.0
        if len(self.guards(t, T, phi, nu, wb, x)) == 3 and i > 0:
            return ("stretching forward", "stretching backward")[i - 1], 0.0
        return super().switch(i, t, T, phi - x[0], nu, wb, x)

    def klass(self):
        return "broken" if self.mode == "broken" else "engaged"
