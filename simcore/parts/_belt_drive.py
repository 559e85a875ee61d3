r"""Law of a belt drive that pulls by friction: two elastic strands, slip when the pulley can hold no more.

.. math:: T = 2 k r_2^2(\varphi - x) + c\nu, \qquad |T| \le 2 F_0 r_2 \tanh\frac{\mu\beta}{2}

with the stiffness :math:`k` of one strand, the pretension :math:`F_0` of each, the driven pulley's radius
:math:`r_2` and the slip angle :math:`x`, all at the driven pulley.  What one strand gains the other loses, so the sum
of both pulls stays :math:`2F_0`; with :math:`F_1/F_2 = e^{\mu\beta}` that is the largest pull.  It is below
:math:`2F_0`, so the loose strand is never quite slack and the belt never pushes: it slips first.  The smaller pulley
slips, its wrap is :math:`\beta = \pi - 2\arcsin(|r_2 - r_1|/a)` at the centre distance :math:`a`.

Slipping is that of :mod:`simcore.parts.friction_disc`, the very same functions, with one torque at any slip speed.
Elastic creep is neglected, and so is the pull that a fast belt loses to its own inertia.  The rise of belt and rim is
followed; whether they bear it is not judged.

Source: Euler and Eytelwein, textbook; belt drives, Niemann and Winter, Maschinenelemente 3 (cited from memory).
"""

from __future__ import annotations

from math import asin, degrees, exp, isnan, nan, pi, sqrt, tanh
from typing import Any

from simcore.contract import Mode, Param, State
from simcore.parts import friction_disc as fd
from simcore.parts._elastic import BELT_DAMPING, damping
from simcore.parts._given import or_else

PRETENSION, GRIP, RADIUS, STRAND = range(23, 27)
NO_LIMIT = 1e6
"""Rise [K] that is never reached: what a belt bears is not judged."""
ROW = (*fd.KIND.row, "pretension", "grip", "radius", "strand stiffness")
MODES = (Mode("holding", *fd.KIND.modes[0][1:]), *fd.KIND.modes[1:])
GUARDS = fd.KIND.guards
MEMORY = fd.KIND.memory
STATES = (
    State("slip angle", "rad", 0.01, "angle slipped through at the driven pulley, signed"),
    State("belt rise", "K", 1.0, "temperature of the belt above ambient"),
    *fd.KIND.states[2:4],
    State("pulley rise", "K", 1e2, "not followed apart from the belt: zero"),
    *fd.KIND.states[5:],
)
CAUTIONS = (
    "A belt that slips burns or comes off: stop the drive, do not let it ride.",
    "Oil, water or dust on the pulleys change the largest pull by half and more: no sure protection.",
    "Guard both strands and both run-in points.",
)
SOURCES = (
    "Euler and Eytelwein: friction of a rope on a drum, textbook",
    "Niemann and Winter, Maschinenelemente 3: belt drives (cited from memory)",
)


def pulley_params() -> tuple[Param, ...]:
    """Geometry and pretension."""
    return (
        Param("radius_in", "length", "radius of the driving pulley", required=True, above="0 mm"),
        Param("radius_out", "length", "radius of the driven pulley", required=True, above="0 mm"),
        Param("centre_distance", "length", "distance between the shafts; gives wrap and strand length",
              above="0 mm"),
        Param("wrap_angle", "angle", "wrap of the smaller pulley; left out: from the centre distance, else 180 deg",
              above="0 deg", high="330 deg", usual=("120 deg", "220 deg"), source="common practice, from memory"),
        Param("strand_length", "length", "free length of one strand; left out: from the centre distance",
              above="0 mm"),
        Param("stiffness", "linear_stiffness", "stiffness of one strand; left out: tensile stiffness over length",
              above="0 N/m"),
        Param("pretension", "force", "pull in each strand at rest; left out: tensile stiffness times strain",
              above="0 N"),
        Param("strain", "ratio", "stretch by which it is fitted", default="0.6 %", above=0, high=0.2,
              usual=("0.3 %", "1 %"), source="common practice, from memory"),
    )  # fmt: skip


