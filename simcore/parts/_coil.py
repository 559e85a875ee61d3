r"""A coil and the torque it excites.  Shared by particle and hysteresis clutch.

Torque against current, with share of rated current :math:`x = i/i_r`, remanence share :math:`r` and the
current :math:`i_r/s` at which the straight rise would meet the ceiling:

.. math:: T(i) = S\left[r + (1-r)\,h(x)\right], \qquad
          h(x) = x\left(\frac{1+s^4}{1+(sx)^4}\right)^{1/4}

so :math:`T(i_r) = S` and :math:`h^{-1}(h) = h\,(1+s^4-(sh)^4)^{-1/4}`.  Coil: :math:`L\,di/dt + R\,i = u`.
A regulator on "fixed current" keeps the current; on "fixed voltage" the winding, as warm as the clutch,
takes :math:`R(1+\alpha\vartheta)`; "programmed" sets :math:`u/R` along straight lines between the corners of
a list.  The own state is the lag :math:`\ell = i - i_s(t)` behind the set current, so that steady running
has :math:`\ell = 0` at any setting:

.. math:: \dot\ell = -\frac{R}{L}\left(\ell + \alpha\vartheta\,i\right) - \dot i_s

A stop that cuts the coil takes its voltage away, whatever the excitation.  The current then dies away through a diode,
or faster through a resistor :math:`R_s` in parallel with the coil, at the price of the voltage :math:`R_s i` there:

.. math:: \frac{di}{dt} = -\frac{R(1+\alpha\vartheta) + R_s}{L}\,i

Fed again it comes back with the coil's own L/R.  Of the energy :math:`\tfrac12 L i^2` as it is cut the resistor takes
the share :math:`R_s/(R + R_s)`, the winding the rest, behind a diode all; a run adds up :math:`\int R_s i^2\,dt`.

Electrical energy, the winding's heat and the resistor's, is not in the line's ledger.  The torque follows the current
at once; where flux or powder lag further, state a larger inductance.  Sources: RL circuit, textbook; copper 0.39 %/K
from (235 + 20) K, IEC 60034-1 (cited from memory); the curve is a smooth law of our own between the two known ends,
straight rise and ceiling.
"""

from __future__ import annotations

from math import isnan, nan, sqrt
from typing import Any

from simcore.contract import Left, Param, Q, State
from simcore.parts._program import program_clock, program_slope, program_value, refuse_program

RATED, SET, GAIN, LAG_RATE, WARMING, TIMES, CURRENTS, FULL, REST, BEND, CUT_RATE, HENRY = range(12)
COLUMNS = (
    "rated_current", "set_current", "gain", "lag_rate", "warming", "times", "currents", "full", "residual", "bend",
    "cut_rate", "inductance",
)  # fmt: skip
FIXED, VOLTAGE, PROGRAM = range(3)
MEMORY = ("corners passed", "burnt at")
CORNERS, BURNT = range(2)
TOP = 0.999
"""Largest share of the ceiling that a current is sought for."""
READS = ("coil",)
LAG = State("current lag", "A", 0.1, "coil current less its set current, also while the coil is cut")
NEVER_STEERS = 1e9
CUT_HEAT = State("heat of the coil's resistor", "J", NEVER_STEERS, "taken by the resistor in parallel with the coil "
                 "while a stop cuts it")  # fmt: skip
LEFT = (
    Left("heat of the coil's resistor", "energy", "taken by the resistor in parallel with the coil, each time that a "
         "stop cut the coil"),
)  # fmt: skip


def suppression_param(ohm: str) -> Param:
    """What the current of a cut coil of ``ohm`` goes on through."""
    return Param("suppression_resistance", "resistance", "resistor in parallel with the coil, through which its "
                 "current dies away once a stop cuts it; 0: a diode", default="0 ohm", low="0 ohm",
                 source=f"diode: the slowest; a resistor is some 3 to 10 times the coil's {ohm}, common practice, from "
                 "memory")  # fmt: skip


