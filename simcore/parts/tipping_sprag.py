r"""Tipping sprag: sprags wedge between two races, progressively, and tip over at their end of travel.

Wedged, either way: :math:`T = S(|\varphi|/\varphi_s)^n\,\mathrm{sgn}\,\varphi + c\nu`.  Exponent 1.5 for point
contact (crowned sprags, Hertz), 10/9 for line contact.  At the twist :math:`\varphi_s` the cams end, the sprags
tip over, the wind-up is lost as heat and only the residual drag is left.

By geometry: :math:`z` sprags, races :math:`R_i` and :math:`R_o`, strut angle :math:`\varepsilon` between the
inner radius and the line through both contacts, constant on a log-spiral cam.  A sprag is a two-force body:
the force :math:`F` runs along that line, at the arm :math:`d = R_i\sin\varepsilon` from the centre, hence
:math:`T = zFd`.  Its two contacts give :math:`\delta = d\varphi` along the line (rigid races, no slip), with
the line contact law of Palmgren for each:

.. math:: \frac{\delta}{2} = 3.81\left(\frac{2(1-\nu^2)}{\pi E}\right)^{0.9}\frac{F^{0.9}}{L^{0.8}}

Rolling without slip turns the sprag by :math:`\psi = R_i\varphi\cos\varepsilon/\ell`, strut length
:math:`\ell = \sqrt{R_o^2-d^2}-\sqrt{R_i^2-d^2}`; it tips when :math:`\psi` reaches the cam's angle.  It wedges
only while :math:`\tan\varepsilon \le \mu` at the inner race, where the angle is largest; beyond that it slips
at next to no torque, whatever the load, so it is refused.

A reset at a slip speed of at most 10 rpm sets tipped sprags upright, unwound where the hubs stand.

Sources: Hertz contact of cylinders, Johnson, Contact Mechanics; line contact, Palmgren, quoted in Harris,
Rolling Bearing Analysis; strut and friction angle, textbook of overrunning clutches (all cited from memory).
"""

from __future__ import annotations

from math import atan, cos, isnan, nan, pi, sin, sqrt, tan
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q, State
from simcore.parts import _released as out
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._given import either, narrower
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance
from simcore.parts._released import out_guards, out_loss, out_mode, out_store, out_switch, out_torque, phase_lost
from simcore.parts._reset import BY_HAND, edge, let_go_under, reset_guard, slow_enough

__all__ = ["KIND", "inertias"]

S, TIP, EXPONENT, K, C, DRAG, PRESSURE, HALF_WIDTH = range(8)
WEDGED, OUT = range(2)
RELEASES, ZERO, TAKEN = range(3)
RESET = 2
POISSON = 0.3
"""Of steel."""
LINE, POINT = 10.0 / 9.0, 1.5
"""Exponents of torque over twist: line contact (Palmgren), point contact (Hertz)."""
LINE_BACK = 1.0 / LINE
"""Exponent of twist over torque in line contact."""
USUAL_TWIST = pi / 45.0
"""4 degrees: common practice, from memory."""

