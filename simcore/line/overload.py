"""What cannot carry the load of ordinary running: the motors at their limit, or a belt drive that slips."""

from __future__ import annotations

from typing import NamedTuple

from simcore.errors import Fault
from simcore.line.assemble import Assembly, assemble
from simcore.line.belt_grip import capacity, slips
from simcore.line.effort_words import effort_words
from simcore.line.odd_ratio import turned_round
from simcore.line.reflect import asked, load_torque, motor_torque
from simcore.scenario.corner import cornered
from simcore.scenario.model import Scenario
from simcore.scenario.placed import refused

STRANDS = "two"
"""Column that says whether two strands can pull."""


class Overload(NamedTuple):
    """Who cannot carry the load, and by which numbers."""

    who: str
    numbers: str


def overload(scenario: Scenario, a: Assembly) -> Overload | None:
    """The first place of the line where ordinary running asks for more than there is; by hand, at standing speeds."""
    known = asked(a)
    for i, e in enumerate(a.graph.elements):
        if not e.a or not e.b:
            continue
        load, top = load_torque(a, i, known)[0], motor_torque(a, i, known)
        say = effort_words(scenario, e.domain)
        asks = f"ordinary running asks for {say(load)} at '{e.name}'"
        if 0.0 < top < load:
            return Overload("the motor", f"{asks}, the motor gives {say(top)} there at its limit")
        if load < 0.0 and _is_one_strand(a, i):
            pushed = (
                f"ordinary running pulls it backward with {say(-load)}, and one strand pulls in the sense of running"
            )
            return Overload(f"'{e.name}'", f"{pushed} alone: give it two, or run the other way")
        if slips(e.part.kind) and capacity(a, i) < load:
            return Overload(f"the belt drive '{e.name}'", f"{asks}, it slips at {say(capacity(a, i))}")
    return None


def _is_one_strand(a: Assembly, i: int) -> bool:
    """Whether it is a belt, chain or rope that goes slack when driven back."""
    kind = a.graph.elements[i].part.kind
    return STRANDS in kind.row and a.rows[i, kind.column(STRANDS)] < 0.5


def check_loads(scenario: Scenario, w1: float) -> None:
    """Raise if the line cannot carry the running load, as it is or in a corner under which a situation takes place."""
    used = {s.corner: cornered(scenario, s) for s in scenario.situations.values() if s.corner is not None}
    for corner, one in {"": scenario, **used}.items():
        a = assemble(one, None, None, w1)
        found = overload(one, a)
        if found is not None:
            where = f" in the corner '{corner}'" if corner else ""
            rule = f"a load {found.who} cannot carry{where}: {found.numbers}"
            raise refused([Fault("line", rule, hint=turned_round(a))], scenario)
