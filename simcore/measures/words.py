"""The first sentence, and the honest verdicts."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import isnan

from simcore.measures.cases import Bears
from simcore.results.model import Answer


def sentence(answers: Sequence[Answer]) -> str:
    """The verdict in one sentence that takes both sides: lets go in the crash, holds in service."""
    passing = sorted((a for a in answers if a.passed), key=lambda a: a.rank)
    if passing:
        return _fit(passing)
    if not answers:
        return "No candidates were given: this is the bare line."
    gone = [a for a in answers if not isnan(a.lets_go)]
    safe = [a for a in gone if not a.use > 1.0]
    if not gone:
        return "No candidate lets go in the crash: lower the settings, or give it a longer horizon if it ends first."
    if not safe:
        worst = {a.worst_limit for a in gone}
        weakest = f"'{next(iter(worst))}'" if len(worst) == 1 else "the weakest part"
        who = (
            "each lets go"
            if len(gone) == len(answers)
            else f"{len(gone)} of {len(answers)} let{'s' * (len(gone) == 1)} go"
        )
        return f"No candidate passes: {who}, but {weakest} still sees more than it may."
    return "No candidate passes: what protects in the crash trips in ordinary service; soften the start or load."


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
