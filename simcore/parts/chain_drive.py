r"""Chain drive between two sprockets, with the polygon effect: a sprocket winds the chain up link by link.

.. math:: R = \frac{p}{2\sin(\pi/z)}, \quad g = np + R\sin x, \quad \frac{dg}{d\theta} = R\cos x, \quad
          x = \theta - \frac{2\pi n}{z} \in \left[-\frac{\pi}{z}, \frac{\pi}{z}\right]

with pitch :math:`p`, teeth :math:`z` and links :math:`n` laid on so far.  The strand stretches by
:math:`g_1(\theta_1) - g_2(\theta_2)`; its pull drives and loads the sprockets at their radii of the moment, so power
balances.  All is told at the driven sprocket: divided by its mean radius :math:`pz_2/2\pi`.  The radius is continuous,
its slope jumps at each new link, which is a guard.  Ripple of the speed :math:`1 - \cos(\pi/z)`.

The chain pulls and never pushes: driven back, it first takes up the slack of the other strand.  Both sprockets start
where their radius is the mean one, so that the line starts quietly; steady running is a cycle all the same.

Source: polygon effect, Niemann and Winter, Maschinenelemente 3; pitch circle ISO 606 (both cited from memory).
Contact see :mod:`simcore.parts._contact`.
"""

from __future__ import annotations

from math import acos, cos, isnan, pi, sin
from typing import Any

from simcore.contract import Kind, Param, Q
from simcore.parts import _contact as ct
from simcore.parts._contact import flank_loss, flank_store, flank_torque, play_guards, play_switch
from simcore.parts._elastic import RELATIVE_DAMPING, damping
from simcore.parts._flexible import flexible_start
from simcore.parts._given import or_else

K, C, HALF, TURNS, TOOTH_1, TOOTH_2, START_1, START_2, TOP_1, TOP_2, PITCH = range(11)
LINKS_1, LINKS_2 = range(2)
OVER = 1.0 + 1e-9
"""A new link is laid on a hair late, so that the next one is clear of it."""
PER_BREAKING_LOAD = 60.0

