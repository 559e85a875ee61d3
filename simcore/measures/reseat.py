"""Detents that drop in by themselves: at what speed and phase, and a warning where the line still turns too fast."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan, nan, tau

import numpy as np

from simcore.contract import OPEN
from simcore.line.caution import Caution
from simcore.line.effort_words import effort_words
from simcore.line.graph import Element
from simcore.measures.aftermath import Pairs, driven, held_again
from simcore.measures.cases import Case
from simcore.parts import REGISTRY
from simcore.results.model import BARE, Remark, Run
from simcore.scenario.model import Item
from simcore.units import show

COLUMNS = ("ratchets", "seat_speed", "pocket", "crest")
HAND = 2e-3
"""Time [s] after a reset within which a detent that seats was put back by it."""
RINGS = 5.0
"""Periods of the line's lowest mode within which its blow has rung through the line."""
IN_PHASE = 1e-3
"""Angle [rad] up to which the two sides count as in phase."""


def drops_in(pairs: Pairs) -> Iterator[Remark]:
    """Where drives creep: which detents sit in a pocket again by themselves, and what stays out, by situation."""
    found: dict[str, list[tuple[Case, Run, float]]] = {}
    for case, run in pairs:
        creeps = any(REGISTRY[i.part].kind.keeps_speed for i in case.situation.items)
        if creeps and run.candidate != BARE and not isnan(run.measures["lets_go"]):
            found.setdefault(run.situation, []).append((case, run, _sits_from(case, run)))
    for situation, seen in found.items():
        said = [_dropped(case, run, t) for case, run, t in seen if not isnan(t)]
        out = [run.candidate for _, run, _ in seen if run.measures["end_class"] == OPEN]
        if said or out:
            text = f"after '{situation}' " + (f"sit again: {'; '.join(said)}" if said else "none sits again")
            if out:
                text += f"; still out at {show(seen[0][0].situation.horizon, 'time')}: {', '.join(out)}"
            yield Remark("Drops in", text + ".")


def _sits_from(case: Case, run: Run) -> float:
    """Instant [s] from which a detent that let go sits for good, dropped in by itself; NaN if it does not."""
    e = case.assembly.graph.elements[case.assembly.candidate or 0]
    t = held_again(case, run)
    if not set(COLUMNS) <= set(e.part.kind.row) or not t > run.measures["lets_go"]:
        return nan
    resets = [i for i in case.situation.items if i.part == "reset"]
    return nan if any(0.0 <= t - last_before(i, t) <= HAND for i in resets) else t


def last_before(event: Item, t: float) -> float:
    """Last instant [s] at which an event, repeated or not, has come by ``t``; its first one if it has not yet."""
    first, every = event.si("when", 0.0), event.si("every", 0.0)
    gone = (t - first) // every if every > 0.0 else 0.0
    return first + every * min(max(gone, 0.0), event.si("times", 1.0) - 1.0)


def _dropped(case: Case, run: Run, t: float) -> str:
    slip = show(abs(float(np.interp(t, run.time, run.slip))), "speed", "rpm")
    lost = next((x.value for x in run.left_behind if x.name == "phase lost"), 0.0)
    phase = "in phase" if abs(lost) <= IN_PHASE else f"{show(lost, 'angle', 'deg')} out of phase"
    how = f"dropped in at a slip speed of {slip}, {phase}, {_blow(case, run, t)}"
    return f"{run.candidate} from {show(t, 'time')} on, {how}"


def _blow(case: Case, run: Run, t: float) -> str:
    """Largest torque or force that the protected part, else the detent, sees of the drop at ``t`` [s]."""
    i = case.protected if case.protected >= 0 else case.assembly.candidate or 0
    e = case.assembly.graph.elements[i]
    steps = [when for step in case.situation.then if (when := step.item.si("when", 0.0)) > t]
    end = min([*steps, t + RINGS * tau / case.assembly.w1])
    peak = np.max(np.abs(run.torque[(run.time >= t) & (run.time <= end), i]))
    return f"a blow of up to {effort_words(case.scenario, e.domain)(float(peak))} at '{e.name}'"


def dropped_in_at_speed(case: Case, run: Run) -> Iterator[Caution]:
    """Of one detent that seats by itself, in one situation."""
    i = case.assembly.candidate
    if case.candidate is None or i is None or isnan(run.measures["lets_go"]):
        return
    e = case.assembly.graph.elements[i]
    if not set(COLUMNS) <= set(e.part.kind.row):
        return
    ratchets, limit, pocket, crest = (float(case.assembly.rows[i, e.part.kind.column(c)]) for c in COLUMNS)
    if ratchets < 0.5:
        return
    gone = run.measures["lets_go"]
    way = np.abs(run.twist - np.interp(gone, run.time, run.twist)) + crest
    one, two = pocket_ways(e, pocket, bool(np.interp(gone, run.time, run.slip) >= 0.0))
    first, second = (_passed(run, way, gone, w) for w in (one, two))
    who = f"'{run.candidate}' in '{run.situation}'"
    speed = abs(float(np.interp(first, run.time, run.slip)))
    if speed > limit:
        met, below = (show(v, "speed", "rpm") for v in (speed, limit))
        yield Caution("dropped in at speed", case.candidate.item.path,
                      f"{who} meets its first pocket after about {show(first, 'time')} at a slip speed of {met}; it "
                      f"drops in below {below} only, so its elements hammer from pocket to pocket")  # fmt: skip
    elif driven(case, run, second):
        yield Caution("dropped in at speed", case.candidate.item.path,
                      f"{who} has dropped in and let go again, and two pockets on, after about {show(second, 'time')}, "
                      "the motor still drives: every pocket is a blow until it is stopped")  # fmt: skip


def pocket_ways(e: Element, pocket: float, forward: bool) -> tuple[float, float]:
    """Relative angle [rad] from the pocket it leaves to the next and the second next."""
    listed = e.lists.get("pockets")
    if not listed:
        return pocket, 2.0 * pocket
    steps = [(a - listed[0]) % tau or tau for a in listed]
    turned = sorted(s if forward or s == tau else tau - s for s in steps)
    return turned[0], (turned[1] if len(turned) > 1 else 2.0 * tau)


def _passed(run: Run, way: np.ndarray[tuple[int, ...], np.dtype[np.float64]], gone: float, far: float) -> float:
    """First instant [s] at which it has run ``far`` past its pocket; NaN if it does not."""
    past = run.time[(way >= far) & (run.time >= gone)]
    return float(past[0]) if past.size else nan
