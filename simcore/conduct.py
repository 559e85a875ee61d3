"""Conducts a run: every candidate in every situation, the verdicts, the evidence beside them."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from math import isnan, nan

import numpy as np
from numpy.typing import NDArray

from simcore.line.assemble import lowest_mode
from simcore.line.cautions import cautions
from simcore.line.effort_words import effort_words, torque_words
from simcore.line.reflect import (
    Seen,
    crash_bound,
    crash_estimate,
    inertia_table,
    overshoot_bound,
    seen_from,
    start_bound,
    start_estimate,
)
from simcore.line.run_up import start_by_hand
from simcore.measures import line_mates
from simcore.measures.aftermath import remarks, stopped_at
from simcore.measures.cases import Case, make_case, seen_set_lowest
from simcore.measures.climb import climb, domain_of, motor_not_inertia
from simcore.measures.extract import scalars
from simcore.measures.foremost import by_weight, grave_ones, in_order
from simcore.measures.holding import smallest_setting
from simcore.measures.judge import Triple, answer, peaks_of, ranked, reasons_against
from simcore.measures.lasting import left_remarks
from simcore.measures.recorded import as_run
from simcore.measures.reseat import drops_in
from simcore.measures.restarting import comes_back
from simcore.measures.sensitivity import defaults_of, peak_of, scaled_damping, swings, tighter
from simcore.measures.shown import shown
from simcore.measures.sides import sides, varying
from simcore.measures.unsolved import cases_given_up, check_some_solved, given_up, status_of, told, without_measures
from simcore.measures.words import minding, no_limiter_helps, sentence
from simcore.parts import REGISTRY
from simcore.provenance import provenance_of
from simcore.results.model import BARE, Answer, Default, HandBound, ResultSet, Run
from simcore.scenario.model import Candidate, Scenario, Situation
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome, run_many, run_one
from simcore.threads import crew

RTOL = 1e-6
LOUD = 1e-4
"""Ledger residual past which the run is said to be not trustworthy."""
EVIDENCE = "tighter run, damping, defaults"
"""What is told while these are run after all cases."""

Floats = NDArray[np.float64]
Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Settings:
    """How to run; ``progress(done, of, what)`` is called between cases.

    ``known``: outcomes that are at hand already, by candidate and situation.
    """

    evidence: bool = True
    progress: Progress | None = None
    known: Mapping[tuple[str, str], Outcome] = field(default_factory=dict)


def conduct(scenario: Scenario, settings: Settings | None = None) -> ResultSet:
    """Run a checked scenario.

    A case that the solver gives up costs its candidate the verdict, never the others theirs.  Raises InputError if the
    bare line has no steady running, SolveError if no case has an answer.
    """
    settings = settings or Settings()
    began = time.perf_counter()
    rtol = scenario.solver.get("relative_tolerance", RTOL)
    w1 = lowest_mode(scenario)
    candidates: list[Candidate | None] = [*scenario.candidates.values(), None]
    total = len(candidates) * len(scenario.situations)
    runs: dict[tuple[str, str], Run] = {}
    triples: dict[str, list[Triple]] = {}
    wanted = [(c, s) for c in candidates for s in scenario.situations.values()]
    with crew(len(wanted)) as pool:
        done = pool.map(lambda cs: _one(make_case(scenario, cs[0], cs[1], w1, rtol), settings.known), wanted)
        for (c, s), (triple, run) in zip(wanted, done, strict=True):
            name = BARE if c is None else c.name
            if run is not None:
                runs[name, s.name] = run
            triples.setdefault(name, []).append(triple)
            _tell(settings, sum(map(len, triples.values())), total, f"{name}, {s.name}")
    check_some_solved(triples)
    answers = ranked([answer(n, ts) for n, ts in triples.items() if n != BARE])
    return _gather(scenario, settings, runs, triples, answers, w1, rtol, began)


def _tell(settings: Settings, done: int, of: int, what: str) -> None:
    if settings.progress is not None:
        settings.progress(done, of, what)


def _one(case: Case, known: Mapping[tuple[str, str], Outcome]) -> tuple[Triple, Run | None]:
    """Nominal run with its trace (None without one), both ends of the band, and what a service situation asks for."""
    name = case.candidate.name if case.candidate else BARE
    out = known.get((name, case.situation.name)) or run_one(case.assembly)
    status = status_of(out, case)
    nominal, peaks = _measures(case, out.meas, status)
    ends, others, lost = _ends(case)
    asks, note = nan, ""
    if case.candidate is not None and case.situation.expect != "let go":
        smallest = smallest_setting(case)
        asks, note = smallest.setting, smallest.note
    run = as_run(case, out, nominal, ends) if len(out.trace) else None
    triple = Triple(case, nominal, ends[0], ends[1], {"nominal": peaks, **others}, asks, note,
                    last=case.assembly.names[int(out.counts[ar.LAST_PART])])  # fmt: skip
    if run is None or status:
        return triple, run
    mates = line_mates.let_go(case, run)
    stop, *_ = stopped_at(run) or ("",)
    return replace(triple, back=comes_back(case, run), mates=mates, mates_over=lost, stop=stop), run


def _ends(case: Case) -> tuple[list[dict[str, float]], dict[str, Floats], dict[str, tuple[line_mates.Mate, ...]]]:
    """Measures, peaks, and what else let go, at the upper and the lower end of the band."""
    a = case.assembly
    rows = np.stack([a.dialled(1.0 + case.tolerance), a.dialled(1.0 - case.tolerance)])
    meas, _, status = run_many(a, rows)
    (high, high_peaks), (low, low_peaks) = (_measures(case, meas[i], given_up(status[i])) for i in range(2))
    lost = {end: line_mates.measured(case, meas[i]) for i, end in enumerate(("high", "low")) if not given_up(status[i])}
    return [high, low], {"high": high_peaks, "low": low_peaks}, lost


def _measures(case: Case, meas: Floats, status: int) -> tuple[dict[str, float], Floats]:
    """Named measures, and the peak of every element; NaN where the solver gave the case up."""
    m = scalars(case.assembly, meas, case.protected, case.heat_limit)
    if status:
        return without_measures(m, status), np.full(len(case.assembly.parts), nan)
    return m, peaks_of(meas)


def _residual(r: Run) -> float:
    """Largest residual of the ledger: over the whole run, or over one of its cycles."""
    return max(abs(r.ledger["relative"]), r.ledger.get("worst_cycle", 0.0))


def _gather(
    scenario: Scenario, settings: Settings, runs: dict[tuple[str, str], Run], triples: dict[str, list[Triple]],
    answers: tuple[Answer, ...], w1: float, rtol: float, began: float,
) -> ResultSet:  # fmt: skip
    limit = scenario.station(scenario.protect).limit
    allowable = nan if limit is None else limit.allowable.si
    solved = {n: [t for t in ts if "failed" not in t.nominal] for n, ts in triples.items()}
    bare = solved[BARE]
    deciding = _deciding(triples, answers)
    if settings.evidence:
        count = sum(map(len, triples.values()))
        _tell(settings, count, count, EVIDENCE)
    findings, defaults = _evidence(scenario, settings, deciding, w1, rtol, allowable)
    findings |= sides(t.case for ts in triples.values() for t in ts[:1])
    findings["lowest mode"] = w1
    whole = [runs[n, t.case.situation.name] for n, ts in solved.items() for t in ts]
    findings["worst ledger residual"] = max(_residual(r) for r in whole)
    findings |= cases_given_up(triples)
    findings["steady transient"] = _transient(whole)
    pairs = [(t.case, runs[n, t.case.situation.name]) for n, ts in solved.items() for t in ts]
    ran, known = shown(pairs), cautions(scenario)
    warnings = in_order(ran, known, answers)
    honest = _honest(scenario, solved, runs, answers)
    if findings["worst ledger residual"] > LOUD:
        worst = max(whole, key=_residual)
        honest.insert(0, f"The energy ledger is open by {_residual(worst):.1e} with '{worst.candidate}' in "
                      f"'{worst.situation}': do not trust that run; tighten relative_tolerance.")  # fmt: skip
    honest = [*told(triples), *honest]
    findings["grave warnings"] = float(len(honest) + grave_ones(ran, known, answers))
    first = triples[BARE][0].case
    findings |= varying(first)
    table = {} if first.protected < 0 else inertia_table(first.assembly, first.protected)
    say = torque_words(scenario)
    against = {a.name: reasons_against(triples[a.name], a.margins) for a in answers}
    follows = by_weight([
        *remarks(pairs, say, {a.name: a.rank for a in answers}),
        *line_mates.remarks((n, t.case.situation.name, t.mates) for n, ts in solved.items() for t in ts),
        *drops_in(pairs),
        *left_remarks(r for _, r in pairs),
    ])  # fmt: skip
    return ResultSet(
        title=scenario.title, protect=scenario.protect, unit=scenario.display.get("torque", "N*m"),
        allowable=allowable, runs=runs, answers=answers,
        sentence=minding(sentence(answers, against, scenario.protect, say), answers, follows),
        warnings=(*honest, *warnings), defaults=tuple(defaults),
        bounds=(*_bounds(bare), *_overshoots(triples, answers)),
        inertias=table, findings=findings, provenance=provenance_of(scenario, rtol, began),
        scenario_text=scenario.text, remarks=follows,
    )  # fmt: skip


def _deciding(triples: dict[str, list[Triple]], answers: tuple[Answer, ...]) -> Case | None:
    """The worst crash of the best candidate."""
    known = [a for a in answers if not isnan(a.peak)]
    if not known:
        return None
    best = min(known, key=lambda a: a.rank)
    return next(t.case for t in triples[best.name] if t.case.situation.name == best.crash)


def _evidence(
    scenario: Scenario, settings: Settings, case: Case | None, w1: float, rtol: float, allowable: float
) -> tuple[dict[str, float], list[Default]]:
    """Tighter run, damping halved and doubled, defaults to both ends."""
    if case is None or not settings.evidence:
        return {}, [Default(f"{i.path}.{p.name}", str(p.default), "", p.source, nan) for i, p in defaults_of(scenario)]
    base = peak_of(case)
    findings = {
        "tighter run moves the peak by": peak_of(tighter(case, w1, rtol)) / base - 1.0,
        "damping halved moves the peak by": peak_of(scaled_damping(case, 0.5, w1, rtol)) / base - 1.0,
        "damping doubled moves the peak by": peak_of(scaled_damping(case, 2.0, w1, rtol)) / base - 1.0,
    }
    return findings, swings(case, w1, rtol, base if isnan(allowable) else allowable)


def _transient(runs: Iterable[Run]) -> float:
    """Largest change of any torque before the event over the largest torque of that connection."""
    worst = 0.0
    for r in runs:
        carries = r.peak > 0.0
        before = r.torque[r.time < 0.0][:, carries]
        if before.size:
            worst = max(worst, float((np.ptp(before, axis=0) / r.peak[carries]).max()))
    return worst


def _bounds(bare: list[Triple]) -> list[HandBound]:
    out = []
    for t in bare:
        if t.case.protected < 0:
            continue
        s = seen_from(t.case.assembly, t.case.protected)
        value = t.nominal["peak"]
        name = t.case.situation.name
        if is_contact(t.case.situation):
            out.append(HandBound(name, "crash, bare line", float(crash_estimate(s)), float(crash_bound(s)), value))
        elif t.case.situation.event == "start" and not t.case.situation.then:
            out.append(_start_bound(name, t.case, s, value))
    return out


def _start_bound(name: str, case: Case, s: Seen, value: float) -> HandBound:
    by_speed = start_by_hand(case.assembly, case.protected, s)
    if by_speed is not None:
        return HandBound(name, "start by the set speed", float(by_speed[0]), nan, value)
    return HandBound(name, "start by a torque step", float(start_estimate(s)), float(start_bound(s)), value)


def is_contact(s: Situation) -> bool:
    """Whether its first event is a contact with a stiffness of its own."""
    return REGISTRY[s.event].has("hint")


def _overshoots(triples: dict[str, list[Triple]], answers: tuple[Answer, ...]) -> list[HandBound]:
    """What each limiter that lets go cannot stop: run's overshoot over its breakaway beside the bound."""
    out = []
    for a in answers:
        case = next(t.case for t in triples[a.name] if t.case.situation.name == a.crash)
        if case.protected < 0 or isnan(a.peak) or isnan(a.lets_go) or not is_contact(case.situation):
            continue
        bound = float(overshoot_bound(seen_from(case.assembly, case.protected)))
        value = a.peak - a.breakaway * a.to_protected
        out.append(HandBound(a.crash, f"overshoot over breakaway, {a.name}", nan, bound, value))
    return out


def _honest(
    scenario: Scenario, triples: dict[str, list[Triple]], runs: dict[tuple[str, str], Run],
    answers: tuple[Answer, ...],
) -> list[str]:  # fmt: skip
    """The two verdicts that no setting changes."""
    out = []
    for t in triples[BARE]:
        if t.case.situation.expect != "let go" or t.case.protected < 0:
            continue
        if is_contact(t.case.situation) and not any(a.passed for a in answers):
            crashes = [c.case for own in triples.values() for c in own if c.case.situation is t.case.situation]
            least = [seen_set_lowest(c) for c in crashes if c.candidate is not None]
            out.append(no_limiter_helps(least, scenario.protect, partial(effort_words, scenario)))
        if is_contact(t.case.situation):
            seen, say = climb(t.case, runs[BARE, t.case.situation.name]), effort_words(scenario, domain_of(t.case))
            out.append(motor_not_inertia(seen, scenario.protect, say))
    return [s for s in dict.fromkeys(out) if s]
