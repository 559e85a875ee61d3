"""Warning on a stop chain that takes the drive off in ordinary service."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan
from typing import Final

from simcore.line.caution import Caution
from simcore.measures.aftermath import stopped_at
from simcore.measures.cases import Case
from simcore.results.model import BARE, Run
from simcore.units import show

COMMANDED: Final = {"emergency stop", "power off", "reverse", "creep speed"}
"""Events that slow the line down by command: what a stop chain notices then stops nothing that ought to run."""


def stops_in_service(case: Case, run: Run) -> Iterator[Caution]:
    """A chain that acts where the protection ought to hold or carry, and has not let go."""
    s = case.situation
    if s.expect == "let go" or run.candidate == BARE or COMMANDED & {item.part for item in s.items}:
        return
    found = stopped_at(run)
    if found is not None and isnan(run.measures["trigger"]):
        name, _, acts = found
        yield Caution(
            "stop in service", f'stops["{name}"]',
            f"'{name}' takes the drive off in '{s.name}' with '{run.candidate}' after {show(acts, 'time')}, though "
            "the protection holds: what it senses comes in ordinary service too",
        )  # fmt: skip
