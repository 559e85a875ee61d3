"""Why the figures may be trusted, or not: hand formulas, defaults, ledger, damping, inertias."""

from __future__ import annotations

from math import inf, isfinite, isnan, nan
from typing import NamedTuple

from simcore.inertia_words import VARIES, over_a_turn, ranked_words
from simcore.results.model import HandBound, ResultSet
from simcore.screen.alike import quoted
from simcore.screen.numbers import effort, effort_unit, protected_is_force, share, signed

TELLING = 2
"""Defaults that are named."""
LITTLE = 1e-3
"""Change of peak over allowable below which a default is not worth a name."""
WEIGHTY = 1e-2
"""The same where another one moves it more."""

UNBOUND = 1e-6
"""What stands for nearness to a bound, over the share of the estimate, where no bound is known."""


class Hand(NamedTuple):
    """Equal bounds of several candidates in one situation, or those of the bare line."""

    situation: str
    kind: str
    text: str
    share: float
    """Largest value over its bound."""


def hand_check(result: ResultSet, whole: bool = False) -> str:
    """Hand estimate and bound beside the run's value, equal ones together.

    Of each kind the one nearest to its bound, and every one above it; ``whole``: all.
    """
    told, _ = _hands(result, whole)
    return " ".join(map(_together, told))


def hand_bounds_left(result: ResultSet) -> int:
    """How many :func:`hand_check` leaves out, all of them below their bounds."""
    return _hands(result, False)[1]


def _hands(result: ResultSet, whole: bool) -> tuple[list[list[Hand]], int]:
    """Those that are told, the equal ones together, and how many are not."""
    unit = effort_unit(result)
    groups: dict[tuple[str, str, str], list[HandBound]] = {}
    for b in result.bounds:
        if isfinite(b.value):
            key = (b.situation, b.what.split(",")[0], effort(b.bound, unit))
            groups.setdefault(key, []).append(b)
    alike: dict[tuple[str, str], list[Hand]] = {}
    for h in (_hand(bs, unit) for bs in groups.values()):
        alike.setdefault((h.kind, h.text), []).append(h)
    nearest: dict[str, float] = {}
    for (kind, _), hands in alike.items():
        nearest[kind] = max(nearest.get(kind, 0.0), *(h.share for h in hands))
    told = [hs for (kind, _), hs in alike.items() if whole or _tells(hs, nearest[kind])]
    return told, sum(map(len, alike.values())) - sum(map(len, told))


def _tells(hands: list[Hand], nearest: float) -> bool:
    return any(h.share > 1.0 or h.share >= nearest for h in hands)


def _hand(bs: list[HandBound], unit: str) -> Hand:
    low, high = min(b.value for b in bs), max(b.value for b in bs)
    first = bs[0]
    what = first.what if len(bs) == 1 else first.what.split(",")[0]
    ends = dict.fromkeys(effort(v, unit) for v in (low, high))
    run = " to ".join(ends)
    about = f"by hand {effort(first.estimate, unit)}, " if isfinite(first.estimate) else "by hand "
    most = "" if isnan(first.bound) else f"at most {effort(first.bound, unit)}"
    text = f"({what}): run {run}, {about}{most}".rstrip(", ") + f" {unit}"
    return Hand(first.situation, first.what.split(",")[0], text, _nearness(first, high))


def _nearness(b: HandBound, value: float) -> float:
    """Share of the bound; where none is known hardly any, by the estimate."""
    if isnan(b.bound):
        return UNBOUND * value / b.estimate if b.estimate > 0.0 else 0.0
    return value / b.bound if b.bound > 0.0 else inf


def _together(hands: list[Hand]) -> str:
    first = hands[0]
    also = f", likewise in {quoted(h.situation for h in hands[1:])}" if hands[1:] else ""
    above = ": ABOVE ITS BOUND, do not trust it." if any(h.share > 1.0 for h in hands) else "."
    return f"'{first.situation}' {first.text}{also}{above}"


