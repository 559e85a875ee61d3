r"""Ball detent: balls in pockets climb their flanks on overload and release, or ratchet on.

Seated: :math:`T = k\varphi + c\nu`.  Climbing out over the release twist :math:`u_c`:

.. math:: T = T_1 + (T_2 - T_1)u/u_c, \qquad T_1 = n F R \tan(\alpha+\rho), \quad \rho = \arctan\mu

moving back in :math:`T\tan(\alpha-\rho)/\tan(\alpha+\rho)`, at rest on the flank anything between, with
:math:`\alpha` measured from the direction of travel.  A coil spring rises towards the crest
(:math:`T_2 > T_1`), a disc spring past its peak falls.  Past the crest only the residual drag is left.
The wind-up is lost as heat there; the energy in the element springs stays until the balls drop into a
pocket again.  Setting: the largest quasi-static torque, :math:`\max(T_1, T_2)`.

Source: friction on an inclined flank, Niemann and Winter, Maschinenelemente 1 (cited from memory).
"""

from __future__ import annotations

from math import atan, isnan, nan, pi, tan
from typing import Any

from simcore.contract import ENGAGED, OPEN, YIELDING, Kind, Mode, Param, Q, State
from simcore.parts._elastic import RELATIVE_DAMPING, damping, stiffness
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

T1, T2, CREST, FREE, BACK, K, C, DRAG, POCKET, SEAT_SPEED, RATCHETS = range(11)
SEATED, CLIMB_F, CLIMB_B, FALL_F, FALL_B, FLANK_F, FLANK_B, BACK_F, BACK_B, OUT_F, OUT_B, OUT_HELD = range(12)
LIFT = 0
HERE, COUNT, NEXT_F, NEXT_B = range(4)
LEAST_FRICTION = 1e-6
"""No flank returns more than all but this share of its climbing torque: it must be able to stand still."""
INSIDE = 1e-9
"""Share of the setting by which a flank at rest starts inside its limits, clear of rounding."""

