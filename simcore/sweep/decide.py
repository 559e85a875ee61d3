"""From a sweep to the answer: which candidate, which setting, at which odds, and what to measure first."""

from __future__ import annotations

from math import isfinite, log10, nan
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep import cases, opening, wording
from simcore.sweep.law import setting_scatters
from simcore.sweep.odds import Curve, Odds, Window, damage_curve, nuisance_curve, window
from simcore.sweep.result import SweepResult
from simcore.sweep.sensitivity import explains, sobol_indices
from simcore.sweep.statistics import CONFIDENCE, Estimate, cases_needed, quantile, rank_correlation, regret
from simcore.sweep.tolerance import settable, tolerance_besides

Floats = NDArray[np.float64]

MANY_FAILED: Final = 0.01
"""Share of failed cases above which the answer is called into question."""
RARE: Final = 1e-9
GRID_ENDS: Final = "grid ends"
TOO_NARROW: Final = "too narrow"
LITTLE: Final = 0.02
"""Share of a scatter below which an input is not worth measuring."""


class Choice(NamedTuple):
    """One candidate at its best setting [N*m].

    ``ran_at`` is the setting of the grid (its ``place`` along it) that peak, use and times are taken from,
    worst cell of the other grids.  ``kept``: settings that keep both targets; ``window``: those of them whose
    ``tolerance`` to either side lies in there too (0 where the setting scatters in the sweep itself).  ``never``:
    share of crashes in which it does not disconnect.  ``coarse``: a finer grid may show a window that this one does
    not; ``cut_off``: a longer one may.
    """

    name: str
    candidate: int
    setting: float
    ran_at: float
    place: int
    kept: Window
    window: Window
    tolerance: float
    damage: Curve
    nuisance: Curve
    damage_odds: Odds
    nuisance_odds: Odds
    peak: Estimate
    peak_95: Estimate
    use_95: float
    disconnect: Estimate
    disconnect_95: float
    never: float
    margin: float
    words: str
    opens: tuple[str, ...]
    coarse: bool = False
    cut_off: bool = False

    @property
    def lacks(self) -> str:
        """Why it has no window, in two words; '' if it has one."""
        if self.window.likely:
            return ""
        return "none" if not self.kept.likely else GRID_ENDS if self.cut_off else TOO_NARROW


class Regret(NamedTuple):
    """What choosing this candidate costs against the best one of each draw: share of draws in which it is the
    best, mean and 95 % point of the surplus of use (peak over allowable), 95 % point of that of time [s]."""

    name: str
    best: float
    mean_use: float
    use_95: float
    time_95: float


class Input(NamedTuple):
    """A scatter factor: its share of the variance of the peak's use and of what service asks."""

    name: str
    of_use: float
    of_asks: float


class Decision(NamedTuple):
    """The answer of a sweep; ``choices`` best first, ``computed`` and ``failed`` runs of a case in a situation;
    ``stands_out``: what to say of the strongest input where none is worth measuring."""

    choices: tuple[Choice, ...]
    regrets: tuple[Regret, ...]
    inputs: tuple[Input, ...]
    sentence: str
    measure: tuple[str, ...]
    cautions: tuple[str, ...]
    computed: int
    failed: int
    stands_out: str = ""


def decide(result: SweepResult) -> Decision:
    """Rank the candidates: a sure window first, then a likely one, then the larger margin to the targets."""
    choices = [choose(result, c) for c in range(len(result.candidates))]
    choices.sort(key=lambda c: (not c.window.sure, not c.window.likely, -c.margin, _last(c.use_95)))
    inputs = _inputs(result, choices[0])
    total, bad = cases.tally(result)
    measure = _to_measure(result, inputs, choices[0])
    return Decision(
        tuple(choices),
        _regrets(result, choices),
        inputs,
        _sentence(result, choices[0]),
        measure,
        tuple(_cautions(result, choices, total, bad)),
        total - bad,
        bad,
        "" if measure else _stands_out(result, choices[0]),
    )


