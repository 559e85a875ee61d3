r"""Eddy-current clutch: torque by the currents that a field drives through a slipping rotor; no contact.

.. math:: T = \frac{2T_{pk}}{\nu/\nu_{pk} + \nu_{pk}/\nu}, \qquad
          T_{pk} = S\left(\rho + (1-\rho)\frac{b(i)}{b(i_r)}\right), \quad
          b = \frac{u^2}{\sqrt{1+u^4}},\ u = \frac{i}{i_k}

with the setting :math:`S` at rated current :math:`i_r`, the knee :math:`i_k` of the iron and the share
:math:`\rho` left by its remanence without current.  Below 0.6 of the knee the torque goes with the square
of the current within 6 %.  No torque without slip, so it always slips: on the rising branch up to the peak
slip speed :math:`\nu_{pk}` it counts as engaged, past it the torque falls and a constant load :math:`T_L`
runs away beyond :math:`\nu_{pk}(x+\sqrt{x^2-1})`, :math:`x = T_{pk}/T_L`.

Coil: :math:`L\,di/dt + Ri = u`, with u constant or along straight lines through given corners; cut by a stop,
:math:`L\,di/dt + (R + R_s) i = 0` with a resistor in parallel, 0 for a diode; it takes
:math:`R_s/(R+R_s)` of :math:`\tfrac12 L i^2`, which is in no ledger of the line.  Rotor:
:math:`C\dot\vartheta = T\nu - G\vartheta`; its resistivity moves :math:`\nu_{pk} = \nu_0(1+\alpha\vartheta)`, the
peak torque stays.  By geometry, a disc of thickness d between n round poles of diameter D at radius R:

.. math:: S = n R\frac{\pi D^2 B^2}{4\mu_0}\sqrt{c\,g/D}, \quad
          \nu_0 = \frac{2}{\mu_0\sigma d R}\sqrt{\frac{g}{cD}}, \quad
          c = \frac12\left(1 - \frac{(D/2a)^2}{(1-(R/a)^2)^2}\right)

with the whole air gap g, disc within it, the flux density B in it at rated current and the disc's outer
radius a.  Not followed: the coil's warming, the fields of the currents on the coil, the delay of the field in
solid iron, the lag of the disc's own currents, which in truth damps fast swings on the falling branch.

Sources: curve and geometry, Wouterse, Critical torque and speed of eddy current brake, Proc. IEE B 138
(1991); low speed, Schieber, Braking torque on rotating sheet, Proc. IEE 121 (1974) (cited from memory).
The curve b is our own smooth one.
"""

from __future__ import annotations

from math import isnan, pi, sqrt
from typing import Any

from simcore.contract import CLOCK, ENGAGED, SLIPPING, Kind, Mode, Param, Q, State
from simcore.parts._coil import CUT_HEAT, LEFT, READS, suppression_param, told_heat
from simcore.parts._program import program_clock, program_value, refuse_program
from simcore.parts._protection import again_time, hub_params, inertias, setting_or, tolerance

__all__ = ["KIND", "inertias"]

PEAK, NU_PK, REST, KNEE, AT_RATED, R, L, U, TIMES, VOLTS, ALPHA, HEAT_CAP, COOLING, LIMIT, RATED, WARM, CUT_R = range(
    17
)
RISING, PAST_F, PAST_B = range(3)
CURRENT, RISE, HEAT = range(3)
CORNER, BURNT = range(2)
MU0 = 4e-7 * pi
SAME = 1e-9
"""Share by which two currents may differ by rounding."""
USUAL_PEAK = 40.0
"""Peak slip speed [rad/s] when neither it nor the geometry is given (copper rotor, from memory)."""

