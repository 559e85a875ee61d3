"""Why a candidate does not pass: of which kind a reason is, where it holds, and its sentence."""

from __future__ import annotations

from enum import Enum
from typing import Final, NamedTuple

LETS_GO_RUNNING: Final = "it lets go in ordinary running already, so there is no steady state to begin from"


class Why(Enum):
    """Kinds of reasons, each with the pattern of its sentence."""

    NO_ANSWER = "no answer in {where}{detail}"
    NO_STEADY = "no answer in {where}{detail}: " + LETS_GO_RUNNING
    NOT_LET_GO = "does not let go in {where}"
    ONLY_AS_SET = "has no margin in {where}, as a higher setting fails"
    STRETCHES = "stretches in {where} by {detail} of the way to the break, each time it happens"
    NOT_CARRIED = "does not carry through {where}"
    NOT_UP = "does not come up to speed in {where}: {detail} of its running speed at most"
    TRIPS = "trips in {where}"
    TOO_SOON = "trips in {where} before the jam comes"
    OVER_LIMIT = "'{part}' sees {detail} of its allowable in {where}"
    BURNS = "passes its heat limit in {where} {detail}"
    HEATS = "heats past its limit in {where}"
    MATE_BREAKS = "'{part}' breaks in {where}{detail}"
    MATE_TRIPS = "'{part}' trips in {where}{detail}"


class How(Enum):
    """What else in the line keeps the load from running."""

    SLIPS = "slips"
    STOPS = "takes the drive off"


class Cause(NamedTuple):
    """A belt drive or a stop chain by name, and what it does while the candidate itself holds."""

    who: str
    how: How

    @property
    def text(self) -> str:
        return f"'{self.who}' {self.how.value}"


class Reason(NamedTuple):
    """One reason against a candidate; ``part``: what else of the line it is about, ``detail``: how much, when."""

    why: Why
    situations: tuple[str, ...]
    detail: str = ""
    part: str = ""
    causes: tuple[Cause, ...] = ()

    @property
    def text(self) -> str:
        where = ", ".join(f"'{s}'" for s in self.situations)
        causes = "".join(f", as {c.text}" for c in self.causes)
        return self.why.value.format(where=where, detail=self.detail, part=self.part) + causes
