r"""Roller detent: rollers in grooves climb their flanks on overload and release, or ratchet on.

Seated: :math:`T = k\varphi + c\nu`.  Climbing out along the flank over the release twist, with :math:`\alpha` from
the direction of travel, :math:`\rho = \arctan\mu`, guide friction :math:`\mu_g` at radius :math:`r_g`:

.. math:: T_{out} = \frac{nFR}{\cot(\alpha+\rho) - \mu_g R/r_g}, \qquad
          T_{in} = \frac{nFR}{\cot(\alpha-\rho) + \mu_g R/r_g}

At rest on the flank anything between; it stays there where :math:`\alpha \le \rho`.  A roller on the sharp edge
of its groove sees the slope :math:`\tan\alpha = (a-x)/\sqrt{r^2-(a-x)^2}`, half width :math:`a`, roller radius
:math:`r`, travel :math:`x`.  The force rises with a coil spring, falls with a disc spring past its peak.  Past the
crest only the residual drag is left, or pulses where the rollers have time to drop: by
:math:`(F/m)\tau^2/2` in the time :math:`\tau` over the groove.

A reset at a slip speed of at most 10 rpm seats them, where the hubs stand: the turning by hand to the nearest pocket is
not computed.

Sources: inclined flank with friction, Niemann and Winter, Maschinenelemente 1; disc spring, Almen and Laszlo as in
EN 16984 and DIN 2092 (both cited from memory).
"""

from __future__ import annotations

from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._detent import (
    GUARDS,
    LEFT,
    MEMORY,
    MODES,
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
from simcore.parts._detent_flank import ROW
from simcore.parts._detent_inputs import AGAIN_TIME, flank_inputs, pocket_inputs, spring_inputs, twist_inputs
from simcore.parts._detent_refuse import refused
from simcore.parts._detent_row import Row, resolved, sheet, to_run_again
from simcore.parts._protection import hub_params, inertias, tolerance

__all__ = ["KIND", "band", "dial", "guards", "hint", "inertias", "left_behind", "loss", "rate", "sheet", "start_mode",
           "store", "switch", "to_run_again", "torque"]  # fmt: skip

CLEAR, MEAN = 0.03, 0.25
"""Residual drag over the setting: clear of the grooves, and as a mean over them; common practice, from memory."""

KIND = Kind(
    name="roller detent",
    family="protection",
    summary="releases as its rollers climb out of their grooves; stays out, or drops in again",
    params=(
        Param("setting", "torque", "largest quasi-static torque on the climb, when new", above="0 N*m"),
        Param("rollers", "count", "number of rollers", low=1, high=200),
        Param("roller_force", "force", "spring force on one roller when seated", above="0 N"),
        Param("roller_radius", "length", "radius of a roller, for a sharp edge", above="0 mm"),
        *flank_inputs("50 deg"),
        tolerance("6 %", ("4 %", "10 %")),
        *spring_inputs(),
        *twist_inputs("5 deg", "0.3 deg"),
        *pocket_inputs("3 % clear of the pockets, 25 % if it ratchets at mean drag", "20 rpm"),
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
    lets_go="the rollers pass the crest after a few degrees of twist",
    leaves="both sides free but for a small drag; phase lost unless the first pocket is found again",
    runs_again="by a reset at standstill (manual), or by itself at the next pocket met slowly enough (automatic, "
    "ratchets)",
    again="reset",
    cautions=("Released, the load side is free: on an incline it runs back unless a backstop holds it.",
              "Ratcheting hammers the grooves: the drive must still be stopped.",
              "Re-seating by itself is a blow and a restart: nobody may reach into the machine meanwhile."),
    sources=("Niemann and Winter, Maschinenelemente 1: inclined flank (cited from memory)",
             "Almen and Laszlo as in EN 16984, DIN 2092: disc spring (cited from memory)"),
    character="twist",
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    return refused(r, r.rollers, r.roller_force, r.roller_radius, ("rollers", "roller_force", "roller_radius"))


def resolve(r: Any, w1: float) -> Row:
    return resolved(r, w1, r.rollers, r.roller_force, r.roller_radius, CLEAR, MEAN)
