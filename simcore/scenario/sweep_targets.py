"""The inputs that the paths of a sweep lead to: found, of a sort that can vary, with the scenario's own value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

from simcore import units
from simcore.contract import Param, Part
from simcore.scenario.alter import ALLOWABLE, NO_ALLOWABLE
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Quantity, Scenario
from simcore.scenario.models import WORDY
from simcore.scenario.paths import PathFault, form, names_of, parse, readable, settable, spot_of
from simcore.scenario.words import THEN, nearest

ANY: Final = "*"
TRIAL: Final = "candidates[*]"
_VARIED: Final = ("line", "candidates", "stops", "situations")
_WORDS: Final = {"flag": "a flag", "choice": "a choice from a list", "display_torque": "a unit"}


class Target(NamedTuple):
    """One input that a factor acts on; ``own`` is the scenario's value, None if it has none.

    ``written`` tells that the file has a value there, sound or not.
    """

    spot: Spot
    path: str
    param: Param
    own: Quantity | None
    written: bool

    @property
    def kind(self) -> str:
        return self.own.kind if self.own else self.param.kind


@dataclass(frozen=True)
class Found:
    """Where one path leads: its canonical spelling and its targets, several for ``candidates[*]``."""

    path: str
    targets: tuple[Target, ...] = ()


@dataclass
class View:
    """A document as the sweep sees it; ``candidates`` are those under trial."""

    raw: Mapping[str, Any]
    scenario: Scenario
    registry: Mapping[str, Part]
    candidates: tuple[str, ...]
    params: dict[Spot, Param] = field(init=False)
    names: list[str | None] = field(init=False)

    def __post_init__(self) -> None:
        every = settable(self.raw, self.registry)
        self.params = {s: p for s, p in every.items() if s[0] in _VARIED}
        self.names = names_of(self.raw)

    def find(self, text: str, spot: Spot, found: list[Finding]) -> Found | None:
        """Where a path leads; None and a finding if nowhere, or to something that cannot vary."""
        try:
            steps = parse(text)
        except PathFault as fault:
            found.append(Finding(spot, fault.rule, "", fault.hint))
            return None
        trial = len(steps) == 3 and steps[:2] == ("candidates", ANY)
        if ANY in steps and not trial:
            rule = f"[*] stands for the candidate under trial only, as {TRIAL}.setting"
            found.append(Finding(spot, rule, units.shown(text), "write one path for each input: paths = [...]"))
            return None
        spots = [("candidates", c, steps[2]) for c in self.candidates] if trial else [spot_of(self.raw, steps)]
        hits = [self._target(s) for s in spots if s in self.params]
        if not hits:
            found.append(self._nowhere(text, steps, trial, spot))
            return None
        path = f"{TRIAL}.{steps[2]}" if trial else hits[0].path
        refused = next((f for t in hits if (f := _refusal(t, path, spot))), None)
        if refused:
            found.append(refused)
            return None
        return Found(path, tuple(hits))

    def _nowhere(self, text: str, steps: tuple[str, ...], trial: bool, spot: Spot) -> Finding:
        if trial:
            words = {str(s[-1]): p for s, p in self.params.items() if s[0] == "candidates" and s[1] in self.candidates}
            valid = [f"{TRIAL}.{w}" for w, p in words.items() if _refusal_words(p) is None]
            return Finding(spot, "no candidate has this input", units.shown(text), nearest(text, valid))
        if steps[0] in ("solver", "display", "sweep"):
            rule = "is a setting of the program, it cannot vary; inputs of line, candidates, stops and situations can"
            return Finding(spot, rule, units.shown(text))
        valid = [readable(s, self.names) for s, p in self.params.items() if _refusal_words(p) is None]
        own = [p for p in valid if p.endswith(f".{text}")]
        hint = f"a path names its owner: {' or '.join(own[:3])}" if own else nearest(form(steps), valid)
        return Finding(spot, "is not a path of this scenario", units.shown(text), hint)

    def _target(self, spot: Spot) -> Target:
        own = _own(self.scenario, spot, readable(spot[:-1], self.names))
        table: Any = self.raw
        for step in spot[:-1]:
            table = table[step]
        return Target(spot, readable(spot, self.names), self.params[spot], own, spot[-1] in table)


def _own(scenario: Scenario, spot: Spot, place: str) -> Quantity | None:
    word = str(spot[-1])
    value: object = None
    if spot[0] == "line":
        s = next((s for s in scenario.stations if s.path == place), None)
        if s is not None:
            beside = {ALLOWABLE: s.limit and s.limit.allowable, "hub_in": s.hub_in, "hub_out": s.hub_out}
            value = (s.item.values.get(word) if s.item else None) or beside.get(word)
    elif spot[0] == "candidates" and spot[1] in scenario.candidates:
        value = scenario.candidates[str(spot[1])].item.values.get(word)
    elif spot[0] == "stops" and spot[1] in scenario.stops:
        value = scenario.stops[str(spot[1])].item.values.get(word)
    elif spot[0] == "situations" and THEN in spot:
        step = next((t for s in scenario.situations.values() for t in s.then if t.item.path == place), None)
        value = step and step.item.values.get(word)
    elif spot[0] == "situations" and spot[1] in scenario.situations:
        case = scenario.situations[str(spot[1])]
        times = {"horizon": case.horizon, "lead": case.lead}
        value = case.item.values.get(word) or (case.limit.allowable if case.limit and word == ALLOWABLE else None)
        if value is None and word in times:
            value = Quantity(times[word], "time", units.show(times[word], "time"))
    return value if isinstance(value, Quantity) else None


def _refusal_words(param: Param) -> str | None:
    if param.many:
        return "a list"
    return _WORDS.get(param.kind, "a text") if param.kind in WORDY else None


def _refusal(target: Target, path: str, spot: Spot) -> Finding | None:
    what = _refusal_words(target.param)
    if what is None and target.param.name == ALLOWABLE and not target.written:
        owner = target.path.removesuffix(f".{ALLOWABLE}")
        return Finding(spot, NO_ALLOWABLE.format(owner), units.shown(path), "write one there first")
    if what is None:
        return None
    rule = f"{target.param.name} is {what}; only a number can vary"
    return Finding(spot, rule, units.shown(path), "try it as another candidate or situation")