KIND = Kind(
    name="chain drive",
    family="transmission",
    summary="roller chain between two sprockets: uneven speed link by link, slack, pulls and never pushes",
    params=(
        Param("pitch", "length", "pitch of the chain", required=True, above="0 mm"),
        Param("teeth_in", "count", "teeth of the driving sprocket", required=True, low=6, high=200,
              usual=(15, 25), source="common practice, from memory"),
        Param("teeth_out", "count", "teeth of the driven sprocket", required=True, low=6, high=200,
              usual=(15, 114), source="common practice, from memory"),
        Param("stiffness", "linear_stiffness", "stiffness of the pulling strand; left out: by breaking load and length",
              above="0 N/m"),
        Param("breaking_load", "force", "breaking load of the chain; stretches it by a sixtieth", above="0 N",
              source="force over strain 60 times as much; common practice, from memory"),
        Param("strand_length", "length", "free length of one strand", above="0 mm"),
        Param("slack", "length", "way of the chain before the other strand pulls; 0: both strands taut, no play",
              default="1 mm", low="0 mm", usual=("0.5 mm", "10 mm"), source="sag 1 to 2 % of the length; common "
              "practice, from memory"),
        Param("inertia_in", "inertia", "inertia of the driving sprocket", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
        Param("inertia_out", "inertia", "inertia of the driven sprocket", default="0 kg*m^2", low="0 kg*m^2",
              source="counted with its neighbours"),
        RELATIVE_DAMPING,
    ),
    row=("k", "c", "half", "turns", "tooth 1", "tooth 2", "start 1", "start 2", "top 1", "top 2", "pitch"),
    modes=ct.MODES,
    guards=("strand", "strand again", "next link in", "link back in", "next link out", "link back out"),
    memory=("links in", "links out"),
    cautions=("Guard chain and run-in points: a broken chain whips.",
              "Steady running is a cycle: peaks depend on where in its link the jam finds the chain."),
    sources=("Niemann and Winter, Maschinenelemente 3: polygon effect (cited from memory)",
             "ISO 606: pitch circle of a sprocket (cited from memory)"),
)  # fmt: skip


def _strand(r: Any) -> float:
    return or_else(r.stiffness, PER_BREAKING_LOAD * r.breaking_load / r.strand_length)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = []
    for n in (r.teeth_in, r.teeth_out):
        if n != round(n):
            out.append(f"a sprocket has whole teeth, not {n:.4g}")
    if isnan(_strand(r)):
        out.append("give the stiffness of the strand, or breaking_load and strand_length")
    return out


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    mean = r.pitch * r.teeth_out / (2.0 * pi)
    k = _strand(r) * mean * mean
    a, b = pi / r.teeth_in, pi / r.teeth_out
    return (
        k,
        damping(r.relative_damping, k, w1),
        0.5 * r.slack / mean,
        r.teeth_out / r.teeth_in,
        a,
        b,
        -acos(sin(a) / a),
        -acos(sin(b) / b),
        b / sin(a),
        b / sin(b),
        r.pitch,
    )


def ratios(r: Any) -> tuple[float, float]:
    return r.teeth_in / r.teeth_out, 1.0


def inertias(r: Any) -> tuple[float, float]:
    """At the driven sprocket."""
    return r.inertia_in * (r.teeth_out / r.teeth_in) ** 2, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    return flexible_start(p, sense)


def _place_1(q: Q) -> float:
    """Angle of the driving sprocket from the middle of its link."""
    return q.ta * q.p[TURNS] + q.p[START_1] - 2.0 * q.p[TOOTH_1] * q.mem[LINKS_1]


def _place_2(q: Q) -> float:
    return q.tb + q.p[START_2] - 2.0 * q.p[TOOTH_2] * q.mem[LINKS_2]


def _twist(q: Q) -> float:
    p = q.p
    way_1 = p[TOP_1] * (sin(_place_1(q)) - sin(p[START_1]))
    way_2 = p[TOP_2] * (sin(_place_2(q)) - sin(p[START_2]))
    return 2.0 * p[TOOTH_2] * (q.mem[LINKS_1] - q.mem[LINKS_2]) + way_1 - way_2


def _ratio_1(q: Q) -> float:
    """Radius of the moment over the mean one."""
    return q.p[TOP_1] * q.p[TURNS] * cos(_place_1(q))


def _ratio_2(q: Q) -> float:
    return q.p[TOP_2] * cos(_place_2(q))


def _slip(q: Q) -> float:
    return _ratio_1(q) * q.wa - _ratio_2(q) * q.wb


def torque(q: Q) -> float:
    return flank_torque(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF])


def ground(q: Q, T: float) -> tuple[float, float]:
    return T * (1.0 - _ratio_1(q)), T * (_ratio_2(q) - 1.0)


def guards(q: Q, T: float) -> tuple[float, float, float, float, float, float]:
    one, again = 1.0, 1.0
    if q.m < ct.TIGHT_F:
        one, again = play_guards(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF], T)
    a, b = _place_1(q), _place_2(q)
    end_1, end_2 = OVER * q.p[TOOTH_1], OVER * q.p[TOOTH_2]
    return one, again, end_1 - a, end_1 + a, end_2 - b, end_2 + b


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k < 2:
        return play_switch(q.m, k, _twist(q), q.p[K], q.p[HALF])
    cell = LINKS_1 if k < 4 else LINKS_2
    M[cell] = q.mem[cell] + (1.0 if k == 2 or k == 4 else -1.0)
    return q.m, 0.0


def loss(q: Q, T: float) -> float:
    return flank_loss(q.m, _twist(q), _slip(q), q.p[K], q.p[C], q.p[HALF])


def store(q: Q) -> float:
    return flank_store(q.m, _twist(q), q.p[K], q.p[HALF])


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    mean = p[PITCH] / (2.0 * p[TOOTH_2])
    return {
        "pitch diameter of the driving sprocket": (p[PITCH] / sin(p[TOOTH_1]), "length"),
        "pitch diameter of the driven sprocket": (p[PITCH] / sin(p[TOOTH_2]), "length"),
        "speed ripple of the driving sprocket": (1.0 - cos(p[TOOTH_1]), "ratio"),
        "speed ripple of the driven sprocket": (1.0 - cos(p[TOOTH_2]), "ratio"),
        "stiffness of the strand": (p[K] / (mean * mean), "linear_stiffness"),
        "stiffness at the driven sprocket": (p[K], "stiffness"),
        "damping": (p[C], "damping"),
        "play at the driven sprocket": (2.0 * p[HALF], "angle"),
    }