KIND = Kind(
    name="eddy-current clutch",
    family="protection",
    summary="drags by currents in a slipping rotor; always slips a little, runs away past its peak",
    params=(
        Param("setting", "torque", "peak torque at rated current", above="0 N*m"),
        Param("peak_slip", "speed", "slip speed of the peak torque, rotor cold; left out: from the geometry, else "
              "40 rad/s", above="0 rad/s", usual=("20 rad/s", "80 rad/s"), source="copper rotor, from memory"),
        Param("rated_current", "current", "coil current at which the setting is stated", default="2 A",
              above="0 A", usual=("0.8 A", "5 A"), source="24 V coil of a 150 N*m size, from memory"),
        Param("knee_current", "current", "current of the iron's knee, beyond which the torque levels off; left out: "
              "the rated one", above="0 A", usual=("1 A", "5 A")),
        Param("resistance", "resistance", "resistance of the coil", default="12 ohm", above="0 ohm",
              usual=("4 ohm", "100 ohm"), source="24 V coil of a 150 N*m size, from memory"),
        Param("inductance", "inductance", "inductance of the coil", default="2 H", above="0 H",
              usual=("0.3 H", "8 H"), source="150 N*m size, from memory"),
        Param("voltage", "voltage", "constant voltage at the coil; left out: the one for rated current",
              low="-2 kV", high="2 kV"),
        Param("voltage_times", "time", "instants after the event, ordinary ones too, at which the voltage reaches the "
              "values of voltages, straight in between; twice the same instant: a jump", low="0 s", many=True),
        Param("voltages", "voltage", "voltages at voltage_times; the first holds before, the last after",
              low="-2 kV", high="2 kV", many=True),
        suppression_param("12 ohm"),
        Param("residual", "ratio", "torque without current over the setting, at the same slip", default="0.5 %",
              low=0, high=0.5, usual=("0 %", "1 %"), source="common practice, from memory"),
        Param("poles", "count", "round poles that face the disc", low=1, high=200),
        Param("pole_diameter", "length", "diameter of one pole", above="0 mm"),
        Param("pole_radius", "length", "radius of the circle of the poles", above="0 mm"),
        Param("disc_radius", "length", "outer radius of the conductive disc", above="0 mm"),
        Param("disc_thickness", "length", "thickness of the conductive disc", above="0 mm"),
        Param("conductivity", "conductivity", "electrical conductivity of the disc, cold", default="58 MS/m",
              above="0 MS/m", usual=("30 MS/m", "58 MS/m"), source="copper, IEC 60028"),
        Param("air_gap", "length", "whole gap between the poles, disc counted in", above="0 mm"),
        Param("flux_density", "flux_density", "flux density under the poles at rated current and no slip",
              above="0 T", high="2.5 T", usual=("0.3 T", "1 T")),
        tolerance("9 %", ("8 %", "10 %")),
        Param("resistivity_rise", "fade", "change of the rotor's resistivity, and of the peak slip speed, with its "
              "rise", default="0.39 %/K", low="0 %/K", high="0.7 %/K", usual=("0.38 %/K", "0.41 %/K"),
              source="copper and aluminium from 20 degrees Celsius; IEC 60028, from memory"),
        Param("rotor_rise", "temperature_difference", "rise of the rotor at the start", default="0 K", low="0 K",
              high="400 K", usual=("0 K", "80 K"), source="a cold clutch"),
        Param("heat_capacity", "heat_capacity", "heat capacity of the rotor", default="5000 J/K",
              above="0 J/K", usual=("800 J/K", "50 kJ/K"), source="150 N*m size, from memory", size=150),
        Param("cooling", "conductance", "heat given off per kelvin of rise", default="25 W/K", low="0 W/K",
              usual=("3 W/K", "200 W/K"), source="150 N*m size, turning with its fan, from memory", size=150),
        Param("heat_limit", "temperature_difference", "rise the rotor bears", default="150 K", above="0 K",
              usual=("100 K", "250 K"), source="coil and bearings beside it; common practice, from memory"),
        again_time("0 s", ("0 s", "30 min")),
        *hub_params(),
    ),
    row=("peak", "peak_slip", "residual", "knee", "at_rated", "resistance", "inductance", "voltage", "times",
         "voltages", "alpha", "heat_cap", "cooling", "heat_limit", "rated", "warm", "cut_resistance"),
    modes=(Mode("on its rising branch", ENGAGED, False), Mode("past its peak forward", SLIPPING, False),
           Mode("past its peak backward", SLIPPING, False)),
    states=(State("coil current", "A", 0.1, "current in the coil"),
            State("rotor rise", "K", 1.0, "temperature of the rotor above ambient"), CUT_HEAT),
    guards=("peak forward", "peak backward", "heat limit"),
    memory=("corners passed", "heat limit passed at"),
    reads=READS,
    left_behind=LEFT,
    burns="heat limit passed at",
    character="slip speed",
    lets_go="the slip speed passes the peak of its curve",
    leaves="drive still connected at a torque that falls as the slip grows; heat; nothing is released",
    runs_again="by itself when the load's torque falls below what the curve gives at that slip",
    again="nothing",
    cautions=("It always slips: it cannot hold a load at rest, and its slip heats it for as long as it drives.",
              "Past its peak a constant load runs away; falling below the peak torque does not bring it back.",
              "On a shaft slower than its peak slip speed it never passes its peak: a jam stalls the load while it "
              "drags on.",
              "Without current it lets the load go: a hanging load needs a brake of its own."),
    sources=("Wouterse 1991: eddy-current brake at any speed (cited from memory)",
             "Schieber 1974: braking torque of a rotating sheet (cited from memory)",
             "IEC 60028: resistivity of copper and its change (from memory)"),
)  # fmt: skip


