r"""One-way clutch: drives in one sense, overruns with drag in the other.  Shared by all freewheels and backstops.

With :math:`s = d\varphi`, :math:`v = d\nu` in the driving sense :math:`d`, face :math:`f` where load is taken
up, rest :math:`r` where the drag begins and :math:`u = s - f`:

.. math:: dT = k u + k_2 u|u| + c v \ge 0 \text{ driving}, \qquad
          dT = -\frac{C}{\varphi_C}(r - s) + c v \ge -D \text{ held by its drag}

and :math:`dT = -D` overrunning.  It engages from wherever it overran to: :math:`f` lies the engaging angle
ahead of the turning point (ratchet: at the next tooth).  Past its capacity :math:`C` it slips at :math:`C`; a ratchet
breaks where :math:`k u + k_2 u|u|` passes it.  Wind-up above :math:`C` is lost as heat.  Dry friction stands in series
with a spring, so at no relative speed it holds instead of switching.  Contact as in :mod:`simcore.parts._contact`: it
never pulls.

Sources: freewheels, Niemann and Winter, Maschinenelemente 3; line contact,
:math:`p_0^2 = F E^*/(\pi l R)`, Johnson, Contact Mechanics (both cited from memory).
"""

from __future__ import annotations

from dataclasses import replace
from math import isnan, pi
from typing import Any

from simcore.contract import BROKEN, ENGAGED, OPEN, SLIPPING, Kind, Mode, Param, Q
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._given import lacking, named_in

SIDE, K, RISE, C, CAPACITY, TWIST, DRAG, DEPTH, HALF, PITCH, OVERRUNS = range(11)
DRIVING, EASED, FREE, HELD, LAGGING, OVERRUNNING, GIVING, SLIDING = range(8)
FACE, REST, COUNT = range(3)
INSIDE = 1e-9
"""Share by which a friction that has just caught stays inside its limit, clear of rounding."""
LEAST_DRAG = 1e-9
"""Least hold of the drag over capacity: without any, one that has just caught would be let go again by rounding."""
STEEL = 206e9 / (2.0 * (1.0 - 0.3**2))
"""Modulus of two steel bodies pressed together [Pa]: ``1/E* = 2 (1 - nu^2)/E``."""

ROW = ("side", "k", "rise", "c", "capacity", "twist", "drag", "depth", "half", "pitch", "overruns")
Row = tuple[float, float, float, float, float, float, float, float, float, float, float]
GUARDS = ("face", "limit")
_ALIKE = (
    Mode("driving", ENGAGED), Mode("driving, eased", ENGAGED, False), Mode("within its engaging angle", OPEN, False),
    Mode("held by its drag", OPEN), Mode("drag winding up", OPEN, False), Mode("overrunning", OPEN, False),
)  # fmt: skip
BREAKS = (*_ALIKE, Mode("broken", BROKEN, False))
SENSES = ("forward", "backward")
NO_BRAKING = "Nothing is carried backward: the drive cannot brake the load through it, nor hold it at rest."
SIZING = (
    "A backstop belongs on the load side of the part that lets go: before it, it holds nothing.",
    "Capacity at least twice the static run-back, checked against the dynamic peak: the load falls through the "
    "engaging angle first.",
    "Where a load can fall on people it is no safety brake: local codes ask for more.",
)


def slips(word: str) -> tuple[Mode, ...]:
    """Modes of a clutch that slides past its capacity; ``word`` says how that is called."""
    return (*_ALIKE, Mode(f"{word}, winding up", SLIPPING, False), Mode(word, SLIPPING, False))


def capacity_param() -> Param:
    return Param("capacity", "torque", "torque past which it no longer holds", above="0 N*m")


def contact_stress() -> Param:
    return Param("contact_stress", "stress", "largest contact pressure that still does no damage (by geometry)",
                 default="4000 MPa", above="0 MPa", usual=("2500 MPa", "4500 MPa"),
                 source="static limit of roller bearings, ISO 76, from memory")  # fmt: skip


