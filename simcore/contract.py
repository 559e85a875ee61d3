"""The part contract: what one part declares, and what it gives the solver.

A part is one plain Python file in :mod:`simcore.parts` with a module-level ``KIND`` (data: checks,
catalogue, result sets and charts read it) and plain functions of scalars and tuples (physics: the
kernel compiles them, tests call them as they are).  Functions a part may define:

``resolve(r, w1)``       row: tuple of floats named by ``KIND.row`` from the raw inputs ``r`` (SI, NaN = not
                         given) and the line's lowest elastic frequency ``w1`` [rad/s] (for damping)
``start_mode(p, sense)`` mode to begin in; ``sense`` is the direction of running, -0.0 or 0.0 at rest before a
                         start that way
``start_state(p, sense, tab)``  own states to begin with (a coil's current); zero where a part has no such function
``torque(q)``            torque (or force) through the part from hub a to hub b
``ground(q, T)``         smooth torque of the ground on hub a and on hub b
``friction(q, T)``       dry friction of the ground on hub a: hold-, hold+, run-, run+ (all >= 0)
``rate(q, T)``           time derivatives of the part's own states, a tuple
``guards(q, T)``         tuple of ``len(KIND.guards)`` values, > 0 inside the mode
``clock(q)``             next instant known in advance, ``inf`` if none
``switch(k, q, T, X, M, O)``  new mode and heat booked [J]; may write own states X, memory M, wires O
``loss(q, T)``           power lost [W] from the physics; negative for a source
``store(q)``             energy stored [J]
``dial(p, f)``           row (tuple) at setting times ``f``
``hint(p)``              stiffness [N*m/rad or N/m], for modes and error weights
``slip_scale(p)``        relative speed over which the law bends, for error weights
``inertias(r)``          inertia (or mass) of hub a and of hub b, at the part's own shaft
``ratios(r)``            turns of the part's own shaft for one of hub a and of hub b (gears)
``scale(r)``             travel for one radian (a body that turns rotation into travel)
``free_speed(p)``        speed a drive settles at without load; ``free_speed(p, tab)`` for a kind with lists
``top_torque(p)``        largest torque a drive gives; ``top_torque(p, tab)`` for a kind with lists
``rises(p)``             (drives) whether the torque may rise with the speed, lists as above; left out: never
``run_up(p)``            (drives) a :class:`RunUp`: how it comes to speed by its set speed; left out: it has none
``band(p)``              (protections) breakaway or profile peak over setting
``sheet(p)``             names and values a data sheet would state, for the catalogue; like ``band`` it may
                         take the lists too, as a second argument that is empty where they are not known
``to_run_again(p)``       (protections) an :class:`Again`, where that hangs on the inputs; may take the lists too
``left_behind(m, p, x, mem)``  what it leaves behind at the end of a run, by ``Kind.left_behind``; NaN: nothing to say
``refuse(r)``            sentences on what is impossible in the raw inputs ``r``
``inertia(q)``           inertia (or mass) that hub a has beyond ``inertias`` now, at the part's own shaft
``signals(r)``           codes of what the part senses (see SIGNALS), for a kind with ``senses``

A part that watches others (``Kind.senses``) gets the sensed values ``s`` (a pair) as one more argument: ``rate(q, T,
s)``, ``guards(q, T, s)``, ``switch(k, q, T, s, X, M, O)``.  It has no torque, so there is no loop.

Commands travel on wires, known by the names in WIRES.  ``q.w`` are those in ``Kind.reads``, in that order; a switch
writes those in ``Kind.writes`` through ``O``, which holds their present values: what is not written stays.

An input that holds a list (``Param.many``) reaches ``refuse`` as a tuple, ``()`` if not given, and ``resolve`` as
its place in ``q.tab``: there stands the number of values, then the values.

Sign: twist ``phi = ta - tb``, relative speed ``nu = wa - wb``; ``T > 0`` drives hub b and loads hub a.
A part with one hub has the ground as its other one.  Speeds and angles never jump; only modes, own
states, memory and wires change in a ``switch``.
"""

from __future__ import annotations

from collections import namedtuple
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from math import nan
from types import ModuleType
from typing import Any, Final, Literal, NamedTuple