def choose(result: SweepResult, candidate: int) -> Choice:
    """The candidate's window, its setting and what happens there."""
    damage, nuisance = damage_curve(result, candidate), nuisance_curve(result, candidate)
    kept = window(damage, nuisance, result.damage_target, result.nuisance_target)
    tolerance = tolerance_besides(result, result.candidates[candidate])
    found = settable(kept, tolerance)
    grid = cases.setting_axis(result, candidate).settings
    setting = _setting(result, grid, found, damage, nuisance)
    place = int(np.argmin(np.abs(grid - setting)))
    d, n = damage.at(setting), nuisance.at(setting)
    peak, use, times = (at_place(result, candidate, place, m) for m in ("peak", "use", "disconnect"))
    known = times[~np.isnan(times)]
    words = wording.window(result, kept, found, tolerance, candidate)
    opens = () if found.likely else opening.ways(result, candidate, damage, nuisance, tolerance)
    return Choice(
        result.candidates[candidate], candidate, setting, float(grid[place]), place, kept, found, tolerance,
        damage, nuisance, d, n,
        quantile(peak, 0.5), quantile(peak, 0.95), quantile(use, 0.95).value, quantile(times, 0.5),
        quantile(times, 0.95).value, float(np.isinf(known).mean()) if len(known) else nan,
        margin(result, d, n), words, opens,
        bool(opens) and opening.is_coarse(result, damage, nuisance, tolerance),
        bool(opens) and kept.likely and bool(wording.edges_words(result, kept)),
    )  # fmt: skip


def at_place(result: SweepResult, candidate: int, place: int, measure: str, *, every: bool = False) -> Floats:
    """(draw): a measure of the crashes at one setting, in the worst cell of the other grids; NaN: failed.

    ``every``: all draws in their order; else the independent ones.
    """
    values = cases.disconnect(result, candidate) if measure == "disconnect" else cases.worst(result, candidate, measure)
    use = cases.worst(result, candidate, "use")[place]
    ranked = [quantile(u, 0.95).value for u in use]
    cell = int(np.argmax(np.nan_to_num(ranked, nan=-1.0)))
    out: Floats = values[place, cell]
    return out if every else out[cases.independent(result)]


def margin(result: SweepResult, damage: Odds, nuisance: Odds) -> float:
    """Decades between the upper bounds of both odds and their targets, the smaller one; negative: missed."""
    pairs = ((result.damage_target, damage), (result.nuisance_target, nuisance))
    found = [log10(max(t, RARE) / max(o.high, RARE)) for t, o in pairs if o.cases > 0 or not isfinite(o.share)]
    return min(found, default=nan)


def _setting(result: SweepResult, grid: Floats, found: Window, damage: Curve, nuisance: Curve) -> float:
    """Middle of the window, moved to the nearest setting that was run if that is inside (and not where the grid
    ends); without a window the setting of the grid with the largest margin."""
    if found.likely:
        low, high = (found.sure_low, found.sure_high) if found.sure else (found.low, found.high)
        middle = 0.5 * (low + high)
        inside = grid[(grid >= low) & (grid <= high) & _amid(grid, found)]
        return float(inside[np.argmin(np.abs(inside - middle))]) if len(inside) else middle
    margins = [margin(result, damage.at(float(s)), nuisance.at(float(s))) for s in grid]
    return float(grid[int(np.nanargmax(margins))]) if np.isfinite(margins).any() else float(grid[0])


def _amid(grid: Floats, found: Window) -> NDArray[np.bool_]:
    """Settings of the grid that do not stand where the window is only cut off by the grid's end."""
    if len(grid) < 2:
        return np.ones(len(grid), dtype=bool)
    out = np.ones(len(grid), dtype=bool)
    out[0], out[-1] = not found.open_below, not found.open_above
    return out


