"""What it takes to run again after a crash: words, seconds, and whether the two sides keep their phase."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isnan, log, nan
from typing import Final

from simcore.contract import ENGAGED, Again, Kind
from simcore.line.graph import Element
from simcore.measures.aftermath import held_again, is_cleared
from simcore.measures.cases import Case
from simcore.results.model import Run

DRIVES: Final = frozenset({"command", "permit", "slow", "brake"})
"""Wires by which the drive is stopped, slowed or started anew."""
WARM: Final = 0.5
"""Share of its heat limit from which on a part that slipped is to cool before it slips again."""
BY_KIND: Final = {"nothing": "clear the jam", "reset": "reset by hand", "replace": "new part"}


def to_run_again(case: Case, m: Mapping[str, float], seen: Sequence[bool | None]) -> Again:
    """Words, time [s] and phase after the crash with the measures ``m``.

    ``seen``: what :func:`comes_back` says of each run of the candidate.  A time given by the engineer stays.
    """
    if "failed" in m:
        return Again("not known", nan, "")
    if case.candidate is None or case.assembly.candidate is None or isnan(m["trigger"]):
        return Again("did not let go" if case.situation.expect == "let go" else "nothing", 0.0, "yes")
    e = case.assembly.graph.elements[case.assembly.candidate]
    own = _own(case, e)
    words, seconds = _usual(e.part.kind, own, m, seen), own.seconds
    if isnan(seconds):
        seconds = case.candidate.item.si("again_time", 0.0)
    if _back_already(case, e.part.kind, m):
        words, seconds = "nothing, re-engaged", 0.0
    cooling = _cooling(case, e, m)
    if not isnan(cooling):
        words, seconds = f"{words}, let it cool", max(seconds, cooling)
    seconds = float(f"{seconds:.3g}")
    if "again_time" in case.candidate.item.given:
        seconds = case.candidate.item.si("again_time")
    held = isnan(m["lets_go"])
    return Again(words, seconds, "yes" if held else own.phase_kept or e.part.kind.phase_kept)


def _own(case: Case, e: Element) -> Again:
    """What the part itself says, from its inputs."""
    if not e.part.has("to_run_again"):
        return Again()
    said: Again = e.part.described("to_run_again", case.assembly.rows[case.assembly.candidate], case.assembly.tab)
    return said


def _usual(kind: Kind, own: Again, m: Mapping[str, float], seen: Sequence[bool | None]) -> str:
    """By the part's inputs, else by its kind; a part that need not come back by itself, as the runs show."""
    if own.words:
        return own.words
    clear = BY_KIND["nothing"]
    if kind.again == "nothing" and kind.again_words:
        if isnan(m["lets_go"]):
            return clear
        if True in seen and False not in seen:
            return f"{clear}, holds again"
    return kind.again_words or BY_KIND.get(kind.again, kind.again)


def _back_already(case: Case, kind: Kind, m: Mapping[str, float]) -> bool:
    """Whether it is engaged again at the end of the run without a reset by hand."""
    resets = [i.si("when", 0.0) for i in case.situation.items if i.part == "reset"]
    back = m["reengage"]
    by_hand = any(t <= back for t in resets)
    return kind.again == "reset" and not isnan(back) and m["end_class"] == ENGAGED and not by_hand


def _cooling(case: Case, e: Element, m: Mapping[str, float]) -> float:
    """Time [s] to half the rise of a part that slips, if it came near its limit; NaN if not.

    One heat capacity that gives off heat, ``C x' = -G x``: ``C/G ln 2`` (Newton's law of cooling, textbook).
    """
    kind = e.part.kind
    if kind.again != "nothing" or not {"heat_cap", "cooling"} <= set(kind.row):
        return nan
    row = case.assembly.rows[case.assembly.candidate]
    capacity, cooling = (float(row[kind.column(c)]) for c in ("heat_cap", "cooling"))
    if not (m["rise"] > WARM * case.heat_limit and cooling > 0.0):
        return nan
    return capacity / cooling * log(2.0)


def comes_back(case: Case, run: Run) -> bool | None:
    """Whether what has slipped holds again by itself: its jam cleared, the drive left alone; None: not seen."""
    gone = run.measures.get("lets_go", nan)
    if case.assembly.candidate is None or not is_cleared(case) or isnan(gone):
        return None
    t = held_again(case, run)
    end = case.situation.horizon if isnan(t) else t
    hands = {e.name for e in case.assembly.graph.elements if DRIVES & set(e.part.kind.writes)}
    if any(v.who in hands and gone <= v.time <= end for v in run.events):
        return None
    return not isnan(t)
