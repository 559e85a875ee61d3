"""Conducts a run: every candidate in every situation, the verdicts, the evidence beside them."""

from __future__ import annotations

import platform
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from math import isnan, nan
from typing import Any

import numpy as np

from simcore.contract import MODE_CLASSES
from simcore.line.assemble import Assembly, lowest_mode
from simcore.line.cautions import cautions, effort_words, torque_words
from simcore.line.reflect import (
    crash_bound,
    crash_estimate,
    inertia_table,
    overshoot_bound,
    seen_from,
    start_estimate,
)
from simcore.measures import line_mates
from simcore.measures.aftermath import remarks
from simcore.measures.cases import Case, check_outcome, make_case, seen_set_lowest
from simcore.measures.climb import climb, domain_of, motor_not_inertia
from simcore.measures.extract import scalars
from simcore.measures.foremost import in_order
from simcore.measures.holding import smallest_setting
from simcore.measures.judge import Triple, answer, peaks_of, ranked
from simcore.measures.lasting import left_behind, left_remarks, own_states
from simcore.measures.reseat import drops_in
from simcore.measures.restarting import comes_back
from simcore.measures.sensitivity import defaults_of, peak_of, scaled_damping, swings, tighter
from simcore.measures.shown import shown
from simcore.measures.sides import sides
from simcore.measures.words import no_limiter_helps, sentence
from simcore.parts import REGISTRY
from simcore.results.model import (
    BARE,
    Answer,
    Connection,
    Default,
    Event,
    HandBound,
    ResultSet,
    Run,
)
from simcore.scenario.model import Candidate, Scenario, Series, Situation
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome, run_many, run_one
from simcore.threads import crew

RTOL = 1e-6
LOUD = 1e-4
"""Ledger residual past which the run is said to be not trustworthy."""

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
    """Run a checked scenario.  Raises InputError, SolveError."""
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
            runs[name, s.name] = run
            triples.setdefault(name, []).append(triple)
            _tell(settings, len(runs), total, f"{name}, {s.name}")
    answers = ranked([answer(n, ts) for n, ts in triples.items() if n != BARE])
    return _gather(scenario, settings, runs, triples, answers, w1, rtol, began)


def _tell(settings: Settings, done: int, of: int, what: str) -> None:
    if settings.progress is not None:
        settings.progress(done, of, what)


def _one(case: Case, known: Mapping[tuple[str, str], Outcome]) -> tuple[Triple, Run]:
    """Nominal run with its trace, both ends of the band, and what a service situation asks for."""
    name = case.candidate.name if case.candidate else BARE
    out = known.get((name, case.situation.name)) or run_one(case.assembly)
    where = f"{name}, {case.situation.name}"
    check_outcome(out, case.assembly, where, case.scenario)
    nominal = scalars(case.assembly, out.meas, case.protected, case.heat_limit)
    ends, peaks = _ends(case)
    asks, note = nan, ""
    if case.candidate is not None and case.situation.expect != "let go":
        smallest = smallest_setting(case)
        asks, note = smallest.setting, smallest.note
    run = as_run(case, out, nominal, ends)
    every = {**peaks, "nominal": peaks_of(out.meas)}
    mates, back = line_mates.let_go(case, run), comes_back(case, run)
    return Triple(case, nominal, ends[0], ends[1], every, asks, note, back, mates), run


def _ends(case: Case) -> tuple[list[dict[str, float]], dict[str, Any]]:
    """Measures and peaks at the upper and the lower end of the band."""
    a = case.assembly
    rows = np.stack([a.dialled(1.0 + case.tolerance), a.dialled(1.0 - case.tolerance)])
    meas, _, status = run_many(a, rows)
    out = []
    for i in range(2):
        m = scalars(a, meas[i], case.protected, case.heat_limit)
        if status[i] > ar.Status.STOPPED:
            m["failed"] = float(status[i])
        out.append(m)
    return out, {"high": peaks_of(meas[0]), "low": peaks_of(meas[1])}


def connections_of(a: Assembly) -> tuple[Connection, ...]:
    """Names, units, limits and modes of every element."""
    out = []
    for e in a.graph.elements:
        modes = e.part.kind.modes
        limit = nan if e.limit is None else e.limit.allowable.si
        source = "" if e.limit is None else e.limit.source
        unit = "N" if e.domain == "travel" else "N m"
        out.append(Connection(e.name, e.part.kind.name, unit, limit, source, tuple(m.name for m in modes),
                              tuple(MODE_CLASSES[m.klass] for m in modes), e.role))  # fmt: skip
    return tuple(out)


