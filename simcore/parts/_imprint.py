r"""Poles printed into the ring of a hysteresis clutch: the ripple they leave until slip has wiped them out.

A ring at rest against its poles is magnetised in their pattern.  What the current loses while it rests stays in the
ring as a pattern of its own, whose torque goes with the twist :math:`\varphi` past the place :math:`\varphi_0` at which
the current began to fall:

.. math:: T_r = s\,A\sin p(\varphi - \varphi_0), \qquad E_r = \frac{A}{p}\left(1 - s\cos p(\varphi - \varphi_0)\right)

with :math:`p` pole pairs; :math:`s = 1` while the field has the sense that the pattern was printed in, :math:`-1` once
it is reversed: like poles then face each other.

- Printing, at rest: :math:`\dot A = -\kappa\,\dot T_c` from the fall on.  A current that comes back at rest takes the
  pattern back the same way, until nothing of it is left (return point).  A fall at rest later on prints anew, and what
  was there is overwritten, if the present field could leave the stronger pattern; else the old one stays.
- Wiping, in slip: :math:`\dot A = -A\,\frac{|i|}{i_r}\,\frac{p|\nu|}{\lambda}`: the present field turns the pattern
  over within a few poles, no field turns nothing over.  So a current brought down in slip leaves no ripple, and after
  one cut at rest the clutch cogs until it slips with current.

Energy: wiping and overwriting turn :math:`E_r \ge 0` into heat; what printing and reversal change of it is work of the
supply.  What a reversed field overwrites at rest already is left out: the ripple is then too large, not too small.

Source: printing by a current changed at rest, its size, and wiping it out by bringing the current down in slip: common
practice, from memory; the law is our own, the simplest with these traits and a closed energy.
"""

from __future__ import annotations

from math import cos, sin
from typing import Any

from simcore.contract import Param, Q, State
from simcore.parts import _coil as coil
from simcore.parts._coil import (
    BEND,
    FULL,
    RATED,
    REST,
    coil_torque_slope,
    curve,
    lag_slope,
    set_current,
    set_slope,
)

IMPRINT = (
    Param("ripple", "ratio", "amplitude of the ripple (cogging) that a current cut at rest leaves, over the torque "
          "that the cut takes", default="4 %", low=0, high=0.5, usual=("2 %", "8 %"),
          source="common practice, from memory"),
    Param("wiped_over", "angle", "electrical angle of slip at rated current over which the ripple falls to 37 %",
          default="360 deg", above="0 deg", usual=("180 deg", "720 deg"),
          source="one to four poles; common practice, from memory"),
)  # fmt: skip
COLUMNS = ("print", "pairs", "over")
PRINT, PAIRS, OVER = (len(coil.COLUMNS) + 6 + i for i in range(3))
STATE = State("ripple", "N*m", 0.1, "amplitude of the ripple by the poles printed in the ring")
RISE, LAG, SUPPLIED, RIPPLE = range(4)
MEMORY = ("current reversed", "field against print", "prints", "place of print")
REVERSED, AGAINST, PRINTS, PLACE = range(19, 23)
HOLDING, SLIP_F = range(2)
FALL = 1e-3
"""Share of rated current by which it must fall in a second to print: less is the coil's own settling."""


def _way(q: Q) -> float:
    """Sign of the current."""
    return -1.0 if q.mem[REVERSED] > 0.5 else 1.0


def _amps(q: Q) -> float:
    """Size of the current [A]."""
    return _way(q) * (set_current(q) + q.x[LAG])


def share(q: Q) -> float:
    """Torque at the present current's size over that at rated current."""
    return curve(_amps(q), q.p[RATED], q.p[FULL], q.p[REST], q.p[BEND]) / q.p[FULL]


def share_slope(q: Q) -> float:
    """Its change in time [1/s]."""
    return _way(q) * coil_torque_slope(q, q.x[LAG], q.x[RISE]) / q.p[FULL]


def _along(q: Q) -> float:
    """1 while the field has the sense that the pattern was printed in, else -1."""
    return -1.0 if q.mem[AGAINST] > 0.5 else 1.0


def _past(q: Q) -> float:
    """Electrical angle [rad] past the place of the pattern."""
    return q.p[PAIRS] * (q.phi - q.mem[PLACE])


def ripple_torque(q: Q) -> float:
    """Torque [N*m] of the pattern."""
    return q.x[RIPPLE] * _along(q) * sin(_past(q))


def _energy(q: Q, size: float) -> float:
    return size / q.p[PAIRS] * (1.0 - _along(q) * cos(_past(q)))


def ripple_energy(q: Q) -> float:
    """Energy [J] of the pattern."""
    return _energy(q, q.x[RIPPLE])


def _wiped(q: Q) -> float:
    """Fall of the amplitude in slip [N*m/s]."""
    if q.m == HOLDING:
        return 0.0
    side = 1.0 if q.m == SLIP_F else -1.0
    return q.x[RIPPLE] * _amps(q) / q.p[RATED] * side * q.nu / q.p[OVER]


def wiping_heat(q: Q) -> float:
    """Energy of the pattern that slip turns into heat [W]."""
    return _energy(q, _wiped(q))


def print_slope(q: Q, change: float) -> tuple[float, float]:
    """Change of the amplitude [N*m/s], and of its energy by the supply [W]; ``change``: see ``share_slope``."""
    if q.mem[PRINTS] < 0.5:
        return (0.0 if q.x[RIPPLE] == 0.0 else -_wiped(q)), 0.0
    grows = -q.p[PRINT] * q.p[FULL] * change
    return grows, _energy(q, grows)


def _turns_guard(q: Q) -> float:
    """> 0 until the current passes zero; only one that is asked to the other side does."""
    return _amps(q) / q.p[RATED] if _way(q) * set_current(q) < 0.0 else 1.0


def _print_guard(q: Q) -> float:
    """> 0 until the current begins to fall at rest, or has taken the pattern back."""
    if q.mem[PRINTS] > 0.5:
        return q.x[RIPPLE] / q.p[FULL]
    if q.m != HOLDING or q.p[PRINT] * q.p[FULL] * share(q) <= q.x[RIPPLE]:
        return 1.0
    change = lag_slope(q, q.x[LAG], q.x[RISE]) + set_slope(q)
    return FALL + _way(q) * change / q.p[RATED]


def current_guard(q: Q) -> float:
    """> 0 until the current turns or the pattern begins or ends."""
    return min(_turns_guard(q), _print_guard(q))


def current_switch(q: Q, X: Any, M: Any) -> float:
    """What ``current_guard`` has found; gives the heat set free [J]."""
    if _turns_guard(q) <= _print_guard(q):  # like poles now face each other, which is work of the supply
        X[SUPPLIED] = q.x[SUPPLIED] + 2.0 * q.x[RIPPLE] / q.p[PAIRS] * _along(q) * cos(_past(q))
        M[REVERSED] = 1.0 - q.mem[REVERSED]
        M[AGAINST] = 1.0 - q.mem[AGAINST]
        M[PRINTS] = 0.0
        return 0.0
    begins = q.mem[PRINTS] < 0.5
    heat = ripple_energy(q) if begins else 0.0
    X[RIPPLE] = 0.0
    M[PRINTS] = 1.0 if begins else 0.0
    if begins:
        M[PLACE] = q.phi
        M[AGAINST] = 0.0
    return heat
