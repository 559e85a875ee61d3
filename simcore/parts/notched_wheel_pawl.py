r"""Notched-wheel pawl: a lever held in the notch of a wheel by a spring or by air pressure.

The nose pushes on the wheel with :math:`N = iF`, lever ratio :math:`i` (arm of spring or piston over arm of
the nose, both from the pawl's pivot).  The pivot stands beside the nose, so that the nose moves radially and
the wheel's tangential push :math:`T/R` has no arm on it.  The flank stands at the angle :math:`\alpha` from
the direction of travel; when the nose climbs, the flank's reaction leans by :math:`\rho = \arctan\mu`
against the climb, hence :math:`T/R = N\tan(\alpha+\rho)`; back in, :math:`T/R = N\tan(\alpha-\rho)`.

Seated :math:`T = k\varphi + c\nu`.  Climbing over the release twist :math:`u_c`, up to the dead centre:

.. math:: T = s\,(T_1 + (T_2 - T_1)u/u_c), \quad T_1 = iFR\tan(\alpha+\rho), \quad
          s = \frac{p-p_0}{p_r-p_0}

at rest on the flank anything between out and in.  The spring's arm shrinks towards the dead centre,
:math:`T_2 < T_1`.  Spring loading: :math:`s = 1`; pneumatic: :math:`F = A(p_r - p_0)` at the reference
pressure :math:`p_r`, offset :math:`p_0` (seals and return spring), and :math:`\tau\dot p = p_s(t) - p` with
the pressure :math:`p_s` set in time.  Air is a store while the nose is on the flank; pressure that rises
there does work on it.  Past the dead centre, or vented to the offset, the pawl is out: what was stored is
heat, only the residual drag is left, and nothing brings it in but a reset.  Setting: :math:`T_1`.

A reset brings it in where the hubs stand, unwound: turning them to the next notch is not computed.  By hand (spring)
the slip speed must be at most 10 rpm.  By air it must be at most ``rearm_speed``, once the pressure above the offset
has come to half of what is asked for; the wire ``vent`` takes the set pressure away.

Source: friction on an inclined flank, Niemann and Winter, Maschinenelemente 1 (cited from memory);
lever and first-order lag, textbook.
"""

from __future__ import annotations

from math import atan, isnan, log, nan, pi, tan
from typing import Any

from simcore.contract import CLOCK, ENGAGED, YIELDING, Again, Kind, Mode, Param, Q, State
from simcore.parts import _released as out
from simcore.parts._air import AIR, constant_share
from simcore.parts._detent_flank import LEAST_FRICTION
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._pawl_inputs import AGAIN_TIME, SPRING, geometry, profile, put_back, refuse
from simcore.parts._program import program_clock, program_value
from simcore.parts._protection import hub_params, inertias, tolerance
from simcore.parts._released import out_guards, out_loss, out_mode, out_store, out_switch, out_torque, phase_lost
from simcore.parts._reset import BY_HAND, edge, let_go_under, reset_guard, slow_enough

__all__ = ["KIND", "inertias", "refuse"]

T1, T2, CREST, FREE, BACK, K, C, DRAG, NOTCHES, OFFSET, SPAN, CONSTANT, LAG, TIMES, VALUES, REARM = range(16)
SEATED, CLIMB_F, CLIMB_B, FLANK_F, FLANK_B, BACK_F, BACK_B, OUT = range(8)
TRAVEL, PRESSURE = range(2)
RELEASES, CORNERS, ZERO, TAKEN = range(4)
RESET = 3
WAITS_FOR_AIR = 2.0
"""Value of the memory cell ``reset taken`` while a reset waits for the pressure."""
BACK_AGAIN, LEAST_AIR = 0.5, 0.01
"""Share of the torque asked for, and of that at the reference pressure, from which on air brings the pawl in."""
INSIDE = 1e-9
"""Share of the setting by which a nose at rest starts inside its limits, clear of rounding."""
VENTED = 1e-6
"""Share of the torque at which a vented pawl counts as lifted."""