def _regrets(result: SweepResult, choices: list[Choice]) -> tuple[Regret, ...]:
    """Each candidate at its own setting, draw by draw."""
    uses = regret(np.stack([at_place(result, c.candidate, c.place, "use") for c in choices]))
    times = np.stack([at_place(result, c.candidate, c.place, "disconnect") for c in choices])
    with np.errstate(invalid="ignore"):
        late = times - times.min(axis=0)
    late = np.where(np.isnan(times).any(axis=0) | np.isinf(times).all(axis=0), nan, late)
    known = ~np.isnan(uses[0])
    out = []
    for i, c in enumerate(choices):
        u = uses[i][known]
        some = len(u) > 0
        best, mean = (float((u == 0.0).mean()), float(u.mean())) if some else (nan, nan)
        out.append(Regret(c.name, best, mean, quantile(u, 0.95).value, quantile(late[i], 0.95).value))
    return tuple(out)


def asks_of(result: SweepResult, candidate: int) -> Floats:
    """(draw): what ordinary events ask of the setting [N*m]; NaN where that is not known."""
    asks = cases.asked(result, candidate)
    count = result.status.shape[1 + len(result.grids)]
    return np.full(count, nan) if asks is None else np.where(np.isinf(asks), nan, asks)


def _inputs(result: SweepResult, best: Choice) -> tuple[Input, ...]:
    """Every scatter factor with its shares, the largest first: total index if paired, else what it explains."""
    use = at_place(result, best.candidate, best.place, "use", every=True)
    asks = asks_of(result, best.candidate)
    names, rows = list(result.samples), cases.paired_rows(result)
    if rows is not None:
        shares = [list(sobol_indices(y, rows).total) for y in (use, asks)]
    else:
        shares = [[explains(result.samples[n], y) for n in names] for y in (use, asks)]
    found = [Input(n, min(float(a), 1.0), min(float(b), 1.0)) for n, a, b in zip(names, *shares, strict=True)]
    return tuple(sorted(found, key=lambda x: -max(_first(x.of_use), _first(x.of_asks))))


def _to_measure(result: SweepResult, inputs: tuple[Input, ...], best: Choice) -> tuple[str, ...]:
    """Two inputs worth measuring: most of the peak's scatter and, another one, most of what service asks."""
    own = setting_scatters(result, best.name)
    open_to_it = [x for x in inputs if x.name not in own] or list(inputs)
    out: list[str] = []
    taken: set[str] = set()
    use = {x.name: _first(x.of_use) for x in open_to_it}
    asks = {x.name: _first(x.of_asks) for x in open_to_it}
    for of, what in ((use, "of the scatter of peak over allowable"), (asks, "of the scatter of what service asks")):
        ranked = sorted((n for n in of if n not in taken), key=lambda n: -of[n])
        if ranked and of[ranked[0]] >= LITTLE:
            taken.add(ranked[0])
            out.append(f"{ranked[0]} ({wording.percent(of[ranked[0]])} {what})")
    if len(out) == 1:
        rest = [n for n in use if n not in taken and max(use[n], asks[n]) >= LITTLE]
        out += [f"{n} ({wording.percent(max(use[n], asks[n]))} of the same)" for n in rest[:1]]
    return tuple(out)


def _stands_out(result: SweepResult, best: Choice) -> str:
    """The input with the surest rank correlation to the peak or to what service asks; '' if none is sure."""
    own, rows = setting_scatters(result, best.name), cases.independent(result)
    found = []
    for what, y in (("the peak", at_place(result, best.candidate, best.place, "use", every=True)),
                    ("what service asks", asks_of(result, best.candidate))):  # fmt: skip
        found += [(n, what, rank_correlation(x[rows], y[rows])) for n, x in result.samples.items()]
    sure = [(n, what, r.value) for n, what, r in found if r.low > 0.0 or r.high < 0.0]
    if not sure:
        return ""
    name, what, r = max(sure, key=lambda f: abs(f[2]))
    why = ": the setting's own scatter, which a tighter tolerance lessens" if name in own else ""
    return f"{name} moves {what} most (rank correlation {r:.2f}){why}"


def _sentence(result: SweepResult, best: Choice) -> str:
    """The choice in a sentence; of a sweep that was stopped it says so first."""
    if result.draws < result.planned:
        return f"Provisional, from {result.draws:,} of {result.planned:,} draws. {_chosen(result, best)}"
    return _chosen(result, best)


