"""What is wrong with a text that is not a quantity of the kind asked for, in one sentence."""

from __future__ import annotations

import difflib
import re
from typing import Final

from simcore.units.table import FOREIGN, SIGNS, fold, home_of, listed, specific, spellings, words

NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
LONGEST: Final = 80

_THOUSANDS: Final = re.compile(r"[+-]?[0-9]{1,3}(?:[, '_\u00a0\u202f\u2009][0-9]{3})+(?![0-9,])(?:\.[0-9]+)?")
_UNDERSCORE: Final = re.compile(r"[+-]?[0-9]+_[0-9]")
_COMMA: Final = re.compile(r"[+-]?[0-9][0-9 .']*,[0-9]+|[+-]?,[0-9]+")
_NOT_FINITE: Final = re.compile(r"[+-]?(?:infinity|inf|nan|∞)(?![A-Za-z])", re.IGNORECASE)
_SEVERAL: Final = re.compile(r"(?:\band\b|\bto\b|;|,|\.\.|±|–|\bor\b|\s)\s*[0-9]", re.IGNORECASE)
_EXPRESSION: Final = re.compile(r"^[-+*/^x(]|[-+*]\s*[0-9.]+\s*[A-Za-z%]*$|\s[-+]\s|=")

Reason = tuple[str, str]
"""The rule that was broken and a way out."""


class UnitFault(ValueError):  # noqa: N818 - a Fault, as in simcore.errors
    """Text that is not a quantity of the kind asked for; ``str`` is the whole sentence.

    ``rule`` is the sentence without the text that was written, ``got`` that text, ``hint`` a way out.
    """

    def __init__(self, rule: str, got: str, hint: str = "") -> None:
        self.rule, self.got, self.hint = rule, got, hint
        super().__init__(f"{got}: {rule}" + (f" ({hint})" if hint else ""))


