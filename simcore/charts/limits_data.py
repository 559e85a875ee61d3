"""Numbers of the chart of limits: largest peak over its allowable, every candidate at every connection."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.model import BARE, Connection, ResultSet
from simcore.units import show, typeset

UNLESS: Final = "unless named"
"""Behind the situation in the corner, where some cells come from another."""
LEAST: Final = "\u2265\u2009"
"""Before what was reached when the solver gave up."""
MOST_LIMITS: Final = 8
"""Columns that fit; the ones nearest to their limit are drawn."""


class Cell(NamedTuple):
    """Largest peak over the allowable in any situation; NaN if this run lacks the connection."""

    use: float
    peak: str
    situation: str
    named: bool = False
    """Whether that is another than the one in the corner."""
    least: bool = False
    """Whether one of the runs has no answer, so that it may be more."""


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
    worst_in: str = ""
    """Situation of ``worst``, if that is another than the one in the corner."""
    lost: bool = False
    """Whether a situation has no answer: its cells are the least that is known, and no worst is."""


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
    crash = base.crash_of(result)
    lost = base.unanswered(result)
    lines = []
    for name in names:
        if not any(n == name for n, _ in result.runs):
            continue
        place = -1 if name == BARE else base.shown_candidates(result).index(name)
        cells = tuple(_named(result, name, c, crash) for c in limits)
        if name in lost:
            cells = tuple(c._replace(least=True, peak=f"{LEAST}{c.peak}") if math.isfinite(c.use) else c for c in cells)
            lines.append(Line(base.label_of(name), place, cells, math.nan, "", lost=True))
            continue
        a = base.answer_of(result, name)
        worst, at, where = (a.use, a.worst_limit, a.worst_situation) if a else (math.nan, "", "")
        lines.append(Line(base.label_of(name), place, cells, worst, at, "" if where == crash else where))
    note = f"cells: largest peak in any situation, {base.set_as(result)}"
    if any(c.least for x in lines for c in x.cells):
        note += f" ({LEAST.strip()}: until given up)"
    if dropped > 0:
        note += f", {MOST_LIMITS} of {MOST_LIMITS + dropped} limits"
    columns = tuple(Column(c.name, _text(result, c, c.allowable), c.name == result.protect) for c in limits)
    rest = UNLESS if any(x.worst_in or any(c.named for c in x.cells) for x in lines) else ""
    frame = base.frame(result, _title(columns, lines), note, crash, rest, lost)
    return LimitsData(frame, columns, tuple(lines))


def _named(result: ResultSet, name: str, limit: Connection, crash: str) -> Cell:
    """The cell; the crash of the corner keeps it where it reaches the same to the digits shown."""
    cell, own = _cell(result, name, limit), _cell(result, name, limit, crash)
    if not cell.situation or cell.situation == crash:
        return cell
    return own if own.peak == cell.peak else cell._replace(named=True)


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


def _cell(result: ResultSet, name: str, limit: Connection, only: str = "") -> Cell:
    best, where = math.nan, ""
    for (candidate, situation), run in result.runs.items():
        if candidate != name or only not in ("", situation):
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
        if math.isfinite(x.use) and not (line.lost and x.use <= 1.0)
    ]
    if not columns:
        return "No connection states an allowable"
    if not tried:
        return "No candidate has an answer" if any(x.lost for x in lines) else "No candidate was run"
    bare = max(
        (x.use for line in lines if line.place < 0 and not line.lost for x in line.cells if math.isfinite(x.use)),
        default=math.nan,
    )
    free = f"; without protection {base.percent(bare)}" if math.isfinite(bare) else ""
    ends = [(x.worst, x.name, x.worst_at) for x in lines if x.place >= 0 and math.isfinite(x.worst)]
    use, where, who = _largest([*tried, *ends])
    over = [t for t in tried if t[0] > 1.0]
    total = len({t[1] for t in tried})
    without = sum(x.place >= 0 and x.lost for x in lines)
    free = f"; no answer for {without} more{free}" if without else free
    within = " within the band of setting" if use > 1.0 and not over else ""
    in_a_cell = base.percent(use) in [base.percent(u) for u, _, at in tried if at == where]
    end = "" if in_a_cell or within else " at the worse end of the band"
    most = f"{base.percent(use)} at {where}{end} ({base.everyone(who, total + without)}){free}"
    if over or use > 1.0:
        names = {t[1] for t in over} | {e[1] for e in ends if e[0] > 1.0}
        many = "exceeds" if len(names) == 1 else "exceed"
        every = len(names) == total + without > 1
        count = base.first_of(sorted(names), total) if every else f"{len(names)} of {total}"
        return f"{count} {many} a limit{within}: up to {most}"
    return f"No limit is exceeded: at most {most}"


def _largest(uses: Sequence[tuple[float, str, str]]) -> tuple[float, str, list[str]]:
    """Largest of (use, candidate, limit): use, limit, and all candidates that reach it there to the digits shown."""
    use, _, where = max(uses)
    text = base.percent(use)
    return use, where, list(dict.fromkeys(n for u, n, at in uses if at == where and base.percent(u) == text))
