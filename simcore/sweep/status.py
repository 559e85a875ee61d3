"""How far a sweep is, for whoever runs it and for whoever looks on from another shell."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, nan
from pathlib import Path
from typing import Any

from simcore import units
from simcore.errors import ResultError
from simcore.sweep import book, ledger, lock
from simcore.sweep.blocks import Tally
from simcore.sweep.result import PLAN, RESULT, draws_in


@dataclass(frozen=True, slots=True)
class Progress:
    """Cases of each candidate and counters of those finished; rate [cases/s]; state in words."""

    totals: Mapping[str, int]
    tallies: Mapping[str, Tally]
    rate: float = nan
    state: str = ""

    @property
    def total(self) -> int:
        return sum(self.totals.values())

    @property
    def done(self) -> int:
        return sum(t.cases for t in self.tallies.values())

    @property
    def failed(self) -> int:
        return sum(t.failed for t in self.tallies.values())

    @property
    def left(self) -> float:
        """Seconds left at the present rate; NaN before the first block, 0 at the end."""
        if self.done >= self.total:
            return 0.0
        return (self.total - self.done) / self.rate if self.rate > 0.0 else nan

    def share(self, candidate: str) -> float:
        """Share of the candidate's sound cases that were damaged; NaN without cases."""
        t = self.tallies.get(candidate, Tally())
        sound = t.cases - t.failed
        return t.damaged / sound if sound else nan

    def ends(self) -> tuple[str, str]:
        """Candidates with the smallest and the largest share of damage so far; empty before the first."""
        known = [c for c in self.totals if self.share(c) == self.share(c)]
        return (min(known, key=self.share), max(known, key=self.share)) if known else ("", "")


def duration(seconds: float) -> str:
    """Seconds in words.

    >>> duration(42.0), duration(754.0), duration(30000.0), duration(200000.0)
    ('42 s', '12 min 34 s', '8 h 20 min', '2 d 7 h')
    """
    if not 0.0 <= seconds < inf:
        return "unknown"
    s = round(seconds)
    for size, unit, inner, sub in ((86400, "d", 3600, "h"), (3600, "h", 60, "min"), (60, "min", 1, "s")):
        if s >= size:
            return f"{s // size} {unit} {s % size // inner} {sub}"
    return f"{s} s"


def percent(share: float) -> str:
    """A share with two digits that matter; a dash if there is none."""
    return "-" if share != share else f"{units.plain(100.0 * share, 2)} %"


def sentence(p: Progress) -> str:
    """One line: done, failed, rate, time left, best and worst."""
    part = f" ({100.0 * p.done / p.total:.1f} %)" if p.total else ""
    text = f"{p.done} of {p.total} cases{part}, {p.failed} failed"
    if p.rate > 0.0:
        text += f", {p.rate:.3g} cases/s"
        if p.done < p.total:
            text += f", {duration(p.left)} left"
    best, worst = p.ends()
    if best and best != worst:
        text += f"; damage from {percent(p.share(best))} ({best}) to {percent(p.share(worst))} ({worst})"
    elif best:
        text += f"; damage {percent(p.share(best))} ({best})"
    return text


def table(p: Progress) -> list[str]:
    """One row a candidate: done, of, failed, damage, trips."""
    wide = max([len(c) for c in p.totals] + [9])
    out = [f"{'candidate':<{wide}}  {'done':>10}  {'of':>10}  {'failed':>8}  {'damage':>9}  {'trips':>9}"]
    for c, total in p.totals.items():
        t = p.tallies.get(c, Tally())
        sound = t.cases - t.failed
        trips = t.tripped / sound if sound else nan
        out.append(f"{c:<{wide}}  {t.cases:>10}  {total:>10}  {t.failed:>8}  {percent(p.share(c)):>9}  "
                   f"{percent(trips):>9}")  # fmt: skip
    return out


def status(folder: Path) -> Progress:
    """Read how far the sweep in ``folder`` is, without disturbing it.  Raises ResultError if there is none."""
    found = book.load(folder)
    if found is None:
        why = "its plan is damaged" if (folder / PLAN).exists() else "there is no sweep there"
        raise ResultError(f"{folder}: {why}")
    each = int(found["cells"]) * int(found["plan"]["draws"])
    totals = dict.fromkeys(found["candidates"], each)
    is_running = lock.is_held(folder)
    words = lock.holder(folder)
    began = float(words.get("began", inf)) if is_running else inf
    tallies, recent = _counted(folder, totals, began)
    spent = time.time() - began
    whole = sum(t.cases for t in tallies.values()) >= sum(totals.values())
    merged = whole and draws_in(folder / RESULT) == int(found["plan"]["draws"])
    return Progress(totals, tallies, recent / spent if recent and spent > 0 else nan,
                    _state(is_running, words, whole, merged))  # fmt: skip


def _counted(folder: Path, totals: Mapping[str, int], since: float) -> tuple[dict[str, Tally], int]:
    """Counters by candidate, and the cases finished since a time; a torn line and a repeated id count for nothing."""
    tallies = dict.fromkeys(totals, Tally())
    recent = 0
    seen: set[str] = set()
    for row in ledger.rows(folder / ledger.NAME):
        if row is None or row.id in seen or row.candidate not in tallies:
            continue
        seen.add(row.id)
        tallies[row.candidate] += row.tally
        recent += row.tally.cases if row.when >= since else 0
    return tallies, recent


def _state(is_running: bool, words: Mapping[str, Any], whole: bool, merged: bool) -> str:
    if is_running:
        where = f" on {words['host']}" if words.get("host") else ""
        return f"running, process {words.get('pid', '?')}{where}"
    if whole and merged:
        return "finished"
    if whole:
        return "stopped before its results were merged; the same command goes on"
    if "pid" in words:
        return f"stopped without a word (process {words['pid']} died); the same command goes on"
    return "stopped; the same command goes on"
