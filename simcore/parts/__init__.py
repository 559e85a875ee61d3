"""The parts.  To add one: write its file, add its module to the list below, write its tests."""

from __future__ import annotations

from simcore.contract import Part, registry_of
from simcore.parts import (
    ball_detent,
    belt,
    constant_torque_motor,
    drum,
    flexible_coupling,
    flywheel,
    friction_disc,
    friction_load,
    gear,
    hard_stop,
    load_step,
    magnet_disc,
    moving_mass,
    partial_jam,
    ratchet_backstop,
    ratchet_freewheel,
    roller_backstop,
    roller_freewheel,
    shaft,
    shear_pins,
    sprag_backstop,
    sprag_freewheel,
    start,
    torque_speed_motor,
    wrap_spring_backstop,
    wrap_spring_freewheel,
)

REGISTRY: dict[str, Part] = registry_of(
    [
        friction_disc,
        ball_detent,
        shear_pins,
        magnet_disc,
        constant_torque_motor,
        torque_speed_motor,
        gear,
        shaft,
        flexible_coupling,
        belt,
        drum,
        flywheel,
        moving_mass,
        friction_load,
        hard_stop,
        partial_jam,
        load_step,
        start,
        wrap_spring_freewheel,
        wrap_spring_backstop,
        roller_freewheel,
        roller_backstop,
        ratchet_freewheel,
        ratchet_backstop,
        sprag_freewheel,
        sprag_backstop,
    ]
)
"""Every kind of part by name; the order numbers the kernel's branches."""