def _chosen(result: SweepResult, best: Choice) -> str:
    if not best.window.likely:
        why = f": {best.words}" if best.kept.likely else ""
        at = wording.effort(best.setting, result.unit)
        grid = " on this grid" if best.coarse or best.cut_off else ""
        return f"No candidate keeps both targets{grid}; nearest: {best.name} at {at}{why}."
    return f"Choose {best.name}, {wording.effort(best.setting, result.unit)}: {best.words}."


def _cautions(result: SweepResult, choices: list[Choice], total: int, bad: int) -> list[str]:
    out = []
    if bad > MANY_FAILED * total:
        out.append(
            f"{bad:,} of {total:,} runs could not be computed and are left out of all odds: so many may hide what "
            "matters; look at them before the answer is used."
        )
    ran = min((c.damage_odds.cases for c in choices), default=0.0)
    need = cases_needed(result.damage_target) if 0.0 < result.damage_target < 1.0 else 0
    if 0 < ran < need and not all(c.window.sure for c in choices):
        out.append(
            f"To be 95 % sure of fewer than {wording.target(result.damage_target, 'crashes')} damaged takes {need:,} "
            f"crashes without damage; {ran:,.0f} were counted."
        )
    for c in choices[:1]:
        if not c.nuisance.counted and c.nuisance_odds.cases > 0:
            out.append(f"Nuisance odds take the setting's law at its word: {c.nuisance.model}.")
        if abs(c.ran_at - c.setting) > 1e-9 * abs(c.setting):
            near = wording.effort(c.ran_at, result.unit)
            low = ": at its own, higher one, the peak is higher too" if c.ran_at < c.setting else ""
            out.append(f"Peak, use and times of {c.name} are those of the nearest setting that was run, {near}{low}.")
        out += _counted(result, c)
        if c.tolerance > 0.0:
            out.append(
                "The setting does not scatter in this sweep: odds are those of the exact setting, and a window "
                f"must leave room for {wording.percent(c.tolerance)} of tolerance to either side."
            )
        others = cases.other_grids(result, c.candidate)
        if others:
            out.append(f"Odds are those of the worst value of {' and '.join(others)}.")
    if result.design not in ("random", "paired"):
        out.append(
            f"{100 * CONFIDENCE:.0f} % bands take the draws as independent, which '{result.design}' ones are not."
        )
    return out


def _counted(result: SweepResult, c: Choice) -> list[str]:
    """What the runs at the setting themselves say of ordinary events, where the averaged odds do not."""
    out = []
    near = wording.effort(c.ran_at, result.unit)
    trips, stalls, strained = (_in_worst_cell(result, f(result, c.candidate)[c.place])
                               for f in (cases.nuisance, cases.stalls, cases.strained))  # fmt: skip
    more = c.nuisance_odds.cases > 0 and len(trips) and trips.mean() > c.nuisance_odds.high
    if more and trips.sum() > stalls.sum():
        out.append(
            f"At {near} {trips.sum():,.0f} of {len(trips):,} draws do not meet an ordinary event, more than the odds "
            "say: what one setting holds a higher one need not; count the runs."
        )
    if stalls.any():
        out.append(
            f"In {stalls.sum():,.0f} of {len(stalls):,} draws at {near} the line does not come up to speed though "
            "nothing lets go: no setting helps, and the odds, to which a higher one is safer, may not show it; see to "
            "motor and load."
        )
    if strained.any():
        out.append(
            f"In {strained.sum():,.0f} of {len(strained):,} draws at {near} a part passes its allowable in an ordinary "
            "event: odds of damage are those of crashes and do not count it, a single run would refuse the candidate."
        )
    return out


def _in_worst_cell(result: SweepResult, flags: Floats) -> Floats:
    """Independent draws without failures, of the cell (cells, draws) in which most are flagged."""
    cells = [f[cases.independent(result)] for f in flags]
    return max((f[~np.isnan(f)] for f in cells), key=lambda f: float(f.mean()) if len(f) else -1.0)


def _first(x: float) -> float:
    return x if isfinite(x) else -1.0


def _last(x: float) -> float:
    return x if isfinite(x) else float("inf")
