r"""From the inputs of a detent to its row, and what is impossible among them.

Geometry decides what it can: number of elements, force, pitch radius and flank give the setting
:math:`nFR\,g_{out}` at the largest point of the climb; lift, pitch radius and flank give the release twist.

Seat depth in the time :math:`\tau` over the pocket: :math:`(F/m)\tau^2/2`, elements from rest under the spring force
at the crest; so the whole lift :math:`h` is dropped below the relative speed :math:`b/\sqrt{2hm/F}`, pocket width
:math:`b`.  An order of magnitude: impact on the entering flank is left out.  Source: free fall (closed form).
"""

from __future__ import annotations

from itertools import pairwise
from math import atan, isnan, log, pi, sqrt, tan
from typing import Any

from simcore.contract import Again
from simcore.parts._detent_flank import (
    CARRYING,
    CREST,
    DRAG,
    FORCE,
    LEAST_FRICTION,
    LIST,
    POCKET,
    RADIUS,
    RATCHETS,
    RISE,
    SEAT_SPEED,
    T1,
    T2,
    TOP,
    WAIT,
    K,
    back,
    climbing,
    disc_load,
    lifted,
    out,
    sliding,
    spring_force,
    steepness,
    top_at,
    travel_at,
)
from simcore.parts._elastic import damping, stiffness
from simcore.parts._powers import square

E_STEEL = 206e9
POISSON = 0.3
SNAPS = 2.0 * sqrt(2.0)
"""Cone height over thickness above which the load of a disc spring falls to nothing."""
TURN = 2.0 * pi
BY_HAND_TIME = 180.0
"""Time [s] that putting a detent back by hand takes; common practice, from memory."""
Row = tuple[float, ...]


def disc_force(outer: float, inner: float, thickness: float, height: float, s: float) -> float:
    r"""Load [N] of a steel disc spring at deflection ``s`` [m], all lengths in m.

    :math:`F = \frac{4E}{1-\nu^2}\frac{t^4}{K_1 D_e^2}\frac{s}{t}[(\frac{h_0}{t}-\frac{s}{t})(\frac{h_0}{t}
    -\frac{s}{2t})+1]`.  Source: Almen and Laszlo as in EN 16984 and DIN 2092 (cited from memory).
    """
    d = outer / inner
    k1 = square((d - 1.0) / d) / ((d + 1.0) / (d - 1.0) - 2.0 / log(d)) / pi
    flat = 4.0 * E_STEEL / (1.0 - POISSON * POISSON) * square(square(thickness)) / (k1 * outer * outer)
    return flat * disc_load(height / thickness, s / thickness)


def is_edge(r: Any) -> bool:
    return r.flank > 0.5


def start_slope(r: Any, radius: float) -> float:
    """Slope of the flank at the seat."""
    if is_edge(r):
        return r.pocket_half_width / sqrt(radius * radius - r.pocket_half_width * r.pocket_half_width)
    return tan(r.flank_angle)


def lift_of(r: Any, radius: float) -> float:
    """Lift [m] to the end of the flank; NaN if unknown."""
    if is_edge(r):
        return radius - sqrt(radius * radius - r.pocket_half_width * r.pocket_half_width)
    if not isnan(r.lift):
        return r.lift
    return r.pitch_radius * tan(r.flank_angle) * r.release_twist


def flank_end(r: Any) -> float:
    """Travel [rad] along the whole flank."""
    if is_edge(r):
        return r.pocket_half_width / r.pitch_radius
    if isnan(r.lift) or isnan(r.pitch_radius):
        return r.release_twist
    return r.lift / (r.pitch_radius * tan(r.flank_angle))


def guide(r: Any) -> float:
    """Guide friction times pitch radius over guide radius."""
    if isnan(r.guide_radius):
        return r.guide_friction
    return r.guide_friction * r.pitch_radius / r.guide_radius


def crest_force(r: Any, radius: float, force: float) -> float:
    """Force of a linear spring at the crest over its seated value."""
    if not isnan(r.crest_torque):
        return r.crest_torque
    if not isnan(r.spring_rate):
        return 1.0 + r.spring_rate * lift_of(r, radius) / force
    return 1.2 if r.spring < 0.5 else 0.35


def snaps_at(h: float) -> float:
    """Deflection over thickness at which a disc spring has no load left; inf if it never has."""
    return 1.5 * h - sqrt(0.25 * h * h - 2.0) if h > SNAPS else 1e300


