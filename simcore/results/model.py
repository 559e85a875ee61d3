"""A result set in memory: what a run of a scenario leaves, and what charts and reports read.

All numbers in SI; NaN where a measure does not exist.  Names of measures and their meaning stand in
:mod:`simcore.definitions`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import inf, isnan, nan
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.errors import Fault, UnknownName

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BARE = "none"
"""Name of the reference run: every slot closed rigidly."""
BARE_LINE = "bare line"
"""The same in words, as the screen has it."""


class Event(NamedTuple):
    """One switch: instant [s], part or node, what changed, in words."""

    time: float
    who: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class OwnState:
    """A state of the protection itself over time (n): a temperature rise [K], or a share [1] of its life used up."""

    name: str
    unit: str
    values: Floats


class LeftBehind(NamedTuple):
    """What the protection leaves behind at the end of a run, in SI ``unit``: setting, life or phase lost, heat."""

    name: str
    unit: str
    value: float
    meaning: str


@dataclass(frozen=True, slots=True)
class Connection:
    """A place where torque (or force) is counted: a two-hub part, a drive, or the event.

    ``unit`` is 'N m' or 'N'.  ``allowable`` is NaN if none is stated.
    """

    name: str
    part: str
    unit: str
    allowable: float
    source: str
    modes: tuple[str, ...]
    classes: tuple[str, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Run:
    """One candidate in one situation, nominal setting; t = 0 is the event.

    Arrays over time (n) and connections (m) or nodes (k): ``torque`` (n, m), ``mode`` (n, m), ``heat``
    (n, m) energy lost since the start of the trace, ``angle`` and ``speed`` (n, k), at each node's own
    motion.  ``twist`` and ``slip`` (n) are the protection's relative angle and speed, NaN on the bare
    line.  ``hub_speed`` (n, 2): both hubs of the protection, or of the protected connection on the bare
    line.  ``peak``, ``peak_time``, ``first_peak``, ``lost`` (m).
    """

    candidate: str
    situation: str
    event: str
    expect: str
    connections: tuple[Connection, ...]
    nodes: tuple[str, ...]
    node_units: tuple[str, ...]
    time: Floats
    angle: Floats
    speed: Floats
    torque: Floats
    mode: Ints
    heat: Floats
    twist: Floats
    slip: Floats
    hub_speed: Floats
    events: tuple[Event, ...]
    peak: Floats
    peak_time: Floats
    first_peak: Floats
    lost: Floats
    measures: Mapping[str, float]
    ledger: Mapping[str, float]
    counts: Mapping[str, int]
    high: Mapping[str, float] = field(default_factory=dict)
    low: Mapping[str, float] = field(default_factory=dict)
    """Measures at the upper and lower end of the setting's band."""
    own: tuple[OwnState, ...] = ()
    """Temperatures and used-up life of the protection over time; empty on the bare line, where it has none."""
    left_behind: tuple[LeftBehind, ...] = ()
    """What the protection leaves behind; only what there is something to say on."""

    def index(self, name: str) -> int:
        """Column of the connection called ``name``, the protection's under the candidate's; else UnknownName."""
        names = [c.name for c in self.connections]
        if name not in names:
            slot = "" if self.protection is None else f"; the protection bears its own name: {self.candidate}"
            raise _unknown(name, "no connection of this run", names, slot)
        return names.index(name)

    @property
    def protection(self) -> int | None:
        """Column of the protection under trial; None on the bare line."""
        for i, c in enumerate(self.connections):
            if c.role == "candidate":
                return i
        return None


class Margin(NamedTuple):
    """What a situation asks of a protection against what it holds [N*m at its own shaft]."""

    situation: str
    expect: str
    met: bool
    asks: float
    holds: float
    margin: float
    percent: float
    note: str


