"""Numbers of the chart of instants: who triggers, lets go and disconnects when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.model import ResultSet

WIDE: Final = 15.0
"""Ratio of the last to the first instant past which the axis is logarithmic."""
SLIPS: Final = "slips, does not disconnect"


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


class InstantsData(NamedTuple):
    frame: base.Frame
    rows: tuple[Row, ...]
    start: float
    stop: float
    log: bool


def instants_data(result: ResultSet) -> InstantsData:
    situation = base.crash_of(result)
    rows = []
    for place, name in enumerate(base.shown_candidates(result)):
        run, answer = base.run_of(result, name, situation), base.answer_of(result, name)
        if run is None:
            continue
        m = run.measures
        column = base.protected_column(result, run)
        peak = float(run.peak_time[column]) if column is not None else math.nan
        trigger, lets_go, off, again = (
            1e3 * m.get(k, math.nan) for k in ("trigger", "lets_go", "disconnect", "reengage")
        )
        words = _words(answer.disconnects if answer else "", trigger, lets_go, off)
        rows.append(Row(name, place, trigger, lets_go, off, again, 1e3 * peak, words))
    start, stop, log = _axis(rows)
    return InstantsData(
        base.frame(result, _title(rows), "instants from contact, nominal setting", situation),
        tuple(rows),
        start,
        stop,
        log,
    )


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
    times = [x for r in rows for x in r[2:7] if isinstance(x, float) and math.isfinite(x) and x > 0]
    if not times:
        return 0.0, 100.0, False
    if max(times) / min(times) > WIDE:
        return 0.7 * min(times), 1.6 * max(times), True
    return 0.0, 1.25 * max(times), False


def _title(rows: Sequence[Row]) -> str:
    off = sorted((r for r in rows if math.isfinite(r.disconnect)), key=lambda r: r.disconnect)
    gone = sorted((r for r in rows if math.isfinite(r.lets_go)), key=lambda r: r.lets_go)
    slip = [r for r in gone if not math.isfinite(r.disconnect)]
    tail = ""
    if slip:
        one = "s" if len(slip) == 1 else ""
        let_go = f"slip{one}" if all(r.words == SLIPS for r in slip) else f"let{one} go"
        tail = f"{_of(slip, rows)} {let_go} and never disconnect{one}"
    if off:
        name = base.clipped(off[0].name)
        at = f"{base.number(off[0].disconnect)}{base.SPACE}ms after contact"
        first = f"{name} disconnects {at}" if len(rows) == 1 else f"Disconnects first: {name}, {at}"
        return f"{first}; {tail}" if tail else first
    if gone and gone[0].lets_go == 0.0:  # slips by intent
        before = [r for r in gone if r.lets_go == 0.0]
        who = (
            "All slip" if len(before) == len(rows) > 1 else f"{_of(before, rows)} slip{'s' if len(before) == 1 else ''}"
        )
        return f"{who} before contact already; nothing disconnects"
    if gone:
        at = f"first to let go: {base.clipped(gone[0].name)}, at {base.number(gone[0].lets_go)}{base.SPACE}ms"
        return f"Nothing disconnects: {tail}" if len(rows) == 1 else f"Nothing disconnects; {at}"
    return "Nothing lets go"


def _of(some: Sequence[Row], rows: Sequence[Row]) -> str:
    return base.clipped(some[0].name) if len(some) == 1 else f"{len(some)} of {len(rows)}"