def as_run(case: Case, out: Outcome, measures: dict[str, float], ends: list[dict[str, float]]) -> Run:
    """The kernel's trace as named arrays."""
    a = case.assembly
    nn, np_, ny = len(a.nodes), len(a.parts), len(a.y0)
    trace = out.trace
    y = trace[:, 1 : 1 + ny]
    first = y[0, a.parts[:, ar.LOSS]]
    booked = trace[:, 1 + ny + np_ : 1 + ny + 2 * np_]
    angle, speed, hubs = _motion(a, y, case.protected)
    return Run(
        candidate=BARE if case.candidate is None else case.candidate.name,
        situation=case.situation.name, event=case.situation.event, expect=case.situation.expect,
        connections=connections_of(a), nodes=tuple(n.name for n in a.graph.nodes[1:]),
        node_units=tuple("m" if n.domain == "travel" else "rad" for n in a.graph.nodes[1:]),
        time=trace[:, 0], angle=y[:, 1:nn], speed=y[:, nn + 1 : 2 * nn],
        torque=trace[:, 1 + ny : 1 + ny + np_],
        mode=trace[:, 1 + ny + 2 * np_ : 1 + ny + 3 * np_].astype(np.int64),
        heat=y[:, a.parts[:, ar.LOSS]] - first + booked, twist=angle, slip=speed, hub_speed=hubs,
        events=_events(a, out), peak=out.meas[:-1, ar.PEAK], peak_time=out.meas[:-1, ar.T_PEAK],
        first_peak=out.meas[:-1, ar.FIRST_PEAK], lost=out.meas[:-1, ar.HEAT_END] - out.meas[:-1, ar.HEAT_0],
        measures=measures, ledger=_ledger(out), counts=_counts(out), high=ends[0], low=ends[1],
        own=own_states(a, y), left_behind=left_behind(a, out),
    )  # fmt: skip


def _motion(a: Assembly, y: Any, protected: int) -> tuple[Any, Any, Any]:
    """Twist and slip of the protection, and both hubs' speed there (else at the protected connection)."""
    nn = len(a.nodes)
    i = a.candidate if a.candidate is not None else protected
    nothing = np.full(len(y), nan)
    if i < 0:
        return nothing, nothing, np.column_stack([nothing, nothing])
    e = a.graph.elements[i]
    twist = e.ra * y[:, e.a] - e.rb * y[:, e.b]
    both = np.column_stack([e.ra * y[:, nn + e.a], e.rb * y[:, nn + e.b]])
    if a.candidate is None:
        return nothing, nothing, both
    return twist, both[:, 0] - both[:, 1], both


def _events(a: Assembly, out: Outcome) -> tuple[Event, ...]:
    names = a.names
    friction = {-1: "moving backward", 0: "held by friction", 1: "moving forward"}
    events = []
    for t, who, _, old, new, _ in out.events:
        i = int(who)
        if i < len(names):
            modes = a.graph.elements[i].part.kind.modes
            if len(modes) == 1 and a.graph.elements[i].part.kind.family == "load":  # a corner of its law
                continue
            events.append(Event(float(t), names[i], modes[int(old)].name, modes[int(new)].name))
        else:
            node = a.graph.nodes[i - len(names)].name
            events.append(Event(float(t), f"{node} (friction)", friction[int(old)], friction[int(new)]))
    return tuple(events)


def _ledger(out: Outcome) -> dict[str, float]:
    m = out.meas[-1]
    return {
        "energy_start": float(m[ar.L_E0]),
        "energy_end": float(m[ar.L_E1]),
        "source_work": float(m[ar.L_SOURCE1] - m[ar.L_SOURCE0]),
        "net_loss": float(m[ar.L_LOSS1] - m[ar.L_LOSS0]),
        "turned_over": float(m[ar.L_TURNED]),
        "residual": float(m[ar.L_RESIDUAL]),
        "relative": float(m[ar.L_RESIDUAL] / m[ar.L_TURNED]),
        "cycles": float(m[ar.L_CYCLES]),
        "worst_cycle": float(m[ar.L_CYCLE_WORST]),
    }


def _residual(r: Run) -> float:
    """Largest residual of the ledger: over the whole run, or over one of its cycles."""
    return max(abs(r.ledger["relative"]), r.ledger.get("worst_cycle", 0.0))


def _counts(out: Outcome) -> dict[str, int]:
    c = out.counts
    return {
        "steps": int(c[ar.STEPS]),
        "rejected": int(c[ar.REJECTED]),
        "evaluations": int(c[ar.CALLS]),
        "switches": int(c[ar.EVENTS]),
    }