def engaging_angle(default: str, usual: tuple[str, str]) -> Param:
    return Param("engaging_angle", "angle", "angle from where it overran to until it takes load", default=default,
                 low="0 deg", high="90 deg", usual=usual, source="common practice, from memory")  # fmt: skip


def drag_param(default: float | None, usual: tuple[float, float], otherwise: str = "") -> Param:
    return Param("drag", "ratio", f"overrunning drag over capacity{otherwise}", default=default, low=0, high=0.5,
                 usual=usual, source="common practice, from memory")  # fmt: skip


def elastic_params(twist: str, usual: tuple[str, str]) -> tuple[Param, ...]:
    return (
        Param("twist_at_capacity", "angle", "wind-up at capacity, engaging angle not counted", default=twist,
              above="0 deg", high="45 deg", usual=usual, source="common practice, from memory"),
        RELATIVE_DAMPING,
    )  # fmt: skip


def freewheel_params() -> tuple[Param, ...]:
    """Inputs that every freewheel between two shafts has."""
    return (
        Param("drives", "choice", "sense in which the first shaft drives the second", default="forward",
              choices=SENSES, source="a line that runs forward"),
        Param("in_service", "choice", "in steady running: driving, or overrunning because another drive turns the "
              "second shaft faster", default="driving", choices=("driving", "overrunning"), source="one drive"),
        Param("inertia_in", "inertia", "inertia of the driving hub", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven hub", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
    )  # fmt: skip


_BACKSTOP_PARAMS = (
    Param("blocks", "choice", "sense of turning that it blocks", default="backward", choices=SENSES,
          source="a line that runs forward"),
    Param("inertia", "inertia", "inertia of the part that turns with the shaft", default="0 kg*m^2", low="0 kg*m^2",
          source="counted with its neighbours"),
)  # fmt: skip


def as_backstop(freewheel: Kind, name: str, summary: str, **changes: Any) -> Kind:
    """The same clutch with its second hub on the ground."""
    own = {p.name for p in freewheel_params()}
    params = [p for p in freewheel.params if p.name not in own]
    row = ["half_play" if column == "half" else column for column in freewheel.row]
    cautions = [c for c in freewheel.cautions if c != NO_BRAKING]
    return replace(
        freewheel, name=name, summary=summary, hubs=1, params=(*params, *_BACKSTOP_PARAMS), row=tuple(row),
        cautions=(*SIZING, *cautions), leaves="the shaft held against running back, free to run on",
        **changes,
    )  # fmt: skip


def inertias_of_hubs(r: Any) -> tuple[float, float]:
    return r.inertia_in, r.inertia_out


def inertia_on_shaft(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0


def capacity_or(r: Any, computed: float, how: str) -> list[str]:
    """Sentences when neither capacity nor geometry is complete, or when they contradict each other by more than 2 %.

    Where both are given and agree the capacity holds.
    """
    if isnan(r.capacity):
        whole = f"give the capacity, or {how}"
        return (lacking(r, named_in(r, how), "capacity") or [whole]) if isnan(computed) else []
    if isnan(computed) or abs(computed - r.capacity) <= 0.02 * r.capacity:
        return []
    text = f"capacity {r.capacity:.4g} N*m contradicts the geometry, which gives {computed:.4g} N*m"
    return [text + ": leave one of them out"]


def wedged(count: float, radius: float, tangent: float, curvature: float, length: float, stress: float) -> float:
    """Torque [N*m] of ``count`` wedged bodies on ``radius`` [m] at the contact pressure ``stress`` [Pa].

    Each is pressed by ``N = pi*l*R*p0^2/E*`` (Hertz, line contact, ``curvature`` R [m]) and carries ``N*tangent``.
    """
    return count * radius * tangent * pi * length * curvature * stress * stress / STEEL


def one_way_row(
    capacity: float, twist: float, rise: float, psi: float, drag: float, angle: float, pitch: float,
    backward: float, overruns: float, w1: float,
) -> Row:  # fmt: skip
    """Row of the law; ``rise`` the share of the capacity by the progressive part, ``drag`` over capacity."""
    depth = drag * twist
    return (
        1.0 - 2.0 * backward,
        (1.0 - rise) * capacity / twist,
        rise * capacity / (twist * twist),
        damping(psi, capacity / twist, w1),
        capacity,
        twist,
        drag * capacity,
        depth,
        0.5 * max(angle - depth, 0.0),
        pitch,
        overruns,
    )


def start_mode(p: Any, sense: float) -> int:
    if sense == 0.0:
        return FREE
    return DRIVING if sense * p[SIDE] > 0.0 and p[OVERRUNS] < 0.5 else OVERRUNNING


def _past_face(q: Q) -> float:
    """Wind-up past the face [rad]."""
    return q.p[SIDE] * q.phi - q.mem[FACE] - 2.0 * q.p[HALF]


def _past_rest(q: Q) -> float:
    """Wind-up of the drag [rad]."""
    return q.mem[REST] - q.p[SIDE] * q.phi


def _elastic(p: Any, u: float) -> float:
    return (p[K] + p[RISE] * abs(u)) * u


def _energy(p: Any, u: float) -> float:
    """Energy [J] at wind-up ``u``."""
    return (0.5 * p[K] + p[RISE] * abs(u) / 3.0) * u * u


def _drag_energy(p: Any, u: float) -> float:
    return 0.5 * p[CAPACITY] / p[TWIST] * u * u


def torque(q: Q) -> float:
    p = q.p
    if q.m == DRIVING:
        return p[SIDE] * _elastic(p, _past_face(q)) + p[C] * q.nu
    if q.m == LAGGING or q.m == OVERRUNNING:
        return -p[SIDE] * p[DRAG]
    if q.m == HELD:
        return p[C] * q.nu - p[SIDE] * p[CAPACITY] / p[TWIST] * _past_rest(q)
    if q.m >= GIVING and p[PITCH] <= 0.0:
        return p[SIDE] * p[CAPACITY]
    return 0.0


def guards(q: Q, T: float) -> tuple[float, float]:
    p = q.p
    u = _past_face(q)
    v = p[SIDE] * q.nu
    if q.m == DRIVING:  # a tooth breaks by its strain: the damper's blow at a fast catch is not in it
        return p[SIDE] * T, p[CAPACITY] - (_elastic(p, u) if p[PITCH] > 0.0 else p[SIDE] * T)
    if q.m == EASED:
        return u, -_elastic(p, u) - p[C] * v
    if q.m == FREE:
        return -u, -_past_rest(q)
    if q.m == HELD:
        return _past_rest(q), max(p[DRAG], LEAST_DRAG * p[CAPACITY]) + p[SIDE] * T
    if q.m == LAGGING:
        return -v, p[DEPTH] - _past_rest(q)
    if q.m == OVERRUNNING:
        return -v, (u + p[PITCH] if p[PITCH] > 0.0 else 1.0)
    if p[PITCH] > 0.0:
        return 1.0, 1.0
    return v, (p[CAPACITY] - _elastic(p, u) if q.m == GIVING else 1.0)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    m = q.m
    if m == DRIVING:
        if k == 1:
            return _give_way(q, M)
        return (EASED if _past_face(q) > 0.0 else FREE), 0.0
    if m == EASED:
        return (FREE if k == 0 else DRIVING), 0.0
    if m == FREE:
        return (DRIVING if k == 0 else HELD), 0.0
    if m == HELD:
        if k == 0:
            return FREE, 0.0
        return (LAGGING, 0.0) if _past_rest(q) < q.p[DEPTH] else (OVERRUNNING, _drag_freed(q))
    if m == LAGGING:
        return (HELD, 0.0) if k == 0 else (OVERRUNNING, _drag_freed(q))
    if m == OVERRUNNING:
        if k == 0:
            return HELD, _catch(q, M)
        M[FACE] = q.mem[FACE] - q.p[PITCH]
        M[COUNT] = q.mem[COUNT] + 1.0
        return OVERRUNNING, 0.0
    if k == 1:
        return SLIDING, max(_energy(q.p, _past_face(q)) - _energy(q.p, q.p[TWIST]), 0.0)
    return DRIVING, (0.0 if m == GIVING else _hold(q, M))


def _drag_freed(q: Q) -> float:
    """Heat [J] of the drag's spring as it begins to slide, wound up a hair past the drag."""
    return max(_drag_energy(q.p, _past_rest(q)) - _drag_energy(q.p, q.p[DEPTH]), 0.0)


def _give_way(q: Q, M: Any) -> tuple[int, float]:
    """Past its capacity: it breaks, or slides once the spring alone holds as much; energy set free is heat [J]."""
    u = _past_face(q)
    if q.p[PITCH] > 0.0:
        return GIVING, _energy(q.p, max(u, 0.0))
    M[COUNT] = q.mem[COUNT] + 1.0
    if _elastic(q.p, u) < q.p[CAPACITY]:
        return GIVING, 0.0
    return SLIDING, max(_energy(q.p, u) - _energy(q.p, q.p[TWIST]), 0.0)


def _catch(q: Q, M: Any) -> float:
    """Overrunning ends: the drag holds, and the face lies ahead.  Energy set free is heat [J]."""
    rest = q.p[SIDE] * q.phi + (1.0 - INSIDE) * q.p[DEPTH]
    if q.p[PITCH] > 0.0:
        rest = min(rest, q.mem[FACE] + 2.0 * q.p[HALF])
    else:
        M[FACE] = rest
    M[REST] = rest
    return _drag_energy(q.p, q.p[DEPTH]) - _drag_energy(q.p, rest - q.p[SIDE] * q.phi)


def _hold(q: Q, M: Any) -> float:
    """Sliding ends: it holds a hair below its capacity.  Energy set free is heat [J]."""
    held = (1.0 - INSIDE) * q.p[TWIST]
    M[FACE] = q.p[SIDE] * q.phi - held - 2.0 * q.p[HALF]
    M[REST] = M[FACE]
    return _energy(q.p, q.p[TWIST]) - _energy(q.p, held)


def loss(q: Q, T: float) -> float:
    p = q.p
    if q.m == DRIVING or q.m == HELD:
        return p[C] * q.nu * q.nu
    if q.m == EASED:
        u = _past_face(q)  # no |u|: its kink would spoil the loss of a step that overshoots u = 0
        return -(p[K] + p[RISE] * u) * u * p[SIDE] * q.nu
    if q.m == OVERRUNNING or q.m == SLIDING:
        return T * q.nu
    if q.m == LAGGING:
        return (p[CAPACITY] / p[TWIST] * _past_rest(q) - p[DRAG]) * p[SIDE] * q.nu
    if q.m == GIVING and p[PITCH] <= 0.0:
        return (p[CAPACITY] - _elastic(p, _past_face(q))) * p[SIDE] * q.nu
    return 0.0


def store(q: Q) -> float:
    p = q.p
    if q.m == DRIVING or q.m == EASED:
        return _energy(p, _past_face(q))
    if q.m == HELD or q.m == LAGGING:
        return _drag_energy(p, _past_rest(q))
    if q.m == OVERRUNNING:
        return _drag_energy(p, p[DEPTH])
    if p[PITCH] > 0.0 or q.m == FREE:
        return 0.0
    return _energy(p, _past_face(q)) if q.m == GIVING else _energy(p, p[TWIST])


def hint(p: Any) -> float:
    return p[CAPACITY] / p[TWIST]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "capacity": (p[CAPACITY], "torque"),
        "stiffness up to the capacity": (p[CAPACITY] / p[TWIST], "stiffness"),
        "overrunning drag": (p[DRAG], "torque"),
        "largest engaging angle": (p[PITCH] if p[PITCH] > 0.0 else 2.0 * p[HALF] + p[DEPTH], "angle"),
        "energy to the capacity": (_energy(p, p[TWIST]), "energy"),
    }
