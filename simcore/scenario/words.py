"""The scenario's own words beside the parts' inputs, written as inputs so that all is checked alike.

``name`` is text that names a thing, ``text`` free text, ``display_torque`` a unit to print torques in.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final, get_args

from simcore.contract import Kind, Param
from simcore.near import near_name
from simcore.parts import REGISTRY
from simcore.scenario.model import Expect

SLOT: Final = "slot"
EVENTS: Final = tuple(n for n, p in REGISTRY.items() if p.kind.family == "event")
CHAIN: Final = "stop chain"
EXPECTS: Final[tuple[str, ...]] = get_args(Expect)
TORQUE_UNITS: Final = ("N*m", "kN*m", "lbf*in", "lbf*ft")
COLLECTIONS: Final = ("line", "candidates", "stops", "corners", "situations")
RESERVED: Final = ("none",)
"""Names of candidates that the program needs itself: ``none`` is the line without any."""

TOP: Final = (
    Param("title", "text", "what the scenario shows, in a few words", required=True),
    Param("question", "text", "what is to be decided"),
    Param("protect", "name", "station whose allowable decides", required=True),
)
DISPLAY: Final = (
    Param("torque", "display_torque", "unit to print torques in", choices=TORQUE_UNITS),
)  # fmt: skip
SOLVER: Final = (Param("relative_tolerance", "ratio", "relative tolerance of the solver", low=1e-12, high=1e-3),)
PLACE: Final = (
    Param("name", "name", "name of the station; left out: the part's name"),
    Param("part", "name", "kind of part, or slot for a place where candidates are tried", required=True),
    Param("after", "name", "station to branch off from, instead of following the one above"),
    Param("joins", "name", "station that this chain ends into"),
)
LIMIT: Final = (
    Param("allowable", "effort", "torque (or force) the connection may bear", above=0),
    Param("allowable_source", "text", "where the allowable comes from"),
)
SLOT_KIND: Final = Kind(
    name=SLOT,
    family="transmission",
    summary="a place in the line where the candidates are tried",
    params=(
        Param("hub_in", "inertia", "inertia of the hub towards the drive", low=0),
        Param("hub_out", "inertia", "inertia of the hub towards the load", low=0),
    ),
)
CANDIDATE: Final = (
    Param("part", "name", "kind of protection; left out: the candidate's own name"),
    Param("slot", "name", "slot it is tried in; left out: the first of the line"),
)
SITUATION: Final = (
    Param("event", "choice", "what happens", required=True, choices=EVENTS),
    Param("at", "name", "station where it happens; left out: the load"),
    Param("corner", "name", "corner under which it happens (cold, worn...); left out: as drawn"),
    Param("expect", "choice", "what the protection ought to do; left out: let go if any event is a hard "
          "stop or a jam that stays, else by the first event: carry in a jam that clears, hold in all others",
          choices=EXPECTS),
    Param("horizon", "time", "time watched after the event; left out: 1 s, a start 5 s",
          above="0 s", high="1 h"),
    Param("allowable", "effort", "torque (or force) that what is hit may bear", above=0),
    Param("allowable_source", "text", "where that allowable comes from"),
    Param("lead", "time", "steady running shown before the event", default="10 ms", low="0 s", high="10 s"),
)  # fmt: skip
THEN: Final = "then"
FOLLOWING: Final = Param(THEN, "text", "events that follow: a list of tables with event and when, the instant after "
                         "the first")  # fmt: skip
STEP: Final = (
    Param("event", "choice", "what happens next", required=True, choices=EVENTS),
    Param("at", "name", "station where it happens; left out: as the situation's first event"),
)
STOP: Final = (
    Param("part", "name", "kind of chain", default=CHAIN),
    Param("of", "name", "station that is watched; left out: the protection under trial"),
    Param("to", "name", "second station, where speeds at two places are compared; left out: the same"),
    Param("fitted_to", "name", "candidate that comes with this chain; left out: every one"),
)
DESIGNS: Final = ("random", "latin hypercube", "sobol sequence", "paired", "table")
SWEEP: Final = (
    Param("seed", "count", "number the draws begin from; another one gives other draws", default=1, low=0, high=2**53),
    Param("draws", "count", "draws of all scattered inputs in each cell; left out: 1000, paired 256 groups, table "
          "all its rows, 1 where nothing scatters", low=1, high=10_000_000),
    Param("design", "choice", "how the draws are placed", default=DESIGNS[0], choices=DESIGNS),
    Param("hypercube", "count", "draws of one latin hypercube, further draws come in further hypercubes; left out: "
          "as draws", low=2, high=10_000_000),
    Param("block", "count", "draws computed and kept together", default=500, low=1, high=1_000_000),
    Param("damage_target", "ratio", "largest share of crashes that may pass an allowable, or the protection's "
          "heat limit", default="0.1 %", above=0, source="to be chosen for the machine"),
    Param("nuisance_target", "ratio", "largest share of ordinary events that may trip", default="0.01 %", above=0,
          source="to be chosen for the machine"),
    Param("table", "text", "file of draws for design table: a column for each factor, a row for each draw"),
)  # fmt: skip
FACTOR: Final = (
    Param("name", "name", "name of the factor", required=True),
    Param("path", "text", "input that varies; candidates[*] is the candidate under trial"),
    Param("times", "flag", "whether the values multiply the scenario's own value, else they replace it",
          default="false"),
)  # fmt: skip
FACTORS: Final = "factor"
FACTOR_LISTS: Final = ("paths", "grid", "scatter")
"""Words of a factor beside the plain ones."""
GRID: Final = ("from", "to", "steps", "spacing")
SPACINGS: Final = ("linear", "log")
SCATTERS: Final = {
    "normal": ("sd", "low", "high"),
    "lognormal": ("sd_log", "low", "high"),
    "uniform": (),
    "log_uniform": (),
    "triangular": (),
    "measured": (),
}
"""The word of a distribution and the words that may stand beside it."""
TOP_TABLES: Final = ("display", "solver", "sweep", *COLLECTIONS)


@lru_cache(maxsize=4096)
def _near(word: str, names: tuple[str, ...]) -> str:
    return near_name(word, names, 0.55)


def meant_event(word: object) -> str:
    """The event of this name, else the nearest one; '' if none is near."""
    if isinstance(word, str) and word not in EVENTS:
        return _near(word[:60], EVENTS)
    return word if isinstance(word, str) else ""


def nearest(word: object, names: Iterable[str], what: str = "nearest") -> str:
    """``nearest: gearbox``, else the few valid names, else nothing."""
    valid = tuple(names)
    hit = _near(word[:60], valid[:400]) if isinstance(word, str) else ""
    if hit:
        return f"{what}: {hit}"
    return f"valid: {', '.join(valid)}" if 0 < len(valid) <= 8 else ""
