"""Whether the values of a sweep stay within the hard bounds of the inputs they act on."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from simcore import units
from simcore.contract import Param
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.models import bound, spell
from simcore.scenario.plan import Factor
from simcore.scenario.sweep_targets import Target

WORTH_TELLING: Final = 1e-3
"""Draws of a sweep that may be expected to leave a bound before it is told."""
HALF: Final = 0.5
_SLACK: Final = 1e-9

Column = Mapping[str, tuple[float, ...]]


class Written(NamedTuple):
    """A factor with its place in the file and the inputs it acts on."""

    factor: Factor
    spot: Spot
    targets: tuple[Target, ...]


def bounds(all_written: Sequence[Written], table: Column, draws: int) -> tuple[list[Finding], list[str]]:
    """Values that leave a hard bound, and warnings on distributions whose tails may."""
    found: list[Finding] = []
    notes: list[str] = []
    replaced = {t.spot: w.factor for w in all_written if not w.factor.times for t in w.targets}
    for w in all_written:
        for t in w.targets:
            bases = _bases(t, replaced, table) if w.factor.times else (1.0,)
            hit = next((f for f in _ends(w, t, bases, table)), None)
            if hit:
                found.append(hit)
                break
            finding, note = _tails(w, t, bases, draws)
            if finding or note:
                found += [finding] if finding else []
                notes += [note] if note else []
                break
    return found, notes


def _bases(t: Target, replaced: Mapping[Spot, Factor], table: Column) -> tuple[float, ...]:
    """What a ratio multiplies: the scenario's own value, or the ends of what replaces it."""
    if t.spot in replaced:
        return tuple(x for x, _, _ in _extremes(replaced[t.spot], table))
    return (t.own.si,) if t.own else ()


def _extremes(f: Factor, table: Column) -> list[tuple[float, Spot, bool]]:
    """Finite ends of a factor's values, their place below the factor, and whether the end itself is never met."""
    if f.grid:
        return [(x, ("grid",), False) for x in (min(f.grid), max(f.grid))]
    if f.name in table:
        return [(x, (), False) for x in (min(table[f.name]), max(table[f.name]))]
    if f.scatter is None:
        return []
    low, high = f.scatter.support
    never = f.scatter.word == "lognormal" and f.scatter.low <= 0.0
    return [(x, ("scatter",), never and x == low) for x in (low, high) if math.isfinite(x)]


def _ends(w: Written, t: Target, bases: Iterable[float], table: Column) -> Iterable[Finding]:
    for x, below, never in _extremes(w.factor, table):
        for base in bases:
            rule = broken(t.param, x * base, never)
            if rule:
                how = f"{units.plain(x, 4)} times the scenario's value, " if w.factor.times else ""
                got = f"{how}{units.show(x * base, t.kind)}"
                yield Finding((*w.spot, *below), f"{t.path} {rule}", got)


def broken(param: Param, value: float, never: bool = False) -> str | None:
    """The bound of an input that a value leaves, in words; ``never``: the value itself is not met, only neared."""
    low, high, above = (bound(b, param.kind) for b in (param.low, param.high, param.above))
    slack = _SLACK * abs(value)
    if above is not None and (value < above or (value == above and not never)):
        return f"must be above {spell(param.above, param.kind)}"
    if low is not None and value < low - slack:
        return f"must be at least {spell(param.low, param.kind)}"
    if high is not None and value > high + slack:
        return f"must be at most {spell(param.high, param.kind)}"
    return None


def _tails(w: Written, t: Target, bases: Sequence[float], draws: int) -> tuple[Finding | None, str]:
    """A normal or lognormal that is not cut off: a finding if most of it is out, a note if some draws may be."""
    s = w.factor.scatter
    if s is None or s.word not in ("normal", "lognormal"):
        return None, ""
    low, high, above = (bound(b, t.param.kind) for b in (t.param.low, t.param.high, t.param.above))
    least = max((b for b in (low, above) if b is not None), default=-math.inf)
    most = math.inf if high is None else high
    out = 0.0
    for base in (b for b in bases if b):
        a, b = sorted((least / base, most / base))
        left = s.below(min(b, s.high)) - s.below(max(a, s.low))
        kept = s.below(s.high) - s.below(s.low)
        out = max(out, 1.0 - left / kept)
    if out >= HALF:
        rule = f"most values of the {s.word} leave the bounds of {t.path}"
        return Finding((*w.spot, "scatter"), rule, "", "cut it off with low and high, or move it"), ""
    if out * draws < WORTH_TELLING:
        return None, ""
    share = units.plain(out, 2)
    return None, f"{w.factor.name}: a share of {share} of the {s.word} leaves the bounds of {t.path}; add low or high"
