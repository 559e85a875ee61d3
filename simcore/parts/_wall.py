r"""Conductive wall that stands still between two magnet rings: it brakes each ring and heats.

Each ring's field :math:`B_{a,b}\cos p(\theta-\theta_{a,b})` drives :math:`j = \sigma r(\omega_a B_a\cos
p(\theta-\theta_a) + \omega_b B_b\cos p(\theta-\theta_b))` through the wall; the pull of these currents on
either ring, summed over the wall, and their heat are

.. math:: M_a = -s\left(c_a\omega_a + \sqrt{c_a c_b}\,\omega_b\cos p\varphi\right), \quad
          P = s\left(c_a\omega_a^2 + 2\sqrt{c_a c_b}\,\omega_a\omega_b\cos p\varphi + c_b\omega_b^2\right)
          = -(M_a\omega_a + M_b\omega_b) \ge 0

.. math:: c_{a,b} = \pi\sigma t l r^3 B_{a,b}^2 K, \quad K = 1 - \frac{1-e^{-pl/r}}{pl/r}

with thickness t, radial length l and mean radius r; K counts the way back of the currents beside the
magnets.  The currents' own field weakens it: :math:`s = 1/(1+(\omega/\omega_0)^2)`, :math:`\omega_0 =
2\tanh(pd/r)/(\mu_0\sigma t r)`, iron at the distance d.  In step, with one ring at rest and, for the mean
heat, in slip this is exact; the drop of the pull-out torque that goes with it is left out.  Below a fifth of
:math:`\omega_0` the drag is linear within 4 %.

**Shielding**, if asked for: the wall's currents are a short-circuited winding in two phases, :math:`L\dot I + RI =
-\dot\lambda` with the flux :math:`\lambda = \lambda_a e^{jp\theta_a} + \lambda_b e^{jp\theta_b}` of both rings, which
they pull by :math:`M_{a,b} = \mathrm{Re}(\bar I\,jp\lambda_{a,b}e^{jp\theta_{a,b}})`.  To one wave of field a thin wall
is just that, with :math:`L/R = \tau = 1/(p\omega_0)`.  As torque :math:`u = d + jq` in the frame of ring a, with
:math:`c = (\sqrt{c_a} + \sqrt{c_b})^2` and each ring's share :math:`h_{a,b} = \sqrt{c_{a,b}/c}`:

.. math:: \tau(\dot u + jp\omega_a u) + u = -jc\left(h_a\omega_a + h_b\omega_b e^{-jp\varphi}\right), \quad
          M_a = h_a q, \quad M_b = h_b(q\cos p\varphi + d\sin p\varphi)

Heat :math:`|u|^2/c`, energy :math:`\tau|u|^2/2c`: the balance holds at every instant.  In step with :math:`x =
\omega/\omega_0` the drag is the one above, and of the torque between the rings

.. math:: T_m\left(1 - \eta\,\frac{x^2}{1+x^2}\right)\sin p\varphi, \quad \eta = h_ah_b\,c\,\omega_0/T_m

is left; at :math:`\eta = 1` a ring at rest sees the other's field through a first-order low pass at :math:`p\omega_0`.
By the fields' stress between the rings :math:`\eta = K` (wall midway, no iron), and more than 1 is impossible.

Sources: the sheet's currents summed over a wave, and as a winding (derived here); way back, Russell and
Norsworthy, Proc. IEE 105A (1958); speed of largest drag, Reitz, J. Applied Physics 41 (1970) (both cited from memory).
"""

from __future__ import annotations

from math import cos, exp, inf, isnan, nan, pi, sin, sqrt, tanh
from typing import Any

from simcore.contract import Param
from simcore.parts._powers import cube, square

MU0 = 4e-7 * pi
GEOMETRY = "wall_thickness, wall_conductivity, wall_field, outer_radius and inner_radius"

WALL = (
    Param("wall_drag", "ratio", "drag of the wall on both halves in step, without load, at wall_speed, over the "
          "setting; left out: from the wall's geometry, else no wall", low=0, high=0.9, usual=(0.02, 0.15),
          source="1 mm of stainless steel at 1500 rpm; common practice, from memory"),
    Param("wall_speed", "speed", "speed at which wall_drag is stated", default="1500 rpm", above="0 rpm"),
    Param("wall_peak_speed", "speed", "speed at which the wall drags most; left out: from the wall's geometry, "
          "else the drag grows with speed without end", above="0 rad/s"),
    Param("wall_side", "ratio", "share of the field in the wall that is the driving half's", default=0.5,
          low=0, high=1, source="wall midway"),
    Param("wall_thickness", "length", "thickness of the wall", above="0 mm", usual=("0.3 mm", "3 mm")),
    Param("wall_conductivity", "conductivity", "electrical conductivity of the wall", above="0 MS/m",
          usual=("0.8 MS/m", "58 MS/m"), source="nickel alloy to copper, from memory"),
    Param("wall_field", "flux_density", "peak of the whole field in the wall, halves in line", above="0 T",
          high="3 T", usual=("0.2 T", "0.9 T")),
    Param("wall_shields", "choice", "whether the wall's currents weaken the torque between the halves at high speed",
          default="no", choices=("no", "yes"), source="little below a fifth of the speed of the largest drag"),
)  # fmt: skip


def _mean_radius(r: Any) -> float:
    return float(0.5 * (r.outer_radius + r.inner_radius))


def wall_by_geometry(r: Any) -> float:
    """Drag over speed [N*m*s/rad] on both halves in step without load; NaN if the geometry is incomplete."""
    radius = _mean_radius(r)
    length = r.outer_radius - r.inner_radius
    kl = r.pole_pairs * length / radius
    back = 1.0 - (1.0 - exp(-kl)) / kl
    return float(pi * r.wall_conductivity * r.wall_thickness * length * cube(radius) * square(r.wall_field) * back)


