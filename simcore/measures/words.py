"""The first sentence, and the honest verdicts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import isnan

from simcore.measures.aftermath import DRIVE_OFF
from simcore.measures.cases import Bears
from simcore.measures.judge import NOT_UP, ONLY_AS_SET, STRETCHES
from simcore.results.model import Answer, Remark


def sentence(answers: Sequence[Answer], protect: str = "", say: Callable[[float], str] = str) -> str:
    """The verdict in one sentence that takes both sides: lets go in the crash, holds in service.

    ``protect``: the protected connection; ``say`` writes a torque [N*m].
    """
    passing = sorted((a for a in answers if a.passed), key=lambda a: a.rank)
    if passing:
        return _fit(passing)
    if not answers:
        return "No candidates were given: this is the bare line."
    if slow := _not_up(answers):
        return slow
    gone = [a for a in answers if not isnan(a.lets_go)]
    safe = [a for a in gone if not a.use > 1.0]
    if not gone:
        return "No candidate lets go in the crash: lower the settings, or give it a longer horizon if it ends first."
    if windows := [a for a in sorted(answers, key=lambda a: a.rank) if _cured_by_setting(a, protect)]:
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


def _fails(a: Answer, crash: bool) -> bool:
    """Whether it fails to let go somewhere, or to hold."""
    return any(not m.met for m in a.margins if (m.expect == "let go") is crash)


def _not_up(answers: Sequence[Answer]) -> str:
    """Where no candidate brings the line up to speed, and what it reaches with the best of them; else empty."""
    slow = [[r for r in a.reasons if r.startswith(NOT_UP)] for a in sorted(answers, key=lambda a: a.rank)]
    if not all(slow):
        return ""
    first = slow[0][0].removeprefix(NOT_UP)
    return (
        f"No candidate passes: the line {NOT_UP}{first}, though nothing lets go there: see to motor, ramp, breakaway "
        "of the load, or a longer horizon."
    )


HIGHER = ("trips in ", "does not carry through ", f"{STRETCHES} ", f"{ONLY_AS_SET} ")
"""How reasons begin that a higher setting can take away."""


def _cured_by_setting(a: Answer, protect: str) -> bool:
    """Whether by the numbers of its runs another setting would meet everything."""
    if not a.window_low < a.window_high or a.window_low <= a.setting <= a.window_high:
        return False
    if a.setting < a.window_low:
        return all(r.startswith(HIGHER) for r in a.reasons)
    crashes = [m.situation for m in a.margins if m.expect == "let go"]
    lower = {f"does not let go in '{c}'" for c in crashes}
    return all(r in lower or _sees_in(r, protect, crashes) for r in a.reasons)


def _sees_in(reason: str, protect: str, situations: Sequence[str]) -> bool:
    """Whether the reason is what the protected connection sees in one of the situations."""
    return reason.startswith(f"'{protect}' sees ") and any(reason.endswith(f" in '{s}'") for s in situations)


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