def defaults(result: ResultSet) -> str:
    """How many values were not given, and which of them matter most."""
    count = len(result.defaults)
    if not count:
        return "every value was given"
    resolved = result.provenance.get("resolved", {})
    total = len(resolved) if hasattr(resolved, "__len__") else 0
    text = f"{count} of {total} values" if total >= count else f"{count} values"
    text += " took their default."
    told = [d for d in result.defaults if isfinite(d.swing) and d.swing >= LITTLE]
    if told:
        weighty = [d for d in told if d.swing >= WEIGHTY] or told[:1]
        most = ", ".join(f"{d.path} = {d.text} ({share(d.swing)})" for d in weighty[:TELLING])
        return f"{text} Over its usual range the peak moves most, in % of what it bears, by {most}."
    if any(not isnan(d.swing) for d in result.defaults):
        return f"{text} None moves the peak by more than {share(LITTLE)} of what it bears over its usual range."
    return text


def numerics(result: ResultSet) -> str:
    """Ledger, tighter run, damping halved and doubled."""
    f = result.findings
    out = []
    if isfinite(f.get("worst ledger residual", float("nan"))):
        out.append(f"energy ledger open by {_tiny(f['worst ledger residual'])} at most")
    if isfinite(f.get("tighter run moves the peak by", float("nan"))):
        out.append(f"a run ten times tighter moves the peak by {_tiny(abs(f['tighter run moves the peak by']))}")
    halved, doubled = (f.get(f"damping {w} moves the peak by", float("nan")) for w in ("halved", "doubled"))
    if isfinite(halved) and isfinite(doubled):
        out.append(f"damping halved moves it by {signed(100 * halved)}, doubled by {signed(100 * doubled)}")
        if halved * doubled > 0.0 and min(abs(halved), abs(doubled)) >= LITTLE:
            out[-1] += f" (both {'up' if halved > 0.0 else 'down'}: it eats swing, but also hands torque on)"
    text = "; ".join(out)
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _tiny(part: float) -> str:
    """A share so small that its size is what matters.

    >>> _tiny(1.145e-07), _tiny(0.0)
    ('1.1e-07', 'nothing')
    """
    if part == 0.0:
        return "nothing"
    return share(part) if part >= LITTLE else f"{part:.1e}"


def inertias(result: ResultSet) -> str:
    """Who brings how much, as seen at the protected connection, the largest first; both sides of each protection."""
    if not result.inertias:
        return " ".join(_sides(result))
    unit = "kg" if protected_is_force(result) else "kg*m^2"
    varies = {k[len(VARIES) + 2 : -1]: v for k, v in result.findings.items() if k.startswith(f"{VARIES} '")}
    total = over_a_turn(sum(result.inertias.values()), sum(varies.values()), f" {unit} in all")
    told = ranked_words(result.inertias, varies, {})
    return " ".join([f"Seen at '{result.protect}': {told}; {total}.", *_sides(result)])


def _varies(result: ResultSet, side: str) -> float:
    """What varies over a turn on one side of a candidate, at most (``measures/sides.py``)."""
    return result.findings.get(f"{VARIES}, inertia {side}", 0.0)


def _sides(result: ResultSet) -> list[str]:
    """Inertia before and behind the protection, at its own shaft, once for each slot: the best candidate's."""
    out: dict[str, str] = {}
    for a in sorted(result.answers, key=lambda a: a.rank):
        before, behind = (result.findings.get(f"inertia {w} '{a.name}'", nan) for w in ("before", "behind"))
        if isfinite(before) and isfinite(behind) and a.slot not in out:
            seen, unit = ("at", "") if out else ("Seen at", " kg*m^2")
            first = over_a_turn(before, _varies(result, f"before '{a.name}'"), unit)
            second = over_a_turn(behind, _varies(result, f"behind '{a.name}'"))
            out[a.slot] = f"{seen} '{a.slot}': {first} before the {a.name}, {second} behind it"
    return [f"{'; '.join(out.values())}."] if out else []
