"""The verdict on each candidate: expectations, limits, heat, margins, what it takes to run again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf, isnan, nan

import numpy as np
from numpy.typing import NDArray

from simcore.contract import OPEN, Part
from simcore.line.belt_grip import slips
from simcore.measures.cases import STARTED, Case, met
from simcore.measures.extract import per_motion, until
from simcore.measures.holding import PRECISE, first_cycle
from simcore.measures.line_mates import Mate, also_again, end_reasons, reasons
from simcore.measures.reason import Cause, How, Reason, Why
from simcore.measures.restarting import to_run_again
from simcore.measures.unsolved import has_no_steady, why
from simcore.results.model import Answer, Margin
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]

BY_CHANCE = "meets it as set, yet a higher setting fails: not monotone, no margin"
"""Remark on a margin below zero where the runs as set and at the low end meet what is expected."""
TOO_SOON = "trips before the jam comes"
"""Remark where the protection lets go in what comes before the jam, a start for instance."""


@dataclass(frozen=True, slots=True)
class Triple:
    """One candidate in one situation: nominal, high and low end; measures, and peaks of all parts."""

    case: Case
    nominal: Mapping[str, float]
    high: Mapping[str, float]
    low: Mapping[str, float]
    peaks: Mapping[str, Floats]
    """'nominal', 'high', 'low': peak of every element."""
    asks: float = nan
    note: str = ""
    back: bool | None = None
    """Whether it came back by itself (see :func:`simcore.measures.restarting.comes_back`)."""
    mates: tuple[Mate, ...] = ()
    """What else in the line let go, in the nominal run."""
    mates_over: Mapping[str, tuple[Mate, ...]] = field(default_factory=dict)
    """The same at the ends of the band, 'high' and 'low'."""
    last: str = ""
    """The part that switched last."""
    stop: str = ""
    """The stop chain that acted first, in the nominal run."""


def worse(t: Triple) -> tuple[str, Mapping[str, float]]:
    """The band end that is worse for what is expected: high for a crash, low for service."""
    return ("high", t.high) if t.case.situation.expect == "let go" else ("low", t.low)


def disconnects(part: Part, m: Mapping[str, float]) -> str:
    """How it ended, in words."""
    if "failed" in m:
        return "not known"
    if isnan(m["trigger"]):
        return "does not let go"
    if not isnan(m["reengage"]):
        return "disconnects, then re-engages"
    if not isnan(m["disconnect"]):
        return "disconnects"
    if max(k.klass for k in part.kind.modes) < OPEN:
        return "slips, does not disconnect"
    return "lets go, does not disconnect"


def limits_over(t: Triple) -> list[tuple[str, float, float]]:
    """Every limit: connection, its largest peak as set and at both ends of the band, that over its allowable."""
    out = []
    for i, e in enumerate(t.case.assembly.graph.elements):
        if e.limit is not None:
            peaks = [float(p) for end in ("nominal", "high", "low") if not isnan(p := t.peaks[end][i])]
            if peaks:
                out.append((e.name, max(peaks), max(peaks) / e.limit.allowable.si))
    return out


def setting_of(case: Case) -> float:
    """Setting of the candidate in this situation [N*m]: a corner may change it.  ValueError on the bare line."""
    i = case.assembly.candidate
    if i is None:
        raise ValueError("the bare line has no verdict")
    return float(case.assembly.graph.elements[i].part.call("sheet", case.assembly.rows[i])["setting"][0])


def margin_of(t: Triple, setting: float) -> Margin:
    """Service margin at the low end of the band."""
    s = t.case.situation
    if unanswered(t):
        holds = (1.0 - t.case.tolerance) * setting
        return Margin(s.name, s.expect, False, nan, holds, nan, nan, "no answer")
    m = worse(t)[1]
    ok = met(s.expect, dict(m), t.case.heat_limit) and met(s.expect, dict(t.nominal), t.case.heat_limit)
    holds = (1.0 - t.case.tolerance) * setting
    margin = holds - t.asks
    note = t.note
    if any(run.get("too_soon", nan) > 0.0 for run in (t.nominal, t.high, t.low)):
        ok, note = False, TOO_SOON
    if ok and margin < -2.0 * PRECISE * holds and first_cycle(t.case) is t.case:
        ok, note = False, BY_CHANCE
    return Margin(s.name, s.expect, ok, t.asks, holds, margin, 100.0 * margin / t.asks if t.asks else nan, note)


def reasons_against(triples: Sequence[Triple], margins: Sequence[Margin]) -> list[Reason]:
    """Why a candidate does not pass; empty if it passes."""
    missing = {t.case.situation.name: known for t in triples if (known := unanswered(t))}
    out = [Reason(kind, alike(missing, (kind, words)), words) for kind, words in dict.fromkeys(missing.values())]
    out += [not_met(t, m) for t, m in zip(triples, margins, strict=True) if not m.met and m.situation not in missing]
    for t in triples:
        here = (t.case.situation.name,)
        for name, _, share in limits_over(t):
            if share > 1.0:
                out.append(Reason(Why.OVER_LIMIT, here, f"{100 * share:.3g} %", name))
        burns = burnt_after(t)
        if burns:
            out.append(Reason(Why.BURNS, here, burns))
        elif rise_of(t) > t.case.heat_limit:
            out.append(Reason(Why.HEATS, here))
        out += reasons(t.mates, t.case.situation.name, t.case.situation.expect)
        out += end_reasons(t.mates_over, t.mates, t.case.situation.name, t.case.situation.expect)
    return list(dict.fromkeys(out))


def not_met(t: Triple, m: Margin) -> Reason:
    """Which expectation it fails."""
    here = (m.situation,)
    if m.note == TOO_SOON:
        return Reason(Why.TOO_SOON, here)
    if m.expect == "let go":
        return Reason(Why.NOT_LET_GO, here, causes=_belts(t))
    if m.note == BY_CHANCE:
        return Reason(Why.ONLY_AS_SET, here)
    if words := _stretched(t):
        return Reason(Why.STRETCHES, here, words)
    if m.expect == "carry":
        return Reason(Why.NOT_CARRIED, here, causes=_causes(t))
    share = float(np.fmin(t.nominal.get("speed_reached", nan), t.low.get("speed_reached", nan)))
    if share < STARTED and all(isnan(run["trigger"]) for run in (t.nominal, t.low)):
        return Reason(Why.NOT_UP, here, f"{100.0 * share:.3g} %", causes=_causes(t))
    return Reason(Why.TRIPS, here)


def _causes(t: Triple) -> tuple[Cause, ...]:
    """What keeps the load from running while the candidate itself holds."""
    if t.stop and all(isnan(run["trigger"]) for run in (t.nominal, t.low)):
        return (Cause(t.stop, How.STOPS),)
    return _belts(t)


def _belts(t: Triple) -> tuple[Cause, ...]:
    """Belt drives that slip while the candidate itself holds."""
    if not all(isnan(run["trigger"]) for run in (t.nominal, t.low)):
        return ()
    return tuple(Cause(m.name, How.SLIPS) for m in t.mates if slips(m.kind))


def _stretched(t: Triple) -> str:
    """How far it is stretched for good, as set or at its low end, where it does not let go; '' if it is not."""
    if not all(isnan(run["trigger"]) for run in (t.nominal, t.low)):
        return ""
    share = float(np.fmax(t.nominal.get("stretched", nan), t.low.get("stretched", nan)))
    return f"{100.0 * share:.2g} %" if share > 0.0 else ""


def unanswered(t: Triple) -> tuple[Why, str] | None:
    """Why it is not known how it behaves, as set or at the end of its band that decides; None if it is.

    At the low end it has to run as well, whatever is expected of it.
    """
    if has_no_steady(t.nominal):
        return Why.NO_STEADY, ""
    if words := why(t.nominal):
        return Why.NO_ANSWER, f": {words}"
    if has_no_steady(t.low):
        return Why.NO_STEADY, " at the low end of its band"
    end, m = worse(t)
    return (Why.NO_ANSWER, f" at the {end} end of its band: {words}") if (words := why(m)) else None


def alike(situations: Mapping[str, tuple[Why, str]], known: tuple[Why, str]) -> tuple[str, ...]:
    """The situations of which the same is known."""
    return tuple(s for s, k in situations.items() if k == known)


def burnt_after(t: Triple) -> str:
    """When it passes its heat limit, as set and at the end of its band at which it does so earlier; empty if never."""
    own = t.nominal["burns_at"]
    ends = [(m["burns_at"], end) for end, m in (("high", t.high), ("low", t.low)) if not isnan(m["burns_at"])]
    first, end = min(ends, default=(nan, ""))
    if isnan(first) or own <= first:
        return "" if isnan(own) else f"after {own:.3g} s"
    return f"after {first:.3g} s at the {end} end of its band" + ("" if isnan(own) else f", {own:.3g} s as set")


def rise_of(t: Triple) -> float:
    """Largest temperature rise [K], as set and at both ends of the band.

    What slips harder at the high end may at the low one slip on where the motor would have stalled.
    """
    return float(np.fmax.reduce([m["rise"] for m in (t.nominal, t.high, t.low)]))


def answer(name: str, triples: Sequence[Triple]) -> Answer:
    """Verdict on one candidate from all its situations (at least one)."""
    crash = _worst_crash(triples)
    c = crash.case
    a = c.assembly
    setting = setting_of(c)
    i = a.candidate or 0
    element = a.graph.elements[i]
    margins = tuple(margin_of(t, setting_of(t.case)) for t in triples)
    against = reasons_against(triples, margins)
    shares = [(share, who, t.case.situation.name) for t in triples for who, _, share in limits_over(t)]
    use, worst, where = max(shares, key=lambda s: s[:2], default=(nan, "", ""))
    gain = abs(float(per_motion(a, c.protected)[i])) if c.protected >= 0 else 1.0
    m = crash.nominal
    kind = element.part.kind
    again = to_run_again(c, m, [t.back for t in triples])
    return Answer(
        name=name, part=kind.name, slot=_slot(c), setting=setting,
        tolerance=c.tolerance, breakaway=setting * float(element.part.described("band", a.rows[i], a.tab)),
        to_protected=gain, crash=c.situation.name, trigger=m["trigger"], lets_go=m["lets_go"],
        disconnect=m["disconnect"], reengage=m["reengage"], disconnects=disconnects(element.part, m),
        peak=m["peak"], peak_time=m["peak_time"], use=use, worst_limit=worst,
        overshoot=m["peak"] - setting * gain, impulse=m["impulse"], energy=m["energy"], until=until(dict(m)),
        heat=m["heat"], rise=float(np.fmax.reduce([rise_of(t) for t in triples])), rise_limit=c.heat_limit,
        slip_angle=m["slip_angle"], tally=m["tally"], tally_name=kind.tally, margins=margins,
        passed=not against, reasons=tuple(r.text for r in against), again=again.words + also_again(crash.mates),
        again_seconds=again.seconds, rank=0, phase_kept=again.phase_kept, worst_situation=where,
        window_low=_window_low(c, margins),
        window_high=_window_high(triples, crash, setting, gain),
    )  # fmt: skip


def _window_low(c: Case, margins: Sequence[Margin]) -> float:
    """Lowest setting that holds every service situation at the low end; inf if one fails at any setting."""
    asks = [inf if isnan(g.asks) else g.asks for g in margins if g.expect != "let go"]
    return max(asks, default=nan) / (1.0 - c.tolerance)


def _window_high(triples: Sequence[Triple], worst: Triple, setting: float, gain: float) -> float:
    """Highest setting at which breakaway plus overshoot, at the high end, stays below the allowable in all crashes.

    What a run sees beyond its breakaway is taken to stay as it is; where it sees less, its share of it.
    """
    c, a, i = worst.case, worst.case.assembly, worst.case.assembly.candidate or 0
    limit = c.scenario.station(c.scenario.protect).limit
    if limit is None or isnan(worst.nominal["peak"]) or gain == 0.0:
        return nan
    breakaway = float(a.graph.elements[i].part.described("band", a.rows[i], a.tab)) * setting * gain
    crashes = [t for t in triples if t.case.situation.expect == "let go"] or [worst]
    runs = [(f, m["peak"]) for t in crashes for f, m in ((1.0, t.nominal), (1.0 + c.tolerance, t.high))]
    reach = [_reaches(limit.allowable.si, peak, f, breakaway) for f, peak in runs if not isnan(peak)]
    return setting * min(reach) / (1.0 + c.tolerance)


def _reaches(bears: float, peak: float, f: float, breakaway: float) -> float:
    """Times the setting at which the peak of a run at ``f`` times the setting would come to what the part ``bears``."""
    if not peak > 0.0:
        return inf
    return bears * f / peak if peak < f * breakaway else f + (bears - peak) / breakaway


def _worst_crash(triples: Sequence[Triple]) -> Triple:
    crashes = [t for t in triples if t.case.situation.expect == "let go"] or list(triples)
    return max(crashes, key=lambda t: -inf if isnan(t.nominal["peak"]) else t.nominal["peak"])


def _slot(c: Case) -> str:
    """The slot the candidate sits in."""
    return "" if c.candidate is None else c.scenario.slot_of(c.candidate).name


def ranked(answers: Sequence[Answer]) -> tuple[Answer, ...]:
    """Passing candidates first, those without an answer last: the larger least margin, ties by time to run again.

    What is alike to the digits told is a tie.
    """

    def key(a: Answer) -> tuple[bool, bool, float, float]:
        return (not a.passed, isnan(a.peak), -a.rank_margin, a.rank_seconds)

    order = sorted(answers, key=key)
    rank = {a.name: i + 1 for i, a in enumerate(order)}
    return tuple(replace(a, rank=rank[a.name]) for a in answers)


def peaks_of(meas: Floats) -> Floats:
    """Peak of every element."""
    return meas[:-1, ar.PEAK]
