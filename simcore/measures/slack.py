"""Warning on belts and chains that go slack in the run."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from simcore.line.caution import Caution
from simcore.line.graph import Element
from simcore.measures.cases import Case
from simcore.results.model import BARE, Run
from simcore.units import show

SLACK_MODES = {
    "belt or chain": ("slack", "slack backward", "return strand"), "chain drive": ("in the play",),
}  # fmt: skip
"""Modes in which the driving strand carries nothing, by kind."""


def goes_slack(pairs: Sequence[tuple[Case, Run]]) -> list[tuple[Caution, bool]]:
    """Each belt or chain once, and whether only as something crashes or lets go; service comes first."""
    fitted = [(c, r) for c, r in pairs if r.candidate != BARE] or pairs
    found: dict[str, list[tuple[bool, float, Case, Run]]] = {}
    for c, r in fitted:
        for e in c.assembly.graph.elements:
            modes = _slack_modes(c, e)
            at = next((v.time for v in r.events if v.who == e.name and v.time >= 0.0 and v.new in modes), None)
            if at is not None:
                found.setdefault(e.name, []).append((thrown_back(r), at, c, r))
    return [(_told(name, seen), all(s[0] for s in seen)) for name, seen in found.items()]


def _slack_modes(case: Case, e: Element) -> tuple[str, ...]:
    """Modes in which what pulls while the line runs carries nothing; running backward it is the other strand."""
    modes = SLACK_MODES.get(e.part.kind.name, ())
    if case.assembly.free_speeds[e.a] < 0.0:
        return tuple("driving strand" if m == "return strand" else m for m in modes)
    return modes


def thrown_back(run: Run) -> bool:
    """Whether the run is a crash, or one in which the protection lets go."""
    return run.expect == "let go" or not isnan(run.measures["lets_go"])


def _told(name: str, seen: list[tuple[bool, float, Case, Run]]) -> Caution:
    _, at, case, run = min(seen, key=lambda s: s[:2])
    path = next(e.path for e in case.assembly.graph.elements if e.name == name)
    who = "" if run.candidate == BARE else f" with '{run.candidate}'"
    more = f", and in {len(seen) - 1} more run{'s' * (len(seen) > 2)}" if len(seen) > 1 else ""
    return Caution("chain or belt goes slack", path,
                   f"'{name}' goes slack in '{run.situation}'{who} after {show(at, 'time')}{more}: it cannot push, and "
                   "its tightening is a blow to the line")  # fmt: skip