KIND = Kind(
    name="tipping sprag",
    family="protection",
    summary="wedges ever stiffer between two races; releases as its sprags tip over at the end of their cams",
    params=(
        Param("setting", "torque", "torque at which the sprags tip over", above="0 N*m"),
        Param("exponent", "ratio", "power of the twist with which the torque rises; left out: 10/9 by geometry, "
              "else 1.5", low=1, high=3, usual=(1.1, 1.5), source="line and point contact, Hertz"),
        Param("twist_at_setting", "angle", "wind-up at which the sprags tip over; left out: by geometry, else 4 deg",
              above="0 deg", high="45 deg", usual=("2 deg", "6 deg"), source="common practice, from memory"),
        Param("sprags", "count", "number of sprags", low=2, high=200),
        Param("inner_radius", "length", "radius of the inner race", above="0 mm"),
        Param("outer_radius", "length", "radius of the outer race", above="0 mm"),
        Param("strut_angle", "angle", "angle at the inner race between its radius and the line through both "
              "contacts", default="3 deg", above="0 deg", high="30 deg", usual=("2 deg", "4 deg"),
              source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction at the races", default=0.09, above=0, high=1,
              usual=(0.05, 0.12), source="oiled hard steel, from memory"),
        Param("contact_length", "length", "length of one sprag along the axis", above="0 mm"),
        Param("cam_angle", "angle", "angle a sprag turns from first contact until its cams end", above="0 deg",
              high="90 deg", usual=("8 deg", "25 deg"), source="common practice, from memory"),
        Param("cam_radius", "length", "radius of the cam at the inner race, for the contact pressure", above="0 mm"),
        Param("elasticity", "stress", "modulus of elasticity of sprags and races", default="206 GPa", above="0 GPa",
              usual=("200 GPa", "210 GPa"), source="hard steel, textbook"),
        tolerance("20 %", ("10 %", "25 %")),
        RELATIVE_DAMPING,
        Param("residual", "ratio", "drag of the tipped sprags over the setting", default="3 %", low=0, high=0.5,
              usual=("1 %", "5 %"), source="common practice, from memory"),
        again_time("60 min", ("20 min", "2 h")),
        *hub_params(),
    ),
    row=("setting", "tip", "exponent", "k", "c", "drag", "pressure", "half_width"),
    modes=(Mode("wedged", ENGAGED), *out.MODES),
    states=(State("drag anchor", "rad", 0.01, "once out, twist from which the drag winds up"),),
    guards=("forward", "backward", "reset"),
    memory=("releases", "zero of the twist", "reset taken"),
    reads=("reset",),
    tally="releases",
    left_behind=out.LEFT,
    character="twist",
    lets_go="the sprags reach the end of their cams and tip over",
    leaves="both sides free but for a small drag; sprags and races may be marked",
    runs_again="after dismantling: the sprags are set upright again, or replaced",
    again="replace",
    again_words="take apart, inspect",
    cautions=("Friction decides: with the wrong grease or worn races it slips far below its setting.",
              "Not adjustable on site; its band is wide, so keep it well above the peaks of service.",
              "Released, the load side is free: on an incline it runs back unless a backstop holds it."),
    sources=("Johnson, Contact Mechanics: Hertz contact of cylinders (cited from memory)",
             "Palmgren, in Harris, Rolling Bearing Analysis: line contact (cited from memory)"),
)  # fmt: skip


def _arm(r: Any) -> float:
    """Distance [m] of the strut line from the centre."""
    return float(r.inner_radius * sin(r.strut_angle))


def _give(r: Any) -> float:
    """Approach of the races along a strut [m] for one newton to the power 0.9; NaN if not known."""
    soft = 2.0 * (1.0 - POISSON * POISSON) / (pi * r.elasticity)
    return float(2.0 * 3.81 * soft**0.9 / r.contact_length**0.8)


def _tip_by_geometry(r: Any) -> float:
    """Twist [rad] at which the cams end; NaN if the geometry is incomplete."""
    if isnan(r.outer_radius) or isnan(r.inner_radius):
        return nan
    d = _arm(r)
    strut = sqrt(r.outer_radius * r.outer_radius - d * d) - r.inner_radius * cos(r.strut_angle)
    return float(r.cam_angle * strut / (r.inner_radius * cos(r.strut_angle)))


def _tip(r: Any) -> float:
    """Twist [rad] at which it tips; NaN if it is not stated and does not follow from the cams."""
    return _tip_by_geometry(r) if isnan(r.twist_at_setting) else float(r.twist_at_setting)


def _wedge(r: Any, phi: float) -> float:
    """Torque [N*m] by geometry at the twist ``phi``; NaN if the geometry is incomplete."""
    d = _arm(r)
    return float(r.sprags * d * (d * phi / _give(r)) ** LINE)


