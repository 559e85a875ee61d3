"""Numbers of the chart of instants: who triggers, lets go and disconnects when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.charts import base, clock
from simcore.results.model import Answer, ResultSet

WIDE: Final = 15.0
"""Ratio of the last to the first instant past which the axis is logarithmic."""
LATE: Final = 3.0
"""A peak past the last other instant by this ratio stands beyond the axis: the others would crowd at its beginning."""
SLIPS: Final = "slips, does not disconnect"
BEFORE: Final = "before"


class Row(NamedTuple):
    """Instants of one candidate [ms]; NaN = never."""

    name: str
    place: int
    trigger: float
    lets_go: float
    disconnect: float
    reengage: float
    peak: float
    words: str
    elsewhere: str = ""
    """Where the verdict rests on another crash: which, and when it lets go there."""

    @property
    def note(self) -> str:
        return "; ".join(x for x in (self.words, self.elsewhere) if x)


class InstantsData(NamedTuple):
    frame: base.Frame
    rows: tuple[Row, ...]
    start: float
    stop: float
    log: bool
    zero: str
    """What comes at zero."""


def instants_data(result: ResultSet) -> InstantsData:
    situation = base.crash_of(result)
    zero = clock.clock_of(result, situation).word
    other = {a.name: _judged(a, clock.clock_of(result, a.crash).zero) for a in base.judged_elsewhere(result, situation)}
    rows = []
    for place, name in enumerate(base.shown_candidates(result)):
        run, answer = clock.run_of(result, name, situation), base.answer_of(result, name)
        if run is None:
            continue
        m = run.measures
        column = base.protected_column(result, run)
        there = column is not None and base.solved(run)
        peak = float(run.peak_time[column]) if there else math.nan
        trigger, lets_go, off, again = (
            1e3 * m.get(k, math.nan) for k in ("trigger", "lets_go", "disconnect", "reengage")
        )
        here = answer is not None and answer.crash == situation
        words = _words(answer.disconnects if answer and here else "", trigger, lets_go, off)
        words = words if base.solved(run) else base.NO_ANSWER
        rows.append(Row(name, place, trigger, lets_go, off, again, 1e3 * peak, words, other.get(name, "")))
    start, stop, log = _axis(rows)
    note = f"instants from {zero} in {base.quoted(situation)}, {base.set_as(result)}"
    note += "; arrow: a later peak" if any(r.peak > stop for r in rows) else ""
    return InstantsData(
        base.frame(result, _title(rows, zero), note, situation),
        tuple(rows),
        start,
        stop,
        log,
        zero,
    )


def told(row: Row, kind: str) -> str:
    """The instant of a row in words: what slips by intent, or in an event that comes first, did so before."""
    value = getattr(row, kind)
    if not math.isfinite(value):
        return "never"
    slips = value == 0.0 and kind in ("trigger", "lets_go")
    return BEFORE if slips or value < 0.0 else base.number(value)


def _judged(a: Answer, zero: float) -> str:
    """The crash that a verdict rests on, and when it lets go there, counted from ``zero`` [s]."""
    when = a.disconnect if math.isfinite(a.disconnect) else a.lets_go
    does = "disconnects at" if math.isfinite(a.disconnect) else "lets go at"
    when_told = base.milliseconds(when - zero)
    told = f": {does} {when_told}" if math.isfinite(when) else ""
    return f"judged in {base.quoted(a.crash)}{told}"


def _words(verdict: str, trigger: float, lets_go: float, disconnect: float) -> str:
    """What the row says where no disconnect can be drawn."""
    if math.isfinite(disconnect):
        return ""
    if verdict and verdict != "disconnects":
        return verdict
    if math.isfinite(lets_go):
        return SLIPS
    return "triggers, does not let go" if math.isfinite(trigger) else "does not let go"


def _axis(rows: Sequence[Row]) -> tuple[float, float, bool]:
    own = [x for r in rows for x in r[2:6] if isinstance(x, float) and math.isfinite(x) and x > 0]
    last = LATE * max(own) if own else math.inf
    times = own + [r.peak for r in rows if 0 < r.peak <= last]
    if not times:
        return 0.0, 100.0, False
    if max(times) / min(times) > WIDE:
        return 0.7 * min(times), 1.6 * max(times), True
    return 0.0, 1.25 * max(times), False


def _title(rows: Sequence[Row], zero: str = "contact") -> str:
    told = [r for r in rows if r.words != base.NO_ANSWER]
    if rows and not told:
        return "No answer"
    lost = len(rows) - len(told)
    return f"{_order(told, zero)}; no answer for {lost} more" if lost else _order(told, zero)


def _order(rows: Sequence[Row], zero: str) -> str:
    """Who is first, and who never comes."""
    off = sorted((r for r in rows if math.isfinite(r.disconnect)), key=lambda r: r.disconnect)
    gone = sorted((r for r in rows if math.isfinite(r.lets_go)), key=lambda r: r.lets_go)
    slip = [r for r in gone if not math.isfinite(r.disconnect)]
    tail = ""
    if slip:
        one = "s" if len(slip) == 1 else ""
        let_go = f"slip{one}" if all(r.words == SLIPS for r in slip) else f"let{one} go"
        tail = f"{_of(slip, rows)} {let_go} and never disconnect{one}"
    if off:
        first = _first_off(off, rows, zero)
        return f"{first}; {tail}" if tail else first
    if gone and gone[0].lets_go <= 0.0:  # slips by intent, or in an event that comes first
        before = [r for r in gone if r.lets_go <= 0.0]
        who = (
            "All slip" if len(before) == len(rows) > 1 else f"{_of(before, rows)} slip{'s' if len(before) == 1 else ''}"
        )
        return f"{who} before {zero} already; nothing disconnects"
    if gone:
        at = f"{base.number(gone[0].lets_go)}{base.SPACE}ms"
        same = [r.name for r in rows if base.number(r.lets_go) == base.number(gone[0].lets_go)]
        told = f"first to let go: {base.listing(same)}, at {at}"
        if len(same) == len(rows):
            told = f"{base.everyone(same, len(rows))} let go at {at}"
        return f"Nothing disconnects: {tail}" if len(rows) == 1 else f"Nothing disconnects; {told}"
    return "Nothing lets go"


def _first_off(off: Sequence[Row], rows: Sequence[Row], zero: str) -> str:
    """Who disconnects first; all that do to the digits shown."""
    text = told(off[0], "disconnect")
    same = [r.name for r in rows if told(r, "disconnect") == text]
    at = f"before {zero}" if text == BEFORE else f"{text}{base.SPACE}ms after {zero}"
    if len(same) == len(rows):
        return f"{base.first_of(same, len(rows))} disconnect{'s' if len(rows) == 1 else ''} {at}"
    return f"Disconnect{'s' if len(same) == 1 else ''} first: {base.listing(same)}, {at}"


def _of(some: Sequence[Row], rows: Sequence[Row]) -> str:
    return base.clipped(some[0].name) if len(some) == 1 else f"{len(some)} of {len(rows)}"
