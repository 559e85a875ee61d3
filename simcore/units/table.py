"""The kinds of quantity, their units, and every spelling that is read.

Common practice of the trade; conversion factors are not here, they come from pint.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from typing import Final

# kind: (words with article, unit for pint and UDUNITS, spellings with the SI one first)
TABLE: Final[dict[str, tuple[str, str, str]]] = {
    "torque": (
        "a torque", "N m",
        "N*m kN*m MN*m mN*m N*cm N*mm lbf*in lbf*ft ozf*in kgf*m kgf*cm",
    ),
    "force": ("a force", "N", "N kN MN mN lbf kgf"),
    "stiffness": (
        "a torsional stiffness", "N m/rad",
        "N*m/rad kN*m/rad MN*m/rad N*mm/rad N*m/mrad N*m/deg kN*m/deg N*m/arcmin kN*m/arcmin "
        "lbf*in/rad lbf*ft/rad lbf*in/deg lbf*ft/deg",
    ),
    "linear_stiffness": (
        "a linear stiffness", "N/m", "N/m kN/m MN/m N/mm kN/mm N/um lbf/in lbf/ft",
    ),
    "damping": (
        "a torsional damping", "N m s/rad",
        "N*m*s/rad kN*m*s/rad mN*m*s/rad N*m/(rad/s) N*m/rpm lbf*in*s/rad lbf*ft*s/rad",
    ),
    "linear_damping": (
        "a linear damping", "N s/m",
        "N*s/m kN*s/m N*s/mm N/(m/s) kN/(m/s) lbf*s/in lbf*s/ft",
    ),
    "inertia": (
        "a moment of inertia", "kg m^2",
        "kg*m^2 kg*cm^2 kg*mm^2 g*m^2 g*cm^2 lb*ft^2 lb*in^2 oz*in^2 slug*ft^2 lbf*in*s^2 lbf*ft*s^2",
    ),
    "mass": ("a mass", "kg", "kg g t lb"),
    "angle": ("an angle", "rad", "rad mrad deg arcmin arcsec rev"),
    "length": ("a length", "m", "m mm cm um in ft"),
    "speed": ("a rotational speed", "rad/s", "rad/s rpm rev/s deg/s"),
    "velocity": ("a velocity", "m/s", "m/s mm/s cm/s m/min mm/min km/h in/s ft/s ft/min"),
    "power": ("a power", "W", "W kW MW mW hp PS"),
    "energy": ("an energy", "J", "J kJ MJ mJ W*s Wh kWh"),
    "time": ("a time", "s", "s ms us min h"),
    "temperature_difference": ("a temperature difference", "K", "K mK"),
    "heat_capacity": ("a heat capacity", "J/K", "J/K kJ/K MJ/K"),
    "conductance": ("a heat conductance", "W/K", "W/K kW/K mW/K"),
    "stress": ("a stress", "Pa", "Pa kPa MPa GPa N/mm^2 bar psi ksi"),
    "acceleration": (
        "a rotational acceleration", "rad/s^2", "rad/s^2 rpm/s rpm/min rev/s^2 deg/s^2",
    ),
    "fade": ("a change per kelvin", "1/K", "1/K %/K"),
    "inverse_speed": ("a change per rotational speed", "s/rad", "s/rad 1/(rad/s) %/(rad/s) 1/rpm %/rpm"),
    "flux_density": ("a magnetic flux density", "T", "T mT"),
    "current": ("a current", "A", "A mA kA"),
    "voltage": ("a voltage", "V", "V mV kV"),
    "resistance": ("an electrical resistance", "ohm", "ohm mohm kohm"),
    "inductance": ("an inductance", "H", "H mH uH"),
    "conductivity": ("an electrical conductivity", "S/m", "S/m MS/m"),
    "area": ("an area", "m^2", "m^2 cm^2 mm^2"),
    "thermal_resistance": ("a thermal resistance", "K/W", "K/W K/kW"),
    "inverse_energy": ("a change per energy", "1/J", "1/J %/J %/kJ %/MJ"),
    "pressure": ("a pressure", "Pa", "Pa kPa MPa mbar bar N/mm^2 psi"),
    "energy_density": ("an energy per volume", "J/m^3", "J/m^3 kJ/m^3 MJ/m^3"),
    "frequency": ("a frequency", "Hz", "Hz kHz"),
    "motor_constant": ("a torque per current", "N m/A", "N*m/A mN*m/A V*s/rad mV*s/rad V/(rad/s) V/rpm mV/rpm"),
    "ratio": ("a ratio", "1", " %"),
    "count": ("a count", "1", ""),
    "mass_per_area": ("a mass per area", "kg/m^2", "kg/m^2 g/m^2"),
    "mass_per_length": ("a mass per length", "kg/m", "kg/m g/m t/m lb/ft"),
}  # fmt: skip

FAMILIES: Final[dict[str, tuple[str, tuple[str, ...]]]] = {
    "effort": ("a torque or a force", ("torque", "force")),
    "any_stiffness": ("a stiffness", ("stiffness", "linear_stiffness")),
    "travel": ("an angle or a length", ("angle", "length")),
    "any_damping": ("a damping", ("damping", "linear_damping")),
    "any_inertia": ("an inertia or a mass", ("inertia", "mass")),
}

ALIASES: Final[dict[str, str]] = {
    "N-m": "N*m", "kN-m": "kN*m", "lb*in*s^2": "lbf*in*s^2", "in-lb-s^2": "lbf*in*s^2",
    "lb-in-s^2": "lbf*in*s^2", "lb*ft*s^2": "lbf*ft*s^2", "lbf-in": "lbf*in", "in-lbf": "lbf*in",
    "in*lbf": "lbf*in", "lb-in": "lbf*in", "in-lb": "lbf*in",
    "lb*in": "lbf*in", "in*lb": "lbf*in", "lbf-ft": "lbf*ft", "ft-lbf": "lbf*ft", "ft*lbf": "lbf*ft",
    "lb-ft": "lbf*ft", "ft-lb": "lbf*ft", "lb*ft": "lbf*ft", "ft*lb": "lbf*ft", "ozf-in": "ozf*in",
    "oz-in": "ozf*in", "in-oz": "ozf*in", "1/min": "rpm", "min^-1": "rpm", "r/min": "rpm", "rev/min": "rpm",
    "RPM": "rpm", "U/min": "rpm", "rps": "rev/s", "rad*s^-1": "rad/s", "rad*s^-2": "rad/s^2",
    "m*s^-1": "m/s", "rpm/sec": "rpm/s", "1/min/s": "rpm/s", "(1/min)/s": "rpm/s", "rad/s/s": "rad/s^2",
    "degree": "deg", "degrees": "deg", "turn": "rev", "turns": "rev", "percent": "%", "percent/K": "%/K",
    "K^-1": "1/K", "s*rad^-1": "s/rad", "sec": "s", "second": "s", "seconds": "s", "hr": "h", "inch": "in",
    "lbm": "lb", "tonne": "t", "W*h": "Wh", "kW*h": "kWh", "J*K^-1": "J/K", "W*K^-1": "W/K",
    "kelvin": "K", "N*s*m^-1": "N*s/m", "N*m^-1": "N/m", "N*m*rad^-1": "N*m/rad",
    "N*m*s*rad^-1": "N*m*s/rad", "Ohm": "ohm", "\u2126": "ohm", "\u03a9": "ohm", "mOhm": "mohm", "kOhm": "kohm",
    "MN/m^2": "MPa", "N/m^2": "Pa",
}  # fmt: skip

FOREIGN: Final[dict[str, str]] = {
    "1/s": "a frequency", "m^3": "a volume", "L": "a volume",
    "m/s^2": "a linear acceleration", "kg/m^3": "a density", "N*m*s": "an angular momentum",
    "W/m^2": "a power per area", "W/mm^2": "a power per area", "J/mm^2": "an energy per area",
}  # fmt: skip

PINT: Final[dict[str, str]] = {"PS": "metric_horsepower", "": "dimensionless"}

PRINTED: Final[dict[str, str]] = {
    "force": "N kN MN", "torque": "N*m kN*m MN*m", "stiffness": "N*m/rad kN*m/rad MN*m/rad",
    "linear_stiffness": "N/m kN/m MN/m", "length": "um mm m", "time": "us ms s", "power": "W kW MW",
    "energy": "mJ J kJ MJ", "stress": "Pa kPa MPa GPa", "angle": "deg", "heat_capacity": "J/K kJ/K MJ/K",
    "mass": "g kg t", "temperature_difference": "K", "fade": "%/K",
}  # fmt: skip
UNSCALED: Final[dict[str, str]] = {"angle": "deg", "fade": "%/K", "pressure": "bar"}

SIGNS: Final = str.maketrans(
    {"·": "*", "⋅": "*", "∙": "*", "•": "*", "×": "*", "∗": "*", "µ": "u", "μ": "u", "−": "-", "∕": "/",
     "⁄": "/", "º": "°", "²": "^2", "³": "^3", "¹": "^1", "⁻": "^-", "′": "'", "″": '"', "’": "'"}
)  # fmt: skip


@cache
def specific(kind: str) -> tuple[str, ...]:
    """The kinds that ``kind`` stands for: itself, or the sorts of a compound kind."""
    if kind in FAMILIES:
        return FAMILIES[kind][1]
    if kind not in TABLE:
        raise KeyError(f"{kind!r} is not a kind of quantity")
    return (kind,)


@cache
def listed(kind: str) -> tuple[str, ...]:
    """Canonical spellings of a kind's units, the SI one first; empty text: a bare number."""
    return tuple(u for k in specific(kind) for u in TABLE[k][2].split(" "))


