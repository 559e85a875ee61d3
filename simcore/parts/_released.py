"""A coupling that has let go and stays out: a small dry drag between its hubs, nothing else.

The drag sits in series with the seat's own spring, from an anchor ``a``: turning it is ``+-D``, at rest
``k(phi - a) + c*nu`` up to ``D``.  Modes come in one order: turning forward, turning backward, held; the
functions count them 0, 1, 2.  Source: Coulomb friction with a spring in series (Masing), textbook.
"""

from __future__ import annotations

from math import nan

from simcore.contract import OPEN, Left, Mode
from simcore.parts._detent_flank import whole_turn

TURNS_F, TURNS_B, HELD = range(3)

MODES = (
    Mode("out, turning forward", OPEN, False),
    Mode("out, turning backward", OPEN, False),
    Mode("out, held by its drag", OPEN, False),
)


def out_mode(nu: float) -> int:
    """Mode it falls into when it lets go at the relative speed ``nu`` [rad/s]."""
    if nu > 0.0:
        return TURNS_F
    return TURNS_B if nu < 0.0 else HELD


def out_torque(m: int, z: float, nu: float, k: float, c: float, drag: float) -> float:
    """Torque [N*m] at the twist ``z`` from the anchor."""
    if m == HELD:
        return k * z + c * nu
    return drag if m == TURNS_F else -drag


def out_guards(m: int, nu: float, drag: float, T: float) -> tuple[float, float]:
    """Two values, > 0 while the mode holds."""
    if m == HELD:
        return drag - T, drag + T
    return (nu if m == TURNS_F else -nu), 1.0


def out_switch(m: int, which: int, z: float, k: float, drag: float) -> tuple[int, float]:
    """Next mode and heat [J]; entering HELD the caller puts the anchor at the present twist.

    Without drag nothing is held: the sense of turning changes at once.
    """
    if m == HELD:
        return (TURNS_F if which == 0 else TURNS_B), 0.5 * k * z * z
    if drag <= 0.0:
        return (TURNS_B if m == TURNS_F else TURNS_F), 0.0
    return HELD, 0.0


def out_loss(m: int, nu: float, c: float, T: float) -> float:
    """Power lost [W]."""
    return c * nu * nu if m == HELD else T * nu


def out_store(m: int, z: float, k: float) -> float:
    """Energy stored [J]."""
    return 0.5 * k * z * z if m == HELD else 0.0


LEFT = (
    Left("phase lost", "angle", "angle by which the two sides stand apart from how they began once put back, whole "
         "turns off; with notches that of the notch nearest to where they stood"),
)  # fmt: skip


def phase_lost(is_out: bool, zero: float, every: float) -> float:
    """Phase lost [rad] of a coupling put back at the twist ``zero``, places ``every`` so many rad (0: anywhere).

    NaN while it is out, and if it never was.
    """
    if is_out or zero == 0.0:
        return nan
    return whole_turn(round(zero / every) * every if every > 0.0 else zero)
