"""Numbers of the service chart: what each situation asks of a protection against what it holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from simcore.charts import base
from simcore.results.model import Answer, Margin, ResultSet
from simcore.units import typeset

MOST_SITUATIONS: Final = 4
"""Situations side by side; those with the least to spare are drawn."""


MOST_NAMED: Final = 2
"""Situations, or groups of them, that a title names."""
ORDINARY: Final = "ordinary service"
"""In the corner: each panel names its own situation."""
FAILING: Final = {"hold": "trips", "carry": "fails"}
OTHERWISE: Final = {"does not come up to speed": "stays slow", "stretches": "stretches", "has no margin": "no margin"}
"""How the verdict's reasons begin where it fails otherwise, and the word for it."""


class Item(NamedTuple):
    """One candidate in one situation; torques at the protected shaft in the shown unit; NaN = none found."""

    name: str
    place: int
    asks: float
    setting: float
    low: float
    high: float
    percent: float
    met: bool
    words: str
    brief: str
    """The words where there is little room."""
    more: tuple[tuple[str, str], ...] = ()
    """What is to spare at the nominal setting and at the high end: in full, and short."""


class Service(NamedTuple):
    situation: str
    expect: str
    items: tuple[Item, ...]


class ServiceData(NamedTuple):
    frame: base.Frame
    services: tuple[Service, ...]
    names: tuple[tuple[str, int, str], ...]
    """Candidate, place, and its setting in words."""
    top: float
    axis: str


def service_data(result: ResultSet, most: int = MOST_SITUATIONS) -> ServiceData:
    """Margins of the candidates in the ``most`` situations that leave least to spare."""
    names = base.shown_candidates(result)
    services = [Service(s, e, _items(result, names, s)) for s, e in _situations(result).items()]
    chosen = services
    if len(services) > most:
        tight = sorted(services, key=_least)[:most]
        chosen = [s for s in services if s in tight]
    note = "grey: asked; band: setting with its tolerance; words: to spare, % of asked"
    if len(chosen) < len(services):
        note += f"; the tightest {len(chosen)} of {len(services)} situations"
    labels = tuple((n, i, _setting(result, n)) for i, n in enumerate(names))
    tops = [x for s in chosen for i in s.items for x in (i.asks, i.high) if math.isfinite(x)]
    return ServiceData(
        base.frame(result, _title(services), note, rest=ORDINARY),
        tuple(chosen),
        labels,
        1.06 * max(tops, default=1.0),
        f"torque at {result.protect} ({typeset(result.unit)})",
    )


def has_service(result: ResultSet) -> bool:
    return bool(_situations(result))


def _situations(result: ResultSet) -> dict[str, str]:
    """Situations of ordinary service and what each expects of the protection."""
    return {m.situation: m.expect for a in result.answers for m in a.margins if m.expect != "let go"}


def _items(result: ResultSet, names: Sequence[str], situation: str) -> tuple[Item, ...]:
    out = []
    for place, name in enumerate(names):
        a = base.answer_of(result, name)
        margin = next((m for m in a.margins if m.situation == situation), None) if a else None
        if a is None or margin is None:
            continue
        to = abs(a.to_protected)
        setting = base.in_unit(result, to * _set_there(a, margin))
        out.append(
            Item(
                name,
                place,
                base.in_unit(result, to * margin.asks),
                setting,
                setting * (1 - a.tolerance),
                setting * (1 + a.tolerance),
                margin.percent,
                margin.met,
                _words(result, to, margin, _failing_word(a, margin)),
                _brief(margin, _failing_word(a, margin)),
                _more(result, to, a, margin),
            )
        )
    return tuple(out)


def _set_there(a: Answer, m: Margin) -> float:
    """Setting in the situation, which a corner may change, from what it holds at the low end of its band."""
    return m.holds / (1.0 - a.tolerance) if math.isfinite(m.holds) and a.tolerance < 1.0 else a.setting


def spare(result: ResultSet, torque: float, share: float) -> str:
    """A margin as torque and per cent of what is asked."""
    plus = "+" if torque >= 0 else ""
    return f"{plus}{base.effort(result, torque)}, {base.percent(share, sign=True)}"


