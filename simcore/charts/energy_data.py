"""Numbers of the energy chart: shares of the energy turned over, by part, with the ledger's residual."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.contact import first_event
from simcore.results.model import BARE, ResultSet, Run

SMALL: Final = 0.02
"""Parts that take less than this share in every run are summed as the rest."""
MOST_PARTS: Final = 6
"""Parts that are told apart; smaller ones are summed as the rest."""
PROTECTION: Final = "the protection itself"
REST: Final = "other parts"
DRIVE: Final = "back into the drive"
KEPT: Final = "still moving or wound up"


class Bar(NamedTuple):
    """One candidate: energy of each entry [J], total turned over [J] (NaN: no answer), relative residual of the
    ledger."""

    name: str
    place: int
    energies: tuple[float, ...]
    total: float
    residual: float


class EnergyData(NamedTuple):
    frame: base.Frame
    entries: tuple[str, ...]
    bars: tuple[Bar, ...]


def energy_data(result: ResultSet) -> EnergyData:
    situation = base.crash_of(result)
    shown = [*base.shown_candidates(result), BARE]
    runs = [(n, r) for n in shown if (r := base.run_of(result, n, situation)) is not None]
    sums = [_by_entry(r) for _, r in runs]
    entries = _entries(sums)
    bars = []
    for (name, run), by in zip(runs, sums, strict=True):
        place = -1 if name == BARE else base.shown_candidates(result).index(name)
        told = tuple(_sum(by, e, entries) for e in entries)
        total = run.ledger.get("turned_over", math.nan)
        whole = total if math.isfinite(total) else sum(told)
        relative = run.ledger.get("relative", math.nan)
        whole = whole if base.solved(run) else math.nan
        bars.append(Bar(base.label_of(name), place, told, whole, relative))
    note = f"from {first_event(runs[0][1]) if runs else 'contact'} to the end of the run"
    return EnergyData(base.frame(result, _title(bars, entries), note, situation), entries, tuple(bars))


def _by_entry(run: Run) -> dict[str, float]:
    """Energy taken by each part, by the drive when it brakes, and what is left at the end [J]."""
    out: dict[str, float] = {}
    given = 0.0
    for i, c in enumerate(run.connections):
        lost = float(run.lost[i])
        if not math.isfinite(lost):
            continue
        if lost < 0.0:
            given += lost
            continue
        name = {"candidate": PROTECTION, "event": c.part}.get(c.role, c.name)
        out[name] = out.get(name, 0.0) + lost
    out[DRIVE] = max(0.0, run.ledger.get("source_work", -given) + given)
    out[KEPT] = max(0.0, run.ledger.get("energy_end", 0.0))
    return out


def _entries(sums: Sequence[Mapping[str, float]]) -> tuple[str, ...]:
    """The protection, the larger parts in the order of the line, the rest, the drive, what is left."""
    special = (PROTECTION, DRIVE, KEPT)
    largest: dict[str, float] = {}
    for by in sums:
        total = sum(by.values()) or 1.0
        for name, value in by.items():
            largest[name] = max(largest.get(name, 0.0), value / total)
    parts = [n for n in largest if n not in special]
    worth = sorted((n for n in parts if largest[n] >= SMALL), key=lambda n: -largest[n])[:MOST_PARTS]
    rest = [n for n in parts if n not in worth and largest[n] > 0]
    out = [PROTECTION] if largest.get(PROTECTION, 0.0) > 0 else []
    out += [n for n in parts if n in worth]
    if rest:
        out.append(REST if len(rest) > 1 else rest[0])
    return tuple(out + [n for n in (DRIVE, KEPT) if largest.get(n, 0.0) > 0])


def _sum(by: Mapping[str, float], entry: str, entries: Sequence[str]) -> float:
    if entry == REST:
        return sum(v for n, v in by.items() if n not in entries)
    return by.get(entry, 0.0)


def _title(bars: Sequence[Bar], entries: Sequence[str]) -> str:
    tried = [b for b in bars if b.place >= 0 and math.isfinite(b.total)]
    lost = sum(b.place >= 0 for b in bars) - len(tried)
    if lost and not tried:
        return "No answer on where the energy went"
    told = _taken(tried, entries)
    return f"{told}; no answer for {lost} more" if lost and tried else told


def _taken(tried: Sequence[Bar], entries: Sequence[str]) -> str:
    """Who takes how much in the protection itself."""
    if not tried or PROTECTION not in entries:
        return "Where the energy of the crash went"
    i = entries.index(PROTECTION)
    if len(tried) == 1:
        energy, share = base.joules(tried[0].energies[i]), base.percent(tried[0].energies[i] / tried[0].total)
        return f"{base.clipped(tried[0].name)} takes {energy}, {share} of the energy turned over"
    told = {b.name: base.joules(b.energies[i]) for b in tried}
    most, least = (told[f(tried, key=lambda b: b.energies[i]).name] for f in (max, min))
    if most == least:
        return f"{base.first_of(list(told), len(told))} take {most} in the protection itself"
    top, low = (base.listing([n for n, text in told.items() if text == x]) for x in (most, least))
    return f"Most energy in the protection itself: {top}, {most}; least: {low}, {least}"
