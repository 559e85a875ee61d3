"""Kinds of part made up for the charts of a part's own character: one way, loop, current, always slipping."""

from __future__ import annotations

from types import ModuleType
from typing import Any

from simcore.contract import ENGAGED, OPEN, SLIPPING, Kind, Mode, Param, Part, Q, State, part_of

TOP = Param("setting", "torque", "torque that it carries", above="0 N*m")
TWIST = Param("twist_at_setting", "angle", "twist at that torque", default="0.5 deg", above="0 deg")
TIP = (Mode("stuck", ENGAGED), Mode("sliding forward", SLIPPING), Mode("sliding backward", SLIPPING))


def toy(kind: Kind, **functions: Any) -> Part:
    module = ModuleType(kind.name.replace(" ", "_"))
    vars(module).update(functions, KIND=kind)
    return part_of(module)


def _sheet(p: Any) -> dict[str, tuple[float, str]]:
    return {"setting": (p[0], "torque"), "stiffness": (p[1], "stiffness")}


def _resolve(r: Any, w1: float) -> tuple[float, float]:
    return r.setting, r.setting / r.twist_at_setting


def _slid(m: int) -> float:
    return (0.0, 1.0, -1.0)[m]


def _jenkin_torque(q: Q) -> float:
    return q.p[0] * _slid(q.m) if q.m else q.p[1] * (q.phi - q.x[0])


def _jenkin_guards(q: Q, T: float) -> tuple[float, float]:
    return (_slid(q.m) * q.nu, 1.0) if q.m else (q.p[0] - T, q.p[0] + T)


def _jenkin_switch(k: int, q: Q, T: float, X: Any, M: Any, wires: Any) -> tuple[int, float]:
    if q.m == 0:
        return 1 + k, 0.0
    X[0] = q.phi - _slid(q.m) * (1.0 - 1e-9) * q.p[0] / q.p[1]
    return 0, 0.0


def slider(character: Any = "loop") -> Part:
    """A spring in series with dry friction: its loop at amplitude A loses 4 S (A - S/k)."""
    kind = Kind(
        "spring and slider", "protection", "slides at its torque, whatever the speed", (TOP, TWIST), ("top", "k"), TIP,
        (State("slid", "rad", 0.01, "angle slid through"),), ("forward", "backward"), lets_go="it slides",
        character=character,
    )  # fmt: skip
    return toy(kind, resolve=_resolve, torque=_jenkin_torque, guards=_jenkin_guards, switch=_jenkin_switch,
               rate=lambda q, T: (q.nu if q.m else 0.0,), hint=lambda p: p[1], sheet=_sheet)  # fmt: skip


def one_way(side: float = 1.0, slack: float = 0.01) -> Part:
    """Carries one way past a slack, slides past its capacity, drags at 1 % the other way."""

    def wound(q: Q) -> float:
        return side * q.phi - slack

    def law(q: Q) -> float:
        return side * (q.p[1] * wound(q), -0.01 * q.p[0], q.p[0])[q.m]

    def guards(q: Q, T: float) -> tuple[float]:
        return ((wound(q) if wound(q) < 0.0 else q.p[0] - side * T), -wound(q), 1.0)[q.m : q.m + 1]

    def switch(k: int, q: Q, T: float, X: Any, M: Any, wires: Any) -> tuple[int, float]:
        return (0 if q.m == 1 else 1 if wound(q) < 0.0 else 2), 0.0

    capacity = Param("capacity", "torque", "torque past which it slides", above="0 N*m")
    modes = (Mode("driving", ENGAGED), Mode("overrunning", OPEN), Mode("overloaded", SLIPPING))
    kind = Kind("one-way toy", "overrunning clutch", "drives one way only", (capacity, TWIST), ("top", "k"), modes,
                guards=("face",), lets_go="the driven side turns faster", character="twist")  # fmt: skip
    return toy(kind, resolve=lambda r, w1: (r.capacity, r.capacity / r.twist_at_setting), torque=law, guards=guards,
               switch=switch, start_mode=lambda p, sense: 1,
               sheet=lambda p: {"capacity": (p[0], "torque"), "stiffness up to it": (p[1], "stiffness")})  # fmt: skip


def by_current() -> Part:
    """Torque straight up with the current, whatever the program says."""
    params = (TOP, Param("rated_current", "current", "rated current", default="1.5 A", above="0 A"),
              Param("current", "current", "current held", low="0 A"))  # fmt: skip
    kind = Kind("coil toy", "protection", "slips at its current's torque", params, ("top", "rated_current", "held"),
                (Mode("slipping", SLIPPING),), lets_go="the torque reaches it", character="current")  # fmt: skip
    return toy(kind, resolve=lambda r, w1: (r.setting, r.rated_current, r.current),
               torque=lambda q: q.p[0] * q.p[2] / q.p[1], hint=lambda p: 1e3,
               sheet=lambda p: {"setting": (p[0], "torque")})  # fmt: skip


def always_slips() -> Part:
    """Torque by slip speed with a peak at 40 rad/s; nothing elastic."""
    kind = Kind("drag toy", "protection", "always slips", (TOP,), ("top",), (Mode("slipping", SLIPPING),),
                lets_go="never", character="slip speed")  # fmt: skip
    return toy(kind, resolve=lambda r, w1: (r.setting,), slip_scale=lambda p: 40.0, hint=lambda p: 1e-12 * p[0],
               torque=lambda q: q.p[0] * 80.0 * q.nu / (1600.0 + q.nu * q.nu),
               sheet=lambda p: {"setting": (p[0], "torque")})  # fmt: skip


TOYS = {"loop": slider(), "one way": one_way(), "one way back": one_way(-1.0), "current": by_current(),
        "always slips": always_slips()}  # fmt: skip
