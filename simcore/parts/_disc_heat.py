r"""Heat of a rubbing disc: the skin of a steel plate is hotter than its bulk while it slips.

A plate of half thickness :math:`d`, heated on its faces by the power :math:`q` over their area :math:`A`
and closed in its middle: the surface leads the mean by

.. math:: \frac{qd}{3kA}\left(1 - \frac{6}{\pi^2}\sum_n \frac{1}{n^2}
          e^{-n^2\pi^2 a t/d^2}\right)

Two layers that carry no heat stand for the sum, :math:`\dot u_i = (R_i q - u_i)/\tau_i`, with
:math:`R_i = \{0.145, 0.738\}\,d/3kA` and :math:`\tau_i = \{1.108, 44.58\}\cdot 10^{-3}\,d^2/a`: fitted so
that bulk and layers together follow the exact surface within 6 % from :math:`t = 8.7\cdot 10^{-4} d^2/a`
on (1 ms at 4 mm; there 1.28 and 51.5 ms); a shorter flash is hotter than they say.  In long slip they
come to 0.883 of the exact lead, which the bulk by then outweighs.  All the heat is taken to enter the
steel, none the facing: the safer side.

Source: Carslaw and Jaeger, Conduction of Heat in Solids, slab with constant flux (cited from memory);
the fit is our own.
"""

from __future__ import annotations

from math import isnan, pi
from typing import Any

from simcore.contract import Param

CONDUCTIVITY = 50.0
"""Of steel [W/(m*K)]; from memory."""
DIFFUSIVITY = 1.385e-5
"""Of steel [m^2/s]: 50 W/(m*K) over 7850 kg/m^3 and 460 J/(kg*K); from memory."""
SHARE_1, SHARE_2 = 0.145, 0.738
LAG_1, LAG_2 = 1.108e-3, 44.58e-3
SIZE_TORQUE, SIZE_AREA = 150.0, 17e-3
"""All faces [m^2] of a disc of so much torque [N*m]; common practice, from memory."""

HEAT = (
    Param("heat_capacity", "heat_capacity", "heat capacity of disc and plates", default="700 J/K",
          above="0 J/K", usual=("120 J/K", "7000 J/K"), source="150 N*m size, from memory", size=150),
    Param("cooling", "conductance", "heat given off per kelvin of rise", default="3.5 W/K",
          low="0 W/K", usual=("0.8 W/K", "15 W/K"), source="150 N*m size, turning, from memory", size=150),
    Param("hub_conductance", "conductance", "heat that flows on into the hub per kelvin between disc and hub",
          default="0 W/K", low="0 W/K", usual=("0 W/K", "10 W/K"),
          source="none: the disc keeps its heat, the safer side; usual range from memory"),
    Param("hub_capacity", "heat_capacity", "heat capacity of the hub", default="2 kJ/K", above="0 J/K",
          usual=("300 J/K", "20 kJ/K"), source="150 N*m size, from memory"),
    Param("facing_area", "area", "area of all faces; left out: from faces and diameters, else by size, "
          "17000 mm^2 at 150 N*m", above="0 mm^2", usual=("3600 mm^2", "87000 mm^2"),
          source="common practice, from memory"),
    Param("half_thickness", "length", "half the thickness of a steel plate rubbed on both sides, the whole "
          "of one rubbed on one side", default="4 mm", above="0 mm", high="16 mm", usual=("2 mm", "8 mm"),
          source="150 N*m size, from memory"),
    Param("surface_resistance", "thermal_resistance", "lead of the face over the bulk per watt of a steel plate in "
          "long slip; left out: half_thickness/(3 k facing_area), k of steel 50 W/(m*K)", low="0 K/W"),
    Param("fade", "fade", "change of torque with the disc's rise", default="-0.1 %/K", high=0,
          low="-1 %/K", usual=("-0.15 %/K", "-0.05 %/K"), source="common practice, from memory"),
    Param("heat_limit", "temperature_difference", "rise the facing bears", default="150 K",
          above="0 K", usual=("130 K", "380 K"), source="organic facing, from memory"),
)  # fmt: skip


def all_faces(r: Any, setting: float) -> float:
    """Area of all faces [m^2]: as given, from the diameters, else by size, ``A ~ T^(2/3)``."""
    if not isnan(r.facing_area):
        return r.facing_area
    area = 0.25 * pi * r.faces * (r.outer_diameter * r.outer_diameter - r.inner_diameter * r.inner_diameter)
    if isnan(area):
        return SIZE_AREA * (setting / SIZE_TORQUE) ** (2.0 / 3.0)
    return area


def lead_per_watt(r: Any, setting: float) -> float:
    """Lead of the exact surface over the bulk in long slip [K/W]."""
    if isnan(r.surface_resistance):
        return r.half_thickness / (3.0 * CONDUCTIVITY * all_faces(r, setting))
    return r.surface_resistance


def diffusion_time(half_thickness: float) -> float:
    """Half thickness squared over the diffusivity of steel [s]."""
    return half_thickness * half_thickness / DIFFUSIVITY


def layer_rate(power: float, u: float, resistance: float, lag: float) -> float:
    """Rate [K/s] of a layer's lead ``u`` [K] at the power [W]."""
    return (resistance * power - u) / lag
