"""The checked scenario: what the rest of the program sees of the engineer's file.

Plain frozen data in SI.  ``Quantity`` keeps the words the engineer wrote beside the number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from simcore.quantity import Quantity as Quantity
from simcore.quantity import Series as Series
from simcore.scenario.plan import Sweep

Expect = Literal["let go", "hold", "carry"]

Value = Quantity | Series | str | bool
"""Input of a part: a quantity, a list of them, or the word chosen from a list."""


@dataclass(frozen=True, slots=True)
class Item:
    """A part with its inputs: a station, a candidate, or the event of a situation.

    ``values`` holds what was written and the defaults; ``given`` names what was written.
    """

    name: str
    part: str
    path: str
    values: Mapping[str, Value]
    given: frozenset[str]

    def si(self, name: str, missing: float = float("nan")) -> float:
        """Number of input ``name`` in SI, ``missing`` if it has none."""
        v = self.values.get(name)
        return v.si if isinstance(v, Quantity) else missing

    @property
    def defaults(self) -> tuple[str, ...]:
        """Names of inputs that took their default."""
        return tuple(n for n in self.values if n not in self.given)


@dataclass(frozen=True, slots=True)
class Limit:
    """What a connection may bear (torque or force) and where that value comes from."""

    allowable: Quantity
    source: str


@dataclass(frozen=True, slots=True)
class Station:
    """One place of the line, in the order of the sketch.

    ``item`` is None for a protection slot.  ``after`` and ``joins`` name other stations.
    """

    name: str
    path: str
    item: Item | None
    after: str | None = None
    joins: str | None = None
    limit: Limit | None = None
    hub_in: Quantity | None = None
    hub_out: Quantity | None = None

    @property
    def is_slot(self) -> bool:
        return self.item is None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A protection to try in a slot (``slot`` None: the first of the line)."""

    name: str
    item: Item
    slot: str | None


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop chain: what it watches (``of`` None: the protection under trial; ``to``: a second station).

    ``fitted_to``: the candidate it comes with; None: all of them.
    """

    item: Item
    of: str | None = None
    to: str | None = None
    fitted_to: str | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """An event that follows in a situation (``at`` None: where the first one is)."""

    item: Item
    at: str | None = None


@dataclass(frozen=True, slots=True)
class Situation:
    """Something the axis meets, for how long it is watched, and what is asked of the protection."""

    name: str
    path: str
    event: str
    item: Item
    expect: Expect
    horizon: float
    at: str | None = None
    lead: float = 0.01
    """Steady running shown before the event [s]."""
    then: tuple[Step, ...] = ()
    """Further events, each at its own instant after the first."""
    corner: str | None = None
    """Corner under which it takes place."""
    limit: Limit | None = None
    """What the thing that is hit may bear."""

    @property
    def items(self) -> tuple[Item, ...]:
        """Of its first event and of those that follow."""
        return (self.item, *(step.item for step in self.then))

    @property
    def step_names(self) -> tuple[str, ...]:
        """Names in a run of the events that follow; the first one has that of the situation."""
        return tuple(f"{n}: {step.item.part}" for n, step in enumerate(self.then, 2))


@dataclass(frozen=True, slots=True)
class Scenario:
    """A whole scenario; ``text`` is the file as read."""

    title: str
    question: str
    protect: str
    stations: tuple[Station, ...]
    candidates: Mapping[str, Candidate]
    situations: Mapping[str, Situation]
    stops: Mapping[str, Stop] = field(default_factory=dict)
    corners: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    """Other values in SI by path, by the corner's name."""
    display: Mapping[str, str] = field(default_factory=dict)
    solver: Mapping[str, float] = field(default_factory=dict)
    changes: Mapping[str, str] = field(default_factory=dict)
    """What was set beside the file (``--set``), by path."""
    only: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Names of the ``candidates`` and ``situations`` that were kept of the file's; empty: all."""
    text: str = ""
    source: str = ""
    files: Mapping[str, str] = field(default_factory=dict)
    """Texts of the CSV files that lists were read from, by name as written."""
    sweep: Sweep | None = None
    """What is to be varied, if the file has a section [sweep]."""

    @property
    def items(self) -> tuple[Item, ...]:
        """Of all stations, candidates, stop chains and events."""
        return (
            *(s.item for s in self.stations if s.item is not None),
            *(c.item for c in self.candidates.values()),
            *(s.item for s in self.stops.values()),
            *(i for s in self.situations.values() for i in s.items),
        )

    @property
    def kinds(self) -> frozenset[str]:
        """Kinds of all parts that are named anywhere in it."""
        return frozenset(i.part for i in self.items)

    def slot_of(self, candidate: Candidate) -> Station:
        """The slot that a candidate is tried in: the one it names, else the first of the line."""
        return next(s for s in self.stations if s.is_slot and candidate.slot in (None, s.name))

    def station(self, name: str) -> Station:
        """The station called ``name``; KeyError if there is none."""
        for s in self.stations:
            if s.name == name:
                return s
        raise KeyError(name)
