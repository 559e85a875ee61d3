"""How a stop went: its delays one by one, and the heat that the protection took in each of them."""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

import numpy as np

from simcore.results.model import Connection, ResultSet, Run

NOTICED: Final = "noticed"
"""Mode of a stop chain from its threshold on until it acts."""
NOT_OF_THE_LINE: Final = ("candidate", "event", "stop")
RAMPING: Final = "ramping down"
"""Mode of a stop chain or an emergency stop while the drives are ramped down."""
PAUSING: Final = "pausing"
REVERSING: Final = "reversing"
"""Modes of a stop chain before the drives are reversed or go forward again, and while they are reversed."""
FORWARD: Final = ("blind", "watching")
"""Its modes while they run forward."""
TO_TRIGGER: Final = "to the trigger"
WHILE: Final = {
    TO_TRIGGER: "before it triggers",
    "noticing": "before it is noticed",
    "sensor": "in the sensor\u2019s delay",
    "scan": "while the control scans",
    "output": "in the output\u2019s delay",
    "ramp down": "while ramping down",
    "pause": "in the pause before it reverses",
    "reversing": "while reversing",
    "forward again": "while it runs forward again",
}
"""Delays in their order: event to trigger, from there to the threshold, then what the chain itself takes; in words."""


class Leg(NamedTuple):
    """One delay [s] from the event on, and the protection's heat [J] in it (NaN without a protection)."""

    what: str
    start: float
    stop: float
    heat: float


class Stopped(NamedTuple):
    """How the drive was taken off: legs of the first stop, instant of power off (NaN: never), heat until then."""

    by: str
    legs: tuple[Leg, ...]
    off: float
    heat: float


def drive_of(run: Run) -> int | None:
    """Column of the first drive; None if nothing of this run can be switched off."""
    return next((i for i, c in enumerate(run.connections) if c.modes[:1] == ("off",)), None)


def drives_of(run: Run) -> list[int]:
    """Columns of everything in the line that can be switched off."""
    return [i for i, c in enumerate(run.connections) if c.modes[:1] == ("off",) and c.role not in NOT_OF_THE_LINE]


def ramps(result: ResultSet, run: Run, column: int) -> list[tuple[float, float, str]]:
    """Stretches [s] in which the drive in ``column`` is ramped up, or ramped down or reversed by a stop; and which."""
    out: list[tuple[float, float, str]] = [
        (a, b, word)
        for i, c in enumerate(run.connections)
        for word in (RAMPING, REVERSING)
        if word in c.modes
        for a, b in spans_of(run, i, c.modes.index(word))
    ]
    time = _ramp_up(result, run, run.connections[column].name)
    if time > 0.0:
        on = run.mode[:, column] != 0
        rises = np.flatnonzero(on[1:] & ~on[:-1]) + 1
        out += [(float(run.time[i]), float(run.time[i]) + time, "ramping up") for i in rises]
    return sorted(out)


def _ramp_up(result: ResultSet, run: Run, drive: str) -> float:
    """Time [s] of the start's own ramp, else of the drive's; 0 if neither is in the result."""
    resolved: Any = result.provenance.get("resolved", {})
    paths = (f'situations["{run.situation}"].ramp', f'line["{drive}"].ramp', f'line["{drive}"].ramp_up_time')
    values = [resolved.get(path, math.nan) for path in paths] if hasattr(resolved, "get") else []
    return next((float(v) for v in values if isinstance(v, int | float) and math.isfinite(v)), 0.0)


def power_off(run: Run, since: float = 0.0) -> float:
    """First instant [s] from ``since`` on (the event, if not given) at which the drive goes off; NaN if it does not."""
    column = drive_of(run)
    if column is None or not len(run.time):
        return math.nan
    off = run.mode[:, column] == 0
    goes = np.flatnonzero(off[1:] & ~off[:-1] & (run.time[1:] >= since))
    return float(run.time[goes[0] + 1]) if goes.size else math.nan


def stopped(result: ResultSet, run: Run) -> Stopped:
    """The first time the drive goes off, for good if it is reversed: by which stop chain, how, or by command."""
    off = power_off(run)
    for column, c in enumerate(run.connections):
        span = noticed_span(run, column) if c.role == "stop" else None
        if span is not None and not span[0] > off:
            back = reversals(result, run, column)
            off = power_off(run, _past_the_pause(run, column, back[-1][2])) if back else off
            after = back or ([("ramp down", span[1], off)] if off > span[1] else [])
            cuts = [*_cuts(result, run, c, span), *after]
            legs = tuple(Leg(w, a, b, heat_between(run, a, b)) for w, a, b in cuts if b > a)
            return Stopped(c.name, legs, off, _heat_until(run, off))
    return Stopped("", (), off, _heat_until(run, off))