def shape_of(r: Any, radius: float, force: float, mu: float) -> Row:
    """Columns from ``shape`` on, for the coefficient of friction ``mu``; ``force`` on one seated element [N]."""
    s = start_slope(r, radius)
    edge_a = 0.0
    edge_r = 0.0
    way = flank_end(r) * s
    if is_edge(r):
        edge_a = r.pocket_half_width / r.pitch_radius
        edge_r = radius / r.pitch_radius
        way = edge_r - sqrt(edge_r * edge_r - edge_a * edge_a)
    if isnan(r.disc_height):
        shape = 1.0 if is_edge(r) else 0.0
        return shape, s, edge_a, edge_r, mu, guide(r), way, crest_force(r, radius, force), 0.0, 0.0, 0.0, 1.0
    h = r.disc_height / r.disc_thickness
    x = r.disc_deflection / r.disc_thickness
    rate = lift_of(r, radius) / way / (r.disc_thickness * r.discs_in_series)
    way = min(way, (snaps_at(h) - x) / rate)
    return 1.0, s, edge_a, edge_r, mu, guide(r), way, 1.0, h, x, rate, disc_load(h, x)


def unit_row(crest: float, shape: Row) -> Row:
    """A row with ``nFR`` = 1 N*m and nothing else but crest and shape."""
    zero = 0.0
    head = (zero, zero, crest, zero, zero, zero, zero, zero, zero, zero, zero, zero, zero, 1.0, zero, zero, zero, zero,
            zero, zero, zero)  # fmt: skip
    return head + shape


def snaps_through(shape: Row) -> bool:
    """Whether a disc spring loses its load on the way up the flank."""
    return shape[10] > 0.0 and shape[9] + shape[10] * shape[6] >= (1.0 - 1e-12) * snaps_at(shape[8])


def crest_of(r: Any, shape: Row) -> float:
    """Travel [rad] to the crest, or to where a disc spring snaps through."""
    end = flank_end(r)
    return travel_at(unit_row(end, shape), shape[6]) if snaps_through(shape) else end


def climb_at_seat(r: Any, shape: Row) -> float:
    """Climbing torque over ``nFR`` at the seat."""
    if is_edge(r):
        return climbing(shape[1], shape[4], shape[5])
    return climbing(tan(r.flank_angle + atan(shape[4])), 0.0, shape[5])


def slide_at_seat(r: Any, shape: Row) -> float:
    """Torque returned over ``nFR`` at the seat."""
    steep = 1.0 if shape[1] >= shape[4] else -1.0
    if is_edge(r):
        return sliding(shape[1], shape[4], steep * shape[5])
    return sliding(tan(r.flank_angle - atan(shape[4])), 0.0, steep * shape[5])


def top_over(r: Any, crest: float, shape: Row) -> float:
    """Largest climbing torque over ``nFR``."""
    if shape[0] < 0.5:
        return climb_at_seat(r, shape) * max(1.0, shape[7])
    p = unit_row(crest, shape)
    return out(p, top_at(p))


def element_force(r: Any, n: float, force: float) -> float:
    """Spring force [N] on one seated element: as given, else from the disc spring; NaN if neither is known."""
    if not isnan(force):
        return force
    return disc_force(r.disc_outer, r.disc_inner, r.disc_thickness, r.disc_height, r.disc_deflection) / n


def newness(r: Any) -> float:
    """Setting now over setting when new."""
    return 1.0 + r.drift_per_1000 * r.releases_done / 1000.0


def by_geometry(r: Any, n: float, force: float, radius: float) -> float:
    """Setting [N*m] when new; NaN if the geometry is incomplete."""
    shape = shape_of(r, radius, force, r.friction)
    return n / r.first_carries * force * r.pitch_radius * top_over(r, crest_of(r, shape), shape)


def stated_over(r: Any, crest: float, radius: float, force: float) -> float:
    """Largest climbing torque over ``nFR`` with the friction at which the setting is stated."""
    mu = r.friction if isnan(r.setting_friction) else r.setting_friction
    return top_over(r, crest, shape_of(r, radius, force, mu))


def drag_share(r: Any, clear: float, mean: float) -> float:
    """Drag past the crest over the setting: given, ``clear`` of the pockets, or as a ``mean`` over them."""
    if not isnan(r.residual):
        return r.residual
    return mean if r.after_release > 0.5 and r.ratcheting < 0.5 else clear


def drops_below(r: Any, crest: float, lift: float, force: float) -> float:
    """Relative speed [rad/s] below which the elements drop the whole ``lift`` [m] under ``force`` [N] on all."""
    if isnan(r.moving_mass):
        return r.seat_speed
    width = 2.0 * crest if isnan(r.pocket_width) else r.pocket_width
    return width / sqrt(2.0 * lift * r.moving_mass / force)