def _form(r: Any) -> float:
    """Share of the currents that does work; the rest finds its way back round the disc's edge."""
    m = r.pole_radius / r.disc_radius
    way = 0.5 * r.pole_diameter / r.disc_radius / (1.0 - m * m)
    return float(0.5 * (1.0 - way * way))


def _peak_by_geometry(r: Any) -> float:
    """Peak torque [N*m]; NaN if the geometry is incomplete."""
    area = 0.25 * pi * r.pole_diameter * r.pole_diameter
    push = area * r.flux_density * r.flux_density / MU0 * sqrt(_form(r) * r.air_gap / r.pole_diameter)
    return float(r.poles * r.pole_radius * push)


def _slip_by_geometry(r: Any) -> float:
    """Peak slip speed [rad/s]; NaN if the geometry is incomplete."""
    sheet = 2.0 / (MU0 * r.conductivity * r.disc_thickness * r.pole_radius)
    return float(sheet * sqrt(r.air_gap / (_form(r) * r.pole_diameter)))


def refuse(r: Any) -> list[str]:
    """What is impossible in the inputs."""
    out = _refuse_voltage(r)
    if r.rotor_rise >= r.heat_limit:
        out.append("the rotor starts above its heat limit: rotor_rise must lie below heat_limit")
    if r.pole_radius + 0.5 * r.pole_diameter >= r.disc_radius:
        return [*out, "the poles reach over the disc's edge: disc_radius must exceed pole_radius and half a pole"]
    if r.poles * r.pole_diameter > 2.0 * pi * r.pole_radius:
        out.append("the poles do not fit side by side on their circle")
    if r.disc_thickness > r.air_gap:
        out.append("the disc is thicker than the air gap it turns in: air_gap counts the disc in")
    how = "poles, pole_diameter, pole_radius, disc_radius, air_gap and flux_density"
    out += setting_or(r, _peak_by_geometry(r), how)
    slip = _slip_by_geometry(r)
    if not isnan(r.peak_slip) and abs(slip - r.peak_slip) > 0.02 * r.peak_slip:
        out.append(f"peak_slip {r.peak_slip:.4g} rad/s contradicts the geometry, which gives {slip:.4g} rad/s: "
                   "leave one of them out")  # fmt: skip
    return out


def _refuse_voltage(r: Any) -> list[str]:
    out = refuse_program(r.voltage_times, r.voltages, "voltage", "voltages")
    if len(r.voltages) and not isnan(r.voltage):
        out.append("give the constant voltage or the voltages with their voltage_times, not both")
    return out


def _magnetisation(u: float) -> float:
    """Square of the flux over its square at the far end, by current over the knee's."""
    return u * u / sqrt(1.0 + u * u * u * u)


def resolve(r: Any, w1: float) -> tuple[float, ...]:
    peak = _peak_by_geometry(r) if isnan(r.setting) else r.setting
    slip = _slip_by_geometry(r) if isnan(r.peak_slip) else r.peak_slip
    if isnan(slip):
        slip = USUAL_PEAK
    knee = r.rated_current if isnan(r.knee_current) else r.knee_current
    u = r.rated_current * r.resistance if isnan(r.voltage) else r.voltage
    return (
        peak,
        slip,
        r.residual,
        knee,
        _magnetisation(r.rated_current / knee),
        r.resistance,
        r.inductance,
        u,
        0.0 if isnan(r.voltage_times) else r.voltage_times,
        0.0 if isnan(r.voltages) else r.voltages,
        r.resistivity_rise,
        r.heat_capacity,
        r.cooling,
        r.heat_limit,
        r.rated_current,
        r.rotor_rise,
        r.resistance + r.suppression_resistance,
    )


def dial(p: Any, f: float) -> tuple[float, ...]:
    """The current sets the torque at every slip; the slip speed of the peak stays."""
    return (
        p[PEAK] * f, p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9], p[10], p[11], p[12], p[13], p[14],
        p[15],
    )  # fmt: skip


def start_mode(p: Any, sense: float) -> int:
    return RISING


def start_state(p: Any, sense: float, tab: Any) -> tuple[float, float, float]:
    """Steady current of the constant voltage, or of the first one of the list."""
    u = program_value(tab, p[TIMES], p[VOLTS], 0.0, 0.0) if p[TIMES] > 0.0 else p[U]
    return u / p[R], p[WARM], 0.0


def _voltage(q: Q) -> float:
    """Voltage [V]; between two corners the memory says which, so that a jump has two sides."""
    if q.p[TIMES] > 0.0:
        return program_value(q.tab, q.p[TIMES], q.p[VOLTS], q.mem[CORNER], q.t)
    return float(q.p[U])


