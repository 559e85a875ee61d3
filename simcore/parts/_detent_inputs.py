"""Inputs that ball and roller detent share."""

from __future__ import annotations

from simcore.contract import Param
from simcore.parts._elastic import RELATIVE_DAMPING
from simcore.parts._protection import again_time

PRACTICE = "common practice, from memory"

AGAIN_TIME = again_time(None, ("0.5 s", "10 min"), "3 min by hand; where it drops in again by itself, the longest way "
                        "to a pocket at crawl_speed, else at seat_speed")  # fmt: skip


def flank_inputs(angle: str) -> tuple[Param, ...]:
    """Flank, friction, guide; ``angle``: usual flank angle."""
    return (
        Param("pitch_radius", "length", "radius of the pocket circle", above="0 mm"),
        Param("lift", "length", "axial lift to the crest", above="0 mm", usual=("0.8 mm", "3.5 mm")),
        Param("flank", "choice", "straight: conical pocket or ramp; sharp edge: the round element leaves over the edge "
              "of its pocket", default="straight", choices=("straight", "sharp edge"), source="the usual pocket"),
        Param("flank_angle", "angle", "angle of a straight flank from the direction of travel", default=angle,
              above="0 deg", high="89 deg", usual=("30 deg", "60 deg"), source=PRACTICE),
        Param("pocket_half_width", "length", "half the width of the pocket between its sharp edges, along the pitch "
              "circle", above="0 mm"),
        Param("friction", "ratio", "coefficient of friction on the flank: 0.11 greased, 0.2 dry", default=0.11, low=0,
              high=1, usual=(0.08, 0.2), source="greased steel, from memory"),
        Param("setting_friction", "ratio", "coefficient of friction at which the setting is stated, to see what dry or "
              "worn flanks make of it; left out: the same", low=0, high=1),
        Param("guide_friction", "ratio", "coefficient of friction of the elements in their guide", default=0, low=0,
              high=1, usual=(0, 0.15), source="a free guide"),
        Param("guide_radius", "length", "radius at which the guide takes up the torque; left out: the pitch radius",
              above="0 mm"),
        Param("first_carries", "ratio", "load of the first element over the even share; then only the number over this "
              "climbs at a time", default=1, low=1, high=200, usual=(1, 2), source="all alike"),
    )  # fmt: skip


def spring_inputs() -> tuple[Param, ...]:
    return (
        Param("spring", "choice", "coil: force rises towards the crest; disc: falls past its peak",
              default="disc", choices=("coil", "disc"), source="common practice"),
        Param("crest_torque", "ratio", "torque at the crest over torque at the start of the climb (on a sharp edge: "
              "spring forces); left out: by the spring's inputs, else 1.2 for a coil, 0.35 for a disc spring", above=0,
              high=3, usual=(0.2, 1.3), source=PRACTICE),
        Param("spring_rate", "linear_stiffness", "rate of the coil spring on one element", above="0 N/mm"),
        Param("disc_height", "length", "height of the cone of one disc spring, unloaded", above="0 mm"),
        Param("disc_thickness", "length", "thickness of one disc spring", above="0 mm"),
        Param("disc_deflection", "length", "deflection of one disc spring when seated", above="0 mm"),
        Param("discs_in_series", "count", "disc springs stacked so that their deflections add up", default=1, low=1,
              high=40, source="a single one"),
        Param("disc_outer", "length", "outer diameter of a disc spring of steel that presses all elements",
              above="0 mm"),
        Param("disc_inner", "length", "its inner diameter", above="0 mm"),
    )  # fmt: skip


def twist_inputs(release: str, seated: str) -> tuple[Param, ...]:
    return (
        Param("release_twist", "angle", "twist along the flank from seat to crest, if the geometry does not say",
              default=release, above="0 deg", high="90 deg", usual=("2 deg", "8 deg"), source=PRACTICE),
        Param("stiffness", "stiffness", "torsional stiffness while seated", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting while still seated", default=seated,
              above="0 deg", usual=("0.15 deg", "0.6 deg"), source=PRACTICE),
        RELATIVE_DAMPING,
    )  # fmt: skip


def pocket_inputs(residual: str, seat_speed: str) -> tuple[Param, ...]:
    """What happens past the crest; ``residual``: words on the drag left, ``seat_speed``: usual value."""
    return (
        Param("after_release", "choice", "what the elements do past the crest", default="stays out",
              choices=("stays out", "ratchets"), source="the safer one"),
        Param("reset", "choice", "manual: stays out until it is reset; automatic: drops in again at the next pocket "
              "met slowly enough, as a ratcheting one always does", default="manual", choices=("manual", "automatic"),
              source="the safer one"),
        Param("ratcheting", "choice", "mean drag: pockets passed count only in the residual drag; torque pulses: the "
              "elements drop as far as they have time and climb out again", default="mean drag",
              choices=("mean drag", "torque pulses"), source="the simpler one"),
        Param("residual", "ratio", f"drag past the crest over the setting; left out: {residual}", low=0, high=1,
              usual=(0.005, 0.35), source=PRACTICE),
        Param("pockets_every", "angle", "angle between pockets", default="360 deg", above="0 deg",
              high="360 deg", usual=("15 deg", "360 deg"), source="keeps the phase"),
        Param("pockets", "angle", "angles of the pockets within a turn in place of equal spacing, rising; the elements "
              "sit in the first one to begin with", low="0 deg", high="360 deg", many=True),
        Param("seat_speed", "speed", "relative speed below which the elements drop in", default=seat_speed,
              low="0 rpm", usual=("10 rpm", "100 rpm"), source="150 N*m size, from memory"),
        Param("moving_mass", "mass", "mass that the element springs move; gives the seat speed in place of "
              "seat_speed", above="0 kg", usual=("0.02 kg", "5 kg")),
        Param("pocket_width", "angle", "angle over which a pocket lets the elements drop; left out: twice the release "
              "twist", above="0 deg", high="180 deg"),
        Param("crawl_speed", "speed", "relative speed at which the next pocket is sought", above="0 rpm",
              usual=("1 rpm", "20 rpm")),
        Param("releases_done", "count", "releases since the setting was made", default=0, low=0, high=1e6,
              source="new"),
        Param("drift_per_1000", "ratio", "change of the setting in 1000 releases", default=0, low=-0.5, high=0.5,
              usual=(-0.2, -0.05), source="none counted; at full speed -10 % (balls), -5 % (rollers), from memory"),
    )  # fmt: skip
