r"""Crank: turns rotation into to and fro; its slider is a varying inertia, with forces against it by stroke.

.. math:: x = r(1 - \cos\theta) + l - R, \quad R = \sqrt{l^2 - r^2\sin^2\theta}, \quad
          x' = r\sin\theta\left(1 + \frac{r\cos\theta}{R}\right)

.. math:: x'' = r\cos\theta + \frac{r^2\cos 2\theta}{R} + \frac{r^4\sin^2\theta\cos^2\theta}{R^3}, \quad
          T = m x'^2\dot\omega + m x' x''\omega^2 + F|x'|

exact for a slider in line with the crank's axis, rod and crank rigid; the rod's mass goes in two shares to slider and
crank (common practice).  At the dead centres it neither takes torque nor stores energy.  The slider's weight is left
out.

Running with a crank is a cycle, not a state: the solver of steady running takes the crank where it stands at the start,
at a dead centre by default, without load.  Leave it a few turns before the event.  Source: slider-crank kinematics and
Lagrange's equation, textbook, e.g. Norton, Design of Machinery (cited from memory).
"""

from __future__ import annotations

from math import cos, pi, sin, sqrt
from typing import Any

from simcore.contract import ENGAGED, Kind, Mode, Param, Q
from simcore.parts._slider import stroke_forces, stroke_friction

MASS, R, ROD, PLACE, OUT_FORCE, BACK_FORCE = range(6)
FIRST_HALF, SECOND_HALF = range(2)

KIND = Kind(
    name="crank",
    family="load",
    hubs=1,
    summary="crank with rod and slider: inertia and torque vary with the angle, forces by stroke",
    params=(
        Param("radius", "length", "radius of the crank, half the stroke", required=True, above="0 mm"),
        Param("rod", "length", "length of the rod", required=True, above="0 mm"),
        Param("mass", "mass", "mass that goes to and fro: slider and its share of the rod", required=True, low="0 kg"),
        Param("phase", "angle", "angle past the inner dead centre at the start; 0: slider nearest", default="0 deg",
              low="-360 deg", high="360 deg", source="dead centre: the quietest start"),
        *stroke_forces(),
        Param("inertia", "inertia", "inertia of crank, balance weight and the rod's other share", default="0 kg*m^2",
              low="0 kg*m^2", source="counted with its neighbours"),
    ),
    starts_at="phase",
    row=("mass", "radius", "rod", "place", "out", "back"),
    modes=(Mode("first half turn", ENGAGED), Mode("second half turn", ENGAGED)),
    guards=("dead centre",),
    cautions=("Near its dead centres a crank turns a small torque into any force: a jam there shows little torque.",
              "Torque swings twice a turn: peaks depend on where in its turn the jam finds it."),
    sources=("slider-crank: Norton, Design of Machinery (cited from memory)", "Lagrange's equation: textbook"),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.rod <= r.radius:
        return ["the rod must be longer than the radius of the crank, else it cannot turn over"]
    return []


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float, float]:
    return r.mass, r.radius, r.rod, r.phase, r.force_out + r.slide_friction, r.force_back + r.slide_friction


def inertias(r: Any) -> tuple[float, float]:
    return r.inertia, 0.0


def start_mode(p: Any, sense: float) -> int:
    return FIRST_HALF if sin(p[PLACE] + 1e-9 * sense) >= 0.0 else SECOND_HALF


def _slope(q: Q) -> float:
    """Travel of the slider per angle [m/rad]."""
    s, c = sin(q.ta + q.p[PLACE]), cos(q.ta + q.p[PLACE])
    r, rod = q.p[R], q.p[ROD]
    return float(r * s * (1.0 + r * c / sqrt(rod * rod - r * r * s * s)))


def _bend(q: Q) -> float:
    """Change of the slope per angle [m/rad^2]."""
    s, c = sin(q.ta + q.p[PLACE]), cos(q.ta + q.p[PLACE])
    r, rod = q.p[R], q.p[ROD]
    root = sqrt(rod * rod - r * r * s * s)
    return float(r * c + r * r * (c * c - s * s) / root + r * r * r * r * s * s * c * c / (root * root * root))


def inertia(q: Q) -> float:
    x = _slope(q)
    return q.p[MASS] * x * x


def torque(q: Q) -> float:
    return q.p[MASS] * _slope(q) * _bend(q) * q.wa * q.wa


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    return stroke_friction(_slope(q), q.p[OUT_FORCE], q.p[BACK_FORCE])


def guards(q: Q, T: float) -> tuple[float]:
    s = sin(q.ta + q.p[PLACE])
    return (s if q.m == FIRST_HALF else -s,)


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return (SECOND_HALF if q.m == FIRST_HALF else FIRST_HALF), 0.0


def loss(q: Q, T: float) -> float:
    return 0.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    r, rod, steps = p[R], p[ROD], 2000
    slopes = [r * sin(t) * (1.0 + r * cos(t) / sqrt(rod * rod - (r * sin(t)) ** 2))
              for t in (i * pi / steps for i in range(steps + 1))]  # fmt: skip
    mean = p[MASS] * sum(x * x for x in slopes) / steps
    return {
        "stroke": (2.0 * r, "length"),
        "largest inertia at the crank": (p[MASS] * max(slopes) ** 2, "inertia"),
        "mean inertia at the crank": (mean, "inertia"),
        "largest torque of the process": (max(p[OUT_FORCE], p[BACK_FORCE]) * max(slopes), "torque"),
        "work a turn": (2.0 * r * (p[OUT_FORCE] + p[BACK_FORCE]), "energy"),
    }
