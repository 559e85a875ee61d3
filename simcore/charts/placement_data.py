"""Numbers of the placement chart: peak and heat of every candidate by the slot it stands in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from simcore.charts import base
from simcore.charts.limits_data import UNLESS
from simcore.results.model import Answer, ResultSet
from simcore.units import typeset


class Stand(NamedTuple):
    """One candidate in its slot: peak at the protected part in the shown unit, heat [J] in the crash."""

    name: str
    place: int
    part: str
    slot: str
    setting: str
    """At its own shaft, in words."""
    peak: float
    heat: float
    passed: bool
    where: str = ""
    """Situation that peak and heat are of, if it is another than the one in the corner."""


class PlacementData(NamedTuple):
    frame: base.Frame
    stands: tuple[Stand, ...]
    """Grouped by kind, within one by slot."""
    slots: tuple[str, ...]
    allowable: float
    axis: str
    top: float
    hottest: float


def slots_of(result: ResultSet) -> tuple[str, ...]:
    """Slots in use."""
    return tuple(dict.fromkeys(a.slot for a in result.answers if a.slot))


def has_placement(result: ResultSet) -> bool:
    return len(slots_of(result)) > 1


def placement_data(result: ResultSet) -> PlacementData:
    """Every judged candidate; kinds that stand in several slots first."""
    slots = slots_of(result)
    stands = [
        _stand(result, a, i)
        for i, n in enumerate(base.shown_candidates(result))
        if (a := base.answer_of(result, n)) is not None
    ]
    kinds = list(dict.fromkeys(s.part for s in stands))
    places = {k: len({s.slot for s in stands if s.part == k}) for k in kinds}
    kinds.sort(key=lambda k: -places[k])
    stands.sort(key=lambda s: (kinds.index(s.part), slots.index(s.slot) if s.slot in slots else 0))
    limit = base.in_unit(result, result.allowable)
    peaks = [x for x in (*(s.peak for s in stands), limit) if math.isfinite(x)]
    return PlacementData(
        base.frame(result, _title(result, stands), "grouped by kind; setting at the part's own shaft",
                   base.crash_of(result), UNLESS if any(s.where for s in stands) else ""),
        tuple(stands), slots, limit, f"peak at {result.protect} ({typeset(result.unit)})",
        1.12 * max(peaks, default=1.0), max((s.heat for s in stands if math.isfinite(s.heat)), default=0.0) or 1.0,
    )  # fmt: skip


def _stand(result: ResultSet, a: Answer, place: int) -> Stand:
    setting = f"{base.effort(result, a.setting)} \u00b1{base.percent(a.tolerance)}"
    where = a.crash if a.crash != base.crash_of(result) else ""
    return Stand(a.name, place, a.part, a.slot, setting, base.in_unit(result, a.peak), a.heat, a.passed, where)


def _title(result: ResultSet, stands: Sequence[Stand]) -> str:
    """The kind for which the place matters most: lowest peak in each slot."""
    worst: tuple[float, Stand, Stand] | None = None
    for part in dict.fromkeys(s.part for s in stands):
        own = [s for s in stands if s.part == part and math.isfinite(s.peak)]
        best = [min((s for s in own if s.slot == x), key=lambda s: s.peak) for x in dict.fromkeys(s.slot for s in own)]
        best.sort(key=lambda s: s.peak)
        if len(best) < 2 or not best[0].peak > 0:
            continue
        low, high = best[0], best[-1]
        more = high.peak / low.peak - 1.0
        if worst is None or more > worst[0]:
            worst = (more, low, high)
    if worst is None:
        return f"{len(slots_of(result))} places in use, no kind of protection in more than one of them"
    more, low, high = worst
    to = typeset(result.unit)
    told = f"{base.number(low.peak)} in \u201c{low.slot}\u201d, {base.number(high.peak)}{base.SPACE}{to}"
    each = ", each in its worst crash" if low.where != high.where else ""
    return f"{low.part}: peak {told} in \u201c{high.slot}\u201d ({base.percent(more, sign=True)}){each}"