KIND = Kind(
    name="ball detent",
    family="protection",
    summary="balls climb out of their pockets and release; stays out, or ratchets into the next pocket",
    params=(
        Param("setting", "torque", "largest quasi-static torque on the climb", above="0 N*m"),
        Param("balls", "count", "number of balls", low=1, high=200),
        Param("ball_force", "force", "spring force on one ball when seated", above="0 N"),
        Param("pitch_radius", "length", "radius of the pocket circle", above="0 mm"),
        Param("lift", "length", "axial lift to the crest", above="0 mm", usual=("0.8 mm", "3.5 mm")),
        Param("flank_angle", "angle", "flank angle from the direction of travel", default="45 deg",
              above="0 deg", high="89 deg", usual=("30 deg", "55 deg"),
              source="common practice, from memory"),
        Param("friction", "ratio", "coefficient of friction on the flank", default=0.11, low=0, high=1,
              usual=(0.08, 0.15), source="greased steel, from memory"),
        tolerance("5 %", ("3 %", "10 %")),
        Param("spring", "choice", "coil: force rises towards the crest; disc: falls past its peak",
              default="disc", choices=("coil", "disc"), source="common practice"),
        Param("crest_torque", "ratio", "torque at the crest over torque at the start of the climb; left "
              "out: 1.2 for a coil, 0.35 for a disc spring", above=0, high=3, usual=(0.2, 1.3),
              source="common practice, from memory"),
        Param("release_twist", "angle", "twist along the flank from seat to crest", default="4 deg",
              above="0 deg", high="90 deg", usual=("2 deg", "6 deg"), source="common practice, from memory"),
        Param("stiffness", "stiffness", "torsional stiffness while seated", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting while still seated", default="0.25 deg",
              above="0 deg", usual=("0.15 deg", "0.5 deg"), source="common practice, from memory"),
        RELATIVE_DAMPING,
        Param("after_release", "choice", "what the balls do past the crest", default="stays out",
              choices=("stays out", "ratchets"), source="the safer one"),
        Param("residual", "ratio", "drag past the crest over the setting; left out: 1.5 % if it stays "
              "out, 20 % if it ratchets", low=0, high=1, usual=(0.005, 0.3),
              source="common practice, from memory"),
        Param("pockets_every", "angle", "angle between pockets", default="360 deg", above="0 deg",
              high="360 deg", usual=("15 deg", "360 deg"), source="keeps the phase"),
        Param("seat_speed", "speed", "relative speed below which the balls drop in", default="30 rpm",
              low="0 rpm", usual=("10 rpm", "100 rpm"), source="150 N*m size, from memory"),
        again_time("3 min", ("1 min", "10 min")),
        *hub_params(),
    ),
    row=("t1", "t2", "crest", "free", "back", "k", "c", "drag", "pocket", "seat_speed", "ratchets"),
    modes=(Mode("seated", ENGAGED), Mode("climbing forward", ENGAGED), Mode("climbing backward", ENGAGED),
           Mode("falling forward", YIELDING), Mode("falling backward", YIELDING),
           Mode("held on the flank forward", YIELDING), Mode("held on the flank backward", YIELDING),
           Mode("sliding home from forward", YIELDING), Mode("sliding home from backward", YIELDING),
           Mode("out, turning forward", OPEN, False), Mode("out, turning backward", OPEN, False),
           Mode("out, held by its drag", OPEN, False)),
    states=(State("flank travel", "rad", 0.01, "way of the balls along the flank; past the crest anchor "
                  "of the drag"),),
    guards=("forward", "backward", "pocket"),
    memory=("pocket", "pockets passed", "next pocket forward", "next pocket backward"),
    tally="pockets passed",
    lets_go="the balls pass the crest after a few degrees of twist",
    leaves="both sides free but for a small drag; phase lost unless the only pocket is found again",
    runs_again="by a reset at standstill (stays out), or by itself at the next pocket (ratchets)",
    again="reset",
    cautions=("Released, the load side is free: on an incline it runs back unless a backstop holds it.",
              "Ratcheting hammers the pockets: the drive must still be stopped."),
    sources=("Niemann and Winter, Maschinenelemente 1: inclined flank (cited from memory)",),
)  # fmt: skip


def _profile(r: Any) -> float:
    """Torque at the crest over torque at the start of the climb."""
    if not isnan(r.crest_torque):
        return float(r.crest_torque)
    return 1.2 if r.spring < 0.5 else 0.35


def _geometry(r: Any) -> float:
    """Setting [N*m] by geometry; NaN if incomplete."""
    first = r.balls * r.ball_force * r.pitch_radius * tan(r.flank_angle + atan(r.friction))
    return float(first * max(1.0, _profile(r)))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    angle = r.flank_angle + atan(r.friction)
    geometry = nan
    if angle >= 0.5 * pi:
        out.append("flank_angle and friction together reach 90 deg: the balls cannot climb out, it jams")
    else:
        geometry = _geometry(r)
    out += setting_or(r, geometry, "balls, ball_force and pitch_radius")
    if r.spring < 0.5 and r.crest_torque < 1.0:
        out.append("a coil spring cannot fall towards the crest: crest_torque must be 1 or more")
    if r.spring > 0.5 and r.crest_torque > 1.0:
        out.append('a disc spring past its peak falls: crest_torque must be 1 or less, or spring = "coil"')
    if _crest(r) >= r.pockets_every:
        out.append("the release twist reaches the next pocket: the balls would never be out")
    return out


