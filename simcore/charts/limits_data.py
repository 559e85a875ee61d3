"""Numbers of the chart of limits: largest peak over its allowable, every candidate at every connection."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.model import BARE, Connection, ResultSet
from simcore.units import show, typeset

MOST_LIMITS: Final = 8
"""Columns that fit; the ones nearest to their limit are drawn."""


class Cell(NamedTuple):
    """Largest peak over the allowable in any situation; NaN if this run lacks the connection."""

    use: float
    peak: str
    situation: str


class Column(NamedTuple):
    name: str
    allowable: str
    protected: bool


class Line(NamedTuple):
    """One candidate; ``worst`` is the use at the worse end of the setting's band, NaN on the bare line."""

    name: str
    place: int
    cells: tuple[Cell, ...]
    worst: float
    worst_at: str


class LimitsData(NamedTuple):
    frame: base.Frame
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]


def limits_data(result: ResultSet) -> LimitsData:
    names = [*base.shown_candidates(result), BARE]
    limits = _limits(result)
    dropped = len(limits) - MOST_LIMITS
    if dropped > 0:
        ranked = sorted(limits, key=lambda c: (c.name != result.protect, -_worst(result, names, c)))
        keep = {c.name for c in ranked[:MOST_LIMITS]}
        limits = [c for c in limits if c.name in keep]
    lines = []
    for name in names:
        if not any(n == name for n, _ in result.runs):
            continue
        place = -1 if name == BARE else base.shown_candidates(result).index(name)
        cells = tuple(_cell(result, name, c) for c in limits)
        a = base.answer_of(result, name)
        worst, at = (a.use, a.worst_limit) if a else (math.nan, "")
        lines.append(Line(base.label_of(name), place, cells, worst, at))
    note = "largest peak in any situation, nominal setting"
    if dropped > 0:
        note += f", {MOST_LIMITS} of {MOST_LIMITS + dropped} limits"
    columns = tuple(Column(c.name, _text(result, c, c.allowable), c.name == result.protect) for c in limits)
    return LimitsData(base.frame(result, _title(columns, lines), note, base.crash_of(result)), columns, tuple(lines))


def _limits(result: ResultSet) -> list[Connection]:
    """Connections with an allowable, in the order of the line."""
    found: dict[str, Connection] = {}
    for run in result.runs.values():
        for c in run.connections:
            if math.isfinite(c.allowable) and c.allowable > 0:
                found.setdefault(c.name, c)
    return list(found.values())


def _worst(result: ResultSet, names: Sequence[str], c: Connection) -> float:
    uses = [u for n in names if math.isfinite(u := _cell(result, n, c).use)]
    return max(uses, default=0.0)


def _cell(result: ResultSet, name: str, limit: Connection) -> Cell:
    best, where = math.nan, ""
    for (candidate, situation), run in result.runs.items():
        if candidate != name:
            continue
        for i, c in enumerate(run.connections):
            peak = float(run.peak[i])
            if c.name == limit.name and math.isfinite(peak) and not peak <= best:
                best, where = peak, situation
    return Cell(best / limit.allowable, _text(result, limit, best), where)


def _text(result: ResultSet, c: Connection, value: float) -> str:
    """A torque in the shown unit, a force in a fitting one."""
    if not math.isfinite(value):
        return "\u2013"
    if c.unit == "N m" and result.unit not in ("N", "kN", "MN"):
        return base.effort(result, value)
    text, _, unit = show(value, "force" if c.unit == "N" else "torque").rpartition(" ")
    return f"{text}{base.SPACE}{typeset(unit)}"


def _title(columns: Sequence[Column], lines: Sequence[Line]) -> str:
    tried = [
        (x.use, line.name, c.name)
        for line in lines
        if line.place >= 0
        for x, c in zip(line.cells, columns, strict=True)
        if math.isfinite(x.use)
    ]
    if not columns:
        return "No connection states an allowable"
    if not tried:
        return "No candidate was run"
    bare = max(
        (x.use for line in lines if line.place < 0 for x in line.cells if math.isfinite(x.use)),
        default=math.nan,
    )
    free = f"; without protection {base.percent(bare)}" if math.isfinite(bare) else ""
    use, who, where = max(tried)
    ends = [(x.worst, x.name, x.worst_at) for x in lines if x.place >= 0 and math.isfinite(x.worst)]
    use, who, where = max([(use, who, where), *ends])
    over = [t for t in tried if t[0] > 1.0]
    most = f"{base.percent(use)} at {where} ({base.clipped(who)}){free}"
    if over or use > 1.0:
        names = {t[1] for t in over} | {e[1] for e in ends if e[0] > 1.0}
        total = len({t[1] for t in tried})
        many = "exceeds" if len(names) == 1 else "exceed"
        within = "" if over else " within the band of setting"
        return f"{len(names)} of {total} {many} a limit{within}: up to {most}"
    return f"No limit is exceeded: at most {most}"
