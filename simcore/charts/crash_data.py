"""Numbers of the crash chart: torque at the protected part, every candidate over the bare line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import base, clock
from simcore.charts.decimate import thin
from simcore.charts.stops_data import stopped
from simcore.results.model import BARE, Floats, ResultSet, Run
from simcore.units import typeset

COLUMNS: Final = 1000
"""Columns over which a curve is thinned: a panel of 85 mm at 300 dpi."""
DISTINCT: Final = 3
"""Different settings that are drawn one by one; more are drawn as one range."""

AT_ONCE: Final = 1e-4
"""Share of the horizon after contact in which a trigger tells nothing of the crash: it slipped before."""


CLOSE: Final = 0.06
"""Share of the axis below which two settings are told in one text: a line of words and a little air."""


class Mark(NamedTuple):
    """A point on a curve: instant [ms] and torque in the shown unit; NaN if it never happens."""

    time: float
    torque: float


class Curve(NamedTuple):
    """One candidate (place >= 0) or the bare line (place -1): curve in the short and the long view."""

    name: str
    place: int
    short: tuple[Floats, Floats]
    long: tuple[Floats, Floats]
    trigger: Mark
    disconnect: Mark
    end: float
    peak: float
    note: str
    level: Level | None = None
    """Its own setting with its band."""
    given_up: float = math.nan
    """Where the solver gave the run up [ms]: it has no peak then, and no end."""


class Level(NamedTuple):
    """A horizontal line or band with its words, empty where another tells it; ``low == high`` is a line."""

    text: str
    value: float
    low: float
    high: float


class CrashData(NamedTuple):
    frame: base.Frame
    curves: tuple[Curve, ...]
    levels: tuple[Level, ...]
    allowable: float
    allowable_text: str
    start: float
    short_end: float
    long_end: float
    bottom: float
    top: float
    axis: str
    zero: str
    """What comes at zero."""
    long_start: float
    """Where the long view begins [ms]: before all events."""


def crash_data(result: ResultSet) -> CrashData:
    """Torques in the shown unit over ms from contact; curves thinned, extremes kept."""
    situation = base.crash_of(result)
    names = [*base.shown_candidates(result), BARE]
    runs = [(n, r) for n in names if (r := clock.run_of(result, n, situation)) is not None]
    runs = [(n, r) for n, r in runs if base.protected_column(result, r) is not None]
    sign = _running_sense([r for _, r in runs], result)
    short, long = _windows([r for _, r in runs], result)
    zero, word = clock.clock_of(result, situation)
    start = -0.06 * short
    curves = tuple(_curve(result, n, r, sign, (start, short, long, start - zero)) for n, r in runs)
    levels = _levels(result)
    allowable = base.in_unit(result, result.allowable)
    bottom, top = _limits(curves, levels, allowable)
    levels = _told_together(levels, CLOSE * (top - bottom), result)
    unit = typeset(result.unit)
    return CrashData(
        base.frame(result, _title(result, curves), _note_below(result, situation), situation),
        curves,
        levels,
        allowable,
        f"allowable {base.effort(result, result.allowable)}",
        1e3 * start,
        1e3 * short,
        1e3 * long,
        bottom,
        top,
        f"torque at {result.protect} ({unit})",
        word,
        1e3 * (start - zero),
    )


def _note_below(result: ResultSet, situation: str) -> str:
    """Under the title: whose peak is higher in the crash that its verdict rests on."""
    note = f"{base.set_as(result)}, in {base.quoted(situation)}"
    higher: dict[str, list[str]] = {}
    for a in base.judged_elsewhere(result, situation):
        run = base.run_of(result, a.name, situation)
        column = None if run is None else base.protected_column(result, run)
        text = base.effort(result, a.peak)
        if run is not None and column is not None and text != base.effort(result, float(run.peak[column])):
            higher.setdefault(a.crash, []).append(f"{text} with {base.clipped(a.name)}")
    told = [f"in {base.quoted(s)}: {', '.join(names)}" for s, names in higher.items()]
    return f"{note}; more {'; '.join(told)}" if told else note


def _running_sense(runs: Sequence[Run], result: ResultSet) -> float:
    """Sign that turns the largest torque after contact upward."""
    best = 0.0
    for r in runs:
        y = r.torque[r.time >= 0, base.protected_column(result, r)]
        if y.size and np.isfinite(y).any():
            x = float(y[np.nanargmax(np.abs(y))])
            best = x if abs(x) > abs(best) else best
    return -1.0 if best < 0 else 1.0


def _windows(runs: Sequence[Run], result: ResultSet) -> tuple[float, float]:
    """End of the short view (last trigger, let-go or disconnect of those that come early) and horizon [s]."""
    horizon = max((float(r.time[-1]) for r in runs if len(r.time)), default=1.0)
    seen = [r.measures.get(k, math.nan) for r in runs for k in ("trigger", "lets_go", "disconnect")]
    seen = sorted(x for x in seen if math.isfinite(x) and x > AT_ONCE * horizon)
    if not seen:
        seen = [float(r.peak_time[c]) for r in runs if (c := base.protected_column(result, r)) is not None]
        seen = sorted(x for x in seen if math.isfinite(x) and x > 0)
    if not seen:
        return 0.1 * horizon, horizon
    early = [x for x in seen if x <= 4.0 * seen[0]]
    return min(1.6 * early[-1], 0.5 * horizon), horizon


def _curve(result: ResultSet, name: str, run: Run, sign: float, window: tuple[float, float, float, float]) -> Curve:
    column = base.protected_column(result, run)
    assert column is not None
    factor = sign * base.in_unit(result, 1.0)
    t, y = run.time, factor * run.torque[:, column]
    start, short, long, before = window
    near = thin(t, y, start, short, COLUMNS)
    far = thin(t, y, before, long, COLUMNS)
    peak = abs(factor) * float(run.peak[column]) if base.solved(run) else math.nan
    finite = y[np.isfinite(y)]
    end = float(finite[-1]) if finite.size else math.nan
    place = -1 if name == BARE else base.shown_candidates(result).index(name)
    return Curve(
        base.label_of(name),
        place,
        (1e3 * near[0], near[1]),
        (1e3 * far[0], far[1]),
        _mark(run, "trigger", y),
        _mark(run, "disconnect", y),
        end,
        peak,
        _note(result, name, run, peak),
        _own_level(result, name),
        1e3 * base.given_up(run),
    )


def _mark(run: Run, key: str, y: Floats) -> Mark:
    at = run.measures.get(key, math.nan)
    if not math.isfinite(at) or len(run.time) == 0:
        return Mark(math.nan, math.nan)
    return Mark(1e3 * at, float(np.interp(at, run.time, y)))


def _note(result: ResultSet, name: str, run: Run, peak: float) -> str:
    if not base.solved(run):
        return base.no_answer(run)
    text = f"peak {base.number(peak)}"
    answer = base.answer_of(result, name)
    if answer is None:
        return text
    instant = run.measures.get("disconnect", math.nan)
    if math.isfinite(instant):
        return f"{text}, disconnects {base.milliseconds(instant)}"
    stop = stopped(result, run)
    if stop.by and math.isfinite(stop.off):
        return f"{text}, drive off {base.milliseconds(stop.off)}"
    return f"{text}, {_short(answer.disconnects)}" if answer.disconnects else text


def _short(words: str) -> str:
    return "only slips" if words == "slips, does not disconnect" else words


def _levels(result: ResultSet) -> tuple[Level, ...]:
    """Settings as bands at the protected shaft; one band for all if they differ too much to draw apart."""
    found: dict[tuple[float, float, float], None] = {}
    for name in base.shown_candidates(result):
        a = base.answer_of(result, name)
        if a is not None and math.isfinite(a.setting * a.to_protected):
            found[a.setting, a.tolerance, a.to_protected] = None
    by_setting: dict[tuple[float, float], list[float]] = {}
    for setting, tolerance, ratio in found:
        by_setting.setdefault((setting, ratio), []).append(tolerance)
    each = [_level(result, s, t, r) for (s, r), t in by_setting.items()]
    if len(each) <= DISTINCT:
        return tuple(sorted(each, key=lambda x: x.value))
    low, high = min(x.low for x in each), max(x.high for x in each)
    values = base.span((x.value for x in each), typeset(result.unit))
    return (Level(f"settings {values} with tolerance", math.nan, low, high),)


def _told_together(levels: Sequence[Level], close: float, result: ResultSet) -> tuple[Level, ...]:
    """Levels nearer than ``close`` to each other share one text, at the uppermost of them."""
    groups: list[list[Level]] = []
    for level in sorted(levels, key=lambda x: x.value):
        if groups and level.value - groups[-1][-1].value < close:
            groups[-1].append(level)
        else:
            groups.append([level])
    out: list[Level] = []
    for group in groups:
        text = group[0].text if len(group) == 1 else _shared(group, result)
        out += [*(x._replace(text="") for x in group[:-1]), group[-1]._replace(text=text)]
    return tuple(out)


def _shared(group: Sequence[Level], result: ResultSet) -> str:
    values = base.span((x.value for x in group), typeset(result.unit))
    band = base.span((100 * (x.high / x.value - 1.0) for x in group), "%")
    word = "settings" if " to " in values.replace("\u00a0", " ") else "setting"
    return f"{word} {values} \u00b1{band}"


def _own_level(result: ResultSet, name: str) -> Level | None:
    a = base.answer_of(result, name)
    if a is None or not math.isfinite(a.setting * a.to_protected):
        return None
    return _level(result, a.setting, [a.tolerance], a.to_protected)


def _level(result: ResultSet, setting: float, tolerances: Sequence[float], ratio: float) -> Level:
    """One setting with its widest band."""
    tolerance = max(tolerances)
    value = base.in_unit(result, abs(ratio) * setting)
    band = base.span((100 * t for t in tolerances), "%")
    text = f"setting {base.effort(result, abs(ratio) * setting)} \u00b1{band}"
    if abs(abs(ratio) - 1.0) > 1e-9:
        text += f" (own shaft {base.effort(result, setting)})"
    return Level(text, value, value * (1 - tolerance), value * (1 + tolerance))


def _limits(curves: Sequence[Curve], levels: Sequence[Level], allowable: float) -> tuple[float, float]:
    tops = [c.peak if math.isfinite(c.peak) else float(np.nanmax(c.long[1], initial=0.0)) for c in curves]
    tops += [*(x.high for x in levels), allowable]
    top = max((x for x in tops if math.isfinite(x)), default=1.0) or 1.0
    lows = [float(np.nanmin(c.long[1])) for c in curves if np.isfinite(c.long[1]).any()]
    low = min([x for x in lows if math.isfinite(x)] + [0.0])
    return min(1.08 * low, -0.03 * top), 1.08 * top


def _title(result: ResultSet, curves: Sequence[Curve]) -> str:
    allowable = base.in_unit(result, result.allowable)
    unit = typeset(result.unit)
    tried = [c for c in curves if c.place >= 0 and math.isfinite(c.peak)]
    lost = len(set(base.unanswered(result, base.crash_of(result))) - {BARE})
    more = f"; no answer for {lost} more" if lost and tried else ""
    bare = next((c.peak for c in curves if c.place < 0), math.nan)
    free = f"; without protection it sees {base.number(bare)}" if math.isfinite(bare) else ""
    if not tried:
        return f"Torque at the {result.protect}{free.replace('; ', ': ').replace('it sees ', '')}"
    if not math.isfinite(allowable):
        text = base.number(min(c.peak for c in tried))
        best = [c.name for c in tried if base.number(c.peak) == text]
        low = f"{text}{base.SPACE}{unit} with {base.everyone(best, len(tried) + lost)}"
        return f"Lowest peak at the {result.protect}: {low}{more}{free}"
    limit = f"{base.number(allowable)}{base.SPACE}{unit}"
    if math.isfinite(bare) and bare <= allowable and all(c.peak <= allowable for c in tried):
        return f"The {result.protect} stays below {limit} even without protection: {base.number(bare)}{more}"
    kept = [c.name for c in tried if c.peak <= allowable]
    over = [n for n in kept if _over_in_the_band(result, n)]
    told = f"{_keepers(kept, [c.name for c in tried], lost)} the {result.protect} below {limit}"
    if over:
        who = base.clipped(over[0]) if len(over) == 1 else f"{len(over)} of them"
        return f"{told} as set, {who} not over the whole band{more}{free}"
    return f"{told}{more}{free}"


def _over_in_the_band(result: ResultSet, name: str) -> bool:
    """Whether the protected part sees more than it bears at an end of the band of this candidate's setting."""
    run = base.run_of(result, name, base.crash_of(result))
    ends = () if run is None else (run.high.get("peak", math.nan), run.low.get("peak", math.nan))
    return any(abs(x) > result.allowable for x in ends)


def _keepers(kept: Sequence[str], tried: Sequence[str], lost: int) -> str:
    """Who keeps the limit, as the beginning of a sentence; by name where ``lost`` others have no answer."""
    of = len(tried)
    if of == 1:
        who = base.clipped(tried[0])
        return f"{who} keeps" if kept else f"{who if lost else 'The protection'} does not keep"
    if not kept:
        return f"None of {of} keeps"
    if len(kept) == 1:
        return f"{base.clipped(kept[0])} alone keeps"
    if lost:
        return f"{base.listing(kept)} keep"
    if len(kept) == of:
        return f"All {of} keep" if of > 2 else "Both keep"
    return f"{len(kept)} of {of} keep"
