"""The parts.  To add one: write its file, add its module to the list below, write its tests."""

from __future__ import annotations

from simcore.contract import Part, registry_of
from simcore.parts import (
    ball_detent,
    belt,
    constant_torque_motor,
    drum,
    eddy_current_clutch,
    flexible_coupling,
    flywheel,
    friction_disc,
    friction_load,
    gear,
    hard_stop,
    load_step,
    magnet_disc,
    misaligned_coupling,
    moving_mass,
    notched_wheel_pawl,
    partial_jam,
    rigid_coupling,
    shaft,
    shear_pins,
    start,
    tipping_sprag,
    torque_speed_motor,
    universal_joint,
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
        rigid_coupling,
        misaligned_coupling,
        universal_joint,
        eddy_current_clutch,
        notched_wheel_pawl,
        tipping_sprag,
    ]
)
"""Every kind of part by name; the order numbers the kernel's branches."""
