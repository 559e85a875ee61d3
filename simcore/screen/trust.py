"""Why the figures may be trusted, or not: hand formulas, defaults, ledger, damping, inertias."""

from __future__ import annotations

from math import isfinite, isnan, nan

from simcore import units
from simcore.results.model import HandBound, ResultSet
from simcore.screen.numbers import effort, effort_unit, protected_is_force, share, signed

TELLING = 3
"""Defaults that are named."""
LITTLE = 1e-3
"""Change of peak over allowable below which a default is not worth a name."""


def hand_check(result: ResultSet) -> str:
    """Hand estimate and bound beside the run's value, equal bounds of several candidates together."""
    unit = effort_unit(result)
    groups: dict[tuple[str, str, str], list[HandBound]] = {}
    for b in result.bounds:
        if isfinite(b.value):
            key = (b.situation, b.what.split(",")[0], effort(b.bound, unit))
            groups.setdefault(key, []).append(b)
    return " ".join(_hand(bs, unit) for bs in groups.values())


def _hand(bs: list[HandBound], unit: str) -> str:
    low, high = min(b.value for b in bs), max(b.value for b in bs)
    first = bs[0]
    what = first.what if len(bs) == 1 else first.what.split(",")[0]
    ends = dict.fromkeys(effort(v, unit) for v in (low, high))
    run = " to ".join(ends)
    about = f"by hand about {effort(first.estimate, unit)}, " if isfinite(first.estimate) else "by hand "
    text = f"'{first.situation}' ({what}): run {run}, {about}at most {effort(first.bound, unit)} {unit}"
    return text + (": ABOVE ITS BOUND, do not trust it." if high > first.bound else ".")


def defaults(result: ResultSet) -> str:
    """How many values were not given, and which of them matter most."""
    count = len(result.defaults)
    if not count:
        return "every value was given"
    resolved = result.provenance.get("resolved", {})
    total = len(resolved) if hasattr(resolved, "__len__") else 0
    text = f"{count} of {total} values" if total >= count else f"{count} values"
    text += " were not given and took their default."
    told = [d for d in result.defaults if isfinite(d.swing) and d.swing >= LITTLE]
    if told:
        most = ", ".join(f"{d.path} = {d.text} ({share(d.swing)})" for d in told[:TELLING])
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
    total = sum(result.inertias.values())
    ranked = sorted(result.inertias.items(), key=lambda item: -item[1])
    told = ", ".join(f"{n} {units.plain(j)}" for n, j in ranked if j > 0.0)
    return " ".join([f"Seen at '{result.protect}': {told}; {units.plain(total)} {unit} in all.", *_sides(result)])


def _sides(result: ResultSet) -> list[str]:
    """Inertia before and behind the protection, at its own shaft, once for each slot: the best candidate's."""
    out: dict[str, str] = {}
    for a in sorted(result.answers, key=lambda a: a.rank):
        before, behind = (result.findings.get(f"inertia {w} '{a.name}'", nan) for w in ("before", "behind"))
        if isfinite(before) and isfinite(behind) and a.slot not in out:
            out[a.slot] = (f"Seen at '{a.slot}': {units.plain(before)} kg*m^2 before the {a.name}, "
                           f"{units.plain(behind)} behind it.")  # fmt: skip
    return list(out.values())