def heat_params() -> tuple[Param, ...]:
    """Damping, inertias and heat."""
    return (
        Param("inertia_in", "inertia", "inertia of the driving pulley", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven pulley", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
        BELT_DAMPING,
        Param("heat_capacity", "heat_capacity", "heat capacity of the belt and the rim it rubs on",
              default="2 kJ/K", above="0 J/K", usual=("0.5 kJ/K", "20 kJ/K"), source="1 kg of belt and as much "
              "again of rim; common practice, from memory"),
        Param("cooling", "conductance", "heat given off per kelvin", default="20 W/K", low="0 W/K",
              usual=("5 W/K", "100 W/K"), source="common practice, from memory"),
    )  # fmt: skip


def _by_centres(r: Any) -> tuple[float, float]:
    """Wrap [rad] and strand length [m] from the centre distance; NaN if it is not given or too small."""
    step = abs(r.radius_out - r.radius_in)
    if isnan(r.centre_distance) or r.centre_distance <= step:
        return nan, nan
    return pi - 2.0 * asin(step / r.centre_distance), sqrt((r.centre_distance - step) * (r.centre_distance + step))


def _wrap(r: Any) -> float:
    return or_else(r.wrap_angle, or_else(_by_centres(r)[0], pi))


def _strand(r: Any, tensile: float) -> float:
    """Stiffness of one strand [N/m]; NaN if it cannot be known."""
    return or_else(r.stiffness, tensile / or_else(r.strand_length, _by_centres(r)[1]))


def _pretension(r: Any, tensile: float) -> float:
    return or_else(r.pretension, tensile * r.strain)


def belt_faults(r: Any, tensile: float) -> list[str]:
    """Sentences on what is missing or impossible."""
    out = []
    if isnan(_strand(r, tensile)):
        out.append("give the stiffness of one strand, or tensile_stiffness and centre_distance (or strand_length)")
    if isnan(_pretension(r, tensile)):
        out.append("give the pretension, or tensile_stiffness: without pretension a belt pulls nothing")
    if r.centre_distance <= r.radius_in + r.radius_out:
        out.append("the pulleys touch: centre_distance must exceed radius_in plus radius_out")
    else:
        wrap = _by_centres(r)[0]
        if abs(r.wrap_angle - wrap) > 0.02 * wrap and r.wrap_angle < wrap:
            out.append(
                f"wrap_angle {degrees(r.wrap_angle):.4g} deg is less than the centre distance gives, "
                f"{degrees(wrap):.4g} deg: only a pulley on the back of the belt changes it, and that adds wrap"
            )
    return out


def belt_row(r: Any, w1: float, tensile: float, friction: float) -> tuple[float, ...]:
    """The columns of ROW; ``tensile`` is EA of all belts [N], ``friction`` what the flat pulley would need."""
    grip = friction * _wrap(r)
    pull = 2.0 * _pretension(r, tensile) * tanh(0.5 * grip)
    strand = _strand(r, tensile)
    k = 2.0 * strand * r.radius_out * r.radius_out
    return (
        pull * r.radius_out, 1.0, 0.0, 0.0, 0.0, k, damping(r.relative_damping, k, w1), r.heat_capacity, r.cooling,
        0.0, 0.0, 0.0, NO_LIMIT, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, _pretension(r, tensile), grip,
        r.radius_out, strand,
    )  # fmt: skip


def ratios(r: Any) -> tuple[float, float]:
    """The belt's own shaft is the driven pulley's."""
    return r.radius_in / r.radius_out, 1.0


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia_in * (r.radius_out / r.radius_in) ** 2, r.inertia_out


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); the capacity is the largest torque at the driven pulley."""
    return {
        "capacity": (p[fd.S], "torque"),
        "largest pull": (p[fd.S] / p[RADIUS], "force"),
        "pretension of each strand": (p[PRETENSION], "force"),
        "pull of the tight over that of the loose strand when it slips": (exp(p[GRIP]), "ratio"),
        "stiffness of one strand": (p[STRAND], "linear_stiffness"),
        "stiffness at the driven pulley": (p[fd.K], "stiffness"),
        "damping": (p[fd.C], "damping"),
    }
