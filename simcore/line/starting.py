"""Warning on a start that winds the line up past what the protection holds, with the ramp that is given."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import pi, sqrt

from simcore.contract import COL_SETTING
from simcore.line.assemble import Assembly
from simcore.line.caution import Caution
from simcore.line.graph import Element
from simcore.line.reflect import Seen, seen_from, start_estimate
from simcore.line.run_up import left_of_swing, start_by_hand
from simcore.scenario.model import Candidate, Scenario
from simcore.units import show


def torque_at_speed(s: Seen, ramp: float) -> float:
    """Torque that the motor has come to by the time its speed is reached, if the ramp is not over before [N*m].

    ``J w = (T/2r)(t^2 - t0^2) - L(t - t0)`` from where the load breaks loose: ``L + sqrt((L0 - L)^2 + 2 T J w/r)``.
    """
    left = max(s.breakaway - s.running, 0.0)
    return min(s.motor, s.running + sqrt(left**2 + 2.0 * s.motor * (s.up + s.down) * s.speed / ramp))


def without_swing(s: Seen, torque: float) -> float:
    """What the connection carries while ``torque`` speeds the load up [N*m]: ``L + s(T - L)``."""
    return s.running + s.down / (s.up + s.down) * (torque - s.running)


def ramped_estimate(s: Seen, ramp: float, period: float) -> tuple[float, float]:
    """Peak of a start by a torque ramp, and what no longer ramp takes from it [N*m].

    Before the load moves the springs are wound by what breaks it loose; that leaves a swing of its own.
    """
    step = start_estimate(s)
    if s.motor <= s.breakaway:
        return max(s.motor + left_of_swing(ramp, period) * (step - s.motor), s.motor), s.motor
    loose = min(s.breakaway, step)
    if ramp == 0.0:
        return step, loose
    whole = step - without_swing(s, s.motor)
    swing = left_of_swing(ramp, period) * whole + max(loose - without_swing(s, loose), 0.0)
    level = without_swing(s, torque_at_speed(s, ramp))
    return max(level + min(swing, whole), loose), loose


def shortest_ramp(scenario: Scenario, a: Assembly) -> float:
    """Shortest torque ramp of all starts [s]; a start's own goes before that of the drives."""
    drives = [float(e.raw.get("ramp", 0.0)) for e in a.graph.elements if e.part.kind.family == "drive"]
    given = [s.item.si("ramp", -1.0) for s in scenario.situations.values() if s.event == "start"]
    return min(own if own >= 0.0 else min(drives) for own in given)


def start_above_setting(
    scenario: Scenario, c: Candidate, a: Assembly, w1: float, say: Callable[[float], str]
) -> Iterator[Caution]:
    """The estimate of a start's peak against the low end of the band."""
    i = a.candidate
    if i is None or not any(s.event == "start" for s in scenario.situations.values()):
        return
    low = float(a.rows[i, COL_SETTING]) * (1.0 - c.item.si("tolerance", 0.0))
    seen = seen_from(a, i)
    ramp = shortest_ramp(scenario, a)
    by_speed = start_by_hand(a, i, seen)
    peak, loose = by_speed or ramped_estimate(seen, ramp, 2.0 * pi / w1)
    if peak <= low:
        return
    if loose > low:
        cure = "no ramp takes that away, "
        cure += "it is what breaks the load loose" if seen.motor > seen.breakaway else "the load does not break loose"
    else:
        cure = "a longer ramp takes more"
    how = f"with the torque ramp of {show(ramp, 'time')} would still"
    if by_speed is not None:
        how = "with the acceleration that is given would still"
    elif ramp == 0.0:
        how, cure = "by a torque step would", softer(a)
    yield Caution(
        "start above setting", f"{c.item.path}.setting",
        f"a start {how} reach about {say(peak)} at '{c.name}', above its low end {say(low)}: {cure}",
    )  # fmt: skip


def softer(a: Assembly) -> str:
    """What takes most of a torque step with the drives of a line."""
    drives = [e for e in a.graph.elements if e.part.kind.family == "drive"]
    if all(takes_ramp(e) for e in drives):
        return "a torque ramp of three periods takes most of it"
    if all(e.part.has("run_up") for e in drives):
        return "a ramp of the speed takes most of it"
    return "a softer start takes most of it"


def takes_ramp(e: Element) -> bool:
    """Whether a drive can be given a torque ramp, beside all else that is given."""
    if "ramp" not in (p.name for p in e.part.kind.params):
        return False
    values = {**e.raw, **e.lists, "ramp": 1.0}
    return not (e.part.has("refuse") and e.part.call("refuse", e.part.raw_lists(values)))
