"""How what a connection carries is written."""

from __future__ import annotations

from collections.abc import Callable

from simcore.scenario.model import Scenario
from simcore.units import show


def torque_words(scenario: Scenario) -> Callable[[float], str]:
    """How a torque in SI is written, in the scenario's own unit."""
    unit = scenario.display.get("torque")
    return lambda si: show(float(si), "torque", unit)


def effort_words(scenario: Scenario, domain: str) -> Callable[[float], str]:
    """How what a connection carries is written: a force on a travelling one, else a torque."""
    return (lambda si: show(float(si), "force")) if domain == "travel" else torque_words(scenario)
