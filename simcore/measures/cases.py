"""The cases of a scenario: candidates x situations, each at both ends of the band, and the bare line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import nan
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.contract import ENGAGED
from simcore.errors import Fault, InputError, SolveError
from simcore.line.assemble import NEAR_RUNNING, Assembly, assemble
from simcore.line.graph import load_station
from simcore.line.laws import Draws, Num, Unlike
from simcore.line.many import case_of, cases_of
from simcore.line.odd_ratio import turned_round
from simcore.line.overload import overload
from simcore.line.reflect import load_torque
from simcore.measures.extract import RUNS
from simcore.results.model import BARE_LINE
from simcore.scenario.corner import corner_values, cornered
from simcore.scenario.model import Candidate, Scenario, Situation
from simcore.scenario.placed import refused
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome, run_many, run_one, run_states

Floats = NDArray[np.float64]

STARTED = RUNS
"""Share of their running speed that drive and load must have reached at once in a start."""
KEPT, SWINGS = 0.02, 0.1
"""By how much the driven speed may differ from that before the event, of a protection that slid and of one that did
not: there only a drive that stalls matters, not a line that swings by itself."""
NO_STEADY = (
    "the motor cannot carry the load, a protection or belt drive lets go in ordinary running, or nothing holds the "
    "load at rest"
)
LOWEST_SETTING = 0.01
"""Share of the setting at which a line without load is still coupled."""


@dataclass(frozen=True, slots=True)
class Case:
    """One candidate (None: bare line) in one situation, ready to run."""

    scenario: Scenario
    candidate: Candidate | None
    situation: Situation
    assembly: Assembly
    protected: int

    @property
    def tolerance(self) -> float:
        return 0.0 if self.candidate is None else self.candidate.item.si("tolerance", 0.0)

    @property
    def heat_limit(self) -> float:
        return nan if self.candidate is None else self.candidate.item.si("heat_limit")


def make_case(
    scenario: Scenario,
    candidate: Candidate | None,
    situation: Situation,
    w1: Num,
    rtol: float,
    changes: dict[tuple[str, str], float] | None = None,
    draws: Draws | None = None,
) -> Case:
    """Assemble one case, in its corner if it has one; a start that is to hold ends when the load runs.

    With ``draws`` many cases at once, as :func:`simcore.line.assemble.assemble`.
    """
    if situation.corner is not None:
        draws = _but(draws or {}, corner_values(scenario, situation))
        scenario = cornered(scenario, situation)
        candidate = None if candidate is None else scenario.candidates[candidate.name]
    a = assemble(scenario, candidate, situation, w1, changes, rtol, draws)
    if situation.event == "start" and not situation.then and situation.expect == "hold":
        place = situation.at or load_station(scenario)
        running = a
        try:
            speeds = running_speeds(scenario, candidate, w1, changes, draws)
        except InputError:  # a candidate too weak to run: what it has to come up to is the speed of the bare line
            running = assemble(scenario, None, situation, w1, changes, rtol, draws)
            speeds = running_speeds(scenario, None, w1, changes, draws, bare_in(situation))
        for node, there in zip(_ends(a, place), _ends(running, place), strict=True):
            a = a.stopping_at(node, NEAR_RUNNING * speeds[..., there])
    try:
        protected = a.index(scenario.protect)
    except ValueError:
        protected = -1
    return Case(scenario, candidate, situation, a, protected)


def _ends(a: Assembly, place: str) -> list[int]:
    """Nodes of the load and of all drives."""
    return [a.graph.places[place].node, *(e.b for e in a.graph.elements if e.part.kind.family == "drive")]


def running_speeds(
    scenario: Scenario,
    candidate: Candidate | None,
    w1: Num,
    changes: dict[tuple[str, str], float] | None = None,
    draws: Draws | None = None,
    where: str = "steady running",
) -> Floats:
    """Speeds (..., nodes) in steady running [rad/s or m/s], of each case where there are many."""
    a = assemble(scenario, candidate, None, w1, changes, draws=draws)
    if a.rows.ndim == 3:
        y, status = run_states(case_of(a, 0), cases_of(a, len(a.rows)), len(a.rows))
        if (status > ar.Status.STOPPED).any():
            raise Unlike
        return np.ascontiguousarray(y[:, a.nodes.shape[1] : 2 * a.nodes.shape[1]])
    out = run_one(a, trace=False)
    check_outcome(out, a, where, scenario)
    return out.y[len(a.nodes) : 2 * len(a.nodes)]


def creeps(case: Case) -> bool:
    """Whether a start has a speed to come up to that hangs on the setting: the candidate slips in ordinary running."""
    a = case.assembly
    if a.candidate is None or not a.nodes[..., ar.STOP_SPEED].any():
        return False
    return not any(m.klass == ENGAGED and m.tie for m in a.graph.elements[a.candidate].part.kind.modes)


def stop_speeds(case: Case, f: float) -> Floats:
    """What the nodes of a start come up to (nodes,) at ``f`` times the setting; as set where that cannot run."""
    own = case.assembly.nodes[:, ar.STOP_SPEED]
    a = assemble(case.scenario, case.candidate, None, case.assembly.w1)
    out = run_one(a.with_rows(a.dialled(f)), trace=False)
    if out.status > ar.Status.STOPPED:
        return own
    return np.where(own != 0.0, NEAR_RUNNING * out.y[len(a.nodes) : 2 * len(a.nodes)], 0.0)


def _but(draws: Draws, values: Mapping[str, float]) -> Draws:
    """Without those that a corner replaces."""
    return {owner: {n: v for n, v in drawn.items() if f"{owner}.{n}" not in values} for owner, drawn in draws.items()}


def bare_in(situation: Situation) -> str:
    """The bare line in a situation, in words."""
    corner = f", corner '{situation.corner}'" if situation.corner else ""
    return f"{BARE_LINE} in '{situation.name}'{corner}"


def check_outcome(out: Outcome, a: Assembly, where: str, scenario: Scenario) -> None:
    """Raise a plain sentence if the kernel did not finish, InputError or SolveError."""
    if out.status == ar.Status.NO_STEADY:
        known = overload(scenario, a)
        by_hand = f"by hand {known.who} cannot carry it: {known.numbers}" if known else ""
        hint = "; ".join(filter(None, (by_hand, turned_round(a))))
        raise refused([Fault("line", f"no steady running state ({where}): {NO_STEADY}", hint=hint)], scenario)
    if out.status > ar.Status.STOPPED:
        part = a.names[int(out.counts[ar.LAST_PART])]
        raise SolveError(f"{where}: {ar.MESSAGES[out.status]}; last to switch was '{part}'")


class Bears(NamedTuple):
    """What a connection sees and what it may see [N m or N], and whether it turns or travels."""

    peak: float
    allowable: float
    domain: str


def seen_set_lowest(case: Case) -> dict[str, Bears]:
    """Every connection with a limit, the setting just above running torque; empty if that does not run."""
    a, i = case.assembly, case.assembly.candidate
    if i is None:
        return {}
    elements = a.graph.elements
    setting = float(elements[i].part.call("sheet", a.rows[i])["setting"][0])
    running, _ = load_torque(a, i)
    meas, _, status = run_many(a, a.dialled(max(1.1 * running / setting, LOWEST_SETTING))[None])
    if status[0] > ar.Status.STOPPED:
        return {}
    peaks = meas[0][:, ar.PEAK]
    return {
        e.name: Bears(float(peak), e.limit.allowable.si, e.domain)
        for e, peak in zip(elements, peaks, strict=False)
        if e.limit is not None
    }


def met(expect: str, m: Mapping[str, float], heat_limit: float) -> bool:
    """Whether a run meets what its situation expects."""
    return "failed" not in m and bool(meets(expect, m, heat_limit))


def meets(expect: str, m: Mapping[str, Any], heat_limit: Num) -> Any:
    """Whether runs meet what their situation expects: numbers, or arrays (runs,) of them.

    Who lets go has not done so before a jam that follows another event has come.  Who holds has not triggered nor been
    stretched for good, and a start has come up to speed.  Who carries through is not stretched either, may slide, but
    is engaged at the end without having disconnected, has kept its speed to 2 % (who never slid to 10 %) and has not
    burnt.
    """
    if expect == "let go":
        return ~np.isnan(m["lets_go"]) & ~(m.get("too_soon", nan) > 0.0)
    whole = ~(m.get("stretched", nan) > 0.0)
    if expect == "hold":
        return np.isnan(m["trigger"]) & whole & ~(m.get("speed_reached", nan) < STARTED)
    play = np.where(np.isnan(m["trigger"]), SWINGS, KEPT)
    kept = (m["end_class"] == 0.0) & (np.abs(m["speed_kept"] - 1.0) < play)
    return kept & whole & np.isnan(m["disconnect"]) & ~burnt(m, heat_limit)


def burnt(m: Mapping[str, Any], heat_limit: Num) -> Any:
    """Whether runs have passed the protection's heat limit: numbers, or arrays (runs,) of them."""
    return (m["rise"] > heat_limit) | ~np.isnan(m["burns_at"])
