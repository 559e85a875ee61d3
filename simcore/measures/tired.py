"""Warning on pins that tire in ordinary running."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

import numpy as np

from simcore.line.caution import Caution
from simcore.measures.cases import Case
from simcore.measures.extract import setting_in
from simcore.results.model import Run
from simcore.units import plain, show

HEALTHY = 0.55
"""Share of their strength up to which pins are loaded in ordinary running (common practice, from memory)."""
A_YEAR = 0.3
"""Miner's sum a year past which pins are tired."""
BROKEN = 1.0
"""Miner's sum at which they break."""
TIMES, HOURS = 2500.0, 4000.0
"""Situations a year, ten a day, and hours a year of running where events repeat (common practice, from memory)."""


def tired_pins(case: Case, run: Run) -> Iterator[Caution]:
    """Of one candidate that wears by load cycles, in one service situation that it holds."""
    i = case.assembly.candidate
    if case.candidate is None or i is None or case.situation.expect == "let go":
        return
    kind = case.assembly.graph.elements[i].part.kind
    if not any(s.name == "damage" for s in kind.states) or not isnan(run.measures["trigger"]):
        return
    peak, strength = run.measures["peak_protection"], setting_in(case.assembly)
    if peak >= (1.0 - case.tolerance) * strength:  # the low end trips or is stretched: the verdict says so
        return
    sum_a_year = yearly(run)
    who = f"'{run.candidate}' in '{run.situation}'"
    if sum_a_year > A_YEAR:
        yield Caution("tired pins", case.candidate.item.path,
                      f"{who} wears by a Miner's sum of {plain(sum_a_year, 2)} a year (1: broken), {_often(run)}: "
                      "renew it by plan, or it breaks without an overload", sum_a_year > BROKEN)  # fmt: skip
    elif peak > HEALTHY * strength:
        yield Caution("tired pins", case.candidate.item.path,
                      f"{who} sees {show(peak, 'torque')}, {100.0 * peak / strength:.0f} % of its strength of "
                      f"{show(strength, 'torque')}, in ordinary running (usual up to {100.0 * HEALTHY:.0f} %): it "
                      "tires and breaks without an overload")  # fmt: skip


def _repeats(run: Run) -> bool:
    return run.ledger.get("cycles", 0.0) > 1.0


def _often(run: Run) -> str:
    return f"in {HOURS:.0f} hours of it" if _repeats(run) else f"at {TIMES:.0f} such situations"


def yearly(run: Run) -> float:
    """Miner's sum of a year: of 2500 such situations, or of 4000 hours where the events repeat."""
    worn = next((s.values for s in run.own if s.name == "damage"), None)
    if worn is None:
        return 0.0
    gained = float(worn[-1] - np.interp(0.0, run.time, worn))
    return gained * (3600.0 * HOURS / float(run.time[-1]) if _repeats(run) else TIMES)
