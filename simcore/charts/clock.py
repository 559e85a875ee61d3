"""The clock of a crash's charts: it counts from the jam, also where the situation begins with another event."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.contact import first_event, jam_in
from simcore.results.model import ResultSet, Run

INSTANTS: Final = ("trigger", "lets_go", "disconnect", "reengage", "peak_time")
"""Measures that the charts of a crash show as instants."""


class Clock(NamedTuple):
    """When it stands at zero [s after the situation's first event], and what comes then: 'contact', 'the start'."""

    zero: float
    word: str


def clock_of(result: ResultSet, situation: str) -> Clock:
    """From the jam, else from the first event."""
    jam, at = jam_in(result, situation)
    run = next((r for (_, s), r in result.runs.items() if s == situation), None)
    return Clock(at, "contact") if jam else Clock(0.0, first_event(run) if run is not None else "contact")


def counted(run: Run, zero: float) -> Run:
    """The run with its instants counted from ``zero``."""
    if zero == 0.0:
        return run
    return replace(
        run,
        time=run.time - zero,
        peak_time=run.peak_time - zero,
        events=tuple(e._replace(time=e.time - zero) for e in run.events),
        measures={n: v - zero if n in INSTANTS else v for n, v in run.measures.items()},
    )


def run_of(result: ResultSet, name: str, situation: str) -> Run | None:
    """The run of a crash on that clock."""
    run = base.run_of(result, name, situation)
    return None if run is None else counted(run, clock_of(result, situation).zero)