def _twist_under(r: Any, T: float) -> float:
    """Twist [rad] by geometry under the torque ``T``: the inverse of :func:`_wedge`."""
    d = _arm(r)
    return float(_give(r) * (T / (r.sprags * d)) ** LINE_BACK / d)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    said = []
    if tan(r.strut_angle) > r.friction:
        most = atan(r.friction) * 180.0 / pi
        said.append(f"tan(strut_angle) = {tan(r.strut_angle):.3g} exceeds the friction of {r.friction:.3g}: the sprags "
                    f"slip instead of wedging at any torque; at this friction a strut angle up to {most:.3g} deg "
                    "holds")  # fmt: skip
    if r.inner_radius >= r.outer_radius:
        return said + narrower(r, "inner_radius", "outer_radius", ": they are the inner race and the outer one")
    cams = _tip_by_geometry(r)
    if not isnan(r.twist_at_setting) and abs(cams - r.twist_at_setting) > 0.02 * r.twist_at_setting:
        said.append(f"twist_at_setting {r.twist_at_setting * 180 / pi:.4g} deg contradicts the cams, which end at "
                    f"{cams * 180 / pi:.4g} deg: leave cam_angle or twist_at_setting out")  # fmt: skip
    geometry = _wedge(r, _tip(r))
    if not isnan(r.exponent) and not isnan(_wedge(r, 0.0)) and abs(r.exponent - LINE) > 0.01:
        said.append("the geometry has line contact, exponent 10/9: leave the exponent out, or the contact_length")
    how = "sprags, inner_radius, contact_length and either twist_at_setting or outer_radius and cam_angle"
    needs = (
        "sprags",
        "inner_radius",
        "contact_length",
        *either(r, ("twist_at_setting",), ("outer_radius", "cam_angle")),
    )
    return said + setting_or(r, geometry, how, needs)


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float, float]:
    by_shape = not isnan(_wedge(r, 0.0))
    tip = _tip(r)
    s = _wedge(r, tip) if isnan(r.setting) else r.setting
    if isnan(tip) and by_shape:
        tip = _twist_under(r, s)
    if isnan(tip):
        tip = USUAL_TWIST
    n = r.exponent
    if isnan(n):
        n = LINE if by_shape else POINT
    k = s / tip
    load = s / (r.sprags * r.inner_radius * tan(r.strut_angle) * r.contact_length)
    curve = 1.0 / r.cam_radius + 1.0 / r.inner_radius
    soft = r.elasticity / (2.0 * (1.0 - POISSON * POISSON))
    known = not isnan(load * curve)
    return (
        s,
        tip,
        n,
        k,
        damping(r.relative_damping, k, w1),
        r.residual * s,
        sqrt(load * soft * curve / pi) if known else 0.0,
        sqrt(4.0 * load / (pi * soft * curve)) if known else 0.0,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """More or longer sprags: torque and stiffness grow alike, the twist at which they tip stays."""
    return p[S] * f, p[1], p[2], p[K] * f, p[C] * f, p[DRAG] * f, p[6], p[7]


def start_mode(p: Any, sense: float) -> int:
    return WEDGED


def torque(q: Q) -> float:
    if q.m >= OUT:
        return out_torque(q.m - OUT, q.phi - q.x[0], q.nu, q.p[K], q.p[C], q.p[DRAG])
    z = q.phi - q.mem[ZERO]
    wedge = q.p[S] * (abs(z) / q.p[TIP]) ** q.p[EXPONENT]
    return (wedge if z >= 0.0 else -wedge) + q.p[C] * q.nu


def rate(q: Q, T: float) -> tuple[float]:
    return (0.0,)


def guards(q: Q, T: float) -> tuple[float, float, float]:
    if q.m >= OUT:
        a, b = out_guards(q.m - OUT, q.nu, q.p[DRAG], T)
        return a, b, reset_guard(q.mem[TAKEN], q.w[0])
    z = q.phi - q.mem[ZERO]
    return q.p[TIP] - z, q.p[TIP] + z, 1.0


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == RESET:
        return _upright(q, X, M) if edge(M, TAKEN) and slow_enough(q.nu, BY_HAND) else (q.m, 0.0)
    if q.m >= OUT:
        new, heat = out_switch(q.m - OUT, k, q.phi - q.x[0], q.p[K], q.p[DRAG])
    else:
        M[RELEASES] = q.mem[RELEASES] + 1.0
        M[TAKEN] = let_go_under(q.w[0])
        new, heat = out_mode(q.nu), store(q)
    if q.m == WEDGED or new == out.HELD:
        X[0] = q.phi
    return OUT + new, heat


def _upright(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Set upright again, unwound where the hubs stand; what the drag's spring held is heat [J]."""
    heat = store(q)
    M[ZERO] = q.phi
    X[0] = 0.0
    return WEDGED, heat


def loss(q: Q, T: float) -> float:
    if q.m >= OUT:
        return out_loss(q.m - OUT, q.nu, q.p[C], T)
    return q.p[C] * q.nu * q.nu


def store(q: Q) -> float:
    if q.m >= OUT:
        return out_store(q.m - OUT, q.phi - q.x[0], q.p[K])
    n = q.p[EXPONENT]
    return q.p[S] * q.p[TIP] / (n + 1.0) * (abs(q.phi - q.mem[ZERO]) / q.p[TIP]) ** (n + 1.0)


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (phase_lost(m >= OUT, mem[ZERO], 0.0),)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    facts = {
        "setting": (p[S], "torque"),
        "twist at the setting": (p[TIP], "angle"),
        "exponent of the wind-up": (p[EXPONENT], "ratio"),
        "stiffness on the way to the setting": (p[K], "stiffness"),
        "stiffness at the setting": (p[K] * p[EXPONENT], "stiffness"),
        "energy to tip": (p[S] * p[TIP] / (p[EXPONENT] + 1.0), "energy"),
        "residual drag": (p[DRAG], "torque"),
    }
    if p[PRESSURE] > 0.0:
        facts["contact pressure at the setting"] = (p[PRESSURE], "stress")
        facts["half width of the contact"] = (p[HALF_WIDTH], "length")
    return facts
