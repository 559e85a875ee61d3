"""Words of the trade for kinds that bear another name here, so that a newcomer who asks by one is told where it is.

Source: common usage of the trade.
"""

from __future__ import annotations

from collections.abc import Container
from typing import Final

OVERLOAD: Final = ("friction disc", "ball detent", "shear pins", "magnet disc")
"""One of each way to part: slips, releases, breaks, couples through a field."""
TRADE_WORDS: Final[dict[str, tuple[str, ...]]] = {
    "overload clutch": OVERLOAD,
    "overload coupling": OVERLOAD,
    "overload protection": OVERLOAD,
    "safety clutch": OVERLOAD,
    "safety coupling": OVERLOAD,
    "torque limiter": OVERLOAD,
    "slip clutch": ("friction disc",),
    "slipping clutch": ("friction disc",),
    "slip hub": ("friction disc",),
    "friction clutch": ("friction disc",),
    "ball clutch": ("ball detent",),
    "detent clutch": ("ball detent", "roller detent"),
    "ratchet clutch": ("ball detent", "ratchet freewheel"),
    "shear bolt": ("shear pins",),
    "shear coupling": ("shear pins",),
    "magnetic clutch": ("magnet disc", "magnetic particle clutch", "magnetic hysteresis clutch"),
    "magnetic coupling": ("magnet disc",),
    "permanent magnet coupling": ("magnet disc",),
    "hysteresis brake": ("magnetic hysteresis clutch",),
    "hysteresis clutch": ("magnetic hysteresis clutch",),
    "hysteresis coupling": ("magnetic hysteresis clutch",),
    "powder clutch": ("magnetic particle clutch",),
    "particle clutch": ("magnetic particle clutch",),
    "electromagnetic clutch": ("magnetic particle clutch", "magnetic hysteresis clutch", "eddy-current clutch"),
    "eddy current coupling": ("eddy-current clutch",),
    "pneumatic clutch": ("notched-wheel pawl",),
    "freewheel": ("roller freewheel", "sprag freewheel", "wrap spring freewheel", "ratchet freewheel"),
    "one-way clutch": ("roller freewheel", "sprag freewheel", "wrap spring freewheel", "ratchet freewheel"),
    "overrunning clutch": ("roller freewheel", "sprag freewheel", "wrap spring freewheel", "ratchet freewheel"),
    "backstop": ("roller backstop", "sprag backstop", "wrap spring backstop", "ratchet backstop"),
    "holdback": ("roller backstop", "sprag backstop", "wrap spring backstop", "ratchet backstop"),
    "sprag clutch": ("sprag freewheel", "tipping sprag"),
    "roller clutch": ("roller freewheel",),
    "jaw coupling": ("flexible coupling",),
    "claw coupling": ("flexible coupling",),
    "elastic coupling": ("flexible coupling",),
    "elastomer coupling": ("flexible coupling",),
    "bellows coupling": ("flexible coupling",),
    "disc coupling": ("flexible coupling",),
    "sleeve coupling": ("rigid coupling",),
    "flange coupling": ("rigid coupling",),
    "cardan": ("universal joint",),
    "cardan joint": ("universal joint",),
    "cardan shaft": ("universal joint",),
    "gearbox": ("gear", "worm gear", "planetary gear"),
    "gear reducer": ("gear", "worm gear", "planetary gear"),
    "timing belt": ("belt or chain",),
    "toothed belt": ("belt or chain",),
    "rope": ("belt or chain",),
    "roller chain": ("chain drive", "belt or chain"),
    "ac motor": ("induction motor", "converter-fed motor", "servo motor"),
    "asynchronous motor": ("induction motor", "converter-fed motor"),
    "inverter": ("converter-fed motor",),
    "frequency converter": ("converter-fed motor",),
    "variable frequency drive": ("converter-fed motor",),
    "hoist": ("hoisted mass",),
    "lift": ("hoisted mass",),
    "elevator": ("hoisted mass",),
    "slope": ("incline",),
    "conveyor": ("conveyor resistance", "incline", "moving mass"),
    "inertia": ("flywheel", "moving mass"),
    "mass": ("moving mass", "hoisted mass"),
    "mixer": ("viscous load",),
    "agitator": ("viscous load",),
    "winder": ("winding roll", "nip-fed roll"),
    "jam": ("hard stop", "soft stop", "partial jam", "foreign body", "wedge", "crushed product"),
    "crash": ("hard stop", "soft stop"),
    "collision": ("hard stop", "soft stop"),
    "buffer": ("soft stop",),
    "e-stop": ("emergency stop",),
    "emergency off": ("emergency stop",),
    "pulley": ("drum",),
    "sprocket": ("drum",),
    "chain wheel": ("drum",),
    "belt pulley": ("drum",),
    "limit switch": ("stop chain",),
    "speed monitor": ("stop chain",),
}


def told_here(word: str, known: Container[str]) -> str:
    """``here: friction disc or ball detent`` if the trade's word stands for ``known`` kinds, else nothing."""
    kinds = [k for k in called_here(word) if k in known]
    return f"here: {' or '.join(filter(None, (', '.join(kinds[:-1]), kinds[-1])))}" if kinds else ""


def called_here(word: str) -> tuple[str, ...]:
    """Kinds that a word of the trade stands for, however it is cased, joined or counted; none if it is not known."""
    plain = " ".join(word.casefold().replace("_", " ").replace("-", " ").split())
    for w, kinds in TRADE_WORDS.items():
        if plain in (w.replace("-", " "), w.replace("-", " ") + "s"):
            return kinds
    return ()
