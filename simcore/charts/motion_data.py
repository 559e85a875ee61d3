"""Numbers of the motion chart: both hubs' speed, the twist between them, and the protection's modes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import base, clock
from simcore.charts.decimate import thin
from simcore.charts.stops_data import drives_of
from simcore.results.model import Floats, ResultSet, Run

COLUMNS: Final = 400
SETTLED: Final = 0.03
"""Share of running speed within which a hub counts as settled."""
RPM: Final = 30.0 / math.pi
LONG: Final = 115
SHORT: Final = 80
FEW: Final = 4
"""Letters past which the title counts candidates instead of naming them: for few, and for more."""
APART: Final = 4.0
"""Ratio of the speeds at the event past which one axis for all would flatten the slower ones."""
STILL: Final = 0.05
"""Share of its largest speed below which the motor side counts as standing."""
CLASSES: Final = ("engaged", "yielding", "slipping", "open", "broken")


class Span(NamedTuple):
    """Stretch of time [ms] in one class of mode."""

    start: float
    stop: float
    klass: str


class Panel(NamedTuple):
    """One candidate: times [ms], speeds [rpm], twist [turns or degrees] and stretches of modes."""

    name: str
    place: int
    drive: tuple[Floats, Floats]
    load: tuple[Floats, Floats]
    twist: tuple[Floats, Floats]
    spans: tuple[Span, ...]
    words: str
    speeds: tuple[float, float] = (0.0, 1.0)
    twists: tuple[float, float] = (0.0, 1.0)
    """Ends of its axes."""


class MotionData(NamedTuple):
    frame: base.Frame
    panels: tuple[Panel, ...]
    stop: float
    start: float
    apart: bool
    """Whether every panel has axes of its own, because one scale for all would flatten some."""
    twist_unit: str
    classes: tuple[str, ...]
    zero: str
    """What comes at zero."""


def motion_data(result: ResultSet) -> MotionData:
    situation = base.crash_of(result)
    pairs = [
        (i, n, r)
        for i, n in enumerate(base.shown_candidates(result))
        if (r := clock.run_of(result, n, situation)) is not None and r.protection is not None
    ]
    runs = [r for _, _, r in pairs]
    zero = clock.clock_of(result, situation).word
    stop = max((_settled(r) for r in runs), default=1.0)
    start = -0.05 * stop
    unit, factor = _twist_unit(runs, start, stop)
    panels = tuple(_panel(n, i, r, (start, stop), factor) for i, n, r in pairs)
    panels, apart = _scaled(panels)
    classes = tuple(c for c in CLASSES if any(s.klass == c for p in panels for s in p.spans))
    return MotionData(
        base.frame(result, _title(panels, stop, zero), _note(apart), situation),
        panels,
        1e3 * stop,
        1e3 * start,
        apart,
        unit,
        classes,
        zero,
    )


def _note(apart: bool) -> str:
    note = "speeds at the protection's own shaft"
    return f"{note}, each with its own scale" if apart else note


def _settled(run: Run) -> float:
    """Instant [s] after which both hubs stay close to their last speed; at most the horizon."""
    if len(run.time) < 2:
        return 1.0
    horizon = float(run.time[-1])
    speeds = np.nan_to_num(run.hub_speed)
    band = SETTLED * max(float(np.abs(speeds).max()), 1e-12)
    moving = np.flatnonzero((np.abs(speeds - speeds[-1]) > band).any(axis=1))
    last = float(run.time[min(int(moving[-1]) + 1, len(run.time) - 1)]) if moving.size else 0.1 * horizon
    changes = [e.time for e in run.events if 0 < e.time < horizon]
    early = max([c for c in changes if c <= 2 * last], default=0.0)
    return float(np.clip(1.25 * max(last, early), 0.02 * horizon, horizon))


def _twist_unit(runs: Sequence[Run], start: float, stop: float) -> tuple[str, float]:
    """Turns where the largest twist passes one turn and a half, else degrees."""
    most = 0.0
    for r in runs:
        y = np.abs(r.twist[(r.time >= start) & (r.time <= stop)])
        most = max(most, float(np.nanmax(y)) if np.isfinite(y).any() else 0.0)
    return ("turns", 0.5 / math.pi) if most > 3 * math.pi else ("\u00b0", 180.0 / math.pi)


def _panel(name: str, place: int, run: Run, window: tuple[float, float], factor: float) -> Panel:
    def ms(y: Floats) -> tuple[Floats, Floats]:
        t, v = thin(run.time, y, *window, COLUMNS)
        return 1e3 * t, v

    spans = _spans(run, window)
    sense = _sense(run)
    return Panel(
        name,
        place,
        ms(sense * RPM * run.hub_speed[:, 0]),
        ms(sense * RPM * run.hub_speed[:, 1]),
        ms(sense * factor * run.twist),
        spans,
        _words(run, spans, window[1]),
    )


def _sense(run: Run) -> float:
    """-1 for a line that runs backward: as it runs before the event, else (a start from rest) as it first moves."""
    before = run.hub_speed[run.time <= 0.0]
    running = float(before[-1, 0]) if len(before) else 0.0
    if running == 0.0 or math.isnan(running):
        y = np.nan_to_num(run.hub_speed[:, 0])
        most = float(np.abs(y).max(initial=0.0))
        first = np.flatnonzero(np.abs(y) > 0.5 * most)
        running = float(y[first[0]]) if most > 0.0 and first.size else 1.0
    return math.copysign(1.0, running)


def _spans(run: Run, window: tuple[float, float]) -> tuple[Span, ...]:
    """Stretches of one class, neighbours of the same class joined."""
    column = run.protection
    assert column is not None
    classes = run.connections[column].classes
    mode = run.mode[:, column]
    cuts = np.flatnonzero(np.diff(mode)) + 1
    edges = [0, *cuts.tolist(), len(mode)]
    out: list[Span] = []
    for a, b in pairwise(edges):
        if a >= b or not 0 <= int(mode[a]) < len(classes):
            continue
        start = max(float(run.time[a]), window[0])
        stop = min(float(run.time[min(b, len(mode) - 1)]), window[1])
        klass = classes[int(mode[a])]
        if stop <= start:
            continue
        if out and out[-1].klass == klass:
            out[-1] = Span(out[-1].start, 1e3 * stop, klass)
        else:
            out.append(Span(1e3 * start, 1e3 * stop, klass))
    return tuple(out)


def _words(run: Run, spans: Sequence[Span], stop: float) -> str:
    """What the motor side does at the end of the window: driven, or by itself after power off."""
    if not base.solved(run) and not base.given_up(run) >= stop:
        return base.NO_ANSWER
    at = min(int(np.searchsorted(run.time, stop)), len(run.time) - 1)
    speeds = _sense(run) * run.hub_speed[:, 0]
    if not np.isfinite(speeds).any():
        return "has no recorded speed"
    least = STILL * float(np.nanmax(np.abs(speeds)))
    if abs(float(speeds[at])) <= least:
        return "stands"
    off = _off_since(run, at)
    if off is not None and _swings(run.time[off : at + 1], speeds[off : at + 1], least):
        return "swings to and fro"
    if speeds[at] < 0.0:
        return "turns back"
    if off is not None:
        return "coasts"
    klass = spans[-1].klass if spans else ""
    return "runs free" if klass in ("open", "broken") else "keeps turning"


def _off_since(run: Run, at: int) -> int | None:
    """Record from which on no drive has had power up to record ``at``; None if one has, or none can lose it."""
    drives = drives_of(run)
    if not drives:
        return None
    on = np.flatnonzero((run.mode[: at + 1, drives] != 0).any(axis=1))
    since = int(on[-1]) + 1 if on.size else 0
    return since if since <= at else None


def _swings(time: Floats, speeds: Floats, least: float) -> bool:
    """Whether a speed changes its sense again and again, once in the later half too; below ``least`` not counted."""
    large = np.abs(speeds) > least
    turns = time[large][1:][np.diff(np.sign(speeds[large])) != 0.0]
    return len(turns) > 1 and bool(turns[-1] > 0.5 * (time[0] + time[-1]))


def _scaled(panels: Sequence[Panel]) -> tuple[tuple[Panel, ...], bool]:
    """The panels with the ends of their axes: common ones, or their own where their speeds are far apart."""
    first = [abs(float(p.drive[1][0])) for p in panels if len(p.drive[1])]
    if 1 < len(panels) <= FEW and min(first, default=0.0) > 0.0 and max(first) > APART * min(first):
        own = (p._replace(speeds=_range([p.drive[1], p.load[1]]), twists=_range([p.twist[1]])) for p in panels)
        return tuple(own), True
    speeds = _range([y for p in panels for y in (p.drive[1], p.load[1])])
    twists = _range([p.twist[1] for p in panels])
    return tuple(p._replace(speeds=speeds, twists=twists) for p in panels), False


def _range(arrays: Sequence[Floats]) -> tuple[float, float]:
    values = [a[np.isfinite(a)] for a in arrays]
    joined = np.concatenate(values) if values else np.zeros(0)
    if joined.size == 0:
        return 0.0, 1.0
    low, high = min(0.0, float(joined.min())), max(0.0, float(joined.max()))
    room = 0.08 * (high - low) or 1.0
    return low - (room if low < 0 else 0.4 * room), high + room


def _title(panels: Sequence[Panel], stop: float, zero: str) -> str:
    if not panels:
        return "No protection was run through the crash"
    groups: dict[str, list[str]] = {}
    for p in (p for p in panels if p.words != base.NO_ANSWER):
        groups.setdefault(p.words, []).append(p.name)
    if not groups:
        return "No answer on the motion"
    told = ", ".join(f"{w}{_with(n, len(panels), 2)}" for w, n in groups.items())
    if len(told) > (LONG if len(panels) <= FEW else SHORT):
        told = ", ".join(f"{w}{_with(n, len(panels), 0)}" for w, n in groups.items())
    return f"{base.moment(stop)} after {zero} the motor side {told}"


def _with(names: Sequence[str], of: int, most: int) -> str:
    if len(names) == of:
        return {1: "", 2: " with both"}.get(of, f" with all {of}")
    return f" with {base.listing(names)}" if len(names) <= most else f" with {len(names)} of {of}"
