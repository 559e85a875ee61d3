"""Numbers of the timeline: speeds of both sides, and who is in which state when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import base
from simcore.charts.decimate import thin
from simcore.charts.motion_data import RPM
from simcore.charts.stops_data import (
    NOTICED,
    RAMPING,
    REVERSING,
    WHILE,
    Stopped,
    drives_of,
    ramps,
    reaction_cuts,
    stopped,
)
from simcore.results.model import BARE, Connection, Floats, ResultSet, Run

COLUMNS: Final = 500
NARROWEST: Final = 0.004
"""Share of the view below which a state is not drawn by itself."""
NEAR: Final = 2.5
"""The view of the first stop is drawn beside the whole if the whole is so many times longer."""
WAITING: Final = ("waiting", "not there yet")
REST: Final = {"off", "drive off", "blind", "open", "stopped", "cleared", "taken away", "given", "pausing", *WAITING}
"""Modes in which a part does nothing (any more)."""
STRAINED: Final = {"at its ceiling", "full torque", "dragging", "touching", "eased", "being given", "closed", "closing"}
MEANINGS: Final = {
    "rest": "off, open, over", "works": "works, watches, holds", "strained": "at its limit, acts on the line",
    "gives": "slips, gives way", "ramp": "ramped or reversed", "delay": "a delay of the stop",
}  # fmt: skip


TELLING: Final = ("gives", "strained", "ramp", "rest", "works", "delay")


class Bar(NamedTuple):
    """A stretch of time [s] in one state; ``meaning`` is a key of MEANINGS."""

    start: float
    stop: float
    words: str
    meaning: str


class Row(NamedTuple):
    """Bars of one part; ``sort``: motor, stop chain, brake or protection."""

    who: str
    bars: tuple[Bar, ...]
    sort: str = "protection"


class Lane(NamedTuple):
    """One candidate: speeds [rpm] over time [s] of its motor and load side, its rows, how its stop went."""

    name: str
    place: int
    drive: tuple[Floats, Floats]
    load: tuple[Floats, Floats]
    rows: tuple[Row, ...]
    stop: Stopped
    running: float
    """Running speed [rpm]; the strip shows ``speeds``."""
    speeds: tuple[float, float]


class Instant(NamedTuple):
    time: float
    words: str


class TimelineData(NamedTuple):
    """``views``: stretches of time [s], the first stop before the whole where both are drawn."""

    frame: base.Frame
    lanes: tuple[Lane, ...]
    jams: Row
    instants: tuple[Instant, ...]
    views: tuple[tuple[float, float], ...]
    meanings: tuple[str, ...]


def timed_situations(result: ResultSet) -> tuple[str, ...]:
    """Situations with several events or a stop chain, those with most of them first."""
    found = {}
    for s in result.situations:
        run = next((r for (_, x), r in result.runs.items() if x == s), None)
        events = sum(c.role == "event" for c in run.connections) if run is not None else 0
        chains = any(c.role == "stop" for (_, x), r in result.runs.items() if x == s for c in r.connections)
        if events > 1 or chains:
            found[s] = (events, s == base.crash_of(result))
    return tuple(sorted(found, key=lambda s: found[s], reverse=True))


def has_timeline(result: ResultSet) -> bool:
    return bool(timed_situations(result))


def timeline_data(result: ResultSet, most: int = base.MOST) -> TimelineData:
    """The situation with most events, for the first ``most`` candidates on the charts."""
    situation = (*timed_situations(result), base.crash_of(result))[0]
    names = base.shown_candidates(result)
    runs = [(n, i, r) for i, n in enumerate(names[:most]) if (r := base.run_of(result, n, situation))]
    stops = [stopped(result, r) for _, _, r in runs]
    views = _views([r for _, _, r in runs], stops)
    lanes = tuple(_lane(result, n, i, r, s, views) for (n, i, r), s in zip(runs, stops, strict=True))
    first = runs[0][2] if runs else base.run_of(result, BARE, situation)
    jams, instants = _events(first, views) if first is not None else (Row("jam", ()), ())
    used = {b.meaning for lane in lanes for row in lane.rows for b in row.bars} | {b.meaning for b in jams.bars}
    note = "speeds at the protection's own shaft; heat: of the protection"
    if len(names) > most:
        note += f"; the best {most} of {len(names)}"
    return TimelineData(
        base.frame(result, _title(lanes), note, situation),
        lanes, jams, instants, views, tuple(m for m in MEANINGS if m in used),
    )  # fmt: skip


def _views(runs: Sequence[Run], stops: Sequence[Stopped]) -> tuple[tuple[float, float], ...]:
    """The stop and the whole; one of them if they are about as long."""
    end = max((float(r.time[-1]) for r in runs if len(r.time)), default=1.0)
    near = 1.25 * max((s.off for s in stops if s.by and math.isfinite(s.off)), default=end)
    views = [(-0.04 * near, near)] if NEAR * near < end else []
    return (*views, (-0.02 * end, end))


def _lane(
    result: ResultSet, name: str, place: int, run: Run, stop: Stopped, views: tuple[tuple[float, float], ...]
) -> Lane:
    sense = -1.0 if len(run.hub_speed) and np.nansum(run.hub_speed[:1, 0]) < 0 else 1.0
    running = running_speed(run)
    low, high = _range(run, running)
    curves = [_joined(run, np.clip(sense * RPM * run.hub_speed[:, j], low, high), views) for j in (0, 1)]
    return Lane(name, place, curves[0], curves[1], _rows(result, run), stop, running, (low, high))


def _joined(run: Run, y: Floats, views: Sequence[tuple[float, float]]) -> tuple[Floats, Floats]:
    """A curve thin enough to draw, fine where it is drawn large."""
    parts = [thin(run.time, y, *v, COLUMNS) for v in views]
    t, v = (np.concatenate([p[k] for p in parts]) for k in (0, 1))
    order = np.argsort(t, kind="stable")
    return t[order], v[order]


def _rows(result: ResultSet, run: Run) -> tuple[Row, ...]:
    """Drives, stop chains, brakes, protection; of several of a sort each by its name."""
    drives = drives_of(run)
    brakes = [i for i, c in enumerate(run.connections) if c.role == "line" and "brake" in c.part]
    out = [Row(_who(run, i, "motor", drives), _drive_bars(result, run, i), "motor") for i in drives]
    for i, c in enumerate(run.connections):
        if c.role == "stop":
            out.append(Row("stop chain", _chain_bars(result, run, i), "stop chain"))
    out += [Row(_who(run, i, "brake", brakes), _bars(run, i), "brake") for i in brakes]
    if run.protection is not None:
        out.append(Row("protection", _bars(run, run.protection)))
    return tuple(out)


def _who(run: Run, column: int, word: str, alike: Sequence[int]) -> str:
    return word if len(alike) < 2 else run.connections[column].name


def _drive_bars(result: ResultSet, run: Run, column: int) -> tuple[Bar, ...]:
    """States of a drive; where it works without being at its limit, the ramps are cut out."""
    spans = ramps(result, run, column)
    out: list[Bar] = []
    for bar in _bars(run, column):
        at = bar.start
        for a, b, words in spans if bar.meaning == "works" else ():
            a, b = max(a, at), min(b, bar.stop)
            if b > a:
                out += [bar._replace(start=at, stop=a), Bar(a, b, words, "ramp")]
                at = b
        out.append(bar._replace(start=at))
    return tuple(b for b in out if b.stop > b.start)


def _bars(run: Run, column: int) -> tuple[Bar, ...]:
    c = run.connections[column]
    return tuple(Bar(a, b, c.modes[m], meaning(c, m)) for a, b, m in _stretches(run, column) if 0 <= m < len(c.modes))


def meaning(c: Connection, mode: int) -> str:
    """What a mode means for the reader: a key of MEANINGS."""
    word = c.modes[mode]
    if c.role == "candidate":
        return {"engaged": "works", "open": "rest", "broken": "rest"}.get(c.classes[mode], "gives")
    if word in REST:
        return "rest"
    if word == REVERSING:
        return "ramp"
    return "strained" if word in STRAINED or word.startswith("braking") else "works"


def _stretches(run: Run, column: int) -> list[tuple[float, float, int]]:
    """Stretches of time in one mode."""
    mode = run.mode[:, column]
    edges = [0, *(np.flatnonzero(np.diff(mode)) + 1).tolist(), len(mode)]
    last = len(mode) - 1
    return [
        (float(run.time[a]), float(run.time[min(b, last)]), int(mode[a]))
        for a, b in pairwise(edges)
        if a < b and run.time[min(b, last)] > run.time[a]
    ]


def _chain_bars(result: ResultSet, run: Run, column: int) -> tuple[Bar, ...]:
    """States of a stop chain, the time it needs cut into its delays."""
    c = run.connections[column]
    out: list[Bar] = []
    for a, b, m in _stretches(run, column):
        if c.modes[m] == NOTICED:
            cuts = reaction_cuts(result, c, a, b)
            out += [Bar(x, y, what, "delay") for what, x, y in cuts if y > x]
        else:
            out.append(Bar(a, b, c.modes[m], meaning(c, m)))
    return tuple(out)


def _events(run: Run, views: Sequence[tuple[float, float]]) -> tuple[Row, tuple[Instant, ...]]:
    """Jams as bars, commands and emergency stops as instants."""
    bars: list[Bar] = []
    instants: list[Instant] = []
    for i, c in enumerate(run.connections):
        if c.role != "event":
            continue
        spans = [s for s in _stretches(run, i) if s[2] < len(c.modes)]
        if "given" in c.modes or RAMPING in c.modes:
            word = c.part
            instants += [Instant(s[0], word) for p, s in pairwise(spans) if c.modes[p[2]] in WAITING]
        else:
            bars += [Bar(a, b, c.modes[m], meaning(c, m)) for a, b, m in spans if c.modes[m] not in WAITING]
    return Row("jam", tuple(sorted(bars))), tuple(sorted(instants))


def merged(bars: Sequence[Bar], view: tuple[float, float]) -> list[Bar]:
    """The bars within a view: runs of slivers made one bar, neighbours of one meaning joined."""
    start, stop = view
    least = NARROWEST * (stop - start)
    inside = [b._replace(start=max(b.start, start), stop=min(b.stop, stop)) for b in bars]
    inside = [b for b in inside if b.stop > b.start]
    out: list[Bar] = []
    for thin_ones, group in groupby(inside, key=lambda b: b.stop - b.start < least and b.meaning != "delay"):
        own = list(group)
        for b in [_flicker(own)] if thin_ones else own:
            if out and b.meaning != "delay" and out[-1].meaning == b.meaning:
                longer = max(out[-1], b, key=lambda x: x.stop - x.start)
                out[-1] = Bar(out[-1].start, b.stop, longer.words, b.meaning)
            else:
                out.append(b)
    return out


def _flicker(bars: Sequence[Bar]) -> Bar:
    """Slivers as one bar: the most telling of their meanings that makes up a fifth of them."""
    total = bars[-1].stop - bars[0].start
    shares = {m: sum(b.stop - b.start for b in bars if b.meaning == m) for m in TELLING}
    what = next(m for m in TELLING if shares[m] >= 0.2 * total and shares[m] > 0)
    words = max((b for b in bars if b.meaning == what), key=lambda b: b.stop - b.start).words
    return Bar(bars[0].start, bars[-1].stop, words, what)


def running_speed(run: Run) -> float:
    """Speed [rpm] of the faster hub at the event; of a start the largest that lasts."""
    speeds = RPM * np.abs(run.hub_speed)
    speeds = speeds[np.isfinite(speeds).all(axis=1)]
    if not len(speeds):
        return 0.0
    return float(speeds[0].max()) or float(np.percentile(speeds.max(axis=1), 90))


def _range(run: Run, running: float) -> tuple[float, float]:
    """Speeds [rpm] that the strip of a lane shows: to a third past running speed, reverse running too."""
    known = run.hub_speed[np.isfinite(run.hub_speed)]
    back = -float(np.percentile(RPM * known, 2)) if known.size else 0.0
    room = 0.35 * running or 1.0
    return min(-room, -1.1 * back) if back > 0 else -room, running + room


def _title(lanes: Sequence[Lane]) -> str:
    """The stop in which the protection takes most heat, and where it comes from."""
    if not lanes:
        return "No candidate was run"
    chained = [x for x in lanes if x.stop.by and math.isfinite(x.stop.off)]
    if not chained:
        off = [x.stop.off for x in lanes if math.isfinite(x.stop.off)]
        return f"No stop chain acts: power goes off at {duration(min(off))}" if off else "Power stays on to the end"
    worst = max(chained, key=lambda x: x.stop.heat if math.isfinite(x.stop.heat) else 0.0)
    s = worst.stop
    text = f"{base.clipped(worst.name)}: power off at {duration(s.off)}"
    longest = max(s.legs, key=lambda leg: leg.heat if s.heat > 0 else leg.stop - leg.start)
    if not s.heat > 0:
        return f"{text}, most of it {WHILE[longest.what]}"
    part = base.percent(longest.heat / s.heat)
    return f"{text}, {base.joules(s.heat)} of heat by then, {part} of it {WHILE[longest.what]}"


def duration(t: float) -> str:
    """Milliseconds below a second, seconds from there."""
    return base.milliseconds(t) if not t >= 1.0 else f"{base.number(t)}{base.SPACE}s"
