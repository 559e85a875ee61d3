r"""Contact through flanks with play: modes, law, heat.  Shared by gear, coupling, pins and stops.

Deflection ``d`` of a flank closes when it reaches 0; closed it carries ``F = k*d + c*d'`` and parts when
F falls to 0 (it never pulls).  Parted it is still compressed but carries nothing: the surfaces follow
at no force and their spring energy relaxes, ``loss = -k*d*d'``, until d = 0.  So no energy is booked at
any switch and heat only grows.  Source: Kelvin-Voigt contact without adhesion, see Flores and
Lankarani, Contact Force Models for Multibody Dynamics, Springer 2016 (cited from memory).

A joint with play that is left alone rattles about no torque for ever: it keeps swinging by what the step control lets
pass, some 1e-8 rad at the default tolerance.  So its flanks part, and a gear without play changes flank, only at

.. math:: \pm T + \frac{k\varphi_0}{1 + (\nu/\nu_0)^2} = 0, \quad
          \varphi_0 = 0.4\,\mu\mathrm{rad}, \quad \nu_0 = 0.4\,\mathrm{mrad/s}

a ten-thousandth of the twist that is common at rated torque, and its speed at 1000 rad/s.  A swing of any size that
matters crosses where it would without (at rated torque the shift is some 1e-12 of it, at a thousandth of rated torque
1e-6 of that); one below a ten-thousandth is stepped over.  What a flank has been stretched by then is booked as heat.
"""

from __future__ import annotations

from math import copysign

from simcore.contract import ENGAGED, Mode

CALM_TWIST = 4e-7
"""Twist [rad] below which a change of the torque's sign need not be located."""
CALM_SPEED = 4e-4
"""Twist speed [rad/s] of so small a swing."""
OPEN_PLAY = 0
FORWARD = 1
BACKWARD = 2
PARTED_F = 3
PARTED_B = 4
TIGHT_F = 5
TIGHT_B = 6

MODES = (
    Mode("in the play", ENGAGED, False),
    Mode("forward flank", ENGAGED),
    Mode("backward flank", ENGAGED),
    Mode("forward flank parted", ENGAGED, False),
    Mode("backward flank parted", ENGAGED, False),
    Mode("tight forward", ENGAGED),
    Mode("tight backward", ENGAGED),
)


def start_flank(half: float, sense: float) -> int:
    """Mode a joint with half play ``half`` begins in when it runs with ``sense`` (a signed zero: at rest)."""
    if half <= 0.0:
        return TIGHT_B if copysign(1.0, sense) < 0.0 else TIGHT_F
    if sense > 0.0:
        return FORWARD
    if sense < 0.0:
        return BACKWARD
    return OPEN_PLAY


def flank_torque(m: int, phi: float, nu: float, k: float, c: float, half: float) -> float:
    """Torque of the joint [N*m]."""
    if m >= TIGHT_F:
        return k * phi + c * nu
    if m == FORWARD:
        return k * (phi - half) + c * nu
    if m == BACKWARD:
        return k * (phi + half) + c * nu
    return 0.0


def flank_guards(m: int, phi: float, nu: float, k: float, c: float, half: float, T: float) -> tuple[float, float]:
    """Two values, > 0 while the mode holds."""
    if m == TIGHT_F or m == FORWARD:
        return T, 1.0
    if m == TIGHT_B or m == BACKWARD:
        return -T, 1.0
    if m == PARTED_F:
        d = phi - half
        return d, -(k * d + c * nu)
    if m == PARTED_B:
        d = -phi - half
        return d, c * nu - k * d
    return half - phi, half + phi


def calm(k: float, nu: float) -> float:
    """How far past no torque [N*m] a flank may stay."""
    swing = nu / CALM_SPEED
    return k * CALM_TWIST / (1.0 + swing * swing)


def play_guards(m: int, phi: float, nu: float, k: float, c: float, half: float, T: float) -> tuple[float, float]:
    """As ``flank_guards`` for a joint with play in a line of shafts, which may rattle."""
    if m == FORWARD:
        return T + calm(k, nu), 1.0
    if m == BACKWARD:
        return calm(k, nu) - T, 1.0
    return flank_guards(m, phi, nu, k, c, half, T)


def play_switch(m: int, which: int, phi: float, k: float, half: float) -> tuple[int, float]:
    """Next mode, and the heat [J] of a flank that parts a little stretched."""
    new = flank_switch(m, which, phi, half)
    if new != OPEN_PLAY:
        return new, 0.0
    return new, flank_store(m, phi, k, half)


def flank_switch(m: int, which: int, phi: float, half: float) -> int:
    """Next mode."""
    if m == TIGHT_F:
        return TIGHT_B
    if m == TIGHT_B:
        return TIGHT_F
    if m == FORWARD:
        return PARTED_F if phi - half > 0.0 else OPEN_PLAY
    if m == BACKWARD:
        return PARTED_B if -phi - half > 0.0 else OPEN_PLAY
    if m == PARTED_F:
        return OPEN_PLAY if which == 0 else FORWARD
    if m == PARTED_B:
        return OPEN_PLAY if which == 0 else BACKWARD
    return FORWARD if which == 0 else BACKWARD


def flank_loss(m: int, phi: float, nu: float, k: float, c: float, half: float) -> float:
    """Power lost [W]."""
    if m == PARTED_F:
        return -k * (phi - half) * nu
    if m == PARTED_B:
        return -k * (phi + half) * nu
    if m == OPEN_PLAY:
        return 0.0
    return c * nu * nu


def flank_store(m: int, phi: float, k: float, half: float) -> float:
    """Energy stored [J]."""
    d = 0.0
    if m >= TIGHT_F:
        d = phi
    elif m == FORWARD or m == PARTED_F:
        d = phi - half
    elif m == BACKWARD or m == PARTED_B:
        d = phi + half
    return 0.5 * k * d * d
