"""What a warning says of itself, and those that only a run shows: the rest of them is in ``definitions.py``."""

from __future__ import annotations

from typing import NamedTuple


class Warned(NamedTuple):
    """A warning: its meaning, the rule that raises it, what to do about it."""

    meaning: str
    rule: str
    advice: str


SHOWN_BY_RUNS: dict[str, Warned] = {
    "no limiter helps": Warned(
        "The inertia behind the protection alone drives a part past what it bears, the protected one or another; "
        "no setting changes that.",
        "peak > allowable of one connection with every candidate set to 1.1 times its running torque, and none passes",
        "Move the protection towards the load, make the contact or the line softer, or slow the line down.",
    ),
    "motor, not inertia": Warned(
        "The peak without protection comes from the motor's torque rather than from the energy of what turns: "
        "against so soft a jam the motor would make most of it even from standstill.",
        "crash of the bare line: M - L > w sqrt(k J) and T - M < sqrt(2) (M - L), all at the protected connection: T "
        "its peak, M the motor's torque at that instant, L the running load, J the inertia before it, w its speed, k "
        "from there to the jam (energy balance of one inertia, textbook)",
        "A torque limit of the drive may do as well as a protection.",
    ),
    "sensed too late": Warned(
        "The protection slips on, and what should take the drive off comes too late: it passes its heat limit first, "
        "or most of the heat falls before anything is noticed. Shorter delays behind the sensor do not help then.",
        "heat limit passed before a stop acts, or without any; or more than half of the slip heat before it is "
        "noticed, where the rise is a tenth of its limit at least",
        "Sense something that shows sooner: letting go or slip angle instead of temperature or torque.",
    ),
    "dropped in at speed": Warned(
        "A detent that drops in by itself meets its pockets too fast, or again and again while the motor drives: "
        "every pocket is a blow, and it wears.",
        "after_release ratchets or reset is automatic, and in the run: slip speed at the first pocket > what it drops "
        "in below, or a motor still on two pockets after it has let go",
        'Take reset = "manual", or stop the drive within the first pocket.',
    ),
    "tired pins": Warned(
        "Ordinary running loads the pins so high that they tire and break without an overload.",
        "peak at the pins in a service situation that they hold at the low end of their band > 0.55 of their strength "
        "(common practice, from memory), or "
        "Miner's sum > 0.3 a year: 2500 times the damage of one such situation (ten a day), or, where events repeat, "
        "the damage of 4000 hours of it; counted only with fatigue = true",
        "Raise the strength, soften the start, or renew the pins by plan.",
    ),
    "stop in service": Warned(
        "A stop chain takes the drive off in ordinary service, though the protection holds. The line stops for "
        "nothing, or never comes up to speed.",
        "in a service situation: a stop chain acts and the protection has not triggered; not where the drives are "
        "stopped, reversed or slowed down on command",
        "Raise what it acts past, give it a filter, or a blanking time that covers the start.",
    ),
    "stands in star": Warned(
        "In star the motor has a third of its torque, and that does not break the load loose: it stands with its "
        "locked current until the contactors change over, and then starts as if direct on the mains.",
        "in a start: the load below 1 % of its running speed until star ends, and nothing has let go before",
        "Take a motor with more torque, relieve the start, or start by a torque ramp or a converter.",
    ),
    "chain or belt goes slack": Warned(
        "A belt or chain cannot push. Its pull goes through zero in the run; as it tightens again it is a blow, and it "
        "may jump teeth.",
        "torque at its pulley below what the pretension of its strands holds (none: below 0)",
        "Raise the pretension, fit a tensioner, or soften what throws the line back.",
    ),
    "energy ledger open": Warned(
        "The energies of the run do not add up: it is not to be trusted.",
        "largest ledger residual > 1e-4",
        "Tighten relative_tolerance under [solver] and report the scenario.",
    ),
}
