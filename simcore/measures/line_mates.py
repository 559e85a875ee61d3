"""What else in the line lets go besides the candidate: a second protection, a freewheel, a backstop, a belt drive."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isnan, nan
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.contract import BROKEN, ENGAGED, SLIPPING, Kind
from simcore.line.assemble import Assembly
from simcore.line.belt_grip import slips
from simcore.line.graph import GROUND
from simcore.measures.cases import Case
from simcore.measures.reason import Reason, Why
from simcore.results.model import BARE, Event, Remark, Run
from simcore.solver import arrays as ar
from simcore.units import show

Floats = NDArray[np.float64]


THE_BARE_LINE: Final = "the bare line"


class Mate(NamedTuple):
    """One that let go: its name, what it is, when after the event [s; NaN: not noted], and the mode it went into."""

    name: str
    kind: Kind
    time: float
    mode: str
    klass: int
    holds_ground: bool
    """Whether its other side is the ground: a backstop."""


def let_go(case: Case, run: Run) -> tuple[Mate, ...]:
    """Those that let go from the event on, each at its first time.

    Of an overrunning clutch that is slipping past its capacity or breaking, not overrunning; of a belt drive that is
    slipping, which rules nobody out by itself.
    """
    out = []
    for i, e in enumerate(case.assembly.graph.elements):
        kind = e.part.kind
        if i == case.assembly.candidate or not (kind.family in ("protection", "overrunning clutch") or slips(kind)):
            continue
        classes = {m.name: m.klass for m in kind.modes}
        first = next((v for v in run.events if v.who == e.name and v.time >= 0.0 and _is_over(kind, classes, v)), None)
        if first is not None:
            ground = GROUND in (e.a, e.b)
            out.append(Mate(e.name, kind, first.time, first.new, classes[first.new], ground))
    return tuple(out)


def measured(case: Case, meas: Floats) -> tuple[Mate, ...]:
    """Those that let go in a run without a trace; ``meas`` as of :func:`simcore.measures.extract.scalars`."""
    out = []
    for i, e in enumerate(case.assembly.graph.elements):
        kind, end = e.part.kind, int(np.nan_to_num(meas[i, ar.CLASS_END]))
        if i == case.assembly.candidate:
            continue
        when = float(meas[i, ar.TRIGGER]) if kind.family == "protection" else nan
        if not isnan(when) or (kind.family == "overrunning clutch" and end == BROKEN):
            out.append(Mate(e.name, kind, when, "", end, GROUND in (e.a, e.b)))
    return tuple(out)


def failing(a: Assembly, meas: Floats, expect: str) -> Floats:
    """How many of a line's mates fail, for many runs (runs,): the rule of :func:`reasons`.

    ``meas`` (runs, parts + 1, N_MEAS).
    """
    out = np.zeros(len(meas))
    for i, e in enumerate(a.graph.elements):
        family = e.part.kind.family
        if i == a.candidate:
            continue
        if family == "overrunning clutch":
            out += meas[:, i, ar.CLASS_END] == BROKEN
        elif family == "protection" and expect == "hold":
            out += ~np.isnan(meas[:, i, ar.TRIGGER])
    return out


def _is_over(kind: Kind, classes: dict[str, int], v: Event) -> bool:
    new, old = classes[v.new], classes[v.old]
    if kind.family == "overrunning clutch":
        return new in (SLIPPING, BROKEN) and old not in (SLIPPING, BROKEN)
    return old == ENGAGED and new != ENGAGED


def reasons(mates: Iterable[Mate], situation: str, expect: str) -> list[Reason]:
    """Why a candidate does not pass with these: a one-way clutch broke, or one that ought to hold in service let go."""
    out = []
    for m in mates:
        if m.klass == BROKEN and m.kind.family == "overrunning clutch":
            then = ": nothing holds the load" if m.holds_ground else ""
            when = "" if isnan(m.time) else f" after {show(m.time, 'time')}"
            out.append(Reason(Why.MATE_BREAKS, (situation,), f"{when}{then}", m.name))
        elif expect == "hold" and m.kind.family == "protection":
            out.append(Reason(Why.MATE_TRIPS, (situation,), part=m.name))
    return out


def end_reasons(
    over: Mapping[str, Iterable[Mate]], nominal: Iterable[Mate], situation: str, expect: str
) -> list[Reason]:
    """As :func:`reasons`, for those that let go at an end of the candidate's band alone."""
    known = {m.name for m in nominal}
    out = []
    for end, mates in over.items():
        new = [m for m in mates if m.name not in known]
        where = f", with the candidate at the {end} end of its band"
        out += [r._replace(detail=r.detail + where) for r in reasons(new, situation, expect)]
        known |= {m.name for m in new}
    return out


def also_again(mates: Iterable[Mate]) -> str:
    """What these need besides, to run again; '' if nothing."""
    usual = {"nothing": "", "reset": "reset", "replace": "new part"}
    words = []
    for m in mates:
        need = m.kind.again_words or usual.get(m.kind.again, m.kind.again)
        if need:
            words.append(f"'{m.name}': {need}")
    return "".join(f"; {w}" for w in dict.fromkeys(words))


def remarks(seen: Iterable[tuple[str, str, Iterable[Mate]]]) -> tuple[Remark, ...]:
    """One sentence for each that let go, with the candidates of which it is true.

    ``seen``: candidate, situation, and those that let go.
    """
    found: dict[tuple[str, str], list[tuple[str, Mate]]] = {}
    everyone: dict[str, None] = {}
    for candidate, situation, mates in seen:
        who = THE_BARE_LINE if candidate == BARE else f"'{candidate}'"
        everyone[who] = None
        for m in mates:
            found.setdefault((m.name, situation), []).append((who, m))
    return tuple(_remark(name, situation, seen, list(everyone)) for (name, situation), seen in found.items())


def _remark(name: str, situation: str, seen: list[tuple[str, Mate]], everyone: list[str]) -> Remark:
    who, m = min(seen, key=lambda s: s[1].time)
    rest = [w for w, _ in seen if w != who]
    every = len(rest) > 1 and {who, *rest} == set(everyone)
    others = ("all candidates" if who == THE_BARE_LINE else "all others") if every else ", ".join(rest)
    likewise = f", likewise with {others}" if rest else ""
    what = f"'{name}' ({m.kind.name}) in '{situation}'"
    how = "slips" if slips(m.kind) else "lets go" if m.kind.family == "protection" else "goes past its capacity"
    return Remark("Lets go too", f"{what} {how} after {show(m.time, 'time')} with {who}{likewise}: {m.mode}.")