def resolved(r: Any, w1: float, n: float, given: float, radius: float, clear: float, mean: float) -> Row:
    """The row.

    ``n`` elements, ``given`` force on one seated element [N] or NaN, ``radius`` of one [m]; residual drag over the
    setting when ``clear`` of the pockets and as ``mean`` over them.
    """
    force = element_force(r, n, given)
    shape = shape_of(r, radius, force, r.friction)
    crest = crest_of(r, shape)
    unit = unit_row(crest, shape)
    top = top_over(r, crest, shape)
    carrying = n / r.first_carries
    s = carrying * force * r.pitch_radius * top
    if not isnan(r.setting):
        s = r.setting * (top / stated_over(r, crest, radius, force))
    s *= newness(r)
    k = stiffness(r.stiffness, r.twist_at_setting, s)
    base = s / top
    climb = climb_at_seat(r, shape)
    t1 = base * climb
    t2 = base * out(unit, crest)
    at = 0.0
    if shape[0] < 0.5:
        t1 = s / max(1.0, shape[7])
        t2 = t1 * shape[7]
        at = crest if t2 >= t1 else 0.0
    else:
        at = top_at(unit)
    total = base / r.pitch_radius
    head = (
        t1,
        t2,
        crest,
        shape[1] / climb,
        min(slide_at_seat(r, shape) / climb, 1.0 - LEAST_FRICTION),
        k,
        damping(r.relative_damping, k, w1),
        drag_share(r, clear, mean) * s,
        r.pockets_every,
        drops_below(r, crest, lift_of(r, radius), total * spring_force(unit, shape[6])),
        1.0 if r.after_release > 0.5 or r.reset > 0.5 else 0.0,
        max(t1, t2) if shape[0] < 0.5 else s,
        at,
        base,
        0.0 if isnan(total) else total,
        0.0 if isnan(r.pockets) else r.pockets,
        r.ratcheting,
        0.0 if isnan(r.moving_mass) else 1.0,
        0.0 if isnan(r.crawl_speed) else (TURN if r.pockets > 0.0 else r.pockets_every) / r.crawl_speed,
        0.0 if isnan(r.pitch_radius) else r.pitch_radius,
        0.0 if isnan(carrying) else carrying,
    )
    return head + shape  # numba builds no tuple of more than 30 at once


def _widest_gap(tab: Any, i: int) -> float:
    """Between neighbours of the pockets listed from ``i`` on [rad]."""
    places = [float(x) for x in tab[i + 1 : i + 1 + int(tab[i])]]
    return max(b - a for a, b in pairwise([*places, places[0] + TURN]))


def sheet(p: Any, tab: Any = ()) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    at_seat = back(p, 0.0, steepness(p, 0.0))
    at_crest = back(p, p[CREST], steepness(p, p[CREST]))
    values = {
        "setting": (p[TOP], "torque"),
        "torque at the start of the climb": (p[T1], "torque"),
        "torque at the crest": (p[T2], "torque"),
        "torque returned while sliding home": (at_seat, "torque"),
        "release twist": (p[CREST], "angle"),
        "residual drag": (p[DRAG], "torque"),
        "resetting torque": (max(p[DRAG], -at_seat, -at_crest), "torque"),
        "energy in the springs at the crest": (lifted(p, p[CREST]), "energy"),
        "stiffness": (p[K], "stiffness"),
    }
    if p[RADIUS] > 0.0:
        values["lift"] = (p[RADIUS] * p[RISE], "length")
        values["spring force when seated"] = (p[FORCE], "force")
        if p[CARRYING] > 0.0:
            values["side force on the first element"] = (p[TOP] / p[RADIUS] / p[CARRYING], "force")
    if p[RATCHETS] > 0.5:
        values["drops in below"] = (p[SEAT_SPEED], "speed")
    if p[WAIT] > 0.0:
        values["longest wait for a pocket at the crawl speed"] = (_longest_wait(p, tab), "time")
    return values


def _longest_wait(p: Any, tab: Any) -> float:
    """For the next pocket at the crawl speed [s]; ``wait`` is that for a whole turn if the pockets are listed."""
    gap = _widest_gap(tab, int(p[LIST])) if p[LIST] > 0.5 and len(tab) else TURN
    return float(p[WAIT] * gap / TURN)


def to_run_again(p: Any, tab: Any = ()) -> Again:
    """By hand, or in the next pocket: without a crawl speed just below the speed at which the elements drop in."""
    gap = _widest_gap(tab, int(p[LIST])) if p[LIST] > 0.5 else p[POCKET]
    kept = "yes" if gap > (1.0 - 1e-9) * TURN else "no"
    if p[RATCHETS] < 0.5 or p[SEAT_SPEED] <= 0.0:
        return Again(seconds=BY_HAND_TIME, phase_kept=kept)
    return Again("next pocket", _longest_wait(p, tab) if p[WAIT] > 0.0 else gap / p[SEAT_SPEED], kept)
