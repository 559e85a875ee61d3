"""What all charts share: which runs, which units, and the words around a picture."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from simcore.results.model import BARE, Answer, ResultSet, Run
from simcore.units import plain, to_unit, typeset

MOST: Final = 20
"""Candidates that fit on one chart; with more the best ones are drawn."""
TOLD_APART: Final = 8
"""Candidates that colour, line and marker tell apart; more are told apart by their place, best first."""
SPACE: Final = "\u00a0"
UNBROKEN: Final = 40
"""Parts of the corner up to this length stay on one line."""
LONG_NAME: Final = 30
"""Names are cut to this many letters in titles."""
UNPROTECTED: Final = "no protection"


class Frame(NamedTuple):
    """Words around a chart: the answer, the scenario, and what was set, jammed and used."""

    title: str
    subtitle: str
    corner: str
    verdicts: tuple[bool | None, ...] = ()
    """With too many candidates to tell apart by colour: whether each passes; None if it was not judged."""


def shown_candidates(result: ResultSet) -> tuple[str, ...]:
    """Candidates on the charts without the bare line: in the order of the file; many of them best first."""
    names = [c for c in result.candidates if c != BARE]
    if len(names) > TOLD_APART:
        rank = {a.name: a.rank for a in result.answers}
        names.sort(key=lambda n: rank.get(n, len(names) + 1))
    return tuple(names[:MOST])


def verdicts(result: ResultSet) -> tuple[bool | None, ...]:
    """Whether each candidate on the charts passes; empty while colours tell them apart."""
    shown = shown_candidates(result)
    if len(shown) <= TOLD_APART:
        return ()
    passed = {a.name: a.passed for a in result.answers}
    return tuple(passed.get(n) for n in shown)


def label_of(name: str) -> str:
    return UNPROTECTED if name == BARE else name


def answer_of(result: ResultSet, name: str) -> Answer | None:
    return next((a for a in result.answers if a.name == name), None)


def crash_of(result: ResultSet) -> str:
    """The situation drawn as the crash: the verdict's, else the first that asks to let go, else the first."""
    for a in result.answers:
        if a.crash in result.situations:
            return a.crash
    asked = [s for (_, s), r in result.runs.items() if r.expect == "let go"]
    return (asked or list(result.situations) or [""])[0]


def run_of(result: ResultSet, name: str, situation: str) -> Run | None:
    return result.runs.get((name, situation))


NO_ANSWER: Final = "no answer"
"""What stands for a number of a run that was given up."""


def solved(run: Run) -> bool:
    """Whether the run has an answer; the trace of one that was given up ends early and has no measures."""
    return "failed" not in run.measures


def given_up(run: Run) -> float:
    """Instant [s] at which the solver gave the run up; NaN if it did not."""
    return float(run.time[-1]) if not solved(run) and len(run.time) else math.nan


def no_answer(run: Run) -> str:
    """What stands beside a curve that was given up."""
    return f"{NO_ANSWER}, given up at {moment(given_up(run))}" if len(run.time) > 1 else NO_ANSWER


def unanswered(result: ResultSet, situation: str = "") -> list[str]:
    """Who on the charts has no answer in ``situation`` (default: in any), the bare line last."""
    names = [*shown_candidates(result), BARE]
    lost = {n for (n, s), r in result.runs.items() if situation in ("", s) and not solved(r)}
    return [n for n in names if n in lost]


def told_unanswered(names: Sequence[str]) -> str:
    """Their names behind NO_ANSWER; '' if there are none."""
    told = [listing([n for n in names if n != BARE], 3)] if set(names) - {BARE} else []
    return f"{NO_ANSWER}: {', '.join([*told, *(['without protection'] if BARE in names else [])])}" if names else ""


def protected_column(result: ResultSet, run: Run) -> int | None:
    """Column of the protected connection; None if this run does not have it."""
    names = [c.name for c in run.connections]
    return names.index(result.protect) if result.protect in names else None


def in_unit(result: ResultSet, si: float) -> float:
    """A torque (or force) in the unit that the result set shows."""
    return to_unit(si, "effort", result.unit) if math.isfinite(si) else si


def number(x: float) -> str:
    """Three significant digits with a real minus sign."""
    return plain(x).replace("-", "\u2212") if math.isfinite(x) else "n/a"


def effort(result: ResultSet, si: float, unit: str = "") -> str:
    """A torque as text with its unit."""
    unit = unit or result.unit
    return f"{number(to_unit(si, 'effort', unit))}{SPACE}{typeset(unit)}" if math.isfinite(si) else "n/a"


def milliseconds(seconds: float) -> str:
    return f"{number(1e3 * seconds)}{SPACE}ms" if math.isfinite(seconds) else "never"


def moment(seconds: float) -> str:
    """Milliseconds up to two seconds, seconds from there, as on the axes."""
    return milliseconds(seconds) if not seconds >= 2.0 else f"{number(seconds)}{SPACE}s"


def time_scale(stop: float) -> tuple[float, str]:
    """What seconds are multiplied with, and the unit, for an axis that ends at ``stop`` [s]."""
    for least, factor, unit in ((7200.0, 1.0 / 3600.0, "h"), (180.0, 1.0 / 60.0, "min"), (2.0, 1.0, "s")):
        if stop >= least:
            return factor, unit
    return 1e3, "ms"


