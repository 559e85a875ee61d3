"""The smallest setting that still meets a service situation, all else equal."""

from __future__ import annotations

from dataclasses import replace
from math import isnan, nan
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_SETTING
from simcore.line.assemble import SETUP
from simcore.line.laws import Num
from simcore.line.rows import dialled
from simcore.measures.cases import Case, creeps, meets, met, stop_speeds
from simcore.measures.extract import measured, scalars, setting_in
from simcore.solver import arrays as ar
from simcore.solver.kernel import cases_of, run_cases

LOW, HIGH, SCAN = 0.05, 4.0, 8
PRECISE = 1e-3


class Smallest(NamedTuple):
    """Smallest setting [N*m] that meets the situation, and a remark; NaN if even 4 times fails."""

    setting: float
    note: str


def smallest_setting(case: Case) -> Smallest:
    """Scan eight settings between 0.05 and 4 times the nominal, then bisect to 0.1 %.

    Where an event repeats, its first cycle is searched; if the setting found does not last through all of them, they
    are.  If holding is not monotone in the setting, the largest failing one counts and the note says so.
    """
    first = first_cycle(case)
    found = _searched(first)
    nominal = setting_in(case.assembly)
    lasts = (1.0 + 2.0 * PRECISE) * found.setting / nominal
    if first is case or isnan(found.setting) or _holding(case, np.array([lasts]))[0]:
        return found
    if not _holding(case, np.array([HIGH]))[0]:
        return Smallest(nan, f"fails even at {HIGH:g} times the setting in a later cycle")
    setting = nominal * _between(case, found.setting / nominal, HIGH)
    return Smallest(setting, "asked by a later cycle than the first")


def _searched(case: Case) -> Smallest:
    factors = np.geomspace(LOW, HIGH, SCAN)
    holds = _holding(case, factors)
    nominal = setting_in(case.assembly)
    if all(holds):
        return Smallest(LOW * nominal, f"holds even at {LOW:g} times the setting")
    if not holds[-1]:
        return Smallest(nan, f"fails even at {HIGH:g} times the setting")
    worst = max(i for i, h in enumerate(holds) if not h)
    note = "" if not any(holds[:worst]) else "not monotone in the setting; the largest failing one counts"
    return Smallest(_between(case, float(factors[worst]), float(factors[worst + 1])) * nominal, note)


def _between(case: Case, low: float, high: float) -> float:
    """Times the setting from which on it holds, between ``low``, at which it fails, and ``high``, at which it holds."""
    while high / low > 1.0 + PRECISE:
        middle = float(np.sqrt(low * high))
        if _holding(case, np.array([middle]))[0]:
            high = middle
        else:
            low = middle
    return high


def first_cycle(case: Case) -> Case:
    """The case up to the end of its first cycle, if an event repeats: hours are not run again for each setting."""
    setup = case.assembly.setup
    if setup[SETUP.index("cycle")] == 0.0:
        return case
    return replace(case, assembly=case.assembly.with_setup(t_end=float(setup[SETUP.index("mark")])))


def _watched(a: Any) -> float:
    """The candidate's place in the line counted from 1, as the kernel wants it: it ends when that one triggers."""
    return 1.0 + (a.candidate or 0)


def _holding(case: Case, factors: NDArray[np.float64]) -> list[bool]:
    a = case.assembly
    if case.situation.expect == "hold":
        a = a.with_setup(first_trigger=_watched(a))
    rows = np.stack([a.dialled(float(f)) for f in factors])
    cases = cases_of(a, rows)
    if creeps(case):
        cases = cases._replace(stop=np.stack([stop_speeds(case, float(f)) for f in factors]))
    meas, _, status = run_cases(a, cases, len(rows))
    out = []
    for m, s in zip(meas, status, strict=True):
        if s > ar.Status.STOPPED:
            out.append(False)
        else:
            values = scalars(a, m, case.protected, case.heat_limit)
            out.append(met(case.situation.expect, values, case.heat_limit))
    return out


def smallest_settings(case: Case, cases: Any, heat_limit: Num) -> NDArray[np.float64]:
    """As :func:`smallest_setting`, for many runs of one line at once, (runs,) [N*m]; ``cases`` as arrays.Cases.

    LOW times the setting where even that holds, NaN where even HIGH times fails.
    """
    a = case.assembly
    count, i = len(cases.rows), a.candidate or 0
    nominal = cases.rows[:, i, COL_SETTING]
    setup = cases.setup.copy()
    setup[:, SETUP.index("first_trigger")] = _watched(a) if case.situation.expect == "hold" else 0.0

    def holds(f: NDArray[np.float64]) -> NDArray[np.bool_]:
        rows = cases.rows.copy()
        rows[:, i] = dialled(a.graph.elements[i].part, cases.rows[:, i], f)
        meas, _, status = run_cases(a, cases._replace(rows=rows, setup=setup), count)
        m = measured(a, meas, rows, case.protected, heat_limit)
        return np.asarray(meets(case.situation.expect, m, heat_limit)) & (status <= ar.Status.STOPPED)

    scan = np.geomspace(LOW, HIGH, SCAN)
    held = np.array([holds(np.full(count, f)) for f in scan])
    worst = np.where(held.all(axis=0), -1, SCAN - 1 - np.argmin(held[::-1], axis=0))
    low = scan[np.clip(worst, 0, SCAN - 2)]
    high = scan[np.clip(worst, 0, SCAN - 2) + 1]
    for _ in range(int(np.ceil(np.log2(np.log(scan[1] / scan[0]) / np.log1p(PRECISE))))):
        middle = np.sqrt(low * high)
        fine = holds(middle)
        low, high = np.where(fine, low, middle), np.where(fine, middle, high)
    out = np.where(worst < 0, LOW, np.where(worst == SCAN - 1, np.nan, high))
    return np.asarray(out * nominal)
