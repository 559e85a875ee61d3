"""Elastic joints, flanks with play, chains, stops: elements of the reference lines, written in the depth
``d`` of the flank that works.  A closed flank carries ``k d + c d'`` and parts when that falls to zero; a
parted one carries nothing and its spring relaxes, losing ``-k d d'``."""

from __future__ import annotations

from .hybrid import Element

ANGLE, PULL = 1e-2, 1e2
"""Sizes of guards: travel [rad or m], torque or force [N*m or N]."""

HAIR = 1e-6
"""Torque [N*m]."""


class Spring(Element):
    """Linear spring and damper without play; mode name as the coupling's."""

    def __init__(self, name, a, b, ra, rb, k, c) -> None:
        super().__init__(name, a, b, ra, rb)
        self.k, self.c, self.mode = k, c, "tight forward"

    def torque(self, t, phi, nu, wb, x):
        return self.k * phi + self.c * nu

    def loss(self, T, phi, nu, wb, x):
        return self.c * nu * nu

    def store(self, phi, x):
        return 0.5 * self.k * phi * phi


class Shaft(Spring):
    """The same, with the shaft's only mode."""

    def __init__(self, *args) -> None:
        super().__init__(*args)
        self.mode = "working"


class OneSided(Element):
    """One flank: modes (away, closed, parted) by their names; ``depth`` gives d and its rate."""

    names = ("slack", "taut", "eased")

    def __init__(self, name, a, b, ra, rb, k, c, closed: bool) -> None:
        super().__init__(name, a, b, ra, rb)
        self.k, self.c = k, c
        self.mode = self.names[1 if closed else 0]

    def depth(self, phi, nu):
        return phi, nu, 1.0

    def torque(self, t, phi, nu, wb, x):
        if self.mode != self.names[1]:
            return 0.0
        d, v, side = self.depth(phi, nu)
        return side * (self.k * d + self.c * v)

    def loss(self, T, phi, nu, wb, x):
        d, v, _ = self.depth(phi, nu)
        if self.mode == self.names[1]:
            return self.c * v * v
        return -self.k * d * v if self.mode == self.names[2] else 0.0

    def store(self, phi, x):
        d, _, _ = self.depth(phi, 0.0)
        return 0.0 if self.mode == self.names[0] else 0.5 * self.k * d * d

    def guards(self, t, T, phi, nu, wb, x):
        d, v, side = self.depth(phi, nu)
        if self.mode == self.names[0]:
            return (-d,)
        if self.mode == self.names[1]:
            return (side * T,)
        return d, -(self.k * d + self.c * v)

    def sizes(self):
        if self.mode == self.names[0]:
            return (ANGLE,)
        return (PULL,) if self.mode == self.names[1] else (ANGLE, PULL)

    def switch(self, i, t, T, phi, nu, wb, x):
        away, closed, parted = self.names
        if self.mode == away:
            return closed, 0.0
        if self.mode == closed:
            return (parted if self.depth(phi, nu)[0] > 0.0 else away), 0.0
        return (away if i == 0 else closed), 0.0


class HardStop(OneSided):
    """A stop at travel ``gap`` of the node it stands on, in forward running."""

    names = ("clear", "touching", "eased")
    gap = 0.0

    def depth(self, phi, nu):
        return phi - self.gap, nu, 1.0