def _gather(
    scenario: Scenario, settings: Settings, runs: dict[tuple[str, str], Run], triples: dict[str, list[Triple]],
    answers: tuple[Answer, ...], w1: float, rtol: float, began: float,
) -> ResultSet:  # fmt: skip
    limit = scenario.station(scenario.protect).limit
    allowable = nan if limit is None else limit.allowable.si
    bare = triples[BARE]
    deciding = _deciding(triples, answers)
    findings, defaults = _evidence(scenario, settings, deciding, w1, rtol, allowable)
    findings |= sides(t.case for ts in triples.values() for t in ts[:1])
    findings["lowest mode"] = w1
    findings["worst ledger residual"] = max(_residual(r) for r in runs.values())
    findings["steady transient"] = _transient(runs)
    pairs = [(t.case, runs[n, t.case.situation.name]) for n, ts in triples.items() for t in ts]
    warnings = in_order(shown(pairs), cautions(scenario), answers)
    honest = _honest(scenario, triples, runs, answers)
    if findings["worst ledger residual"] > LOUD:
        worst = max(runs.values(), key=_residual)
        honest.insert(0, f"The energy ledger is open by {_residual(worst):.1e} with '{worst.candidate}' in "
                      f"'{worst.situation}': do not trust that run; tighten relative_tolerance.")  # fmt: skip
    first = next((t.case.assembly for t in bare), None)
    table = {} if first is None or bare[0].case.protected < 0 else inertia_table(first, bare[0].case.protected)
    return ResultSet(
        title=scenario.title, protect=scenario.protect, unit=scenario.display.get("torque", "N*m"),
        allowable=allowable, runs=runs, answers=answers, sentence=sentence(answers),
        warnings=(*honest, *warnings), defaults=tuple(defaults),
        bounds=(*_bounds(bare), *_overshoots(triples, answers)),
        inertias=table, findings=findings, provenance=provenance_of(scenario, rtol, began),
        scenario_text=scenario.text,
        remarks=(
            *remarks(pairs, torque_words(scenario)),
            *line_mates.remarks((n, t.case.situation.name, t.mates) for n, ts in triples.items() for t in ts),
            *drops_in(pairs),
            *left_remarks(r for _, r in pairs),
        ),
    )  # fmt: skip


def _deciding(triples: dict[str, list[Triple]], answers: tuple[Answer, ...]) -> Case | None:
    """The worst crash of the best candidate."""
    if not answers:
        return None
    best = min(answers, key=lambda a: a.rank)
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


def _transient(runs: dict[tuple[str, str], Run]) -> float:
    """Largest change of any torque before the event over the largest torque of that connection."""
    worst = 0.0
    for r in runs.values():
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
            out.append(HandBound(name, "start by a torque step", float(start_estimate(s)), 2.0 * float(s.motor), value))
    return out


def is_contact(s: Situation) -> bool:
    """Whether its first event is a contact with a stiffness of its own."""
    return REGISTRY[s.event].has("hint")


def _overshoots(triples: dict[str, list[Triple]], answers: tuple[Answer, ...]) -> list[HandBound]:
    """What each limiter cannot stop: run's overshoot over its breakaway beside the bound."""
    out = []
    for a in answers:
        case = next(t.case for t in triples[a.name] if t.case.situation.name == a.crash)
        if case.protected < 0 or not is_contact(case.situation):
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


def provenance_of(scenario: Scenario, rtol: float, began: float) -> dict[str, Any]:
    from datetime import UTC, datetime
    from importlib.metadata import version

    return {
        "simcore": version("simcore") if _installed() else "source",
        "python": platform.python_version(),
        **{lib: version(lib) for lib in ("numpy", "scipy", "numba", "h5py")},
        "machine": platform.machine(),
        "relative_tolerance": rtol,
        "source": scenario.source,
        "changes": dict(scenario.changes),
        "files": dict(scenario.files),
        "only": dict(scenario.only),
        "created": datetime.now(UTC).isoformat(timespec="seconds"),
        "wall_time": time.perf_counter() - began,
        "resolved": resolved(scenario),
    }


def _installed() -> bool:
    from importlib.metadata import PackageNotFoundError, version

    try:
        version("simcore")
    except PackageNotFoundError:
        return False
    return True


def resolved(scenario: Scenario) -> dict[str, Any]:
    """Every input in SI by its readable path; choices as words."""
    out: dict[str, Any] = {}
    out |= {f'corners["{n}"].{path}': v for n, c in scenario.corners.items() for path, v in c.items()}
    for item in scenario.items:
        for name, v in item.values.items():
            out[f"{item.path}.{name}"] = (
                v if isinstance(v, str | bool) else list(v.si) if isinstance(v, Series) else v.si
            )
    return out
