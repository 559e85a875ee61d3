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
    magnetic_hysteresis_clutch,
    magnetic_particle_clutch,
    moving_mass,
    partial_jam,
    shaft,
    shear_pins,
    start,
    torque_speed_motor,
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
        magnetic_particle_clutch,
        magnetic_hysteresis_clutch,
    ]
)
"""Every kind of part by name; the order numbers the kernel's branches."""