def peak_speed(r: Any) -> float:
    """Speed of the largest drag [rad/s]; inf if neither stated nor to be had from the geometry."""
    if not isnan(r.wall_peak_speed):
        return float(r.wall_peak_speed)
    radius = _mean_radius(r)
    iron = 0.5 * r.gap + r.magnet_thickness
    near = 1.0 if isnan(iron) else tanh(r.pole_pairs * iron / radius)
    w0 = 2.0 * near / (MU0 * r.wall_conductivity * r.wall_thickness * radius)
    return inf if isnan(w0) else float(w0)


def wall_stated(r: Any, peak: float) -> float:
    """Drag over speed [N*m*s/rad] at low speed from the stated share of ``peak``; NaN if not stated."""
    if isnan(r.wall_drag):
        return nan
    x = r.wall_speed / peak_speed(r)
    return float(r.wall_drag * peak / r.wall_speed * (1.0 + x * x))


def wall_row(r: Any, peak: float) -> tuple[float, float, float]:
    """Roots of both halves' drag over speed, and one over the square of the speed of the largest drag."""
    whole = wall_stated(r, peak)
    if isnan(whole):
        whole = wall_by_geometry(r)
    if isnan(whole):
        return 0.0, 0.0, 0.0
    root = sqrt(whole)
    return r.wall_side * root, (1.0 - r.wall_side) * root, 1.0 / square(peak_speed(r))


def most_shielded(wall_a: float, wall_b: float, speed: float, peak: float) -> float:
    """Share of the pull-out torque that the wall's currents take at speeds without end."""
    return wall_a * wall_b * speed / peak


def wall_lag(r: Any) -> float:
    """Time [s] over which the wall's currents die away; 0: they follow at once and shield nothing."""
    return 1.0 / (r.pole_pairs * peak_speed(r)) if r.wall_shields > 0.5 else 0.0


def shield_refuse(r: Any, peak: float) -> list[str]:
    """Sentences on a wall that cannot shield, or would by more than there is."""
    if r.wall_shields < 0.5:
        return []
    wall_a, wall_b, _ = wall_row(r, peak)
    if wall_a * wall_b == 0.0 or peak_speed(r) == inf:
        return ['wall_shields = "yes" needs a wall between the halves and the speed at which it drags most: '
                f"wall_drag and wall_peak_speed, or {GEOMETRY}"]  # fmt: skip
    share = most_shielded(wall_a, wall_b, peak_speed(r), peak)
    if share > 1.0:
        return [f"the wall's currents would take {share:.4g} times the pull-out torque at high speed, but they can "
                "take it once at most: lower wall_drag or wall_peak_speed"]  # fmt: skip
    return []


def wall_refuse(r: Any, peak: float) -> list[str]:
    """Sentences on a wall half described, or described in two ways that disagree."""
    given = [not isnan(v) for v in (r.wall_thickness, r.wall_conductivity, r.wall_field)]
    geometry = wall_by_geometry(r)
    stated = wall_stated(r, peak)
    faults = shield_refuse(r, peak)
    if any(given) and isnan(stated) and isnan(geometry):
        return [f"a wall by its geometry needs {GEOMETRY} together"]
    if isnan(stated) or isnan(geometry) or abs(stated - geometry) <= 0.02 * geometry:
        return faults
    share = geometry / stated * r.wall_drag
    return [f"wall_drag {r.wall_drag:.4g} contradicts the wall's geometry, which gives {share:.4g}: leave one of "
            "them out"]  # fmt: skip


def _weakened(ka: float, kb: float, y: float, wa: float, wb: float) -> float:
    """Share that the currents' own field leaves; ``y``: one over the square of the speed of the largest drag."""
    a = ka * ka * wa * wa
    b = kb * kb * wb * wb
    if y == 0.0 or a + b <= 0.0:
        return 1.0
    return (a / (1.0 + y * wa * wa) + b / (1.0 + y * wb * wb)) / (a + b)


def wall_drag(ka: float, kb: float, y: float, wa: float, wb: float, along: float) -> tuple[float, float]:
    """Torque of the wall on hub a and on hub b [N*m]; ``along`` is the cosine of the electrical angle."""
    s = _weakened(ka, kb, y, wa, wb)
    return -s * ka * (ka * wa + kb * wb * along), -s * kb * (kb * wb + ka * wa * along)


def wall_heat(ka: float, kb: float, y: float, wa: float, wb: float, angle: float, along: float) -> float:
    """Power lost in the wall [W]; ``angle`` is the electrical angle, ``along`` its cosine."""
    across = kb * wb * sin(angle)
    both = ka * wa + kb * wb * along
    return _weakened(ka, kb, y, wa, wb) * (both * both + across * across)


def shield_pull(ha: float, hb: float, d: float, q: float, angle: float) -> tuple[float, float]:
    """Pull [N*m] of the wall's currents ``d``, ``q`` on hub a and on hub b; ``ha``, ``hb``: both rings' shares."""
    return ha * q, hb * (q * cos(angle) + d * sin(angle))


def shield_slopes(
    c: float, ha: float, hb: float, lag: float, pairs: float, wa: float, wb: float, angle: float, d: float, q: float
) -> tuple[float, float]:
    """Change of the wall's currents [N*m/s]."""
    turns = pairs * wa
    across = -(d + c * hb * wb * sin(angle)) / lag + turns * q
    along = -(q + c * (ha * wa + hb * wb * cos(angle))) / lag - turns * d
    return across, along
