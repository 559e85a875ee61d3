"""Numbers as the screen shows them: three significant digits, torques in the unit asked for."""

from __future__ import annotations

from math import isfinite

from simcore import units
from simcore.results.model import ResultSet

NONE = "-"


def protected_is_force(result: ResultSet) -> bool:
    """Whether the protected connection carries a force, not a torque."""
    for run in result.runs.values():
        for c in run.connections:
            if c.name == result.protect:
                return c.unit == "N"
    return False


def effort_unit(result: ResultSet) -> str:
    """Unit of what is shown for the protected connection."""
    return "N" if protected_is_force(result) else result.unit


def effort(value: float, unit: str) -> str:
    """A torque or force in ``unit``, without it."""
    if not isfinite(value):
        return NONE
    return units.plain(value if unit == "N" else units.to_unit(value, "torque", unit))


def share(value: float) -> str:
    """A share in percent."""
    return f"{units.plain(100.0 * value)} %" if isfinite(value) else NONE


def signed(percent: float) -> str:
    """A percentage with its sign."""
    if not isfinite(percent):
        return NONE
    text = units.plain(percent)
    return f"{text if text.startswith('-') or text == '0' else '+' + text} %"


def milliseconds(seconds: float) -> str:
    return units.plain(1e3 * seconds) if isfinite(seconds) else NONE
