"""What the solver did: for ``-v`` only."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, tau

from simcore import units
from simcore.results.model import ResultSet, Run
from simcore.screen.table import Column, table
from simcore.screen.words import Line, Word, clean, paragraph

EVENTS = 12
"""Switches told per run; the rest is counted."""
COUNTS = ("steps", "rejected", "evaluations", "switches")


def solver(result: ResultSet, columns: int) -> list[Line]:
    """Steps, switches and slowest mode of every run."""
    runs = list(result.runs.values())
    w1 = result.findings.get("lowest mode", float("nan"))
    out = [[], [Word("What the solver did", "head")]]
    if isfinite(w1):
        text = f"{units.plain(w1 / tau)} Hz ({units.plain(w1)} rad/s), bare line at rest"
        out += paragraph("Slowest mode", text, columns)
    rtol = result.provenance.get("relative_tolerance")
    seconds = result.provenance.get("wall_time")
    if isinstance(rtol, float) and isinstance(seconds, float):
        out += paragraph("Tolerance", f"{rtol:g} relative; {units.plain(seconds)} s in all", columns)
    cells = [
        Column(("", "candidate"), [Word(clean(r.candidate)) for r in runs], False),
        Column(("", "situation"), [Word(clean(r.situation)) for r in runs], False),
        *(Column(("", n), [Word(str(r.counts.get(n, "-"))) for r in runs]) for n in COUNTS),
        Column(("ledger", "open by"), [Word(f"{r.ledger.get('relative', float('nan')):.1e}") for r in runs]),
    ]
    out += table(cells, columns)
    for r in runs:
        out += [[], [Word(f"{clean(r.candidate)}, {clean(r.situation)}", "head")], *_events(r, columns)]
    return out


def _events(run: Run, columns: int) -> Iterator[Line]:
    for e in run.events[:EVENTS]:
        text = f"{e.who}: {e.old} -> {e.new}"
        yield from paragraph(f"{1e3 * e.time:9.3f} ms", text, columns)
    more = len(run.events) - EVENTS
    if more > 0:
        yield from paragraph("", f"{more} more", columns)
    if not run.events:
        yield from paragraph("", "no switch", columns)


def defaults(result: ResultSet, columns: int) -> list[Line]:
    """Every default that entered the answer: value, usual range, where it comes from, what it moves."""
    out: list[Line] = [[Word(f"{len(result.defaults)} values were not given", "head")]]
    for d in result.defaults:
        usual = f", usual {d.usual}" if d.usual else ""
        moves = f"; moves peak over allowable by {units.plain(100 * d.swing)} %" if isfinite(d.swing) else ""
        out += [[Word(clean(f"{d.path} = {d.text}"))]]
        out += paragraph("", f"{d.source}{usual}{moves}", columns, "quiet")
    return out
