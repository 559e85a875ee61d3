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
- Overwriting, at rest: what of the field stands against the pattern is :math:`h = |i|\max(0, -s\cos p(\varphi -
  \varphi_0))`.  Where it is larger than ever since the pattern was printed at the torque :math:`T_0`,
  :math:`\dot A = -\frac{A}{T_0 - T_c(h)}\,\dot T_c(h)`, to nothing at :math:`T_c(h) = T_0`; what is overwritten does
  not come back.  Unless slip has wiped some off, that is :math:`A = \kappa(T_0 - T_c(h))`.
- Wiping, in slip: :math:`\dot A = -A\,\frac{|i|}{i_r}\,\frac{p|\nu|}{\lambda}`: the present field turns the pattern
  over within a few poles, no field turns nothing over.  So a current brought down in slip leaves no ripple, and after
  one cut at rest the clutch cogs until it slips with current.

Energy: wiping and overwriting turn :math:`E_r \ge 0` into heat; what printing and reversal change of it is work of the
supply.

The ends of overwriting are those of any body with return-point memory and like loops for either sense (Preisach,
Madelung): driven to :math:`i_0` and then to :math:`-i_0` it is the mirror image of what :math:`i_0` made of it, so the
fresh pattern of :math:`-i_0` and nothing of the old one; deeper reversals wipe out the memory of lesser ones; a field
at an angle counts with its share along the pattern (Mayergoyz's vector model).  Between the ends the law follows the
clutch's own torque curve, as printing does: for small fields Rayleigh's loops would leave :math:`(1 - h/i_0)^2` of the
pattern, this law :math:`1 - h/i_0` of it, up to a quarter of it more.

Source: printing by a current changed at rest, its size, and wiping it out by bringing the current down in slip: common
practice, from memory; return points: Mayergoyz, Mathematical Models of Hysteresis (cited from memory); the law is our
own, the simplest with these traits and a closed energy.
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
    slope,
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
MEMORY = (
    "current reversed",
    "field against print",
    "prints",
    "place of print",
    "share printed from",
    "share overwritten up to",
    "pattern by share",
)
REVERSED, AGAINST, PRINTS, PLACE, FROM, UP_TO, BY_SHARE = range(19, 26)
IDLE, PRINTING, OVERWRITING = 0.0, 1.0, 2.0
"""What the current does to the pattern at rest (cell PRINTS)."""
HAIR = 1e-9
"""Share of full torque by which the field against the pattern must outdo what it has overwritten."""
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


def _opposed(q: Q) -> float:
    """Size [A] of the current's field that stands against the pattern."""
    return max(0.0, -_amps(q) * _along(q) * cos(_past(q)))


def _opposed_slope(q: Q) -> float:
    """Its change in time [A/s] where it is above 0."""
    turned = _past(q)
    grows = _way(q) * (lag_slope(q, q.x[LAG], q.x[RISE]) + set_slope(q))
    return _along(q) * (_amps(q) * sin(turned) * q.p[PAIRS] * q.nu - grows * cos(turned))


def opposed_share(q: Q) -> float:
    """Torque at that size over the one at rated current."""
    return curve(_opposed(q), q.p[RATED], q.p[FULL], q.p[REST], q.p[BEND]) / q.p[FULL]


def _wiped(q: Q) -> float:
    """Fall of the amplitude in slip, or by what a field against it overwrites at rest [N*m/s]."""
    if q.m == HOLDING:
        if q.mem[PRINTS] != OVERWRITING:
            return 0.0
        gain = slope(_opposed(q), q.p[RATED], q.p[FULL], q.p[REST], q.p[BEND]) / q.p[FULL]
        return q.mem[BY_SHARE] * gain * _opposed_slope(q)
    side = 1.0 if q.m == SLIP_F else -1.0
    return q.x[RIPPLE] * _amps(q) / q.p[RATED] * side * q.nu / q.p[OVER]


def wiping_heat(q: Q) -> float:
    """Energy of the pattern that slip or a field against it turns into heat [W]."""
    return _energy(q, _wiped(q))


def print_slope(q: Q, change: float) -> tuple[float, float]:
    """Change of the amplitude [N*m/s], and of its energy by the supply [W]; ``change``: see ``share_slope``."""
    if q.mem[PRINTS] != PRINTING:
        return (0.0 if q.x[RIPPLE] == 0.0 else -_wiped(q)), 0.0
    grows = -q.p[PRINT] * q.p[FULL] * change
    return grows, _energy(q, grows)


def _turns_guard(q: Q) -> float:
    """> 0 until the current passes zero; only one that is asked to the other side does."""
    return _amps(q) / q.p[RATED] if _way(q) * set_current(q) < 0.0 else 1.0


def _print_guard(q: Q) -> float:
    """> 0 until the current begins to fall at rest, or has taken the pattern back."""
    if q.mem[PRINTS] == PRINTING:
        return q.x[RIPPLE] / q.p[FULL]
    if q.m != HOLDING or q.p[PRINT] * q.p[FULL] * share(q) <= q.x[RIPPLE]:
        return 1.0
    change = lag_slope(q, q.x[LAG], q.x[RISE]) + set_slope(q)
    return FALL + _way(q) * change / q.p[RATED]


def _over_guard(q: Q) -> float:
    """> 0 until a field against the pattern outdoes those before it, then until it ebbs or nothing is left."""
    if q.m != HOLDING or q.x[RIPPLE] == 0.0 or q.mem[PRINTS] == PRINTING:
        return 1.0
    if q.mem[PRINTS] == OVERWRITING:
        return min(_opposed_slope(q) / q.p[RATED], q.x[RIPPLE] / q.p[FULL])
    return q.mem[UP_TO] + HAIR - opposed_share(q)


def current_guard(q: Q) -> float:
    """> 0 until the current turns or the pattern begins, ends or gives way."""
    return min(_turns_guard(q), _print_guard(q), _over_guard(q))


def current_switch(q: Q, X: Any, M: Any) -> float:
    """What ``current_guard`` has found; gives the heat set free [J]."""
    turns, prints, over = _turns_guard(q), _print_guard(q), _over_guard(q)
    if turns <= prints and turns <= over:  # like poles now face each other, which is work of the supply
        leave_pattern(q, M)
        X[SUPPLIED] = q.x[SUPPLIED] + 2.0 * q.x[RIPPLE] / q.p[PAIRS] * _along(q) * cos(_past(q))
        M[REVERSED] = 1.0 - q.mem[REVERSED]
        M[AGAINST] = 1.0 - q.mem[AGAINST]
        return 0.0
    if over < prints:
        return _overwrite(q, X, M)
    begins = q.mem[PRINTS] != PRINTING
    heat = ripple_energy(q) if begins else 0.0
    X[RIPPLE] = 0.0
    M[PRINTS] = PRINTING if begins else IDLE
    if begins:
        M[PLACE] = q.phi
        M[AGAINST] = 0.0
        M[FROM] = share(q)
        M[UP_TO] = q.p[REST]
    return heat


def _overwrite(q: Q, X: Any, M: Any) -> float:
    """The field against the pattern begins to overwrite it, or stops; gives the heat set free at once [J]."""
    if q.mem[PRINTS] == OVERWRITING:
        leave_pattern(q, M)
        if q.x[RIPPLE] > 0.0 and opposed_share(q) < q.mem[FROM]:
            return 0.0
        heat = ripple_energy(q)
        X[RIPPLE] = 0.0
        return heat
    met = opposed_share(q)
    left = max(0.0, q.mem[FROM] - met)
    size = 0.0
    if left > 0.0:
        size = q.x[RIPPLE] * left / (q.mem[FROM] - q.mem[UP_TO])
        M[BY_SHARE] = size / left
    heat = _energy(q, q.x[RIPPLE] - size)
    if size > 0.0 and _opposed_slope(q) > 0.0:
        M[PRINTS] = OVERWRITING
    M[UP_TO] = met
    X[RIPPLE] = size
    return heat


def leave_pattern(q: Q, M: Any) -> None:
    """The pattern stays as it is; what has been overwritten is remembered."""
    if q.mem[PRINTS] == OVERWRITING:
        M[UP_TO] = opposed_share(q)
    M[PRINTS] = IDLE