class Flanks(Element):
    """Two flanks with half play ``half``; states of a flank as in OneSided."""

    def __init__(self, name, a, b, ra, rb, k, c, half, mode) -> None:
        super().__init__(name, a, b, ra, rb)
        self.k, self.c, self.half, self.mode = k, c, half, mode

    def side(self):
        return -1.0 if "backward" in self.mode else 1.0

    def depth(self, phi, nu):
        s = self.side()
        return s * phi - self.half, s * nu

    def torque(self, t, phi, nu, wb, x):
        if self.mode in ("forward flank", "backward flank"):
            d, v = self.depth(phi, nu)
            return self.side() * (self.k * d + self.c * v)
        return 0.0

    def loss(self, T, phi, nu, wb, x):
        d, v = self.depth(phi, nu)
        if self.mode.endswith("parted"):
            return -self.k * d * v
        return 0.0 if self.mode == "in the play" else self.c * v * v

    def store(self, phi, x):
        return 0.0 if self.mode == "in the play" else 0.5 * self.k * self.depth(phi, 0.0)[0] ** 2

    def guards(self, t, T, phi, nu, wb, x):
        if self.mode == "in the play":
            return self.half - phi, self.half + phi
        d, v = self.depth(phi, nu)
        if self.mode.endswith("parted"):
            return d, -(self.k * d + self.c * v)
        return (self.side() * T,)

    def sizes(self):
        if self.mode == "in the play":
            return ANGLE, ANGLE
        return (ANGLE, PULL) if self.mode.endswith("parted") else (PULL,)

    def switch(self, i, t, T, phi, nu, wb, x):
        if self.mode == "in the play":
            return ("forward flank", "backward flank")[i], 0.0
        flank = "forward flank" if self.side() > 0 else "backward flank"
        if self.mode.endswith("parted"):
            return ("in the play" if i == 0 else flank), 0.0
        return (flank + " parted" if self.depth(phi, nu)[0] > 0.0 else "in the play"), 0.0


class HousingFriction:
    """Gear loss as dry friction on the input: |T| (1/eta - 1) when it drives, |T| (1 - eta_b) when driven."""

    def give_efficiency(self, eta: float, eta_back: float | None = None) -> None:
        self.up = 1.0 / eta - 1.0
        self.back = 1.0 - (2.0 - 1.0 / eta if eta_back is None else eta_back)

    def dry(self, T):
        drives, driven = abs(T) * self.up, abs(T) * self.back
        return (driven, drives, driven, drives) if T > 0.0 else (drives, driven, drives, driven)


class TightGear(HousingFriction, Spring):
    """Gear without play; its mode tells the flank that carries, and is a name only: the law is one.

    The name changes ``HAIR`` late, so that a rattle that has died away to rounding noise stops switching.
    """

    def guards(self, t, T, phi, nu, wb, x):
        return ((T if self.mode == "tight forward" else -T) + HAIR,)

    def sizes(self):
        return (0.1,)

    def switch(self, i, t, T, phi, nu, wb, x):
        return ("tight backward" if self.mode == "tight forward" else "tight forward"), 0.0


class LashyGear(HousingFriction, Flanks):
    """Gear with play."""


class TwoStrands(Element):
    """Pretensioned loop: 2 k phi until the loose strand is slack at k phi = F0, then F0 + k phi."""

    def __init__(self, name, a, b, ra, rb, k, c, pretension) -> None:
        super().__init__(name, a, b, ra, rb)
        self.k, self.c, self.f0, self.mode = k, c, pretension, "both strands"

    def torque(self, t, phi, nu, wb, x):
        if self.mode == "both strands":
            return 2.0 * self.k * phi + self.c * nu
        side = 1.0 if self.mode == "driving strand" else -1.0
        return side * self.f0 + self.k * phi + self.c * nu

    def loss(self, T, phi, nu, wb, x):
        return self.c * nu * nu

    def store(self, phi, x):
        """Of both strands against the loop at rest: each is pulled to F0 +- k phi and not below zero."""
        pulls = [max(0.0, self.f0 + s * self.k * phi) for s in (1.0, -1.0)]
        return sum(p * p for p in pulls) / (2.0 * self.k) - self.f0**2 / self.k

    def guards(self, t, T, phi, nu, wb, x):
        pull = self.k * phi
        if self.mode == "both strands":
            return self.f0 - pull, self.f0 + pull
        return ((pull if self.mode == "driving strand" else -pull) - self.f0,)

    def sizes(self):
        return (PULL, PULL) if self.mode == "both strands" else (PULL,)

    def switch(self, i, t, T, phi, nu, wb, x):
        if self.mode == "both strands":
            return ("driving strand", "return strand")[i], 0.0
        return "both strands", 0.0