def _crest(r: Any) -> float:
    if isnan(r.lift) or isnan(r.pitch_radius):
        return float(r.release_twist)
    return float(r.lift / (r.pitch_radius * tan(r.flank_angle)))


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    s = _geometry(r) if isnan(r.setting) else r.setting
    profile = _profile(r)
    t1 = s / max(1.0, profile)
    rho = atan(r.friction)
    climb = tan(r.flank_angle + rho)
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    drag = r.residual
    if isnan(drag):
        drag = 0.2 if r.after_release > 0.5 else 0.015
    return (
        t1,
        t1 * profile,
        _crest(r),
        tan(r.flank_angle) / climb,
        min(tan(r.flank_angle - rho) / climb, 1.0 - LEAST_FRICTION),
        k,
        damping(r.relative_damping, k, w1),
        drag * s,
        r.pockets_every,
        r.seat_speed,
        r.after_release,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The nut turns the spring force; stiffness and damping of the seat stay."""
    return (p[T1] * f, p[T2] * f, p[2], p[3], p[4], p[5], p[6], p[DRAG] * f, p[8], p[9], p[10])


def start_mode(p: Any, sense: float) -> int:
    return SEATED


def _side(m: int) -> float:
    """Direction of the flank or of the turning: odd modes are forward."""
    return 1.0 if m % 2 == 1 else -1.0


def _out(q: Q, u: float) -> float:
    """Torque to climb out at flank travel ``u`` >= 0."""
    return q.p[T1] + (q.p[T2] - q.p[T1]) * u / q.p[CREST]


def torque(q: Q) -> float:
    m = q.m
    phi = q.phi - q.mem[HERE]
    if m == SEATED:
        return q.p[K] * phi + q.p[C] * q.nu
    u = q.x[LIFT]
    if m == OUT_HELD:
        return q.p[K] * (q.phi - u) + q.p[C] * q.nu
    side = _side(m)
    if m >= OUT_F:
        return side * q.p[DRAG]
    if m == FLANK_F or m == FLANK_B:
        return q.p[K] * (phi - u) + q.p[C] * q.nu
    T = side * _out(q, side * u)
    return T * q.p[BACK] if m >= BACK_F else T


def rate(q: Q, T: float) -> tuple[float]:
    m = q.m
    if (m >= CLIMB_F and m <= FALL_B) or m == BACK_F or m == BACK_B:
        return (q.nu,)
    return (0.0,)


def loss(q: Q, T: float) -> float:
    m = q.m
    if m == SEATED or m == OUT_HELD or m == FLANK_F or m == FLANK_B:
        return q.p[C] * q.nu * q.nu
    if m >= OUT_F:
        return T * q.nu
    side = _side(m)
    return (T - side * q.p[FREE] * _out(q, side * q.x[LIFT])) * q.nu


def guards(q: Q, T: float) -> tuple[float, float, float]:
    m = q.m
    if m == SEATED:
        return q.p[T1] - T, q.p[T1] + T, 1.0
    if m == OUT_HELD:
        return q.p[DRAG] - T, q.p[DRAG] + T, 1.0
    side = _side(m)
    u = side * q.x[LIFT]
    if m <= FALL_B:
        return q.p[CREST] - u, side * q.nu, 1.0
    if m <= FLANK_B:
        top = _out(q, u)
        return top - side * T, side * T - q.p[BACK] * top, 1.0
    if m <= BACK_B:
        return u, -side * q.nu, 1.0
    pocket = 1.0
    if q.p[RATCHETS] > 0.5:
        pocket = side * ((q.mem[NEXT_F] if side > 0.0 else q.mem[NEXT_B]) - q.phi)
    return side * q.nu, 1.0, pocket


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m = q.m
    if m == SEATED:
        return _climb(q, 1.0 if k == 0 else -1.0), 0.0
    if m == OUT_HELD:
        return (OUT_F if k == 0 else OUT_B), 0.5 * q.p[K] * (q.phi - q.x[LIFT]) * (q.phi - q.x[LIFT])
    side = _side(m)
    if m <= FALL_B:
        if k == 0:
            return _release(q, side, X, M)
        return _rest_on_flank(q, side, X, M)
    if m <= FLANK_B:
        if k == 0:
            return _climb(q, side), 0.0
        return (BACK_F if side > 0.0 else BACK_B), 0.0
    if m <= BACK_B:
        if k == 0:
            X[LIFT] = 0.0
            return SEATED, 0.0
        return _rest_on_flank(q, side, X, M)
    if k == 0:
        X[LIFT] = q.phi
        return OUT_HELD, 0.0
    return _meet_pocket(q, side, X, M)


def _climb(q: Q, side: float) -> int:
    if q.p[T2] >= q.p[T1]:
        return CLIMB_F if side > 0.0 else CLIMB_B
    return FALL_F if side > 0.0 else FALL_B


def _release(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    """Past the crest; the wind-up, less what the element springs still take up on the way, is heat [J]."""
    z = q.phi - q.mem[HERE] - q.x[LIFT]
    lifted = _element_energy(q, q.p[CREST]) - _element_energy(q, min(abs(q.x[LIFT]), q.p[CREST]))
    M[NEXT_F] = q.mem[HERE] + (q.p[POCKET] if side > 0.0 else 0.0)
    M[NEXT_B] = q.mem[HERE] - (0.0 if side > 0.0 else q.p[POCKET])
    X[LIFT] = q.phi
    return (OUT_F if side > 0.0 else OUT_B), 0.5 * q.p[K] * z * z - lifted


def _rest_on_flank(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    """At rest the wind-up holds between the flank's two limits; outside them the balls move at once.

    Up until the spring holds no more than the flank, perhaps over the crest; or down, perhaps home.
    The energy that this sets free is heat [J].
    """
    z = side * (q.phi - q.mem[HERE] - q.x[LIFT])
    u = side * q.x[LIFT]
    flank = FLANK_F if side > 0.0 else FLANK_B
    inside = INSIDE * max(q.p[T1], q.p[T2])
    climbs = q.p[K] * z > _out(q, u) - inside
    share = 1.0 if climbs else q.p[BACK]
    margin = -inside if climbs else inside
    if not climbs and q.p[K] * z >= share * _out(q, u) + margin:
        return flank, 0.0
    slope = q.p[K] + share * (q.p[T2] - q.p[T1]) / q.p[CREST]
    new = q.p[CREST] if climbs else 0.0
    if slope > 0.0:
        new = (q.p[K] * (z + u) - share * q.p[T1] - margin) / slope
    if climbs and new >= q.p[CREST]:
        return _release(q, side, X, M)
    new = max(new, 0.0)
    X[LIFT] = side * new
    z_new = z + u - new
    freed = 0.5 * q.p[K] * (z * z - z_new * z_new) + _element_energy(q, u) - _element_energy(q, new)
    return (flank if new > 0.0 else SEATED), freed


def _element_energy(q: Q, u: float) -> float:
    """Energy [J] in the element springs at flank travel ``u`` >= 0."""
    return q.p[FREE] * (q.p[T1] * u + 0.5 * (q.p[T2] - q.p[T1]) * u * u / q.p[CREST])


def _meet_pocket(q: Q, side: float, X: Any, M: Any) -> tuple[int, float]:
    pocket = q.mem[NEXT_F] if side > 0.0 else q.mem[NEXT_B]
    M[COUNT] = q.mem[COUNT] + 1.0
    if side * q.nu <= q.p[SEAT_SPEED]:
        M[HERE] = pocket
        X[LIFT] = 0.0
        return SEATED, _element_energy(q, q.p[CREST])
    M[NEXT_F] = pocket + (q.p[POCKET] if side > 0.0 else 0.0)
    M[NEXT_B] = pocket - (0.0 if side > 0.0 else q.p[POCKET])
    return q.m, 0.0


def store(q: Q) -> float:
    m = q.m
    phi = q.phi - q.mem[HERE]
    if m == SEATED:
        return 0.5 * q.p[K] * phi * phi
    if m >= OUT_F:
        e = _element_energy(q, q.p[CREST])
        if m == OUT_HELD:
            e += 0.5 * q.p[K] * (q.phi - q.x[LIFT]) * (q.phi - q.x[LIFT])
        return e
    z = phi - q.x[LIFT]
    return 0.5 * q.p[K] * z * z + _element_energy(q, abs(q.x[LIFT]))


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "setting": (max(p[T1], p[T2]), "torque"),
        "torque at the start of the climb": (p[T1], "torque"),
        "torque at the crest": (p[T2], "torque"),
        "torque returned while sliding home": (p[T1] * p[BACK], "torque"),
        "release twist": (p[CREST], "angle"),
        "residual drag": (p[DRAG], "torque"),
        "stiffness": (p[K], "stiffness"),
    }