def coil_params(
    rated: str, ohm: str, henry: str, rest: str, rest_usual: tuple[str, str], size: str
) -> tuple[Param, ...]:
    """Inputs of curve, coil and excitation; the texts are defaults for the ``size`` named."""
    return (
        Param("rated_current", "current", "current at which the setting is stated", default=rated, above="0 A",
              source=f"24 V coil, {size}, from memory"),
        Param("residual", "ratio", "torque left at zero current (remanence) over the setting", default=rest,
              low=0.001, high=0.5, usual=rest_usual, source="common practice, from memory"),
        Param("saturation", "ratio", "current at which the straight rise would meet the ceiling, over rated current",
              default=1.4, low=1, high=10, usual=(1.1, 2), source="straight up to about 0.9 of rated; from memory"),
        Param("excitation", "choice", "fixed current: a regulator holds it; fixed voltage: follows the warm coil; "
              "programmed: set current by a list, with the coil's lag", default="fixed current",
              choices=("fixed current", "fixed voltage", "programmed"), source="the simplest one"),
        Param("current", "current", "current held (fixed current); left out: rated current", low="0 A"),
        Param("requested_torque", "torque", "torque to be held in place of a current (fixed current)",
              above="0 N*m"),
        Param("voltage", "voltage", "voltage held (fixed voltage); left out: gives rated current cold", low="0 V"),
        Param("current_times", "time", "instants after the event, ordinary ones too, at which the set current reaches "
              "the values of currents, straight in between; twice the same instant: a jump", low="0 s", many=True),
        Param("currents", "current", "set currents at current_times; the first holds before, the last after",
              low="0 A", many=True),
        Param("resistance", "resistance", "resistance of the cold coil", default=ohm, above="0 ohm",
              source=f"24 V coil, {size}, from memory"),
        Param("inductance", "inductance", "inductance of the coil", default=henry, above="0 H",
              source=f"24 V coil, {size}, from memory"),
        suppression_param(ohm),
        Param("resistance_rise", "fade", "rise of the coil's resistance with the clutch's rise (fixed voltage)",
              default="0.39 %/K", low="0 %/K", high="1 %/K", source="copper, IEC 60034-1, from memory"),
    )  # fmt: skip


def _fourth(x: float) -> float:
    return x * x * x * x


def curve(i: float, rated: float, full: float, rest: float, bend: float) -> float:
    """Torque [N*m] at the current ``i`` [A]."""
    x = i / rated
    return full * (rest + (1.0 - rest) * x * sqrt(sqrt((1.0 + _fourth(bend)) / (1.0 + _fourth(bend * x)))))


def slope(i: float, rated: float, full: float, rest: float, bend: float) -> float:
    """Its change with current [N*m/A]."""
    u = 1.0 + _fourth(bend * i / rated)
    return full * (1.0 - rest) / rated * sqrt(sqrt((1.0 + _fourth(bend)) / u)) / u


def ceiling(full: float, rest: float, bend: float) -> float:
    """Torque [N*m] that no current exceeds."""
    return full * (rest + (1.0 - rest) * sqrt(sqrt(1.0 + _fourth(bend))) / bend)


def current_for(torque: float, rated: float, full: float, rest: float, bend: float) -> float:
    """Current [A] that gives a torque; 0 below the residual, that of TOP of the ceiling above it."""
    h = (torque / full - rest) / (1.0 - rest)
    h = max(0.0, min(h, TOP * sqrt(sqrt(1.0 + _fourth(bend))) / bend))
    return rated * h / sqrt(sqrt(1.0 + _fourth(bend) - _fourth(bend * h)))


def _listed(v: Any) -> tuple[float, ...]:
    return v if isinstance(v, tuple) else ()


def refuse_coil(r: Any, full: float) -> list[str]:
    """Sentences on what is impossible in curve, excitation and programme; ``full`` is the torque at rated current."""
    out = []
    mode = int(r.excitation)
    if mode != FIXED and not (isnan(r.current) and isnan(r.requested_torque)):
        out.append('current and requested_torque belong to excitation = "fixed current"')
    if not isnan(r.current) and not isnan(r.requested_torque):
        out.append("give the current or the requested torque, not both: one sets the other")
    if mode != VOLTAGE and not isnan(r.voltage):
        out.append('voltage belongs to excitation = "fixed voltage"')
    if not isnan(full) and not isnan(r.requested_torque):
        top = ceiling(full, r.residual, 1.0 / r.saturation)
        if r.requested_torque > TOP * top or r.requested_torque < r.residual * full:
            out.append(f"no current gives the requested torque of {r.requested_torque:.4g} N*m: it must lie between "
                       f"the residual {r.residual * full:.4g} N*m and the ceiling {TOP * top:.4g} N*m")  # fmt: skip
    return out + _refuse_program(mode, _listed(r.current_times), _listed(r.currents))


def _refuse_program(mode: int, times: tuple[float, ...], currents: tuple[float, ...]) -> list[str]:
    if mode != PROGRAM:
        if times or currents:
            return ['current_times and currents belong to excitation = "programmed"']
        return []
    if not times and not currents:
        return ['excitation = "programmed" needs current_times and currents']
    return refuse_program(times, currents, "current", "currents")


def coil_row(
    r: Any, full: float
) -> tuple[float, float, float, float, float, float, float, float, float, float, float, float]:
    """The first columns of the row (COLUMNS)."""
    bend = 1.0 / r.saturation
    held = r.rated_current
    lag_rate = r.resistance / r.inductance
    warming = 0.0
    times = 0.0
    currents = 0.0
    if r.excitation > 1.5:
        times = r.current_times
        currents = r.currents
    elif r.excitation > 0.5:
        warming = r.resistance_rise
        if not isnan(r.voltage):
            held = r.voltage / r.resistance
    else:
        if not isnan(r.current):
            held = r.current
        elif not isnan(r.requested_torque):
            held = current_for(r.requested_torque, r.rated_current, full, r.residual, bend)
    cut_rate = (r.resistance + r.suppression_resistance) / r.inductance
    return (
        r.rated_current, held, 1.0, lag_rate, warming, times, currents, full, r.residual, bend, cut_rate,
        r.inductance,
    )  # fmt: skip