def joules(energy: float) -> str:
    if not math.isfinite(energy):
        return "n/a"
    size = abs(energy)
    for factor, unit in ((1e6, "MJ"), (1e3, "kJ"), (1.0, "J"), (1e-3, "mJ")):
        if size >= 0.9995 * factor:
            return f"{number(energy / factor)}{SPACE}{unit}"
    return f"{number(energy / 1e-3)}{SPACE}mJ" if size >= 1e-6 else f"0{SPACE}J"


def percent(share: float, sign: bool = False) -> str:
    """A share as per cent; whole numbers from 10 % up."""
    if not math.isfinite(share):
        return "n/a"
    x = 100.0 * share
    text = f"{x:.0f}" if abs(x) >= 9.95 else f"{x:.2g}"
    text = "0" if float(text) == 0 else text
    plus = "+" if sign and x >= 0 else ""
    return f"{plus}{text.replace('-', chr(0x2212))}{SPACE}%"


def listing(names: Sequence[str], most: int = 2) -> str:
    """'a', 'a and b', or 'a, b and 3 more'."""
    names = [clipped(n) for n in names]
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return " and ".join(names)


def everyone(names: Sequence[str], of: int) -> str:
    """Names for a title; 'both' or 'all 3' where they are all of ``of``."""
    return {2: "both"}.get(of, f"all {of}") if len(names) == of > 1 else listing(names)


def first_of(names: Sequence[str], of: int) -> str:
    """The same as the beginning of a sentence."""
    told = everyone(names, of)
    return f"{told[:1].upper()}{told[1:]}" if len(names) == of > 1 else told


def quoted(situation: str) -> str:
    return f"\u201c{situation}\u201d"


def judged_elsewhere(result: ResultSet, situation: str) -> list[Answer]:
    """Verdicts on shown candidates that rest on another crash than ``situation``."""
    found = [a for n in shown_candidates(result) if (a := answer_of(result, n)) is not None]
    return [a for a in found if a.crash in result.situations and a.crash != situation]


def clipped(name: str) -> str:
    """A name as titles show it."""
    return name if len(name) <= LONG_NAME else name[: LONG_NAME - 1].rstrip(" ,;") + "\u2026"


def span(values: Iterable[float], unit: str = "") -> str:
    """'340' or '300 to 400' with the unit behind."""
    texts = list(dict.fromkeys(number(v) for v in sorted(set(values)) if math.isfinite(v)))
    if not texts:
        return "n/a"
    joined = texts[0] if len(texts) == 1 else f"{texts[0]} to {texts[-1]}"
    return f"{joined}{SPACE}{unit}" if unit else joined


def frame(
    result: ResultSet,
    title: str,
    note: str = "",
    situation: str = "",
    rest: str = "",
    lost: Sequence[str] | None = None,
) -> Frame:
    """The words around a chart of ``result``; ``rest`` follows the situation in the corner, or stands for it.

    ``lost``: who has no answer (default: in the ``situation``).
    """
    total = len([c for c in result.candidates if c != BARE])
    if lost is None:
        lost = unanswered(result, situation) if situation else []
    parts = [result.title, replayed(result), told_unanswered(lost), note]
    if total > MOST:
        parts.append(f"best {MOST} of {total} candidates")
    subtitle = " \u2013 ".join(p for p in parts if p)
    return Frame(title[:1].upper() + title[1:], subtitle, corner(result, situation, rest), verdicts(result))


def replayed(result: ResultSet) -> str:
    """Which case of a sweep was run again; '' for a run of its own."""
    case = result.provenance.get("replay")
    return f"case {case['number']} of a sweep" if case else ""


def set_as(result: ResultSet) -> str:
    """At which setting the peaks are: a case of a sweep has the one that was made, not the nominal one."""
    return "its own setting" if replayed(result) else "nominal setting"


def corner(result: ResultSet, situation: str = "", rest: str = "") -> str:
    """Setting, event and version, for the corner of every chart."""
    shown = [a for a in result.answers if a.name in shown_candidates(result)]
    parts = []
    if shown:
        setting = span((in_unit(result, a.setting) for a in shown), typeset(result.unit))
        tolerance = span((100.0 * a.tolerance for a in shown), "%")
        own = " (own shaft)" if any(abs(abs(a.to_protected) - 1.0) > 1e-9 for a in shown) else ""
        parts.append(f"setting {setting} \u00b1{tolerance}{own}")
    run = next((r for (_, s), r in result.runs.items() if s == situation), None)
    told = "" if run is None else f"{situation} ({run.event})" if run.event != situation else situation
    if told or rest:
        parts.append(" ".join(x for x in (told, rest) if x))
    parts.append(f"simcore {version(result)}")
    return f"{SPACE}{SPACE}| {SPACE}".join(p.replace(" ", SPACE) if len(p) <= UNBROKEN else p for p in parts)


def version(result: ResultSet) -> str:
    """Version that made the result set; the installed one if it does not say."""
    found = str(result.provenance.get("simcore", ""))
    if found:
        return "from source" if found == "source" else found
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("simcore")
    except PackageNotFoundError:
        return "(version not recorded)"
