"""Values of one factor as they are written: a grid, a distribution.  Nothing is raised; faults become findings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, cast

from simcore import units
from simcore.scenario.csv_columns import FileFault, columns, numbers, only_column, written_unit
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.plan import Scatter, Word
from simcore.scenario.words import GRID, SCATTERS, SPACINGS, nearest

MOST_STEPS: Final = 100_000
LEAST_LEFT: Final = 1e-6
"""Smallest share of a distribution that low and high may leave."""


@dataclass
class Reader:
    """Reads values of one kind; ``unit`` is that of the first sound value, ``files`` what was opened."""

    kind: str
    folder: str
    found: list[Finding]
    unit: str = ""
    files: list[str] = field(default_factory=list)

    def number(self, value: object, spot: Spot, kind: str = "") -> float | None:
        """One value in SI, or None and a finding."""
        try:
            quantity = units.parse(value, kind or self.kind)
        except units.UnitFault as fault:
            hint = fault.hint
            if self.kind == "ratio" and isinstance(value, str):
                hint = "a bare number such as 1.1 where times = true; leave times out to replace the value"
            self._tell(spot, fault.rule, fault.got, hint)
            return None
        if not kind and not self.unit:
            self.unit = written_unit(value, self.kind)
        return quantity.si

    def grid(self, value: object, spot: Spot) -> tuple[float, ...]:
        """Values of a grid in the order written; empty if something is wrong."""
        if isinstance(value, list):
            return self._listed(value, spot)
        if isinstance(value, dict):
            return self._stepped(value, spot)
        hint = "write grid = { from = ..., to = ..., steps = 13 } or a list of values"
        self._tell(spot, "must be a table in braces or a list", units.shown(value), hint)
        return ()

    def scatter(self, value: object, spot: Spot) -> Scatter | None:
        """A distribution; None if something is wrong."""
        if not isinstance(value, dict):
            self._tell(spot, "must be a table in braces", units.shown(value), "write { normal = 1.0, sd = 0.05 }")
            return None
        word = self._word(value, spot)
        if word is None:
            return None
        sound = self._known(value, (word, *SCATTERS[word]), spot, f"a {word} scatter")
        if word == "measured":
            return self._measured(value[word], (*spot, word))
        nums = self._bell(word, value, spot) if SCATTERS[word] else self._ends(word, value[word], (*spot, word))
        return self._cut(word, nums, value, spot) if nums and sound else None

    def column(self, file: Any, place: int, spot: Spot) -> tuple[float, ...]:
        """A column of a file in SI; empty if something is wrong."""
        try:
            out, unit = numbers(file, place, self.kind)
        except FileFault as fault:
            self._tell(spot, fault.rule, "", fault.hint)
            return ()
        self.unit = self.unit or unit
        return out

    def _tell(self, spot: Spot, rule: str, got: str = "", hint: str = "") -> None:
        self.found.append(Finding(spot, rule, got, hint))

    def _known(self, table: Mapping[str, Any], words: tuple[str, ...], spot: Spot, title: str) -> bool:
        unknown = [w for w in table if w not in words]
        for w in unknown[:10]:
            self._tell((*spot, w), f"is not a word of {title}", "", nearest(w, words))
        return not unknown

    def _all(self, values: list[Any], spot: Spot) -> tuple[float, ...]:
        out = [self.number(v, (*spot, n)) for n, v in enumerate(values)]
        return tuple(x for x in out if x is not None) if None not in out else ()

    def _listed(self, values: list[Any], spot: Spot) -> tuple[float, ...]:
        if not values or len(values) > MOST_STEPS:
            self._tell(spot, f"must have 1 to {MOST_STEPS} values", f"{len(values)}")
            return ()
        out = tuple(clean(x) for x in self._all(values, spot))
        seen: set[float] = set()
        for n, x in enumerate(out):
            if x in seen:
                self._tell((*spot, n), "this value stands twice in the grid", units.shown(values[n]))
                return ()
            seen.add(x)
        return out

    def _stepped(self, table: dict[str, Any], spot: Spot) -> tuple[float, ...]:
        sound = self._known(table, GRID, spot, "a grid")
        for w in GRID[:3]:
            if w not in table:
                self._tell(spot, f"{w} is missing in the grid", "", "write { from = ..., to = ..., steps = 13 }")
        spacing = table.get("spacing", SPACINGS[0])
        if spacing not in SPACINGS:
            rule = f"must be one of {', '.join(SPACINGS)}"
            self._tell((*spot, "spacing"), rule, units.shown(spacing), nearest(spacing, SPACINGS))
        a = self.number(table["from"], (*spot, "from")) if "from" in table else None
        b = self.number(table["to"], (*spot, "to")) if "to" in table else None
        steps = self._steps(table["steps"], (*spot, "steps")) if "steps" in table else None
        if a is None or b is None:
            return ()
        if a >= b:
            got = f"{units.shown(table['from'])} and {units.shown(table['to'])}"
            self._tell((*spot, "from"), "from must be less than to", got)
        elif spacing == "log" and a <= 0:
            self._tell((*spot, "from"), "must be above 0 where the spacing is log", units.shown(table["from"]))
        elif steps is not None and sound and spacing in SPACINGS:
            return self._whole(spread(a, b, steps, spacing == "log"), spot)
        return ()

    def _steps(self, value: object, spot: Spot) -> int | None:
        steps = self.number(value, spot, "count")
        if steps is not None and not 2 <= steps <= MOST_STEPS:
            self._tell(spot, f"must be 2 to {MOST_STEPS} values, both ends included", units.shown(value))
            return None
        return int(steps) if steps is not None else None

    def _whole(self, values: tuple[float, ...], spot: Spot) -> tuple[float, ...]:
        broken = [x for x in values if self.kind == "count" and x != round(x)]
        if broken:
            hint = "write grid = [4, 6, 8], or other steps"
            self._tell((*spot, "steps"), "the steps of a count must be whole numbers", f"{broken[0]:g}", hint)
            return ()
        return values

    def _word(self, table: dict[str, Any], spot: Spot) -> Word | None:
        words = [w for w in table if w in SCATTERS]
        if len(words) == 1:
            return cast(Word, words[0])
        if words:
            self._tell((*spot, words[1]), f"two distributions in one scatter, {words[0]} and {words[1]}")
            return None
        beside = {w for more in SCATTERS.values() for w in more}
        strange = next((w for w in table if w not in beside), None)
        if strange is None:
            self._tell(spot, "names no distribution", "", f"valid: {', '.join(SCATTERS)}")
        else:
            near = nearest(strange, SCATTERS)
            self._tell((*spot, strange), "is not a distribution", units.shown(strange), near)
        return None

    def _bell(self, word: Word, table: dict[str, Any], spot: Spot) -> tuple[float, ...]:
        wide = SCATTERS[word][0]
        middle = self.number(table[word], (*spot, word))
        if wide not in table:
            what = "standard deviation" if wide == "sd" else "standard deviation of the natural logarithm"
            self._tell(spot, f"{wide} is missing: the {what}", "", f"write {wide} = ...")
            return ()
        sd = self.number(table[wide], (*spot, wide), "ratio" if wide == "sd_log" else "")
        if word == "lognormal" and middle is not None and middle <= 0:
            self._tell((*spot, word), "the median of a lognormal must be above 0", units.shown(table[word]))
            return ()
        if sd is not None and sd <= 0:
            self._tell((*spot, wide), "must be above 0", units.shown(table[wide]), "leave the factor out to hold it")
            return ()
        return (middle, sd) if middle is not None and sd is not None else ()

    def _ends(self, word: Word, value: object, spot: Spot) -> tuple[float, ...]:
        names = ("low end", "mode", "high end") if word == "triangular" else ("low end", "high end")
        if not isinstance(value, list) or len(value) != len(names):
            got = f"{len(value)} of them" if isinstance(value, list) else units.shown(value)
            hint = f"write {word} = [{', '.join(n.replace(' ', '_') for n in names)}]"
            self._tell(spot, f"must be a list of {len(names)}: {', '.join(names)}", got, hint)
            return ()
        nums = self._all(value, spot)
        if not nums:
            return ()
        got = ", ".join(str(v) for v in value)
        if nums[0] >= nums[-1]:
            self._tell(spot, "the low end must be less than the high end", got)
        elif not nums[0] <= nums[-2] <= nums[-1]:
            self._tell(spot, "the mode must lie between the ends", got)
        elif word == "log_uniform" and nums[0] <= 0:
            self._tell(spot, "the ends of a log_uniform must be above 0", got)
        else:
            return nums
        return ()

    def _cut(self, word: Word, nums: tuple[float, ...], table: dict[str, Any], spot: Spot) -> Scatter | None:
        asked = [w for w in ("low", "high") if w in table]
        limits = {w: x for w in asked if (x := self.number(table[w], (*spot, w))) is not None}
        if len(limits) < len(asked):
            return None
        ends = {"low": -math.inf, "high": math.inf, **limits}
        low, high = ends["low"], ends["high"]
        out = Scatter(word, nums, low, high)
        if low >= high:
            got = f"{units.shown(table['low'])} and {units.shown(table['high'])}"
            self._tell((*spot, "low"), "low must be less than high", got)
            return None
        if limits and out.below(high) - out.below(low) < LEAST_LEFT:
            share = units.plain(out.below(high) - out.below(low), 2)
            self._tell(
                (*spot, next(iter(limits))), f"low and high leave almost nothing of the {word}, a share of {share}"
            )
            return None
        return out

    def _measured(self, value: object, spot: Spot) -> Scatter | None:
        if not isinstance(value, str) or not value.strip():
            self._tell(spot, "must be the name of a file in quotes", units.shown(value))
            return None
        try:
            file = columns(self.folder, value)
            place = only_column(file)
        except FileFault as fault:
            self._tell(spot, fault.rule, "", fault.hint)
            return None
        self.files.append(value)
        values = tuple(sorted(self.column(file, place, spot)))
        if values and values[0] == values[-1]:
            self._tell(spot, f"all values of {value} are the same, nothing scatters")
            return None
        return Scatter("measured", (), values=values) if values else None


def clean(x: float) -> float:
    """A value to 12 significant digits: the same cell of a longer grid is the same number."""
    return float(f"{x:.12g}")


def spread(a: float, b: float, steps: int, log: bool) -> tuple[float, ...]:
    """``steps`` values from ``a`` to ``b``, evenly or by a constant factor."""
    if log:
        return tuple(clean(a * (b / a) ** (i / (steps - 1))) for i in range(steps))
    return tuple(clean(a + (b - a) * i / (steps - 1)) for i in range(steps))
