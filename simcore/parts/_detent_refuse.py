"""What is impossible in the inputs of a detent, in sentences."""

from __future__ import annotations

from itertools import pairwise
from math import atan, degrees, isnan, nan, pi
from typing import Any

from simcore.parts._detent_flank import disc_load
from simcore.parts._detent_row import (
    TURN,
    by_geometry,
    climb_at_seat,
    crest_of,
    element_force,
    flank_end,
    guide,
    is_edge,
    lift_of,
    newness,
    shape_of,
    snaps_through,
    start_slope,
)
from simcore.parts._elastic import both_or_neither
from simcore.parts._given import narrower
from simcore.parts._protection import setting_or

SAME_ANGLE = 1e-9
DISC = ("disc_height", "disc_thickness", "disc_deflection")


def refused(r: Any, n: float, given: float, radius: float, words: tuple[str, str, str]) -> list[str]:
    """Sentences; ``words``: what counts the elements, their force and their radius in the inputs."""
    out = _springs(r, n, given, words) + _flank(r, radius, words) + _pockets(r)
    if out:
        return out
    force = element_force(r, n, given)
    shape = shape_of(r, radius, force, r.friction)
    out = _jams(r, shape)
    geometry = nan if out else by_geometry(r, n, force, radius) * newness(r)
    needs = (words[0], words[1] if isnan(r.disc_outer) else "disc_outer", "pitch_radius")
    out += setting_or(r, geometry, f"{words[0]}, {words[1]} and pitch_radius", needs)
    return out + (_travel(r, shape) if not out else []) + _release(r, radius, shape)


def _springs(r: Any, n: float, given: float, words: tuple[str, str, str]) -> list[str]:
    out = []
    coil = r.spring < 0.5
    if coil and r.crest_torque < 1.0:
        out.append("a coil spring cannot fall towards the crest: crest_torque must be 1 or more")
    if not coil and r.crest_torque > 1.0:
        out.append('a disc spring past its peak falls: crest_torque must be 1 or less, or spring = "coil"')
    if not isnan(r.spring_rate):
        if not coil:
            out.append('spring_rate belongs to spring = "coil": leave it out or change the spring')
        if isnan(given):
            out.append(f"spring_rate needs {words[1]}, the force from which it rises")
        if isnan(r.pitch_radius):
            out.append("spring_rate needs pitch_radius and the flank, from which the lift follows")
    given_disc = [not isnan(getattr(r, name)) for name in DISC]
    if any(given_disc) or not isnan(r.disc_outer) or not isnan(r.disc_inner):
        out += _disc(r, n, all(given_disc), coil)
    if not isnan(r.crest_torque) and (any(given_disc) or not isnan(r.spring_rate)):
        out.append("crest_torque follows from the spring that is given: leave one of the two out")
    if r.first_carries > n:
        out.append(f"first_carries is at most the number of {words[0]}: then the first one carries all")
    if newness(r) <= 0.0:
        out.append(f"drift_per_1000 leaves nothing of the setting after {r.releases_done:.6g} releases")
    return out


def _disc(r: Any, n: float, complete: bool, coil: bool) -> list[str]:
    out = []
    if coil:
        out.append('a disc spring is given but spring = "coil": leave it out or change the spring')
    if not complete:
        out.append("a disc spring needs disc_height, disc_thickness and disc_deflection together")
    elif disc_load(r.disc_height / r.disc_thickness, r.disc_deflection / r.disc_thickness) <= 0.0:
        out.append("the disc spring has snapped through when seated and presses nothing: less disc_deflection")
    if isnan(r.disc_outer) != isnan(r.disc_inner):
        out.append("disc_outer and disc_inner only give a force together")
    out += narrower(r, "disc_inner", "disc_outer", ", it is the bore of the disc spring")
    if not isnan(r.disc_outer) and isnan(n):
        out.append("the force of the disc spring is shared among the elements: give their number")
    if isnan(r.lift) and isnan(r.pitch_radius):
        out.append("a disc spring needs the lift, or pitch_radius and the flank, to know its deflection")
    return out


