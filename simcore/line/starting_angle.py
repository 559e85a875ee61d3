"""Warning on a crank and its like whose angle at the start was left at its default."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees

from simcore.line.caution import Caution
from simcore.parts import REGISTRY
from simcore.scenario.model import Item, Scenario

TRY = (0.0, 45.0, 90.0, 135.0)
"""Angles [deg] worth a run."""


def one_angle(scenario: Scenario) -> Iterator[Caution]:
    """Parts whose torque hangs on the angle, in lines that start or crash at the default of it."""
    if not any(s.event == "start" or REGISTRY[s.event].has("hint") for s in scenario.situations.values()):
        return
    for s in scenario.stations:
        if s.item is None:
            continue
        word = REGISTRY[s.item.part].kind.starts_at
        if word and word not in s.item.given and not _varied(scenario, s.item, word):
            at = degrees(s.item.si(word))
            others = ", ".join(f"{x:.0f} deg" for x in TRY if abs(x - at) > 1.0)
            yield Caution(
                "one angle only", f"{s.item.path}.{word}",
                f"starts and crashes at {at:.3g} deg of '{s.name}' only: the worst angle of a turn was not looked for; "
                f"try {word} = {others} and on",
            )  # fmt: skip


def _varied(scenario: Scenario, item: Item, word: str) -> bool:
    """Whether corners or a sweep go to other angles."""
    path = f"{item.path}.{word}"
    swept = () if scenario.sweep is None else scenario.sweep.factors
    return any(path in values for values in scenario.corners.values()) or any(path in f.paths for f in swept)
