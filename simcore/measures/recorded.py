"""The kernel's trace of one case as named arrays."""

from __future__ import annotations

from math import nan
from typing import Any

import numpy as np

from simcore.contract import MODE_CLASSES
from simcore.line.assemble import Assembly
from simcore.measures.cases import Case
from simcore.measures.lasting import left_behind, own_states
from simcore.results.model import BARE, Connection, Event, Run
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome

TAKEN_BACK = 1e-5
"""Share of a part's heat that all falls of it together may come to and still be an error of quadrature."""


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
    angle, speed, hubs = _motion(a, y, case.protected)
    return Run(
        candidate=BARE if case.candidate is None else case.candidate.name,
        situation=case.situation.name, event=case.situation.event, expect=case.situation.expect,
        connections=connections_of(a), nodes=tuple(n.name for n in a.graph.nodes[1:]),
        node_units=tuple("m" if n.domain == "travel" else "rad" for n in a.graph.nodes[1:]),
        time=trace[:, 0], angle=y[:, 1:nn], speed=y[:, nn + 1 : 2 * nn],
        torque=trace[:, 1 + ny : 1 + ny + np_],
        mode=trace[:, 1 + ny + 2 * np_ : 1 + ny + 3 * np_].astype(np.int64),
        heat=_heat(a, trace), twist=angle, slip=speed, hub_speed=hubs,
        events=_events(a, out), peak=out.meas[:-1, ar.PEAK], peak_time=out.meas[:-1, ar.T_PEAK],
        first_peak=out.meas[:-1, ar.FIRST_PEAK], lost=out.meas[:-1, ar.HEAT_END] - out.meas[:-1, ar.HEAT_0],
        measures=measures, ledger={} if "failed" in measures else _ledger(out), counts=_counts(out),
        high=ends[0], low=ends[1], own=own_states(a, y), left_behind=left_behind(a, out),
    )  # fmt: skip


def _heat(a: Assembly, trace: Any) -> Any:
    """Energy lost in every part since the start of the trace [J].

    What a quadrature takes back over a small kink, below its tolerance, is held here: between two hubs energy is only
    lost; of the rest, drives and weights give and take far more.  The kernel's own sum stays as it is, for the work in
    the ledger errs with it and the two cancel.
    """
    np_, ny = len(a.parts), len(a.y0)
    lost = trace[:, 1 + a.parts[:, ar.LOSS]]
    heat = lost - lost[0] + trace[:, 1 + ny + np_ : 1 + ny + 2 * np_]
    fallen = -np.minimum(np.diff(heat, axis=0), 0.0).sum(axis=0)
    held = fallen <= TAKEN_BACK * np.ptp(heat, axis=0)
    held |= [e.part.kind.hubs == 2 for e in a.graph.elements]
    heat[:, held] = np.maximum.accumulate(heat[:, held], axis=0)
    return heat


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


def _counts(out: Outcome) -> dict[str, int]:
    c = out.counts
    return {
        "steps": int(c[ar.STEPS]),
        "rejected": int(c[ar.REJECTED]),
        "evaluations": int(c[ar.CALLS]),
        "switches": int(c[ar.EVENTS]),
    }
