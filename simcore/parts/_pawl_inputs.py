"""What may be given for a notched-wheel pawl: its geometry, and what is impossible."""

from __future__ import annotations

from math import atan, isnan, pi, tan
from typing import Any

from simcore.contract import Again
from simcore.parts._air import refuse_air
from simcore.parts._elastic import both_or_neither
from simcore.parts._protection import again_time, setting_or

SPRING = 0.5  # choices reach the part by their number: below, the spring; above, air
BY_HAND_TIME = 120.0
"""Time [s] that levering a pawl back takes; common practice, from memory."""
AGAIN_TIME = again_time(None, ("0.5 s", "5 min"), "2 min by hand; by air, the way to the next notch at rearm_speed and "
                        "the time the pressure takes to come back")  # fmt: skip


def put_back(notches: float, rearm_speed: float, filling: float) -> Again:
    """By hand, or by air that takes ``filling`` [s] to come back (NaN: a spring); the only notch keeps the phase."""
    kept = "yes" if notches < 1.5 else "no"
    if isnan(filling):
        return Again(seconds=BY_HAND_TIME, phase_kept=kept)
    return Again("re-arm by pressure", 2.0 * pi / notches / rearm_speed + filling, kept)


def geometry(r: Any) -> float:
    """Setting [N*m] by geometry; NaN if incomplete."""
    force = r.spring_force
    if r.loading > SPRING:
        force = r.piston_area * (r.reference_pressure - r.pressure_offset)
    return float(r.lever_ratio * force * r.wheel_radius * tan(r.flank_angle + atan(r.friction)))


def profile(r: Any) -> float:
    """Torque at dead centre over the setting."""
    if not isnan(r.dead_centre_torque):
        return float(r.dead_centre_torque)
    if r.loading > SPRING:
        return 1.0
    share = r.spring_force_dead_centre / r.spring_force
    return 0.35 if isnan(share) else float(share)


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    said = refuse_air(r) if r.loading > SPRING else _refuse_spring(r)
    if r.release_twist >= 2.0 * pi / r.notches:
        said.append("the release twist reaches the next notch: the pawl would never be out")
    if r.flank_angle + atan(r.friction) >= 0.5 * pi:
        return [*said, "flank_angle and friction together reach 90 deg: the pawl cannot climb out, it jams"]
    force = "piston_area" if r.loading > SPRING else "spring_force"
    return said + setting_or(r, geometry(r), f"wheel_radius, lever_ratio and {force}")


def _refuse_spring(r: Any) -> list[str]:
    said = []
    if r.spring_force_dead_centre > r.spring_force:
        said.append("the spring's push must fall towards dead centre: spring_force_dead_centre must be at most "
                    "spring_force")  # fmt: skip
    share = r.spring_force_dead_centre / r.spring_force
    said += both_or_neither(r.dead_centre_torque, share, f"dead_centre_torque {r.dead_centre_torque:.4g} contradicts "
                            f"the spring forces, whose ratio is {share:.4g}: leave one of them out")  # fmt: skip
    if len(r.pressures) or len(r.pressure_times) or not isnan(r.pressure) or not isnan(r.piston_area):
        said.append('a pressure or a piston needs loading = "pneumatic"; this pawl is held by a spring')
    return said