def working_torque(p: Any) -> float:
    """Torque [N*m] at the set current: the setting.  Programmed: at rated current."""
    return curve(p[SET], p[RATED], p[FULL], p[REST], p[BEND])


def dial_coil(p: Any, f: float) -> tuple[float, float, float]:
    """Leading columns at another current, such that the torque is ``f`` times that of before."""
    held = current_for(f * working_torque(p), p[RATED], p[FULL], p[REST], p[BEND])
    gain = p[GAIN]
    if p[SET] > 0.0:
        gain = p[GAIN] * held / p[SET]
    return p[RATED], held, gain


def set_current(q: Q) -> float:
    """Current the coil is asked for [A]."""
    if q.p[TIMES] > 0.0:
        return float(q.p[GAIN] * program_value(q.tab, q.p[TIMES], q.p[CURRENTS], q.mem[CORNERS], q.t))
    return float(q.p[SET])


def set_slope(q: Q) -> float:
    """Its change in time [A/s]."""
    return float(q.p[GAIN] * program_slope(q.tab, q.p[TIMES], q.p[CURRENTS], q.mem[CORNERS]))


def lag_slope(q: Q, lag: float, rise: float) -> float:
    """Change of the lag in time [A/s]."""
    i = set_current(q) + lag
    if q.w[0] > 0.5:
        return -(q.p[CUT_RATE] + q.p[LAG_RATE] * q.p[WARMING] * rise) * i - set_slope(q)
    return -q.p[LAG_RATE] * (lag + q.p[WARMING] * rise * i) - set_slope(q)


def resistor_power(q: Q, lag: float) -> float:
    """Heat [W] of the resistor in parallel with a coil that is cut."""
    if q.w[0] <= 0.5:
        return 0.0
    i = set_current(q) + lag
    return float((q.p[CUT_RATE] - q.p[LAG_RATE]) * q.p[HENRY] * i * i)


def told_heat(heat: float) -> float:
    """Heat [J] to be told of at the end of a run; NaN if no coil was cut, or behind a diode."""
    return heat if heat > 0.0 else nan


def coil_torque(q: Q, lag: float) -> float:
    """Torque [N*m] at the present current."""
    return curve(set_current(q) + lag, q.p[RATED], q.p[FULL], q.p[REST], q.p[BEND])


def coil_torque_slope(q: Q, lag: float, rise: float) -> float:
    """Its change in time [N*m/s]."""
    i = set_current(q) + lag
    change = lag_slope(q, lag, rise) + set_slope(q)
    return slope(i, q.p[RATED], q.p[FULL], q.p[REST], q.p[BEND]) * change


def coil_clock(q: Q) -> float:
    """Next corner of the programme."""
    return program_clock(q.tab, q.p[TIMES], q.mem[CORNERS])


def pass_corner(q: Q, M: Any) -> float:
    """At a corner: notes it and gives the step of the set current there [A], for the lag to take up."""
    n = int(q.mem[CORNERS]) + 1
    step = float(q.p[GAIN] * q.tab[int(q.p[CURRENTS]) + n]) - set_current(q)
    M[CORNERS] = n
    return step


def burn_guard(q: Q, rise: float, limit: float) -> float:
    """> 0 until the heat limit is first passed."""
    return limit - rise if q.mem[BURNT] == 0.0 else 1.0


def note_burn(q: Q, M: Any) -> None:
    M[BURNT] = max(q.t, 1e-9)


def coil_sheet(p: Any) -> dict[str, tuple[float, str]]:
    """What a data sheet would say of curve and coil."""
    stored = 0.5 * p[HENRY] * p[SET] * p[SET]
    out = {
        "setting": (working_torque(p), "torque"),
        "torque at rated current": (p[FULL], "torque"),
        "torque without current": (p[REST] * p[FULL], "torque"),
        "torque no current exceeds": (ceiling(p[FULL], p[REST], p[BEND]), "torque"),
        "current at the setting": (p[SET], "current"),
        "lag of the coil": (1.0 / p[LAG_RATE], "time"),
        "time constant once cut": (1.0 / p[CUT_RATE], "time"),
        "energy in the coil at that current": (stored, "energy"),
    }
    if p[CUT_RATE] > p[LAG_RATE]:
        out["voltage as it is cut, over the coil's own"] = (p[CUT_RATE] / p[LAG_RATE] - 1.0, "ratio")
        out["heat of the resistor each time it is cut"] = (stored * (1.0 - p[LAG_RATE] / p[CUT_RATE]), "energy")
    return out