@cache
def spellings(kind: str) -> dict[str, str]:
    """Folded spelling to canonical one: the list, the trade's aliases, products run together (Nm)."""
    own = listed(kind)
    out = {u: u for u in own} | {a: c for a, c in ALIASES.items() if c in own}
    for u in own:
        if re.match(r"[kMm]?N\*|k?g\*", u):
            out[u.replace("*", "")] = u
            out[u.replace("*", "", 1)] = u
    return out


def canonical_in(folded: str, kind: str) -> tuple[str, str] | None:
    """(specific kind, canonical spelling) of a folded unit, None if it does not belong to ``kind``."""
    return next(((k, spellings(k)[folded]) for k in specific(kind) if folded in spellings(k)), None)


def home_of(folded: str) -> str | None:
    """The kind whose unit this is, whatever was asked for."""
    return next((k for k in TABLE if folded in spellings(k)), None)


def fold(unit: str) -> str:
    """Bring signs and spaces of a unit to one form: ``N·m``, ``N m`` -> ``N*m``; ``kg m²`` -> ``kg*m^2``."""
    text = unicodedata.normalize("NFC", unit).translate(SIGNS).strip().replace("**", "^")
    text = text.replace("^-^", "^-").replace("°", "deg")
    text = re.sub(r"\s*([*/^()])\s*", r"\1", text)
    text = re.sub(r"(?<=[A-Za-z])\.(?=[A-Za-z])", "*", text)
    text = re.sub(r"(?<=[A-Za-z])(-?[0-9])", r"^\1", text)
    return re.sub(r"\s+", "*", text)


def words(kind: str) -> str:
    """The kind in words with its article: ``a torque``, ``an angle``."""
    return FAMILIES[kind][0] if kind in FAMILIES else TABLE[kind][0]
