r"""Ball detent: balls in pockets climb their flanks on overload and release, or ratchet on.

Seated: :math:`T = k\varphi + c\nu`.  Climbing out over the release twist :math:`u_c`:

.. math:: T = T_1 + (T_2 - T_1)u/u_c, \qquad T_1 = n F R \tan(\alpha+\rho), \quad \rho = \arctan\mu

moving back in :math:`T\tan(\alpha-\rho)/\tan(\alpha+\rho)`, at rest on the flank anything between, with
:math:`\alpha` measured from the direction of travel; where :math:`\alpha \le \rho` the balls stay on the flank.  A
coil spring rises towards the crest (:math:`T_2 > T_1`), a disc spring past its peak falls.  Guide friction
:math:`\mu_g` at radius :math:`r_g` makes it

.. math:: T_{out} = \frac{nFR}{\cot(\alpha+\rho) - \mu_g R/r_g}, \qquad
          T_{in} = \frac{nFR}{\cot(\alpha-\rho) + \mu_g R/r_g}

and a ball on the sharp edge of its pocket sees the slope :math:`\tan\alpha = (a-x)/\sqrt{r^2-(a-x)^2}`, half width
:math:`a`, ball radius :math:`r`, travel :math:`x`.  Past the crest only the residual drag is left, or pulses where
the balls have time to drop: by :math:`(F/m)\tau^2/2` in the time :math:`\tau` over the pocket.  The wind-up is lost
as heat at the crest; the energy in the element springs stays until the balls drop into a pocket again.  Setting: the
largest quasi-static torque of the climb.

A reset at a slip speed of at most 10 rpm seats them, where the hubs stand: the turning by hand to the nearest pocket is
not computed.

Sources: friction on an inclined flank, Niemann and Winter, Maschinenelemente 1; disc spring, Almen and Laszlo as in
EN 16984 and DIN 2092 (both cited from memory).
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._detent import (
    BACK_B,
    BACK_F,
    CLIMB_B,
    CLIMB_F,
    COUNT,
    DROP_B,
    DROP_F,
    FALL_B,
    FALL_F,
    FLANK_B,
    FLANK_F,
    GUARDS,
    HERE,
    LAND_B,
    LAND_F,
    LEFT,
    MEMORY,
    MODES,
    NEXT_B,
    NEXT_F,
    OFFSET,
    OUT_B,
    OUT_F,
    OUT_HELD,
    PLACE,
    SEATED,
    STATES,
    TALLY,
    band,
    dial,
    guards,
    hint,
    left_behind,
    loss,
    rate,
    start_mode,
    store,
    switch,
    torque,
)
from simcore.parts._detent_flank import CREST, DRAG, RATCHETS, ROW, SEAT_SPEED, T1, T2, TOP, K
from simcore.parts._detent_inputs import AGAIN_TIME, flank_inputs, pocket_inputs, spring_inputs, twist_inputs
from simcore.parts._detent_refuse import refused
from simcore.parts._detent_row import Row, resolved, sheet, to_run_again
from simcore.parts._protection import hub_params, inertias, tolerance

__all__ = [
    "BACK_B", "BACK_F", "CLIMB_B", "CLIMB_F", "COUNT", "CREST", "DRAG", "DROP_B", "DROP_F", "FALL_B", "FALL_F",
    "FLANK_B", "FLANK_F", "HERE", "K", "KIND", "LAND_B", "LAND_F", "NEXT_B", "NEXT_F", "OFFSET", "OUT_B", "OUT_F",
    "OUT_HELD", "PLACE", "RATCHETS", "SEATED", "SEAT_SPEED", "T1", "T2", "TOP", "band", "dial", "guards", "hint",
    "inertias", "left_behind", "loss", "rate", "sheet", "start_mode", "store", "switch", "to_run_again",
    "torque",
]  # fmt: skip

CLEAR, MEAN = 0.015, 0.2
"""Residual drag over the setting: clear of the pockets, and as a mean over them; common practice, from memory."""

KIND = Kind(
    name="ball detent",
    family="protection",
    summary="releases as its balls climb out of their pockets; stays out, or ratchets into the next pocket",
    params=(
        Param("setting", "torque", "largest quasi-static torque on the climb, when new", above="0 N*m"),
        Param("balls", "count", "number of balls", low=1, high=200),
        Param("ball_force", "force", "spring force on one ball when seated", above="0 N"),
        Param("ball_radius", "length", "radius of a ball, for a sharp edge", above="0 mm"),
        *flank_inputs("45 deg"),
        tolerance("5 %", ("3 %", "10 %")),
        *spring_inputs(),
        *twist_inputs("4 deg", "0.25 deg"),
        *pocket_inputs("1.5 % clear of the pockets, 20 % if it ratchets at mean drag", "30 rpm"),
        AGAIN_TIME,
        *hub_params(),
    ),
    row=ROW,
    modes=MODES,
    states=STATES,
    guards=GUARDS,
    memory=MEMORY,
    reads=("reset",),
    tally=TALLY,
    left_behind=LEFT,
    lets_go="the balls pass the crest after a few degrees of twist",
    leaves="both sides free but for a small drag; phase lost unless the only pocket is found again",
    runs_again="by a reset at standstill (manual), or by itself at the next pocket met slowly enough (automatic, "
    "ratchets)",
    again="reset",
    cautions=("Released, the load side is free: on an incline it runs back unless a backstop holds it.",
              "Ratcheting hammers the pockets: the drive must still be stopped.",
              "Re-seating by itself is a blow and a restart: nobody may reach into the machine meanwhile."),
    sources=("Niemann and Winter, Maschinenelemente 1: inclined flank (cited from memory)",
             "Almen and Laszlo as in EN 16984, DIN 2092: disc spring (cited from memory)"),
    character="twist",
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refused(r, r.balls, r.ball_force, r.ball_radius, ("balls", "ball_force", "ball_radius"))


def resolve(r: Any, w1: float) -> Row:
    return resolved(r, w1, r.balls, r.ball_force, r.ball_radius, CLEAR, MEAN)