def _heat_until(run: Run, off: float) -> float:
    return heat_between(run, 0.0, off if math.isfinite(off) else _end(run))


def reversals(result: ResultSet, run: Run, column: int) -> list[tuple[str, float, float]]:
    """What the stop chain in ``column`` does from its first action to the end of the last time it reverses [s].

    Empty if it does not reverse.
    """
    chain = run.connections[column]
    times = spans_of(run, column, chain.modes.index(REVERSING)) if REVERSING in chain.modes else []
    out: list[tuple[str, float, float]] = []
    for m, mode in enumerate(chain.modes if times else ()):
        for a, b in spans_of(run, column, m):
            if mode == NOTICED:
                out += reaction_cuts(result, chain, a, b)
            elif mode in (PAUSING, REVERSING, *FORWARD):
                out.append(({PAUSING: "pause", REVERSING: "reversing"}.get(mode, "forward again"), a, b))
    acts = noticed_spans(run, column)[0][1] if times else 0.0
    return _joined(sorted((x for x in out if acts <= x[1] and x[2] <= times[-1][1]), key=lambda x: x[1:]))


def _past_the_pause(run: Run, column: int, since: float) -> float:
    """``since`` [s], or the end of a pause that begins there: the drive then goes forward again."""
    modes = run.connections[column].modes
    pauses = spans_of(run, column, modes.index(PAUSING)) if PAUSING in modes else []
    return next((b for a, b in pauses if a == since), since)


def _joined(spans: list[tuple[str, float, float]]) -> list[tuple[str, float, float]]:
    """Neighbours of one name as one: blind, then watching."""
    out: list[tuple[str, float, float]] = []
    for what, a, b in spans:
        if out and out[-1][0] == what and out[-1][2] == a:
            out[-1] = (what, out[-1][1], b)
        elif b > a:
            out.append((what, a, b))
    return out


def noticed_span(run: Run, column: int) -> tuple[float, float] | None:
    """When the stop chain in ``column`` first noticed and when it acted; None if it never did."""
    spans = noticed_spans(run, column)
    return spans[0] if spans else None


def noticed_spans(run: Run, column: int) -> list[tuple[float, float]]:
    """Every stretch [s] in which the stop chain in ``column`` had noticed and not yet acted."""
    modes = run.connections[column].modes
    if NOTICED not in modes:
        return []
    return spans_of(run, column, modes.index(NOTICED))


def spans_of(run: Run, column: int, mode: int) -> list[tuple[float, float]]:
    """Every stretch [s] that the part in ``column`` spends in ``mode``."""
    on = run.mode[:, column] == mode
    edges = np.flatnonzero(np.diff(np.r_[False, on, False].astype(np.int8)))
    last = len(on) - 1
    return [(float(run.time[a]), float(run.time[min(b, last)])) for a, b in edges.reshape(-1, 2)]


def reaction_cuts(result: ResultSet, chain: Connection, noticed: float, acts: float) -> list[tuple[str, float, float]]:
    """Sensor, scan and output of a stop chain; one stretch if its inputs are not in the result."""
    sensor, output = (_input(result, chain.name, word) for word in ("sensor", "output"))
    if not math.isfinite(sensor + output):
        return [("sensor", noticed, acts)]
    ready = min(noticed + sensor, acts)
    written = min(max(ready, acts - output), acts)
    return [("sensor", noticed, ready), ("scan", ready, written), ("output", written, acts)]


def heat_between(run: Run, start: float, stop: float) -> float:
    """Heat [J] the protection takes from ``start`` to ``stop`` [s]; NaN on the bare line."""
    column = run.protection
    if column is None or not len(run.time):
        return math.nan
    low, high = np.interp([max(start, run.time[0]), stop], run.time, run.heat[:, column])
    return float(high - low)


def _cuts(result: ResultSet, run: Run, chain: Connection, span: tuple[float, float]) -> list[tuple[str, float, float]]:
    noticed, acts = span
    trigger = run.measures.get("trigger", math.nan)
    gone = trigger if 0.0 <= trigger <= noticed else min(0.0, noticed)
    return [(TO_TRIGGER, 0.0, gone), ("noticing", gone, noticed), *reaction_cuts(result, chain, noticed, acts)]


def _input(result: ResultSet, chain: str, word: str) -> float:
    resolved: Any = result.provenance.get("resolved", {})
    value = resolved.get(f'stops["{chain}"].{word}', math.nan) if hasattr(resolved, "get") else math.nan
    return float(value) if isinstance(value, int | float) else math.nan


def _end(run: Run) -> float:
    return float(run.time[-1]) if len(run.time) else math.nan
