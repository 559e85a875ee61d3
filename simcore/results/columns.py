"""Flat tables: the answers with one row per candidate, and the traces of a run with one row per instant."""

from __future__ import annotations

from math import nan
from typing import Any, NamedTuple

import numpy as np

from simcore.results.layout import FORCE, TORQUE, Array, distinct, texts
from simcore.results.model import Answer, ResultSet, Run
from simcore.results.tables import MARGINS, answer_unit, column, protected_unit
from simcore.results.traces import EXACT, TRACES, mode_words, run_group


class Column(NamedTuple):
    """One column: name, unit ('1' without dimension), values (n)."""

    name: str
    unit: str
    values: Array

    @property
    def header(self) -> str:
        """Name with its unit in brackets, if it has one."""
        return self.name if self.unit == "1" else f"{self.name} [{self.unit}]"


def answer_columns(result: ResultSet) -> list[Column]:
    """Every field of the answers, then the margins situation by situation."""
    protected = protected_unit(result)
    out = [Column("candidate", "1", texts(a.name for a in result.answers))]
    for name in Answer.__dataclass_fields__:
        if name not in ("name", "margins"):
            unit, _ = answer_unit(name, protected)
            out.append(_flat(name, [getattr(a, name) for a in result.answers], unit))
    for situation in dict.fromkeys(m.situation for a in result.answers for m in a.margins):
        for field, (name, unit, _) in MARGINS.items():
            out.append(_flat(f"{name}, {situation}", _margin_cells(result, situation, field), unit))
    return out


def _margin_cells(result: ResultSet, situation: str, field: str) -> list[Any]:
    empty: Any = {"met": False, "expect": "", "note": ""}.get(field, nan)
    cells = []
    for a in result.answers:
        found = [m for m in a.margins if m.situation == situation]
        cells.append(getattr(found[0], field) if found else empty)
    return cells


def _flat(name: str, values: list[Any], unit: str) -> Column:
    v = column(name, (), values, unit, "")
    return Column(name, unit, v.data.astype(bool) if v.attrs.get("dtype") == "bool" else v.data)


def trace_columns(run: Run, protected: str = TORQUE) -> list[Column]:
    """Time, then torque or force, mode and heat of each connection, motion of each node, the protection."""
    out = [Column("time", "s", run.time)]
    for i, (name, c) in enumerate(zip(distinct(c.name for c in run.connections), run.connections, strict=True)):
        out.append(_trace("force" if c.unit == FORCE else "torque", name, run.torque[:, i]))
        out.append(Column(f"mode, {name}", "1", mode_words(run, i)))
        out.append(_trace("heat", name, run.heat[:, i]))
    for i, (name, unit) in enumerate(zip(distinct(run.nodes), run.node_units, strict=True)):
        motion = ("position", "velocity") if unit == "m" else ("angle", "speed")
        out.append(_trace(motion[0], name, run.angle[:, i]))
        out.append(_trace(motion[1], name, run.speed[:, i]))
    of_protection = ("twist", "slip", "speed_driving_hub", "speed_driven_hub")
    found = {v.name: v for v in run_group(run, protected).variables if v.name in of_protection}
    return out + [Column(n.replace("_", " "), found[n].unit, found[n].data) for n in of_protection]


def _trace(what: str, name: str, values: Array) -> Column:
    return Column(f"{what}, {name}", TRACES[what][1], values if what in EXACT else values.astype(np.float32))
