"""The first sentence, and the honest verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from simcore.results.model import Answer, Run

MOTOR_SHARE = 0.9
"""The peak comes at or after this share of the horizon: it still climbs with the motor's torque."""


def sentence(answers: Sequence[Answer]) -> str:
    """The verdict in one sentence that takes both sides: lets go in the crash, holds in service."""
    passing = sorted((a for a in answers if a.passed), key=lambda a: a.rank)
    if passing:
        best = passing[0]
        others = len(passing) - 1
        more = "" if not others else f"; {others} others pass too" if others > 1 else "; one other passes too"
        return f"Fit the {best.name}: it lets go in the crash and holds in service{more}."
    if not answers:
        return "No candidates were given: this is the bare line."
    gone = [a for a in answers if not isnan(a.lets_go)]
    safe = [a for a in gone if not a.use > 1.0]
    if not gone:
        return "No candidate lets go in the crash: lower the settings, or the motor stalls first."
    if not safe:
        return "No candidate passes: each lets go, but the weakest part still sees more than it may."
    return "No candidate passes: what protects in the crash trips in ordinary service; soften the start or load."


def no_limiter_helps(least: Sequence[float], allowable: float) -> str | None:
    """The inertia behind the limiter breaks the part; ``least``: each candidate's peak at its lowest setting."""
    if not least or isnan(allowable) or not all(peak > allowable for peak in least):
        return None
    return (
        f"No limiter helps here: even set as low as running allows, the protected part sees {min(least):.3g}, "
        f"past its {allowable:.3g}. The inertia behind the limiter does that."
    )


def motor_not_inertia(bare: Run, horizon: float) -> str | None:
    """The bare line's peak keeps climbing with motor torque long after impact."""
    t = bare.measures.get("peak_time", float("nan"))
    if isnan(t) or t < MOTOR_SHARE * horizon:
        return None
    return "It is the motor, not the inertia: without protection the peak still climbs at the horizon."
