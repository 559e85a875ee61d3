"""Who makes the peak of the bare line in a crash: the motor's torque, or the energy of what turns."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt
from typing import NamedTuple

import numpy as np

from simcore.line.reflect import motor_torque_of, seen_from
from simcore.measures.cases import Case
from simcore.results.model import Run


class Climb(NamedTuple):
    """What the protected connection sees at its peak [N*m, or N], all at its own shaft."""

    peak: float
    motor: float
    """What the drives give there at that instant, gear losses taken off."""
    running: float
    inertia: float
    """What the inertia before it would add by itself, ``w sqrt(k J)``."""

    @property
    def surplus(self) -> float:
        """What the motor would add by itself, on top of its own torque, from standstill: ``M - L``."""
        return self.motor - max(self.running, 0.0)

    @property
    def by_motor(self) -> bool:
        """In the hand formula ``M + sqrt((M - L)^2 + k J w^2)`` the motor's part is the larger, and the run agrees.

        Energy balance of one inertia wound against a dead stop, textbook.
        """
        return self.surplus > self.inertia and self.peak - self.motor < sqrt(2.0) * self.surplus


def climb(case: Case, bare: Run) -> Climb:
    """Of a bare line that crashes into a contact."""
    at = bare.measures["peak_time"]
    torques = [float(np.interp(at, bare.time, column)) for column in bare.torque.T]
    motor = float(motor_torque_of(case.assembly, case.protected, torques))
    seen = seen_from(case.assembly, case.protected)
    inertia = seen.speed * sqrt(seen.to_ground * seen.up)
    return Climb(bare.measures["peak"], motor, seen.running, inertia)


def domain_of(case: Case) -> str:
    """Of the protected connection: what it carries is a torque or a force."""
    return case.assembly.graph.elements[case.protected].domain


def motor_not_inertia(seen: Climb, name: str, say: Callable[[float], str]) -> str | None:
    """Said where the motor makes the peak at the connection ``name``; ``say`` writes a value."""
    if not seen.by_motor:
        return None
    return (
        f"It is the motor, not the inertia: of the {say(seen.peak)} that '{name}' sees without protection the motor "
        f"gives {say(seen.motor)}; by hand, {say(seen.motor + seen.surplus)} even from standstill."
    )