def _peak(q: Q) -> float:
    """Peak torque [N*m] at the present current."""
    share = _magnetisation(q.x[CURRENT] / q.p[KNEE]) / q.p[AT_RATED]
    return float(q.p[PEAK] * (q.p[REST] + (1.0 - q.p[REST]) * share))


def _peak_slip(q: Q) -> float:
    """Slip speed of the peak [rad/s] at the present temperature."""
    return float(q.p[NU_PK] * (1.0 + q.p[ALPHA] * q.x[RISE]))


def torque(q: Q) -> float:
    x = q.nu / _peak_slip(q)
    return 2.0 * _peak(q) * x / (1.0 + x * x)


def rate(q: Q, T: float) -> tuple[float, float, float]:
    pushes = _voltage(q) - q.p[R] * q.x[CURRENT]
    resistor = 0.0
    if q.w[0] > 0.5:
        pushes = -q.p[CUT_R] * q.x[CURRENT]
        resistor = (q.p[CUT_R] - q.p[R]) * q.x[CURRENT] * q.x[CURRENT]
    rises = pushes / q.p[L]
    return rises, (T * q.nu - q.p[COOLING] * q.x[RISE]) / q.p[HEAT_CAP], resistor


def loss(q: Q, T: float) -> float:
    return T * q.nu


def store(q: Q) -> float:
    return 0.0


def guards(q: Q, T: float) -> tuple[float, float, float]:
    limit = q.p[LIMIT] - q.x[RISE] if q.mem[BURNT] == 0.0 else 1.0
    top = _peak_slip(q)
    if q.m == RISING:
        return top - q.nu, top + q.nu, limit
    return (q.nu - top if q.m == PAST_F else -q.nu - top), 1.0, limit


def clock(q: Q) -> float:
    return program_clock(q.tab, q.p[TIMES], q.mem[CORNER])


def switch(k: int, q: Q, T: float, X: Any, M: Any, O: Any) -> tuple[int, float]:
    if k == CLOCK:
        M[CORNER] = q.mem[CORNER] + 1.0
        return q.m, 0.0
    if k == 2:
        M[BURNT] = max(q.t, 1e-9)
        return q.m, 0.0
    if q.m != RISING:
        return RISING, 0.0
    return (PAST_F if k == 0 else PAST_B), 0.0


def _constant_share(p: Any) -> float:
    """Peak at the constant voltage, coil cold, over that at the rated current; 1 with a programme."""
    current = p[U] / p[R]
    if p[TIMES] > 0.0 or abs(current - p[RATED]) <= SAME * p[RATED]:
        return 1.0
    return float(p[REST] + (1.0 - p[REST]) * _magnetisation(current / p[KNEE]) / p[AT_RATED])


def left_behind(m: int, p: Any, x: Any, mem: Any) -> tuple[float]:
    return (told_heat(x[HEAT]),)


def band(p: Any) -> float:
    return 1.0


def hint(p: Any) -> float:
    """Nothing elastic; a hair of stiffness, because the hand formulas for springs in a row divide by it."""
    return 1e-12 * p[PEAK]


def slip_scale(p: Any) -> float:
    return p[NU_PK]


def sheet(p: Any) -> dict[str, tuple[float, str]]:
    """Name -> (value in SI, kind of quantity)."""
    current = p[RATED] if p[TIMES] > 0.0 else p[U] / p[R]
    stored = 0.5 * p[L] * current * current
    far = p[PEAK] * (p[REST] + (1.0 - p[REST]) / p[AT_RATED])
    out = {
        "setting": (p[PEAK] * _constant_share(p), "torque"),
        "peak torque at the rated current": (p[PEAK], "torque"),
        "slip speed of the peak, cold": (p[NU_PK], "speed"),
        "slip speed at half the peak torque": (p[NU_PK] * (2.0 - sqrt(3.0)), "speed"),
        "torque over slip speed, at little slip": (2.0 * p[PEAK] / p[NU_PK], "damping"),
        "largest peak torque at any current": (far, "torque"),
        "peak torque without current": (p[PEAK] * p[REST], "torque"),
        "time constant of the coil": (p[L] / p[R], "time"),
        "time constant once cut": (p[L] / p[CUT_R], "time"),
        "voltage for the rated current": (p[R] * p[RATED], "voltage"),
        "energy in the coil at its current": (stored, "energy"),
    }
    if p[CUT_R] > p[R]:
        out["heat of the resistor each time it is cut"] = (stored * (1.0 - p[R] / p[CUT_R]), "energy")
    return out
