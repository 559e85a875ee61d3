"""The first sentence, and the honest verdicts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import isnan
from typing import Final

from simcore.measures.aftermath import DRIVE_OFF
from simcore.measures.cases import Bears
from simcore.measures.judge import TOO_SOON
from simcore.measures.reason import How, Reason, Why
from simcore.results.model import Answer, Remark

HIGHER: Final = frozenset({Why.TRIPS, Why.TOO_SOON, Why.NOT_CARRIED, Why.STRETCHES, Why.ONLY_AS_SET})
"""What a higher setting can take away."""
Against = Mapping[str, Sequence[Reason]]


def sentence(answers: Sequence[Answer], against: Against, protect: str = "", say: Callable[[float], str] = str) -> str:
    """The verdict in one sentence that takes both sides: lets go in the crash, holds in service.

    ``against``: the reasons against each candidate; ``protect``: the protected connection; ``say`` writes a torque
    [N*m].
    """
    passing = [a for a in _by_rank(answers) if a.passed]
    if passing:
        return _fit(passing)
    if not answers:
        return "No candidates were given: this is the bare line."
    if slow := _another(answers, against) or _not_up(answers, against):
        return slow
    if all(any(r.why is Why.NO_STEADY for r in against[a.name]) for a in answers):
        it = "it" if len(answers) == 1 else "each"
        return (
            f"No candidate passes: {it} lets go in ordinary running already, at the low end of its band; set it higher."
        )
    gone = [a for a in answers if not isnan(a.lets_go)]
    safe = [a for a in gone if not a.use > 1.0]
    if not gone:
        return "No candidate lets go in the crash: lower the settings, or give it a longer horizon if it ends first."
    if windows := [a for a in _by_rank(answers) if _cured_by_setting(a, against[a.name], protect)]:
        return _set_to(windows, say)
    if not safe:
        worst = {a.worst_limit for a in gone}
        weakest = f"'{next(iter(worst))}'" if len(worst) == 1 else "the weakest part"
        who = (
            "each lets go"
            if len(gone) == len(answers)
            else f"{len(gone)} of {len(answers)} let{'s' * (len(gone) == 1)} go"
        )
        return f"No candidate passes: {who}, but {weakest} still sees more than it may."
    if all(any(r.why is Why.TOO_SOON for r in against[a.name]) for a in safe):
        return "No candidate passes: they trip before the jam comes; set them higher, or soften what comes before it."
    if all(_fails(a, crash=True) and not _fails(a, crash=False) for a in safe):
        return "No candidate passes: what lets go in one crash does not in another; look what is expected of each."
    return "No candidate passes: what protects in the crash trips in ordinary service; soften the start or load."


def minding(told: str, answers: Sequence[Answer], remarks: Sequence[Remark]) -> str:
    """The first sentence ``told``, and whether the load runs back, released by the recommended candidate or not."""
    best = next((a for a in answers if a.passed and a.rank == 1), None)
    back = [r.text for r in remarks if r.label == "Runs back" and best is not None and f"'{best.name}'" in r.text]
    if not back:
        return told
    when = DRIVE_OFF if all(text.startswith(DRIVE_OFF) for text in back) else "once released"
    return told.removesuffix(".") + f". Mind: {when}, the load runs back; something must hold it."


def _by_rank(answers: Sequence[Answer]) -> list[Answer]:
    return sorted(answers, key=lambda a: a.rank)


def _fails(a: Answer, crash: bool) -> bool:
    """Whether it fails to let go somewhere, or to hold."""
    return any(not m.met for m in a.margins if (m.expect == "let go" and m.note != TOO_SOON) is crash)


NOT_ITS_OWN: Final = {
    How.SLIPS: "more pretension, wrap or belts come first",
    How.STOPS: "see to what it senses, and to its filter and blanking",
}
"""What is no fault of the candidates, and what to do."""
BELOW: Final = "set them below what it carries, or give it more pretension, wrap or belts"
"""What to do where a belt drive slips in a crash in which a lower setting would have let go."""


def _another(answers: Sequence[Answer], against: Against) -> str:
    """Where with every candidate the same else keeps the load from running; else empty."""
    for how, advice in NOT_ITS_OWN.items():
        found = [[(r.why, c) for r in against[a.name] for c in r.causes if c.how is how] for a in _by_rank(answers)]
        if all(found):
            crash = all(why is Why.NOT_LET_GO for seen in found for why, _ in seen)
            todo = BELOW if crash else advice
            return f"No candidate passes: {found[0][0][1].text} where each of them holds: {todo}."
    return ""


def _not_up(answers: Sequence[Answer], against: Against) -> str:
    """Where no candidate brings the line up to speed, and what it reaches with the best of them; else empty."""
    slow = [[r for r in against[a.name] if r.why is Why.NOT_UP] for a in _by_rank(answers)]
    if not all(slow):
        return ""
    return (
        f"No candidate passes: the line {slow[0][0].text}, though nothing lets go there: see to motor, ramp, breakaway "
        "of the load, or a longer horizon."
    )


def _cured_by_setting(a: Answer, against: Sequence[Reason], protect: str) -> bool:
    """Whether by the numbers of its runs another setting would meet everything."""
    if not a.window_low < a.window_high or a.window_low <= a.setting <= a.window_high:
        return False
    if a.setting < a.window_low:
        return all(r.why in HIGHER for r in against)
    crashes = {m.situation for m in a.margins if m.expect == "let go"}
    return all(
        r.why is Why.NOT_LET_GO or (r.why is Why.OVER_LIMIT and r.part == protect and crashes.issuperset(r.situations))
        for r in against
    )


def _set_to(found: Sequence[Answer], say: Callable[[float], str]) -> str:
    """Settings to try, of at most three candidates."""
    told = [f"the {a.name} at {say(a.window_low)} to {say(a.window_high)} (now {say(a.setting)})" for a in found[:3]]
    return f"No candidate passes as set. By these runs' numbers {' or '.join(told)} would: set it there and run again."


def _fit(passing: Sequence[Answer]) -> str:
    """What to fit: the best, or all that are as good to the digits shown; who is as good but slower to run again."""
    best = passing[0]
    level = [a for a in passing if a.rank_margin == best.rank_margin]
    equal = [a for a in level if a.rank_seconds == best.rank_seconds]
    slower = [a for a in level if a not in equal]
    rest = len(passing) - len(level)
    more = f"; {_the(slower, 'and')} alike, but slower to run again" if slower else ""
    if rest:
        more += f"; {rest} others pass too" if rest > 1 else "; one other passes too"
    if len(equal) > 1:
        return f"Fit {_the(equal, 'or')}, alike by the numbers: {_proved(best, 'each')}{more}."
    return f"Fit the {best.name}: {_proved(best)}{more}."


def _the(answers: Sequence[Answer], word: str) -> str:
    """Their names, each with its article."""
    names = [f"the {a.name}" for a in answers]
    return f" {word} ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _proved(a: Answer, it: str = "it") -> str:
    """What the situations have shown of a candidate that passes."""
    crash = any(m.expect == "let go" for m in a.margins)
    if all(m.expect == "let go" for m in a.margins):
        return f"{it} lets go wherever it ought to; no situation asks it to hold"
    return f"{it} lets go in the crash and holds in service" if crash else f"{it} holds in service; no crash was tried"


def no_limiter_helps(
    least: Sequence[Mapping[str, Bears]], protect: str, words: Callable[[str], Callable[[float], str]]
) -> str | None:
    """The inertia behind the limiter breaks a connection, that to protect or another.

    ``least``: what each candidate lets through at its lowest setting; ``words`` writes a value of a domain.
    """
    past = [{n for n, b in seen.items() if b.peak > b.allowable} for seen in least]
    always = set.intersection(*past) if past else set()
    if not always:
        return None
    mildest = {n: min((seen[n] for seen in least), key=lambda b: b.peak) for n in always}
    name = protect if protect in always else max(always, key=lambda n: mildest[n].peak / mildest[n].allowable)
    peak, allowable, domain = mildest[name]
    say = words(domain)
    return (
        f"No limiter helps here: even set as low as running allows, '{name}' sees {say(peak)}, past its "
        f"{say(allowable)}. The inertia behind the limiter does that."
    )
