"""Warning on a protection that slips on while what should take the drive off comes too late, or not at all."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

from simcore.contract import OPEN
from simcore.line.caution import Caution
from simcore.measures.aftermath import driven, heat_by, stopped_at
from simcore.measures.cases import Case
from simcore.results.model import Run
from simcore.units import show

MOST = 0.5
"""Share of the slip heat that may fall before anything is noticed."""
MATTERS = 0.1
"""Share of the heat limit below which it does not matter when the heat falls."""


def sensed_too_late(case: Case, run: Run) -> Iterator[Caution]:
    """Of one protection that never disconnects, in one situation."""
    if case.candidate is None or case.assembly.candidate is None:
        return
    kind = case.assembly.graph.elements[case.assembly.candidate].part.kind
    if max(m.klass for m in kind.modes) >= OPEN:
        return
    stop, burns = stopped_at(run), burnt_at(case, run)
    who = f"'{run.candidate}' in '{run.situation}'"
    text, past, grave = "", f"{who} passes its heat limit after {show(burns, 'time')}", False
    if stop is None and driven(case, run, burns):
        text, grave = f"{past}, and nothing has taken the drive off", True
    elif stop is not None and burns < stop[2]:
        text, grave = f"{past}, before '{stop[0]}' acts after {show(stop[2], 'time')}", True
    elif stop is not None and run.measures["rise"] > MATTERS * case.heat_limit:
        name, noticed, _ = stop
        heat = run.measures["heat"]
        before = heat_by(run, noticed)
        if before > MOST * heat > 0.0:
            text = (f"{who} has {100.0 * before / heat:.0f} % of its slip heat of {show(heat, 'energy')} behind it "
                    f"when '{name}' notices anything, after {show(noticed, 'time')}")  # fmt: skip
    if text:
        yield Caution("sensed too late", case.candidate.item.path, text, grave)


def burnt_at(case: Case, run: Run) -> float:
    """Instant at which it passes its heat limit [s]; NaN if it does not, or does not follow its temperature."""
    if not isnan(run.measures["burns_at"]):
        return run.measures["burns_at"]
    for state in run.own:
        if state.unit == "K":
            past = run.time[(state.values > case.heat_limit) & (run.time >= 0.0)]
            if past.size:
                return float(past[0])
    return float("nan")