KIND = Kind(
    name="notched-wheel pawl",
    family="protection",
    summary="releases as its pawl rocks past dead centre, and stays out; by spring, or by air that can be vented",
    params=(
        Param("setting", "torque", "largest quasi-static torque, with air at the reference pressure", above="0 N*m"),
        Param("loading", "choice", "what holds the pawl in its notch", default="spring",
              choices=("spring", "pneumatic"), source="common practice"),
        Param("wheel_radius", "length", "radius at which the nose stands in the notch", above="0 mm"),
        Param("flank_angle", "angle", "flank angle of the notch from the direction of travel", default="55 deg",
              above="0 deg", high="89 deg", usual=("40 deg", "65 deg"), source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction between nose and flank", default=0.1, low=0, high=1,
              usual=(0.08, 0.15), source="greased steel, from memory"),
        Param("lever_ratio", "ratio", "arm of spring or piston over arm of the nose", above=0, high=20,
              usual=(1, 4), source="common practice, from memory"),
        Param("spring_force", "force", "spring force with the pawl in the notch", above="0 N"),
        Param("spring_force_dead_centre", "force", "what is left of the spring force at dead centre, at the arm "
              "it has in the notch", low="0 N"),
        Param("dead_centre_torque", "ratio", "torque at dead centre over the setting; left out: from the spring "
              "forces, else 0.35 for a spring and 1 for air", low=0, high=1, usual=(0, 1),
              source="common practice, from memory"),
        Param("piston_area", "area", "area of the piston", above="0 mm^2"),
        *AIR,
        Param("rearm_speed", "speed", "slip speed up to which air brings the pawl in after a reset", default="30 rpm",
              above="0 rpm", usual=("5 rpm", "100 rpm"), source="at a crawl; common practice, from memory"),
        tolerance("8 %", ("3 %", "12 %")),
        Param("release_twist", "angle", "twist along the flank from the notch to dead centre", default="8 deg",
              above="0 deg", high="90 deg", usual=("4 deg", "15 deg"), source="common practice, from memory"),
        Param("stiffness", "stiffness", "torsional stiffness while seated", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting while still seated", default="0.3 deg",
              above="0 deg", usual=("0.2 deg", "0.5 deg"), source="common practice, from memory"),
        RELATIVE_DAMPING,
        Param("residual", "ratio", "drag of the lifted pawl over the setting", default="0.5 %", low=0, high=0.5,
              usual=("0 %", "2 %"), source="common practice, from memory"),
        Param("notches", "count", "notches on one turn of the wheel", default=1, low=1, high=12, usual=(1, 6),
              source="one keeps the phase"),
        AGAIN_TIME,
        *hub_params(),
    ),
    row=("t1", "t2", "crest", "free", "back", "k", "c", "drag", "notches", "offset", "span", "constant", "lag",
         "times", "values", "rearm"),
    modes=(Mode("seated", ENGAGED), Mode("climbing forward", YIELDING), Mode("climbing backward", YIELDING),
           Mode("held on the flank forward", YIELDING), Mode("held on the flank backward", YIELDING),
           Mode("sliding home from forward", YIELDING), Mode("sliding home from backward", YIELDING), *out.MODES),
    states=(State("flank travel", "rad", 0.01, "way of the nose along the flank; once out, anchor of the drag"),
            State("pressure", "Pa", 1e5, "gauge pressure on the piston; 0 with a spring")),
    guards=("vented", "forward", "backward", "reset"),
    memory=("releases", "corners passed", "zero of the twist", "reset taken"),
    reads=("reset", "vent"),
    tally="releases",
    left_behind=out.LEFT,
    character="twist",
    lets_go="the pawl rocks past dead centre after a few degrees of twist, or its air is vented",
    leaves="both sides free but for a small drag; the pawl stays out",
    runs_again="by hand with a lever at standstill; pneumatic: by pressure, at a crawl until the next notch",
    again="reset",
    cautions=("Released, the load side is free: on an incline it runs back unless a backstop holds it.",
              "The tolerance is that of a spring; air is about half of it, but 5 to 15 % more after standing idle.",
              "A pneumatic pawl follows its air line: a burst hose or a lost supply lets the load go."),
    sources=("Niemann and Winter, Maschinenelemente 1: inclined flank (cited from memory)", "lever, lag: textbook"),
)  # fmt: skip


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    s = geometry(r) if isnan(r.setting) else r.setting
    rho = atan(r.friction)
    climb = tan(r.flank_angle + rho)
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    air = r.loading > SPRING
    return (
        s,
        s * profile(r),
        r.release_twist,
        tan(r.flank_angle) / climb,
        min(tan(r.flank_angle - rho) / climb, 1.0 - LEAST_FRICTION),
        k,
        damping(r.relative_damping, k, w1),
        r.residual * s,
        r.notches,
        r.pressure_offset,
        r.reference_pressure - r.pressure_offset if air else 0.0,
        r.reference_pressure if isnan(r.pressure) else r.pressure,
        r.vent_time_constant,
        r.pressure_times if air and not isnan(r.pressure_times) else 0.0,
        r.pressures if air and not isnan(r.pressures) else 0.0,
        r.rearm_speed if air else BY_HAND,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The nut scales the spring force, the regulator all pressure above the offset; the seat stays."""
    return (p[T1] * f, p[T2] * f, p[2], p[3], p[4], p[5], p[6], p[DRAG] * f, p[8], p[9], p[10], p[11], p[12],
            p[13], p[14], p[REARM])  # fmt: skip


def start_mode(p: Any, sense: float) -> int:
    return SEATED


def start_state(p: Any, sense: float, tab: Any) -> tuple[float, float]:
    """Constant pressure, or the first one of a programme."""
    if p[SPAN] <= 0.0:
        return 0.0, 0.0
    return 0.0, (program_value(tab, p[TIMES], p[VALUES], 0.0, 0.0) if p[TIMES] > 0.0 else p[CONSTANT])


def _set_pressure(q: Q) -> float:
    """Pressure asked for [Pa]."""
    if q.w[1] > 0.5:
        return 0.0
    if q.p[TIMES] > 0.0:
        return program_value(q.tab, q.p[TIMES], q.p[VALUES], q.mem[CORNERS], q.t)
    return float(q.p[CONSTANT])


def _share(q: Q) -> float:
    """Torque over the torque at the reference pressure."""
    if q.p[SPAN] <= 0.0:
        return 1.0
    return float((q.x[PRESSURE] - q.p[OFFSET]) / q.p[SPAN])


def _pressure_rate(q: Q) -> float:
    if q.p[SPAN] <= 0.0:
        return 0.0
    return float((_set_pressure(q) - q.x[PRESSURE]) / q.p[LAG])


def _wind_up(q: Q) -> float:
    """Twist of the seat's spring; once out, of the drag's, whose anchor is a twist itself."""
    return float(q.phi - q.x[TRAVEL] if q.m >= OUT else q.phi - q.mem[ZERO] - q.x[TRAVEL])


def _side(m: int) -> float:
    """Direction of the flank: odd modes are forward."""
    return 1.0 if m % 2 == 1 else -1.0


def _out(q: Q, u: float) -> float:
    """Torque to climb at flank travel ``u`` >= 0."""
    return float(_share(q) * (q.p[T1] + (q.p[T2] - q.p[T1]) * u / q.p[CREST]))


def torque(q: Q) -> float:
    m = q.m
    z = _wind_up(q)
    if m >= OUT:
        return out_torque(m - OUT, z, q.nu, q.p[K], q.p[C], q.p[DRAG])
    if m == SEATED or m == FLANK_F or m == FLANK_B:
        return float(q.p[K] * z + q.p[C] * q.nu)
    side = _side(m)
    T = side * _out(q, side * q.x[TRAVEL])
    return T * q.p[BACK] if m >= BACK_F else T


def rate(q: Q, T: float) -> tuple[float, float]:
    moves = (q.m >= CLIMB_F and q.m <= CLIMB_B) or (q.m >= BACK_F and q.m <= BACK_B)
    return (q.nu if moves else 0.0), _pressure_rate(q)


def _lifted(q: Q, u: float) -> float:
    """Energy [J] in the spring, or in the air at the reference pressure, at flank travel ``u`` >= 0."""
    return float(q.p[FREE] * (q.p[T1] * u + 0.5 * (q.p[T2] - q.p[T1]) * u * u / q.p[CREST]))


def loss(q: Q, T: float) -> float:
    m = q.m
    if m >= OUT:
        return out_loss(m - OUT, q.nu, q.p[C], T)
    if m == SEATED:
        return float(q.p[C] * q.nu * q.nu)
    side = _side(m)
    u = side * q.x[TRAVEL]
    air = _lifted(q, u) * _pressure_rate(q) / q.p[SPAN] if q.p[SPAN] > 0.0 else 0.0
    if m == FLANK_F or m == FLANK_B:
        return q.p[C] * q.nu * q.nu - air
    return (T - side * q.p[FREE] * _out(q, u)) * q.nu - air


def guards(q: Q, T: float) -> tuple[float, float, float, float]:
    if q.m >= OUT:
        g0, g1 = out_guards(q.m - OUT, q.nu, q.p[DRAG], T)
        return 1.0, g0, g1, (_air_lacks(q) if q.mem[TAKEN] == WAITS_FOR_AIR else reset_guard(q.mem[TAKEN], q.w[0]))
    a, b, c = _in_guards(q, T)
    return a, b, c, 1.0


def _air_lacks(q: Q) -> float:
    """> 0 until the air is back."""
    if q.p[SPAN] <= 0.0:
        return -1.0
    asked = (_set_pressure(q) - q.p[OFFSET]) / q.p[SPAN]
    return float(max(BACK_AGAIN * asked, LEAST_AIR) - _share(q))


def _in_guards(q: Q, T: float) -> tuple[float, float, float]:
    m = q.m
    vented = _share(q) - VENTED
    if m == SEATED:
        top = _out(q, 0.0)
        return vented, top - T, top + T
    side = _side(m)
    u = side * q.x[TRAVEL]
    if m <= CLIMB_B:
        return vented, q.p[CREST] - u, side * q.nu
    if m <= FLANK_B:
        top = _out(q, u)
        return vented, top - side * T, side * T - q.p[BACK] * top
    return vented, u, -side * q.nu


def clock(q: Q) -> float:
    return program_clock(q.tab, q.p[TIMES], q.mem[CORNERS])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m = q.m
    if k == CLOCK:
        M[CORNERS] = q.mem[CORNERS] + 1.0
        return m, 0.0
    if k == RESET:
        return _reset(q, X, M)
    if m >= OUT:
        new, heat = out_switch(m - OUT, k - 1, q.phi - q.x[TRAVEL], q.p[K], q.p[DRAG])
        if new == out.HELD:
            X[TRAVEL] = q.phi
        return OUT + new, heat
    if k == 0:
        return _let_go(q, X, M)
    if m == SEATED:
        return (CLIMB_F if k == 1 else CLIMB_B), 0.0
    side = _side(m)
    if m <= CLIMB_B:
        return _let_go(q, X, M) if k == 1 else _rest_on_flank(q, side, X, M)
    if m <= FLANK_B:
        if k == 1:
            return (CLIMB_F if side > 0.0 else CLIMB_B), 0.0
        return (BACK_F if side > 0.0 else BACK_B), 0.0
    if k == 1:
        X[TRAVEL] = 0.0
        return SEATED, 0.0
    return _rest_on_flank(q, side, X, M)


def _let_go(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Out for good; wind-up and what spring or air still hold are heat [J]."""
    heat = store(q)
    M[RELEASES] = q.mem[RELEASES] + 1.0
    M[TAKEN] = let_go_under(q.w[0])
    X[TRAVEL] = q.phi
    return OUT + out_mode(q.nu), heat


def _reset(q: Q, X: Any, M: Any) -> tuple[int, float]:
    """Back in its notch, unwound where the hubs stand, or not if they run too fast; heat [J]."""
    waited = q.mem[TAKEN] == WAITS_FOR_AIR
    if waited:
        M[TAKEN] = 1.0
    elif not edge(M, TAKEN):
        return q.m, 0.0
    elif _air_lacks(q) > 0.0:
        M[TAKEN] = WAITS_FOR_AIR
        return q.m, 0.0
    if not slow_enough(q.nu, q.p[REARM]):
        return q.m, 0.0
    heat = store(q)
    M[ZERO] = q.phi
    X[TRAVEL] = 0.0
    return SEATED, heat


def _rest_on_flank(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    """At rest the wind-up holds between the flank's two limits; outside them the nose moves at once.

    Out until the seat's spring holds no more than the flank, perhaps past dead centre; or in, perhaps home.
    The energy that this sets free is heat [J].
    """
    z = side * _wind_up(q)
    u = side * q.x[TRAVEL]
    flank = FLANK_F if side > 0.0 else FLANK_B
    inside = INSIDE * q.p[T1]
    climbs = q.p[K] * z > _out(q, u) - inside
    back = 1.0 if climbs else q.p[BACK]
    margin = -inside if climbs else inside
    if not climbs and q.p[K] * z >= back * _out(q, u) + margin:
        return flank, 0.0
    share = back * _share(q)
    slope = q.p[K] + share * (q.p[T2] - q.p[T1]) / q.p[CREST]
    new = q.p[CREST] if climbs else 0.0
    if slope > 0.0:
        new = (q.p[K] * (z + u) - share * q.p[T1] - margin) / slope
    if climbs and new >= q.p[CREST]:
        return _let_go(q, X, M)
    new = max(new, 0.0)
    X[TRAVEL] = side * new
    z_new = z + u - new
    freed = 0.5 * q.p[K] * (z * z - z_new * z_new) + _share(q) * (_lifted(q, u) - _lifted(q, new))
    return (flank if new > 0.0 else SEATED), freed


def store(q: Q) -> float:
    z = _wind_up(q)
    if q.m >= OUT:
        return out_store(q.m - OUT, z, q.p[K])
    return 0.5 * q.p[K] * z * z + _share(q) * _lifted(q, abs(q.x[TRAVEL]))


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (phase_lost(m >= OUT, mem[ZERO], 2.0 * pi / p[NOTCHES]),)


def to_run_again(p: Any) -> Again:
    return put_back(p[NOTCHES], p[REARM], -p[LAG] * log(1.0 - BACK_AGAIN) if p[SPAN] > 0.0 else nan)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); setting: at the constant pressure, else the reference."""
    own = p[T1] * constant_share(p[CONSTANT], p[OFFSET], p[SPAN], p[TIMES])
    facts = {
        "setting": (own, "torque"), "torque at dead centre": (p[T2], "torque"),
        "torque returned while sliding home": (p[T1] * p[BACK], "torque"),
        "twist at the setting": (own / p[K], "angle"),
        "release twist": (p[CREST], "angle"), "residual drag": (p[DRAG], "torque"), "stiffness": (p[K], "stiffness"),
        "notches per turn": (p[NOTCHES], "count"),
    }  # fmt: skip
    if p[SPAN] > 0.0:
        facts |= {
            "setting at the reference pressure": (p[T1], "torque"), "pressure offset": (p[OFFSET], "pressure"),
            "reference pressure": (p[OFFSET] + p[SPAN], "pressure"), "vent time constant": (p[LAG], "time"),
        }  # fmt: skip
    return facts
