"""Numbers of the temperature chart: rise of each protection that something slips again and again, or for minutes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import base
from simcore.charts.decimate import thin
from simcore.results.model import BARE, Floats, ResultSet, Run

COLUMNS: Final = 900
LEAD: Final = "lead"
"""Ending of the states that the face is hotter by than the bulk."""
FAR: Final = 5.0
"""A limit so many times the hottest rise is named and not drawn."""
WORN: Final = 1e-6
SHIFT: Final = 60.0
"""Horizon [s] from which on a rise is worth a chart though nothing repeats."""
COLD: Final = 0.05
"""Rise [K] below which a part has not warmed."""


class Warmth(NamedTuple):
    """One candidate: rise [K] of its bulk, and of its face above that, over time [s]; NaN limit: none."""

    name: str
    place: int
    bulk: tuple[Floats, Floats]
    face: tuple[Floats, Floats] | None
    highest: float
    hottest_face: float
    limit: float
    climbing: bool
    given_up: str = ""
    """Words on a run without an answer, whose numbers are not those of the horizon."""


class Wear(NamedTuple):
    """Share of its life that a protection has used up, over time [s]."""

    name: str
    place: int
    share: tuple[Floats, Floats]
    used: float
    given_up: str = ""


class TemperatureData(NamedTuple):
    frame: base.Frame
    warm: tuple[Warmth, ...]
    wear: tuple[Wear, ...]
    instants: tuple[float, ...]
    start: float
    stop: float
    top: float
    """Upper end of the axis [K]."""


def repeats(run: Run) -> tuple[float, ...]:
    """Instants [s] at which events came, if one of them came more than once; else empty."""
    out: list[float] = []
    often = False
    for i, c in enumerate(run.connections):
        if c.role != "event" or c.modes[:1] != ("waiting",):
            continue
        waits = run.mode[:, i] == 0
        comes = run.time[1:][waits[:-1] & ~waits[1:]]
        often = often or len(comes) > 1
        out += comes.tolist()
    return tuple(sorted(out)) if often else ()


def warming_situation(result: ResultSet) -> str:
    """The situation, of repeated events or of minutes, in which a protection gets hottest against its limit; '': none.

    Where none gets warm at all, one in which life is used up.
    """
    limits = {a.name: a.rise_limit for a in result.answers}
    found: dict[str, float] = {}
    for (name, s), run in result.runs.items():
        rises = [float(np.nanmax(o.values)) for o in run.own if o.unit == "K"] if name != BARE else []
        warm = max(rises, default=0.0) >= COLD
        if (warm or _wear(name, 0, run)) and (run.time[-1] >= SHIFT or repeats(run)):
            share = rises[0] / limits.get(name, math.nan) if warm else 0.0
            found[s] = max(found.get(s, 0.0), share if math.isfinite(share) else 0.0)
    return max(found, key=lambda s: found[s]) if found else ""


def has_temperature(result: ResultSet) -> bool:
    return bool(warming_situation(result))


def temperature_data(result: ResultSet) -> TemperatureData:
    situation = warming_situation(result) or base.crash_of(result)
    names = base.shown_candidates(result)
    runs = [(n, i, r) for i, n in enumerate(names) if (r := base.run_of(result, n, situation)) is not None]
    warm = tuple(w for n, i, r in runs if (w := _warmth(result, n, i, r)) is not None)
    wear = tuple(w for n, i, r in runs for w in _wear(n, i, r))
    stop = max((float(r.time[-1]) for _, _, r in runs if len(r.time)), default=1.0)
    instants = max((repeats(r) for _, _, r in runs), key=len, default=())
    note = _note(warm, [n for n, _, r in runs if base.solved(r)])
    return TemperatureData(
        base.frame(result, _title(warm, wear, instants, stop), note, situation),
        warm, wear, instants, 0.0, stop, _top(warm),
    )  # fmt: skip


def _note(warm: Sequence[Warmth], names: Sequence[str]) -> str:
    if not warm:
        return "no protection gets warm"
    cold = [n for n in names if n not in {w.name for w in warm}]
    note = "thick: bulk; thin: face" if any(w.face for w in warm) else "rise of the bulk"
    return f"{note}; no rise to show for {base.listing(cold)}" if cold else note


def _warmth(result: ResultSet, name: str, place: int, run: Run) -> Warmth | None:
    states = [o for o in run.own if o.unit == "K"]
    if not states:
        return None
    bulk = states[0].values
    leads = [o.values for o in states[1:] if o.name.endswith(LEAD)]
    face = bulk + np.sum(leads, axis=0) if leads else None
    if float(np.nanmax(bulk if face is None else face)) < COLD:
        return None
    a = base.answer_of(result, name)
    stop = float(run.time[-1])
    return Warmth(
        name, place, thin(run.time, bulk, 0.0, stop, COLUMNS),
        None if face is None else thin(run.time, face, 0.0, stop, COLUMNS),
        float(np.nanmax(bulk)), float(np.nanmax(bulk if face is None else face)),
        math.nan if a is None else a.rise_limit, _climbing(run.time, bulk, stop),
        "" if base.solved(run) else base.no_answer(run),
    )  # fmt: skip


def _climbing(t: Floats, y: Floats, stop: float) -> bool:
    """Whether the highest rise of the last quarter, as it is told, is above that of the quarter before."""
    third = y[(t > 0.5 * stop) & (t <= 0.75 * stop)]
    fourth = y[t > 0.75 * stop]
    return bool(third.size and fourth.size and _as_told(np.nanmax(fourth)) > _as_told(np.nanmax(third)))


def _as_told(rise: float) -> float:
    return float(f"{rise:.3g}")


def _wear(name: str, place: int, run: Run) -> list[Wear]:
    used = [(o.values, float(np.nanmax(o.values, initial=0.0))) for o in run.own if o.unit == "1"]
    stop = float(run.time[-1])
    lost = "" if base.solved(run) else base.no_answer(run)
    return [Wear(name, place, thin(run.time, v, 0.0, stop, COLUMNS), most, lost) for v, most in used if most > WORN]


def _top(warm: Sequence[Warmth]) -> float:
    """Room for the hottest, and for those limits that are not far above it."""
    hot = max((w.hottest_face for w in warm), default=0.0) or 1.0
    near = [w.limit for w in warm if math.isfinite(w.limit) and w.limit < FAR * hot]
    return 1.1 * max([hot, *near])


def _title(warm: Sequence[Warmth], wear: Sequence[Wear], instants: Sequence[float], stop: float) -> str:
    if not (warm or wear) or (not instants and stop < SHIFT):
        return "No event here comes more than once, or no protection warms or wears"
    warm, wear = [w for w in warm if not w.given_up], [w for w in wear if not w.given_up]
    if not (warm or wear):
        return "No answer on what warms or wears"
    factor, unit = base.time_scale(stop)
    span = f"{base.number(factor * stop)}{base.SPACE}{unit}"
    after = f"After {len(instants)} times in {span}" if instants else f"After {span}"
    if not warm:
        worn = max(wear, key=lambda x: x.used)
        return f"{after} {base.percent(worn.used)} of the life of {base.clipped(worn.name)} is used up"
    limited = [w for w in warm if w.limit > 0]
    if not limited:
        w = max(warm, key=lambda x: x.highest)
        return f"{after} {base.clipped(w.name)} is {kelvin(w.highest)} warmer; it has no limit"
    w = max(limited, key=lambda x: x.highest / x.limit)
    state = ", still rising" if w.climbing else ", no longer rising"
    return f"{after} {base.clipped(w.name)} is {kelvin(w.highest)} warmer, {of_limit(w)}{state}"


def kelvin(rise: float) -> str:
    return f"{base.number(rise)}{base.SPACE}K"


def of_limit(w: Warmth) -> str:
    """Highest rise of the bulk against the limit, in words."""
    return f"{base.percent(w.highest / w.limit)} of its limit" if w.limit > 0 else "no limit"