@dataclass(frozen=True, slots=True)
class Answer:
    """The verdict on one candidate."""

    name: str
    part: str
    slot: str
    setting: float
    tolerance: float
    breakaway: float
    to_protected: float
    """Torque at the protected connection's shaft per torque at the protection (speed ratio)."""
    crash: str
    trigger: float
    lets_go: float
    disconnect: float
    reengage: float
    disconnects: str
    """In words: 'disconnects', 'slips, does not disconnect', 'does not let go', ..."""
    peak: float
    peak_time: float
    use: float
    """Largest peak over its allowable, at any limit, worst end of the band."""
    worst_limit: str
    overshoot: float
    impulse: float
    energy: float
    until: str
    heat: float
    rise: float
    """Largest temperature rise [K] of any situation, as set or at the end of the band that decides."""
    rise_limit: float
    slip_angle: float
    tally: float
    tally_name: str
    margins: tuple[Margin, ...]
    passed: bool
    reasons: tuple[str, ...]
    again: str
    again_seconds: float
    rank: int
    window_low: float = nan
    window_high: float = nan
    """Settings between which every situation is met, by the run's own numbers [N*m at its own shaft]."""
    phase_kept: str = ""
    """Whether the two sides keep their phase: 'yes', 'no', 'by hand' (as they are put)."""
    worst_situation: str = ""
    """Situation in which ``use`` is reached."""

    @property
    def least_margin(self) -> float:
        """Smaller of the service margins and of the room up to the limits [%]."""
        known = [m for m in self.margins if m.expect != "let go" and not (m.met and isnan(m.percent))]
        service = [-inf if isnan(m.percent) else m.percent for m in known]
        room = 100.0 * (1.0 / self.use - 1.0) if self.use and not isnan(self.use) else inf
        return min([*service, room])

    @property
    def rank_margin(self) -> float:
        """:attr:`least_margin` to the three digits it is told with: what differs further on is no reason to rank."""
        return float(f"{self.least_margin:.3g}")

    @property
    def rank_seconds(self) -> float:
        """Time to run again [s], infinite where it is not known: what ranks those alike in margin."""
        return inf if isnan(self.again_seconds) else self.again_seconds


class Default(NamedTuple):
    """A default that entered the answer; ``swing`` is the change of peak over allowable by its range."""

    path: str
    text: str
    usual: str
    source: str
    swing: float


class HandBound(NamedTuple):
    """Hand estimate and bound beside the run's value [at the protected connection's shaft]."""

    situation: str
    what: str
    estimate: float
    bound: float
    value: float


class Remark(NamedTuple):
    """A sentence on what happens after the protection has let go, under its heading."""

    label: str
    text: str


@dataclass(frozen=True, slots=True, repr=False)
class ResultSet:
    """Everything one `run` leaves."""

    title: str
    protect: str
    unit: str
    """Unit torques are shown in."""
    allowable: float
    runs: Mapping[tuple[str, str], Run]
    answers: tuple[Answer, ...]
    """In the order of the file; :attr:`ranked` has them best first."""
    sentence: str
    warnings: tuple[str, ...]
    defaults: tuple[Default, ...]
    bounds: tuple[HandBound, ...]
    inertias: Mapping[str, float]
    """Inertia of every contributor, reflected to the protected connection's shaft [kg*m^2]."""
    findings: Mapping[str, float]
    """Tighter run's shift, damping halved and doubled, steady transient, worst ledger residual..."""
    provenance: Mapping[str, Any]
    scenario_text: str
    remarks: tuple[Remark, ...] = ()
    """How the drive is taken off, whether the load runs back, what holds it."""

    def __repr__(self) -> str:
        from simcore.screen.html import brief

        return brief(self)

    def _repr_html_(self) -> str:
        """Verdict and table, for notebooks."""
        from simcore.screen.html import notebook

        return notebook(self)

    @property
    def candidates(self) -> tuple[str, ...]:
        """Names in the order of the file, bare line last."""
        return (*dict.fromkeys(c for c, _ in self.runs if c != BARE), BARE)

    @property
    def situations(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(s for _, s in self.runs))

    @property
    def ranked(self) -> tuple[Answer, ...]:
        """The answers, best first, as on the screen."""
        return tuple(sorted(self.answers, key=lambda a: a.rank))

    def run(self, candidate: str, situation: str) -> Run:
        """One run, of the bare line under "bare line" or "none"; UnknownName (a KeyError) if there is none."""
        names = self.candidates
        if candidate == BARE_LINE and candidate not in names:
            candidate = BARE
        if candidate not in names:
            raise _unknown(candidate, "no candidate of this result", [*names[:-1], BARE_LINE])
        if situation not in self.situations:
            raise _unknown(situation, "no situation of this result", self.situations)
        if (candidate, situation) not in self.runs:
            raise UnknownName(f"{candidate} was not run in {situation}")
        return self.runs[candidate, situation]


def _unknown(name: object, what: str, names: Iterable[str], more: str = "") -> UnknownName:
    from simcore.near import nearest_hint

    valid = tuple(names)
    listed = f"there are {', '.join(valid)}{more}"
    near = nearest_hint(str(name), valid, "")
    return UnknownName([Fault(str(name)[:80], f"is {what}", hint=f"{near}; {listed}" if near else listed)])