def _flank(r: Any, radius: float, words: tuple[str, str, str]) -> list[str]:
    out = []
    if is_edge(r):
        if isnan(radius) or isnan(r.pocket_half_width) or isnan(r.pitch_radius):
            return [f'flank = "sharp edge" needs {words[2]}, pocket_half_width and pitch_radius together']
        if r.pocket_half_width >= radius:
            return narrower(r, "pocket_half_width", words[2], ", else the element falls through")
        text = "the lift contradicts the sharp edge, which gives {:.4g} mm: leave it out"
        out += both_or_neither(lift_of(r, radius), r.lift, text.format(1e3 * lift_of(r, radius)))
    elif not isnan(r.pocket_half_width) or not isnan(radius):
        out.append(
            f'{words[2]} and pocket_half_width belong to flank = "sharp edge": leave them out or change the flank'
        )
    if not isnan(r.guide_radius) and isnan(r.pitch_radius):
        out.append("guide_radius needs pitch_radius, the radius at which the flanks act")
    if not isnan(r.setting_friction) and isnan(r.setting):
        out.append("setting_friction belongs to a stated setting: by geometry friction is enough")
    return out + ([] if out else _stands_up(r, radius))


def _stands_up(r: Any, radius: float) -> list[str]:
    """Flank and friction angle together, at both coefficients of friction."""
    alpha = atan(start_slope(r, radius))
    mu = r.friction if isnan(r.setting_friction) else max(r.friction, r.setting_friction)
    if alpha + atan(mu) < 0.5 * pi:
        return []
    return ["flank_angle and friction together reach 90 deg: the elements cannot climb out, it jams"]


def _jams(r: Any, shape: tuple[float, ...]) -> list[str]:
    out = []
    for mu in (r.friction, r.setting_friction):
        bare = climb_at_seat(r, (*shape[:4], mu, 0.0, *shape[6:]))
        if bare * guide(r) >= 1.0:
            out.append(f"the guide jams the elements: guide_friction times pitch radius over guide_radius times "
                       f"tan(flank angle + friction angle) is {bare * guide(r):.3g}, it must stay below 1")  # fmt: skip
    return out[:1]


def _travel(r: Any, shape: tuple[float, ...]) -> list[str]:
    """The way to the crest among the pockets."""
    width = 2.0 * crest_of(r, shape)
    if r.pockets:
        turn = [*r.pockets, r.pockets[0] + TURN]
        gap = min(b - a for a, b in pairwise(turn))
        if gap < width * (1.0 - SAME_ANGLE):
            return [f"two pockets are {degrees(gap):.4g} deg apart, nearer than the width of a pocket, twice the "
                    f"release twist: {degrees(width):.4g} deg"]  # fmt: skip
        return []
    if 0.5 * width >= r.pockets_every:
        return ["the release twist reaches the next pocket: the elements would never be out"]
    if r.ratcheting > 0.5 and width > r.pockets_every * (1.0 + SAME_ANGLE):
        return ["torque pulses need pockets_every of at least twice the release twist: the next pocket begins sooner"]
    return []


def _pockets(r: Any) -> list[str]:
    out = []
    if r.pockets and list(r.pockets) != sorted(set(r.pockets)):
        out.append("pockets must be rising angles, none of them twice")
    if r.pockets and r.pockets[-1] - r.pockets[0] >= TURN * (1.0 - SAME_ANGLE):
        out.append("the pockets at 0 and 360 deg are one and the same: leave one of them out")
    if r.pockets and abs(r.pockets_every - TURN) > SAME_ANGLE:
        out.append("give pockets or pockets_every, not both: they say the same thing")
    return out


def _release(r: Any, radius: float, shape: tuple[float, ...]) -> list[str]:
    out = []
    automatic = r.after_release > 0.5 or r.reset > 0.5
    if r.ratcheting > 0.5 and r.after_release < 0.5:
        out.append('torque pulses need after_release = "ratchets": what stays out meets no pocket')
    if snaps_through(shape) and automatic:
        out.append('the disc spring snaps through before the crest and holds the elements out: reset must be "manual" '
                   'and after_release "stays out"')  # fmt: skip
    if not isnan(r.moving_mass):
        if not automatic:
            out.append('moving_mass says when the elements drop in again: it needs reset = "automatic" or '
                       'after_release = "ratchets"')  # fmt: skip
        if isnan(r.pitch_radius) or isnan(lift_of(r, radius)):
            out.append("moving_mass needs pitch_radius and the lift, from which force and fall follow")
        if flank_end(r) <= 0.0:
            out.append("moving_mass needs a pocket with some width to drop into")
    return out