def shown(value: object, longest: int = 60) -> str:
    """A value as an engineer would recognise it: quoted and shortened text, words for tables and lists."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) >= 10**40:
        return "a whole number of more than 40 digits"
    if isinstance(value, int | float):
        return repr(value)
    if not isinstance(value, str):
        return f"a date or time, {value}"
    clear = "".join(c if c.isprintable() else "?" for c in value[: longest + 1])
    return f'"{clear}"' if len(clear) <= longest else f'"{clear[:longest]}..."'


def example(kind: str) -> str:
    """How a quantity of the kind is written."""
    if kind == "count":
        return "a whole number such as 6"
    if kind == "ratio":
        return 'a bare number such as 0.95 or text such as "95 %"'
    return f'text with a unit such as "1.5 {listed(kind)[0]}"'


def diagnose(text: str, kind: str) -> Reason:
    """Why ``text`` is not a quantity of ``kind``; only for text that could not be read."""
    if not text:
        return f"is empty, {words(kind)} is needed", f"write {example(kind)}"
    if len(text) > LONGEST:
        return f"is too long for {words(kind)}: one number and one unit are needed", ""
    if not text.replace("\u00a0", " ").replace("\u202f", " ").replace("\u2009", " ").isprintable():
        return "holds a control character or an invisible one", "type it anew"
    return _number_fault(text) or _unit_fault(text, kind)


def wrong_unit(unit: str, kind: str) -> Reason:
    """Why a folded unit does not belong to ``kind``: both dimensions in words, or the nearest spelling."""
    if not unit:
        return f"has no unit, {words(kind)} is needed", f"units: {_first(kind)}"
    special = _special(unit, kind)
    if special:
        return special
    home = home_of(unit)
    named = words(home) if home else FOREIGN.get(unit)
    if named:
        return f"{unit} is {named}, {words(kind)} is needed", _units(kind)
    return f'"{unit}" is not a known unit of {words(kind).split(" ", 1)[1]}', _near(unit, kind)


def _number_fault(text: str) -> Reason | None:
    if _NOT_FINITE.match(text):
        return "must be a finite number", "leave an optional input out to have no limit"
    marks = _THOUSANDS.match(text) or _UNDERSCORE.match(text)
    if marks:
        clean = re.sub(r"[^0-9.+-]", "", marks[0])
        return "thousands marks are not read, they could be taken for a decimal point", f"write {clean}"
    comma = _COMMA.match(text)
    if comma:
        clean = re.sub("[ .']", "", comma[0]).replace(",", ".")
        return "a decimal comma is not read", f"write {clean}"
    return None


def _unit_fault(text: str, kind: str) -> Reason:
    match = NUMBER.match(text)
    if match is None:
        return _no_number(text, kind)
    rest = text[match.end() :].strip()
    if _named(fold(rest)):
        return wrong_unit(fold(rest), kind)
    if rest.startswith(("'", '"', "′", "″")):
        mark = "arcmin" if rest[0] in "'′" else "arcsec"
        return "a bare ' or \" could be minutes of arc, feet or inches", f"write {mark}, ft or in"
    if rest.startswith((".", "_", ",")):
        return "is not one number: it has a stray mark behind the digits", "one number, one unit"
    if _is_expression(rest):
        return "expressions are not computed: one number and one unit are needed", "write the result"
    if _SEVERAL.search(" " + rest):
        return "holds several numbers: one number and one unit are needed", ""
    return wrong_unit(fold(rest), kind)


def _is_expression(rest: str) -> bool:
    return bool(_EXPRESSION.search(rest.translate(SIGNS)))


def _named(unit: str) -> bool:
    return unit in FOREIGN or home_of(unit) is not None


def _no_number(text: str, kind: str) -> Reason:
    if _named(fold(text)):
        return "has a unit but no number", f"write {example(kind)}"
    if text[0] in "([{" or re.match(r"[-+]\s+[0-9]", text):
        return "expressions are not computed: one number and one unit are needed", "write the result"
    return f"must begin with a number, {words(kind)} is needed", f"write {example(kind)}"


def _special(unit: str, kind: str) -> Reason | None:
    """Mix-ups that a check of dimensions alone would let pass."""
    energies, torques = spellings("energy"), spellings("torque")
    if unit in energies and kind in ("torque", "effort"):
        return f"{unit} is an energy, {words(kind)} is needed", "write a torque as N*m"
    if unit in torques and kind == "energy":
        return f"{unit} is a torque, an energy is needed", "write an energy as J"
    if unit in torques and kind in ("stiffness", "any_stiffness"):
        canonical = torques[unit]
        return (
            f"{canonical} is a torque, {words(kind)} is needed: the angle must be named",
            f"write {canonical}/rad or N*m/deg",
        )
    if unit in ("N*m*s", "Nms") and kind in ("damping", "any_damping"):
        return "N*m*s does not name the angle", "write N*m*s/rad"
    if kind == "speed" and unit in ("Hz", "kHz", "1/s", "s^-1"):
        return f"{unit} could be turns or radians per second", "write rpm, rev/s or rad/s"
    if kind == "temperature_difference" and re.fullmatch(r"(deg)?[CF]|degree_Celsius|℃", unit):
        return (
            f"{unit} is a point on a scale, a temperature difference is needed",
            "write K above surroundings",
        )
    return None


def _first(kind: str) -> str:
    sorts = specific(kind)
    return ", ".join(u for k in sorts for u in listed(k)[: 5 if len(sorts) == 1 else 2] if u)


def _units(kind: str) -> str:
    return f"units: {_first(kind)}" if listed(kind)[0] else f"write {example(kind)}"


def _near(unit: str, kind: str) -> str:
    by_case = {s.casefold(): c for s, c in reversed(spellings_for(kind)) if s}
    hit = difflib.get_close_matches(unit.casefold()[:20], list(by_case), n=1, cutoff=0.5)
    return f"nearest: {by_case[hit[0]]}" if hit else _units(kind)


def spellings_for(kind: str) -> list[tuple[str, str]]:
    """(spelling, canonical) of a kind, the canonical ones first."""
    return sorted(spellings(kind).items(), key=lambda pair: pair[0] != pair[1])
