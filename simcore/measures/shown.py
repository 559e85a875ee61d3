"""Warnings that only a run shows, the weightiest kind first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from simcore.line.caution import Caution
from simcore.measures.cases import Case
from simcore.measures.false_stop import stops_in_service
from simcore.measures.late import sensed_too_late
from simcore.measures.reseat import dropped_in_at_speed
from simcore.measures.rising import margin_still_rises, reference_still_rises
from simcore.measures.slack import goes_slack
from simcore.measures.star import stands_in_star
from simcore.measures.tired import tired_pins
from simcore.results.model import Run

Look = Callable[[Case, Run], Iterable[Caution]]
EACH = (sensed_too_late, dropped_in_at_speed, tired_pins, stops_in_service, margin_still_rises)
"""By weight: what burns, what hammers, what tires, what stops the line for nothing, what is watched too briefly."""
LIGHT = (stands_in_star, reference_still_rises)


class Shown(NamedTuple):
    """Warnings that come before those known without a run, and behind them."""

    weighty: list[Caution]
    light: list[Caution]


def shown(pairs: Iterable[tuple[Case, Run]]) -> Shown:
    """All warnings of finished runs; a candidate that has the same one in several situations tells the first.

    A belt or chain that goes slack as a crash or a release throws the line back is light, one in service is not.
    """
    known = list(pairs)
    slack = goes_slack(known)
    return Shown(
        [*_each(EACH, known), *(c for c, crash in slack if not crash)],
        [*_each(LIGHT, known), *(c for c, crash in slack if crash)],
    )


def _each(looks: Iterable[Look], known: Sequence[tuple[Case, Run]]) -> Iterable[Caution]:
    once: dict[tuple[str, str], Caution] = {}
    for c in (c for look in looks for case, run in known for c in look(case, run)):
        once.setdefault((c.name, c.path), c)
    return once.values()
