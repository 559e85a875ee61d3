r"""Conveyor resistance: what a belt conveyor with carrying rollers pulls against, by its masses per length.

.. math:: F_H = f L g\left(q_R + (2 q_B + q_G)\cos\delta\right), \qquad F_{St} = H g q_G, \qquad
          F = C F_H + F_S + F_{St}

with the friction factor :math:`f`, length :math:`L` between centres, rise :math:`H = L\sin\delta`, masses per length
of the rollers of both strands :math:`q_R`, of one strand of belt :math:`q_B` and of the goods :math:`q_G`, and special
resistances :math:`F_S` (skirts, scrapers).  :math:`C` counts in the secondary resistances at feed and pulleys; left
out, it is read off the table by length.  Main, secondary and special resistance are dry friction, at standstill larger
by the breakaway factor; the slope pulls whether the belt moves or not and is booked as work, given back as the goods
come down.  What travels: belt, goods and the rollers' turning rims, :math:`L(2 q_B + q_G + q_R)`.

Source: ISO 5048 and DIN 22101 (formula and table of :math:`C` cited from memory).
"""

from __future__ import annotations

from math import isnan, sqrt
from typing import Any

from simcore.contract import Kind, Param
from simcore.parts._given import or_else
from simcore.parts._gravity import FALLS, LIFTS, RUNS, WEIGHT, G, friction, loss, mass_moves, pulls, signed, torque

__all__ = ["KIND", "friction", "loss", "torque"]

MAIN, MASS = 3, 4
LENGTHS = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.5, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 90.0, 100.0, 120.0,
           140.0, 160.0, 180.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0, 800.0, 900.0,
           1000.0, 1500.0, 2000.0)  # fmt: skip
FACTORS = (9.0, 7.6, 6.6, 5.9, 5.1, 4.5, 4.0, 3.6, 3.2, 2.9, 2.6, 2.4, 2.2, 2.0, 1.92, 1.86, 1.78, 1.70, 1.63, 1.56,
           1.50, 1.45, 1.38, 1.31, 1.27, 1.25, 1.22, 1.20, 1.17, 1.14, 1.12, 1.10, 1.09, 1.06, 1.05)  # fmt: skip

KIND = Kind(
    name="conveyor resistance",
    family="load",
    domain="travel",
    hubs=1,
    summary="belt conveyor on rollers: main and secondary resistance as friction, slope as weight",
    params=(
        Param("length", "length", "length between the pulleys' centres", required=True, low="3 m", high="2000 m"),
        Param("rise", "length", "height by which the goods are lifted (or let down, see lifts)", default="0 m",
              low="0 m", source="level"),
        Param("goods", "mass_per_length", "mass of the goods on one metre", required=True, low="0 kg/m"),
        Param("belt", "mass_per_length", "mass of one metre of belt, one strand", required=True, above="0 kg/m"),
        Param("rollers", "mass_per_length", "turning mass of the rollers on one metre, both strands together",
              required=True, low="0 kg/m"),
        Param("friction_factor", "ratio", "friction factor of belt on rollers", default=0.02, above=0, high=0.2,
              usual=(0.012, 0.03), source="well kept, loaded belts; ISO 5048, DIN 22101, from memory"),
        Param("length_factor", "ratio", "whole over main resistance; left out: by length", low=1, high=20,
              source="table of DIN 22101, from memory"),
        Param("special", "force", "special resistances: skirts, scrapers, side rollers", default="0 N", low="0 N",
              source="left out unless given"),
        Param("breakaway_factor", "ratio", "friction at standstill over friction while moving", default=1.3, low=1,
              high=3, usual=(1.1, 1.5), source="common practice, from memory"),
        LIFTS,
        mass_moves("counted here", "the masses per length are known here"),
    ),
    row=("weight", "runs", "sticks", "main", "mass"),
    cautions=(FALLS, "A conveyor that runs empty, cold or after a stand pulls differently: try goods 0 and the high "
              "friction factor as well.",
              "Nips at pulleys and rollers draw in: guard them (EN 620 for belt conveyors)."),
    sources=("ISO 5048, DIN 22101: main, secondary and slope resistance (cited from memory)",),
)  # fmt: skip


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    if r.rise >= r.length:
        return [f"rise {r.rise:.4g} m is not below the length {r.length:.4g} m: that is no conveyor belt"]
    return []


def _length_factor(length: float) -> float:
    """Whole over main resistance by length [m], straight between the lengths of the table."""
    i = 1
    while i < len(LENGTHS) - 1 and length > LENGTHS[i]:
        i += 1
    share = (length - LENGTHS[i - 1]) / (LENGTHS[i] - LENGTHS[i - 1])
    return float(FACTORS[i - 1] + share * (FACTORS[i] - FACTORS[i - 1]))


def _mass(r: Any) -> float:
    return float(r.length * (2.0 * r.belt + r.goods + r.rollers))


def resolve(r: Any, w1: float) -> tuple[float, float, float, float, float]:
    s = r.rise / r.length
    main = r.friction_factor * r.length * G * (r.rollers + (2.0 * r.belt + r.goods) * sqrt(1.0 - s * s))
    c = _length_factor(r.length) if isnan(r.length_factor) else r.length_factor
    runs = c * main + or_else(r.special, 0.0)
    return signed(r.rise * G * r.goods, r.lifts), runs, runs * r.breakaway_factor, main, _mass(r)


def inertias(r: Any) -> tuple[float, float]:
    return _mass(r) * r.mass_moves, 0.0


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    return {**pulls(p), "main resistance": (p[MAIN], "force"), "secondary and special resistance":
            (p[RUNS] - p[MAIN], "force"), "slope resistance": (abs(p[WEIGHT]), "force"),
            "mass that travels": (p[MASS], "mass")}  # fmt: skip
