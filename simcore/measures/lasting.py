"""What a run does to the protection itself: temperatures and life over time, and what it leaves behind at the end."""

from __future__ import annotations

from collections.abc import Iterable
from math import isnan
from typing import Any, Final

from simcore.line.assemble import Assembly
from simcore.results.model import LeftBehind, OwnState, Remark, Run
from simcore.solver import arrays as ar
from simcore.solver.kernel import Outcome
from simcore.units import show, si_unit

KEPT: Final = ("K", "1")
"""Units of the own states that a result keeps over time."""
TOLD: Final = {"1": 1e-4, "rad": 1e-3, "J": 0.1}
"""Smallest amounts by unit that the first screen tells."""


def own_states(a: Assembly, y: Any) -> tuple[OwnState, ...]:
    """Temperatures and used-up life of the protection under trial, from the states ``y`` (n, ny)."""
    if a.candidate is None:
        return ()
    first = int(a.parts[a.candidate, ar.X0])
    states = enumerate(a.graph.elements[a.candidate].part.kind.states, first)
    return tuple(OwnState(s.name, s.unit, y[:, i]) for i, s in states if s.unit in KEPT)


def left_behind(a: Assembly, out: Outcome) -> tuple[LeftBehind, ...]:
    """What the protection under trial leaves behind at the end of a traced run."""
    if a.candidate is None:
        return ()
    i, ny = a.candidate, len(a.y0)
    part = a.graph.elements[i].part
    if not part.kind.left_behind:
        return ()
    mode = int(out.trace[-1, 1 + ny + 2 * len(a.parts) + i])
    first = 1 + int(a.parts[i, ar.X0])
    x = out.trace[-1, first : first + len(part.kind.states)]
    values = part.call("left_behind", mode, a.rows[i], x, out.memory[i])
    return tuple(LeftBehind(k.name, si_unit(k.kind), float(v), k.meaning)
                 for k, v in zip(part.kind.left_behind, values, strict=True) if not isnan(v))  # fmt: skip


def left_remarks(runs: Iterable[Run]) -> tuple[Remark, ...]:
    """The most that each candidate leaves behind, in one sentence; none if it is next to nothing."""
    worst: dict[tuple[str, str], tuple[LeftBehind, str]] = {}
    for r in runs:
        for left in r.left_behind:
            key = (r.candidate, left.name)
            if abs(left.value) > max(TOLD[left.unit], abs(worst[key][0].value) if key in worst else 0.0):
                worst[key] = (left, r.situation)
    said = [f"'{c}' after '{s}': {name} {_told(left)}" for (c, name), (left, s) in worst.items()]
    return (Remark("Left behind", "; ".join(said) + "."),) if said else ()


def _told(left: LeftBehind) -> str:
    if left.unit == "1":
        return f"{100.0 * left.value:.3g} %"
    return show(left.value, "energy") if left.unit == "J" else show(left.value, "angle", "deg")