N_ROW: Final = 48
"""Floats in a parameter row; the last ones belong to the kernel (see COL_*)."""
N_OWN: Final = 42
"""Columns of a row that a part may fill."""
COL_BURNT: Final = 42
"""Memory cell that holds the instant at which the part burnt; NaN: it has none."""
COL_TALLY: Final = 43
"""Memory cell that counts (pole slips, pockets...)."""
COL_SETTING: Final = 44
COL_BEND: Final = 45
"""Relative speed over which a protection's law bends (see ``slip_scale``), 0 if it does not."""
COL_RA: Final = 46
COL_RB: Final = 47
N_GUARD: Final = 6
N_READ: Final = 4
N_WRITE: Final = 6
N_SENSE: Final = 2
WIRES: Final = ("command", "permit", "slow", "brake", "vent", "coil", "reset", "clear")
"""command: -1, 0, 1, which way the drives are asked to run, or that share of their speed; permit: 0 takes their power
off; slow: 1 asks for the controlled ramp down; brake: 1 puts service brakes on; vent: 1 lets the air out; coil: 1 cuts
the current of clutches held by one; reset and clear: 1 for an instant."""
FREE_SPEED_IN: Final = "speed without load at the first place"
FREE_SPEED_OUT: Final = "speed without load at the second place"
"""Columns of a part that watches others: if its row has them, the assembler fills in the speeds of what it watches."""
SIGNALS: Final = ("torque", "twist", "slip speed", "speed in", "speed out", "class")
"""What may be sensed of a part, by code; after these its own states.  Class: 0 engaged ... 4 broken."""
N_MEMORY: Final = 64
N_STATE: Final = 8
CLOCK: Final = -1
"""The ``k`` of a switch asked for by the part's own clock."""

ENGAGED: Final = 0
YIELDING: Final = 1
SLIPPING: Final = 2
OPEN: Final = 3
BROKEN: Final = 4
MODE_CLASSES: Final = ("engaged", "yielding", "slipping", "open", "broken")

WARMTH: Final = -1
"""Code of a part's temperature rise, wherever among its states it is."""

Q = namedtuple("Q", "m t phi nu ta wa tb wb x mem w p tab")
"""What every law sees: mode, time, twist, relative speed, both hubs' angle and speed at the part's own
shaft, own states, memory, wires, parameter row, shared tables."""

Family = Literal["protection", "overrunning clutch", "drive", "transmission", "body", "load", "event", "command"]


class Mode(NamedTuple):
    """A named way for a part to be; ``tie``: its torque carries twist (for the steady solver)."""

    name: str
    klass: int
    tie: bool = True


class State(NamedTuple):
    """A continuous state of a part; ``scale``: size at which its error is judged.

    ``steady``: in steady running before the event it stands where its rate is zero (a motor's current); other states
    begin as ``start_state`` says.
    """

    name: str
    unit: str
    scale: float
    meaning: str
    steady: bool = False


class Left(NamedTuple):
    """Something a part leaves behind for the next run: setting lost, life used, phase lost; ``kind`` of quantity."""

    name: str
    kind: str
    meaning: str


class RunUp(NamedTuple):
    """How a set speed begins: its greatest acceleration [rad/s^2], and the time [s] in which that comes about.

    Infinite: the full speed is asked for at once, so that the torque steps to its limit.  ``gain``: torque over the
    speed that is missing [N*m*s/rad].
    """

    acceleration: float
    rise: float
    gain: float


class Again(NamedTuple):
    """What running again takes: words and ``phase_kept`` (empty: as the kind says), time [s] (NaN: ``again_time``)."""

    words: str = ""
    seconds: float = nan
    phase_kept: str = ""


@dataclass(frozen=True, slots=True)
class Param:
    """One input of a part.  ``default``, ``low``, ``high`` and ``usual`` are texts with units.

    ``default=None`` with ``required=False`` means: optional, no default.  ``many``: a list of values, each within
    the bounds.  ``size``: setting of a protection [N*m] that the default belongs to, where it is not scaled with it.
    """

    name: str
    kind: str
    meaning: str
    default: str | float | None = None
    required: bool = False
    low: str | float | None = None
    high: str | float | None = None
    above: str | float | None = None
    usual: tuple[str | float, str | float] | None = None
    source: str = "common practice"
    choices: tuple[str, ...] = ()
    many: bool = False
    size: float = nan


