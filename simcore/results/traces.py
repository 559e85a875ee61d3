"""The group of one run: traces over time, switches, and what the mode numbers mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from simcore.results.layout import FORCE, TORQUE, Array, Group, Variable, distinct, escaped, slug, texts, words
from simcore.results.model import Run

CN: Final = ("time", "connection")
ND: Final = ("time", "node")

TRACES: Final[dict[str, tuple[tuple[str, ...], str, str]]] = {
    "torque": (CN, TORQUE, "torque at the connection; NaN where it travels, see force"),
    "force": (CN, FORCE, "force at the connection; NaN where it turns, see torque"),
    "heat": (CN, "J", "energy lost in the part since the start of the trace; work a drive gives is negative"),
    "angle": (ND, "rad", "angle of the node; NaN where it travels, see position"),
    "position": (ND, "m", "position of the node; NaN where it turns, see angle"),
    "speed": (ND, "rad/s", "speed of the node; NaN where it travels, see velocity"),
    "velocity": (ND, "m/s", "velocity of the node; NaN where it turns, see speed"),
}
EXACT: Final = ("angle", "position")
"""Stored in double precision: differences of large angles count."""


def group_path(candidate: str, situation: str) -> str:
    """Where the traces of a run stand in the file."""
    return f"/runs/{escaped(candidate)}/{escaped(situation)}"


def run_group(run: Run, protected: str = TORQUE) -> Group:
    """Traces and switches of one run; ``protected``: unit at the protected connection."""
    names = distinct(c.name for c in run.connections)
    turning = [c.unit != FORCE for c in run.connections]
    spinning = [u != "m" for u in run.node_units]
    kept = {
        "torque": _only(run.torque, turning), "force": _only(run.torque, [not t for t in turning]),
        "heat": run.heat,
        "angle": _only(run.angle, spinning), "position": _only(run.angle, [not s for s in spinning]),
        "speed": _only(run.speed, spinning), "velocity": _only(run.speed, [not s for s in spinning]),
    }  # fmt: skip
    variables = [
        Variable("time", ("time",), run.time, "s", "time after the event"),
        words("connection", ("connection",), names, "place where torque or force is counted"),
        words("connection_unit", ("connection",), (c.unit for c in run.connections), "unit at the connection"),
        words("node", ("node",), distinct(run.nodes), "turning or travelling place of the line"),
        *(_trace(name, data) for name, data in kept.items() if data is not None),
        _modes(run, names),
        *_of_protection(run, protected),
        *_own(run),
        *(Variable(left_variable(x.name), (), np.asarray(x.value), x.unit, x.meaning) for x in run.left_behind),
        *_switches(run),
    ]
    attrs = {
        "candidate": run.candidate, "situation": run.situation, "event": run.event, "expect": run.expect,
        "node_units": list(run.node_units), "measures": list(run.measures), "measures_high": list(run.high),
        "measures_low": list(run.low), "ledger": list(run.ledger), "counts": list(run.counts),
        **({"own_states": [s.name for s in run.own]} if run.own else {}),
        **({"left_behind": [x.name for x in run.left_behind]} if run.left_behind else {}),
    }  # fmt: skip
    return Group(group_path(run.candidate, run.situation), attrs, tuple(variables), ("connection_unit",))


def _trace(name: str, data: Array) -> Variable:
    dims, unit, long_name = TRACES[name]
    return Variable(name, dims, data if name in EXACT else data.astype(np.float32), unit, long_name)


def _only(data: Array, columns: Sequence[bool]) -> Array | None:
    """The columns asked for, NaN in the others; None if there are none."""
    if not any(columns):
        return None
    return data if all(columns) else np.where(np.asarray(columns), data, np.nan)


def _modes(run: Run, names: list[str]) -> Variable:
    highest = max((len(c.modes) for c in run.connections), default=1)
    meanings = [
        f"{name}: " + ", ".join(f"{i} {m} ({k})" for i, (m, k) in enumerate(zip(c.modes, c.classes, strict=True)))
        for name, c in zip(names, run.connections, strict=True)
    ]
    attrs: dict[str, Any] = {"flag_values": np.arange(highest, dtype=np.int16), "meanings": meanings}
    return Variable("mode", CN, run.mode.astype(np.int16), "1", "mode of the part there, see meanings", attrs)


def _of_protection(run: Run, protected: str) -> list[Variable]:
    bare = run.protection is None
    fast = "m/s" if bare and protected == FORCE else "rad/s"
    where = "protected connection" if bare else "protection"
    d = ("time",)
    slip, driving, driven = (v.astype(np.float32) for v in (run.slip, *run.hub_speed.T))
    return [
        Variable("twist", d, run.twist, "rad", "relative angle of the protection's hubs"),
        Variable("slip", d, slip, "rad/s", "relative speed of the protection's hubs"),
        Variable("speed_driving_hub", d, driving, fast, f"speed of the driving hub of the {where}"),
        Variable("speed_driven_hub", d, driven, fast, f"speed of the driven hub of the {where}"),
    ]


def own_variable(name: str) -> str:
    """Name in the file of a state of the protection."""
    return f"own_{slug(name)}"


def left_variable(name: str) -> str:
    """Name in the file of what the protection leaves behind."""
    return f"left_{slug(name)}"


def _own(run: Run) -> list[Variable]:
    return [
        Variable(own_variable(s.name), ("time",), s.values.astype(np.float32), s.unit, f"{s.name} of the protection")
        for s in run.own
    ]


def _switches(run: Run) -> list[Variable]:
    d = ("switch",)
    return [
        Variable(
            "switch_time",
            d,
            np.array([e.time for e in run.events], dtype=float),
            "s",
            "instant of the switch",
        ),
        words("switch_who", d, (e.who for e in run.events), "part or node that switched"),
        words("switch_old", d, (e.old for e in run.events), "mode before"),
        words("switch_new", d, (e.new for e in run.events), "mode after"),
    ]


def mode_words(run: Run, column: int) -> Array:
    """Names of the modes of one connection over time, (n)."""
    names = run.connections[column].modes
    known = {int(m): names[m] if 0 <= m < len(names) else str(m) for m in np.unique(run.mode[:, column])}
    return texts(known[int(m)] for m in run.mode[:, column])
