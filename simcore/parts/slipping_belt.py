r"""Slipping belt: a belt on two pulleys of one size that slips at the pull its pretension and wrap hold.

.. math:: T_{max} = 2 F_0 r \tanh\frac{\mu'\beta}{2}, \qquad \mu' = \frac{\mu}{\sin(\alpha/2)}

with the pretension :math:`F_0` of each strand, the pulleys' radius :math:`r`, the wrap :math:`\beta` and the groove
angle :math:`\alpha` (180 degrees: a flat belt).  One torque at any slip speed; law, slip and heat see
:mod:`simcore.parts._belt_drive`.  The pulleys are alike: what stands in a slot turns both sides at one speed.
Tightening turns the setting; the stiffness :math:`2 E\!A\,r^2/a` at the centre distance :math:`a` stays.  What the belt
bears is judged here, by its heat limit.

Sources: Euler and Eytelwein, textbook; wedge, textbook; Niemann and Winter, Maschinenelemente 3 (cited from memory).
"""

from __future__ import annotations

from math import exp, isnan, sin, tanh
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts import _belt_drive as bd
from simcore.parts import friction_disc as fd
from simcore.parts._elastic import BELT_DAMPING, damping, stiffness
from simcore.parts._given import or_else
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance
from simcore.parts.friction_disc import guards, hint, loss, rate, start_mode, store, switch, torque

__all__ = ["KIND", "guards", "hint", "inertias", "loss", "rate", "start_mode", "store", "switch", "torque"]

GRIP, RADIUS = range(23, 25)

KIND = Kind(
    name="slipping belt",
    family="protection",
    summary="belt on two like pulleys, slips at the pull its pretension holds; heats until the drive stops",
    params=(
        Param("setting", "torque", "torque at which it slips", above="0 N*m"),
        Param("pretension", "force", "pull in each strand at rest, all belts together", above="0 N"),
        Param("pulley_radius", "length", "radius of both pulleys where the belt pulls", above="0 mm"),
        Param("groove_angle", "angle", "whole angle of the groove; 180 deg: flat belt", default="36 deg", low="20 deg",
              high="180 deg", usual=("34 deg", "180 deg"), source="34 to 38 degrees as in ISO 4183, from memory"),
        Param("friction", "ratio", "coefficient of friction on pulley or flanks", default=0.3, above=0, high=2,
              usual=(0.2, 0.5), source="common practice, from memory"),
        Param("wrap_angle", "angle", "wrap of each pulley",
              default="180 deg", above="0 deg", high="330 deg", usual=("180 deg", "220 deg"), source="like pulleys"),
        tolerance("30 %", ("20 %", "50 %")),
        Param("tensile_stiffness", "force", "force over strain (EA) of all belts together", above="0 N",
              usual=("15 kN", "200 kN")),
        Param("centre_distance", "length", "distance between the shafts, the length of one strand", above="0 mm"),
        Param("stiffness", "stiffness", "torsional stiffness; left out: from tensile_stiffness, centre_distance and "
              "pulley_radius", above="0 N*m/rad"),
        Param("twist_at_setting", "angle", "twist at the setting, if neither stiffness nor the belt's own is given",
              default="2 deg", above="0 deg", usual=("1 deg", "5 deg"),
              source="0.6 % of strain on strands of six radii; common practice, from memory"),
        BELT_DAMPING,
        Param("heat_capacity", "heat_capacity", "heat capacity of the belt and the rim it rubs on", default="2 kJ/K",
              above="0 J/K", usual=("0.5 kJ/K", "20 kJ/K"),
              source="1 kg of belt and as much again of rim; common practice, from memory"),
        Param("cooling", "conductance", "heat given off per kelvin", default="20 W/K", low="0 W/K",
              usual=("5 W/K", "100 W/K"), source="common practice, from memory"),
        Param("heat_limit", "temperature_difference", "rise the belt bears", default="50 K", above="0 K",
              usual=("40 K", "80 K"), source="rubber at 70 degrees Celsius, from memory"),
        again_time("0 s", ("0 s", "60 min")),
        *hub_params(),
    ),
    row=(*fd.KIND.row, "grip", "radius"),
    modes=bd.MODES,
    states=bd.STATES,
    guards=bd.GUARDS,
    memory=bd.MEMORY,
    burns="burnt",
    slides=True,
    character="twist",
    example={"setting": "150 N*m", "pulley_radius": "100 mm"},
    lets_go="the torque reaches the largest pull; slides on at that pull",
    leaves="drive still connected at the slip torque; heat and a worn belt; nothing is released",
    runs_again="at once when the jam is cleared and the belt has cooled; glazed belts are renewed and tightened",
    again="nothing",
    cautions=(*bd.CAUTIONS, "Both shafts bear twice the pretension also at rest."),
    sources=(*bd.SOURCES, "ISO 4183: grooves (cited from memory)"),
)  # fmt: skip


def _grip(r: Any) -> float:
    """Exponent of the ratio of both strands' pulls when it slips."""
    return float(r.friction / sin(0.5 * r.groove_angle) * r.wrap_angle)


def _by_pretension(r: Any) -> float:
    """Torque [N*m] at which it slips; NaN if pretension or radius is missing."""
    return float(2.0 * r.pretension * r.pulley_radius * tanh(0.5 * _grip(r)))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = setting_or(r, _by_pretension(r), "pretension and pulley_radius")
    if r.centre_distance <= 2.0 * r.pulley_radius:
        out.append("the pulleys touch: centre_distance must exceed twice the pulley_radius")
    return out


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    s = _by_pretension(r) if isnan(r.setting) else r.setting
    belt = 2.0 * r.tensile_stiffness / r.centre_distance * r.pulley_radius * r.pulley_radius
    k = stiffness(or_else(r.stiffness, belt), r.twist_at_setting, s)
    return (
        s, 1.0, 0.0, 0.0, 0.0, k, damping(r.relative_damping, k, w1), r.heat_capacity, r.cooling, 0.0, 0.0, 0.0,
        r.heat_limit, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, _grip(r),
        0.0 if isnan(r.pulley_radius) else r.pulley_radius,
    )  # fmt: skip


def dial(p: Any, f: float) -> tuple[float]:
    """Tightening the belt; its stiffness stays."""
    return (p[fd.S] * f,)


def band(p: Any) -> float:
    return 1.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity); the belt's pulls where the pulleys' radius is known."""
    facts = {
        "setting": (p[fd.S], "torque"),
        "stiffness": (p[fd.K], "stiffness"),
        "twist at the setting": (p[fd.S] / p[fd.K], "angle"),
        "pull of the tight over that of the loose strand when it slips": (exp(p[GRIP]), "ratio"),
        "slip power borne continuously": (p[fd.COOLING] * p[fd.LIMIT], "power"),
    }
    if p[RADIUS] > 0.0:
        pull = p[fd.S] / p[RADIUS]
        strand = 0.5 * pull / tanh(0.5 * p[GRIP])
        facts["largest pull"] = (pull, "force")
        facts["pretension of each strand"] = (strand, "force")
        facts["pull on each shaft, strands parallel"] = (2.0 * strand, "force")
    return facts