@dataclass(frozen=True, slots=True)
class Kind:
    """The data sheet of a kind of part."""

    name: str
    family: Family
    summary: str
    params: tuple[Param, ...]
    row: tuple[str, ...] = ()
    modes: tuple[Mode, ...] = (Mode("working", ENGAGED),)
    states: tuple[State, ...] = ()
    guards: tuple[str, ...] = ()
    memory: tuple[str, ...] = ()
    hubs: int = 2
    domain: Literal["rotation", "travel", "any"] = "rotation"
    reads: tuple[str, ...] = ()
    writes: tuple[str, ...] = ()
    senses: tuple[str, ...] = ()
    """What it watches of other parts, in words (at most two)."""
    expect: Literal["let go", "hold", "carry"] = "hold"
    """(events) What is expected of a protection if the situation does not say; ``let go`` also of one that follows."""
    expect_cleared: Literal["", "let go", "hold", "carry"] = ""
    """(events) The same if the event is given an end; empty: as ``expect``."""
    lets_go: str = ""
    leaves: str = ""
    runs_again: str = ""
    again: Literal["nothing", "next pocket", "reset", "replace"] = "nothing"
    again_words: str = ""
    """What it takes to run again, in two or three words for tables ("new pins"); left out: by ``again``.

    With ``again="nothing"``: what a part that need not come back by itself takes.
    """
    phase_kept: Literal["yes", "no", "by hand"] = "no"
    """(protections) Whether its sides keep their phase once it has let go and runs again; by hand: as they are put."""
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    tally: str = ""
    """Name of the memory cell that counts pole slips, pockets passed, broken pins."""
    burns: str = ""
    """Name of the memory cell that takes the instant at which the part passes its heat limit (0: not yet)."""
    stretches: tuple[str, str] | None = None
    """(protections) State, one of the first two, that grows where it gives way for good before it lets go, and the
    column of ROW with as much as it bears of that."""
    left_behind: tuple[Left, ...] = ()
    """What it leaves behind at the end of a run (see the function of this name)."""
    slides: bool = False
    """(protections) Slips at a torque free of the twist: the line may run steadily with it slipping."""
    keeps_speed: bool = False
    """(drives) Keeps a set speed and can be asked for a share of it; (events) asks all drives for one."""
    starts_at: str = ""
    """Input with the angle at which it starts, of a part whose torque varies with that over a turn."""
    character: Literal["", "twist", "slip speed", "current", "loop"] = ""
    """What the part's own chart shows its torque against; "loop": twist there and back."""
    example: Mapping[str, str | float] = field(default_factory=dict)
    """Inputs, as one would write them, that draw the part's own chart; a protection's setting need not be named."""

    @property
    def bears(self) -> bool:
        """Whether it may have an allowable: a connection, or a backstop."""
        return self.hubs == 2 or self.family == "overrunning clutch"

    def param(self, name: str) -> Param:
        """The input called ``name``; KeyError if there is none."""
        for p in self.params:
            if p.name == name:
                return p
        raise KeyError(name)

    def column(self, name: str) -> int:
        """Column of ``name`` in the parameter row."""
        return self.row.index(name)


@dataclass(frozen=True)
class Part:
    """A registered kind with its functions; what assembler, generator and catalogue hold."""

    kind: Kind
    module: ModuleType
    functions: Mapping[str, Callable[..., Any]] = field(repr=False)
    index: int = 0

    def has(self, name: str) -> bool:
        return name in self.functions

    def call(self, name: str, *args: Any) -> Any:
        return self.functions[name](*args)

    def described(self, name: str, p: Any, tab: Any = ()) -> Any:
        """``sheet`` or ``band`` of the row ``p``, with the line's lists for a kind that asks for them."""
        f = self.functions[name]
        return f(p, tab) if f.__code__.co_argcount > 1 else f(p)

    def of_drive(self, name: str, p: Any, tab: Any) -> float:
        """``free_speed``, ``top_torque`` or ``rises`` of a drive with the row ``p``."""
        lists = any(q.many for q in self.kind.params)
        return float(self.call(name, p, tab) if lists else self.call(name, p))

    def raw(self, values: Mapping[str, Any]) -> Any:
        """Raw inputs as the tuple ``resolve`` takes: one float a parameter, NaN = not given."""
        make, names = self._raw
        return make(*[values.get(name, nan) for name in names])

    @cached_property
    def _raw(self) -> tuple[Callable[..., Any], tuple[str, ...]]:
        names = tuple(p.name for p in self.kind.params)
        return _raw_type(names), names

    def raw_lists(self, values: Mapping[str, Any]) -> Any:
        """Raw inputs as ``refuse`` takes them: lists are tuples."""
        empty: dict[str, Any] = {p.name: () for p in self.kind.params if p.many}
        return self.raw({**empty, **values})


@cache
def _raw_type(names: tuple[str, ...]) -> Callable[..., Any]:
    make: Callable[..., Any] = namedtuple  # names known only here
    made: Callable[..., Any] = make("Raw", names)
    return made


FUNCTIONS: Final = (
    "resolve", "start_mode", "start_state", "torque", "ground", "friction", "rate", "guards", "clock", "switch",
    "loss", "store", "dial", "hint", "slip_scale", "inertias", "ratios", "scale", "free_speed", "top_torque", "rises",
    "run_up", "band", "sheet", "refuse", "inertia", "signals", "left_behind", "to_run_again",
)  # fmt: skip


def part_of(module: ModuleType, index: int = 0) -> Part:
    """Read the contract off a part's module."""
    functions = {n: getattr(module, n) for n in FUNCTIONS if hasattr(module, n)}
    return Part(module.KIND, module, functions, index)


def choice_code(param: Param, text: str) -> float:
    """Choices reach the kernel as their position in the list."""
    return float(param.choices.index(text))


def registry_of(modules: Sequence[ModuleType]) -> dict[str, Part]:
    """Parts by name, in order of registration (the order is the kernel's numbering)."""
    return {m.KIND.name: part_of(m, i) for i, m in enumerate(modules)}
