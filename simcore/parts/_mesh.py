r"""Law of a gear: mesh spring with lash at the output, loss as dry friction of the housing on the input.

See :mod:`simcore.parts.gear` for the equations.  The loss has a kink where the mesh torque changes sign.  Without
lash that is a guard, which passes over swings too small to matter, as a flank does (:mod:`simcore.parts._contact`);
the loss at stake is some 1e-6 of rated torque.  The law itself takes :math:`|T|` and stays exact: the mode of a gear
without lash is no more than a note of the sign that was located last.
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Param, Q
from simcore.parts import _contact as ct
from simcore.parts._contact import calm, flank_loss, flank_store, flank_torque, play_guards, play_switch, start_flank
from simcore.parts._elastic import damping
from simcore.parts._given import or_else

K, C, HALF, UP, BACK, DRAG = range(6)
ROW = ("k", "c", "half", "up", "back", "drag")
GUARDS = ("flank", "flank again")


def no_load_torque(usual: str) -> Param:
    return Param("no_load_torque", "torque", "dry drag of seals, bearings and oil, at the input shaft; left out: "
                 "none", low="0 N*m", source=f"{usual}; common practice, from memory")  # fmt: skip


def mesh_row(
    r: Any, w1: float, k: float, forward: float, back: float
) -> tuple[float, float, float, float, float, float]:
    """The columns of ROW from stiffness at the output and both efficiencies."""
    return (
        k,
        damping(r.relative_damping, k, w1),
        0.5 * r.lash,
        1.0 / forward - 1.0,
        1.0 - back,
        or_else(r.no_load_torque, 0.0) * r.ratio,
    )


def ratios(r: Any) -> tuple[float, float]:
    return 1.0 / r.ratio, 1.0


def inertias(r: Any) -> tuple[float, float]:
    """At the gear's own (output) shaft."""
    return r.inertia_in * r.ratio * r.ratio, r.inertia_out


def start_mode(p: Any, sense: float) -> int:
    return start_flank(p[HALF], sense)


def torque(q: Q) -> float:
    return flank_torque(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF])


def friction(q: Q, T: float) -> tuple[float, float, float, float]:
    up = abs(T) * q.p[UP] + q.p[DRAG]
    back = abs(T) * q.p[BACK] + q.p[DRAG]
    if T > 0.0:
        return back, up, back, up
    return up, back, up, back


def guards(q: Q, T: float) -> tuple[float, float]:
    if q.m < ct.TIGHT_F:
        return play_guards(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF], T)
    late = calm(q.p[K], q.nu)
    return (T + late if q.m == ct.TIGHT_F else late - T), 1.0


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    return play_switch(q.m, k, q.phi, q.p[K], q.p[HALF])


def loss(q: Q, T: float) -> float:
    return flank_loss(q.m, q.phi, q.nu, q.p[K], q.p[C], q.p[HALF])


def store(q: Q) -> float:
    return flank_store(q.m, q.phi, q.p[K], q.p[HALF])


def hint(p: Any) -> float:
    return p[K]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {
        "stiffness at the output": (p[K], "stiffness"),
        "damping": (p[C], "damping"),
        "lash": (2 * p[HALF], "angle"),
        "efficiency": (1 / (1 + p[UP]), "ratio"),
        "efficiency when driven": (1 - p[BACK], "ratio"),
    }