def _more(result: ResultSet, to: float, a: Answer, m: Margin) -> tuple[tuple[str, str], ...]:
    """To spare at the nominal setting and at the high end of the band."""
    if not (math.isfinite(m.percent) and m.asks > 0):
        return ()
    out = []
    there = _set_there(a, m)
    for where, setting in (("nominal", there), ("high end", (1 + a.tolerance) * there)):
        torque = setting - m.asks
        share = base.percent(torque / m.asks, sign=True)
        out.append((f"{where} {spare(result, to * torque, torque / m.asks)}", f"{where} {share}"))
    return tuple(out)


def _failing_word(a: Answer, m: Margin) -> str:
    """How it fails, as the verdict has it; empty where it does not."""
    if m.met:
        return ""
    told = [r for r in a.reasons if f" in '{m.situation}'" in r]
    return next((w for start, w in OTHERWISE.items() for r in told if r.startswith(f"{start} in ")),
                FAILING.get(m.expect, "fails"))  # fmt: skip


def _words(result: ResultSet, to: float, m: Margin, failing: str) -> str:
    """Margin at the low end in torque and percent, or why there is none."""
    if math.isfinite(m.percent):
        text = f"low end {spare(result, to * m.margin, m.percent / 100.0)}"
        return f"{text}, {failing}" if failing else text
    return m.note or failing or "asks nothing"


def _brief(m: Margin, failing: str) -> str:
    if math.isfinite(m.percent):
        return ", ".join(x for x in (base.percent(m.percent / 100.0, sign=True), failing) if x)
    return failing


def _setting(result: ResultSet, name: str) -> str:
    a = base.answer_of(result, name)
    if a is None:
        return ""
    to = abs(a.to_protected)
    text = f"{base.effort(result, to * a.setting)} \u00b1{base.percent(a.tolerance)}"
    if abs(to - 1.0) > 1e-9:
        text += f", own shaft {base.effort(result, a.setting)}"
    return text


def _least(s: Service) -> float:
    return min(
        (i.percent if math.isfinite(i.percent) else (-math.inf if not i.met else math.inf) for i in s.items),
        default=math.inf,
    )


def _failing(services: Sequence[Service], total: int) -> str:
    """'for "a" and "b": 3 of 4; for "c": pins': situations in which the same ones fail are told together."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for s in services:
        names = tuple(i.name for i in s.items if not i.met)
        if names:
            groups.setdefault(names, []).append(base.quoted(base.clipped(s.situation)))
    parts = []
    for names, where in groups.items():
        many = base.everyone(names, total) if len(names) == total else f"{len(names)} of {total}"
        who = base.clipped(names[0]) if len(names) == 1 else many
        told = " and ".join(where) if len(where) <= MOST_NAMED else f"{where[0]} and {len(where) - 1} more"
        parts.append(f"for {told}: {who}")
    more = sum(len(w) for w in list(groups.values())[MOST_NAMED:])
    return "; ".join([*parts[:MOST_NAMED], *([f"and in {more} more"] if more else [])])


def _title(services: Sequence[Service]) -> str:
    items = [(i, s) for s in services for i in s.items]
    if not items:
        return "No ordinary service was asked for"
    failed = [(i, s) for i, s in items if not i.met]
    total = len({i.name for i, _ in items})
    if failed:
        holding = total - len({i.name for i, _ in failed})
        rest = {0: "", 1: "; the other holds"}.get(holding, "; the others hold")
        return f"Not fit {_failing(services, total)}{rest}"
    known = [(i.percent, i, s) for i, s in items if math.isfinite(i.percent)]
    holds = {1: "The protection holds", 2: "Both hold"}.get(total, f"All {total} hold")
    if not known:
        return f"{holds} in ordinary service"
    percent, _, service = min(known, key=lambda x: x[0])
    spare = base.percent(percent / 100.0, sign=True)
    same = [i.name for p, i, s in known if s is service and base.percent(p / 100.0, sign=True) == spare]
    least = f"{spare} in {base.quoted(service.situation)} ({base.everyone(same, total)})"
    return f"{holds} in ordinary service; least to spare: {least}"
