"""From the kernel's measure rows to named measures in SI."""

from __future__ import annotations

from math import inf, isnan, nan
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_SETTING, Part
from simcore.line.assemble import Assembly
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]

FORESEEN = 60.0
"""Longest time [s] over which slip heat is extrapolated."""


def per_motion(a: Assembly, protected: int) -> Floats:
    """Torque at the protected connection's shaft per torque at each element's own shaft (speed ratio)."""
    own = a.own_speeds()
    base = own[protected] if protected >= 0 else 1.0
    return own / base if base != 0.0 else np.full(len(own), nan)


def scalars(a: Assembly, meas: Floats, protected: int, heat_limit: float = nan) -> dict[str, float]:
    """Measures of one run; ``meas`` (parts + 1, N_MEAS), ``protected`` the protected connection's row."""
    out = {"peak": nan, "peak_time": nan, "first_peak": nan}
    if protected >= 0:
        out = {
            "peak": meas[protected, ar.PEAK],
            "peak_time": meas[protected, ar.T_PEAK],
            "first_peak": meas[protected, ar.FIRST_PEAK],
        }
    out.update(_of_protection(a, meas, heat_limit))
    out["end"] = meas[-1, ar.L_T_END]
    out["ledger"] = meas[-1, ar.L_RESIDUAL] / meas[-1, ar.L_TURNED]
    return {k: float(v) for k, v in out.items()}


NAMES = (
    "trigger", "lets_go", "disconnect", "reengage", "relief", "standstill", "impulse", "energy", "heat", "rise",
    "heat_power", "time_to_limit", "burns_at", "slip_angle", "tally", "peak_protection", "end_class", "speed_kept",
)  # fmt: skip


def _of_protection(a: Assembly, meas: Floats, heat_limit: float) -> dict[str, float]:
    i = a.candidate
    if i is None:
        return dict.fromkeys(NAMES, nan)
    m = meas[i]
    part = a.graph.elements[i].part
    rise, capacity, cooling = _thermal(part, a.rows[i], m)
    out = {
        "trigger": m[ar.TRIGGER],
        "lets_go": m[ar.LETS_GO],
        "disconnect": m[ar.DISCONNECT],
        "reengage": m[ar.REENGAGE],
        "relief": m[ar.LOW],
        "standstill": m[ar.STAND],
        "heat": m[ar.HEAT_END] - m[ar.HEAT_0],
        "rise": rise,
        "heat_power": m[ar.HEAT_RATE],
        "time_to_limit": time_to_limit(heat_limit, rise, m[ar.HEAT_RATE], capacity, cooling),
        "burns_at": m[ar.BURNT] if part.kind.burns and m[ar.BURNT] > 0.0 else nan,
        "slip_angle": m[ar.SLIP_END] - m[ar.SLIP_0],
        "tally": m[ar.TALLY],
        "peak_protection": m[ar.PEAK],
        "end_class": m[ar.CLASS_END],
        "speed_kept": m[ar.SPEED_1] / m[ar.SPEED_0] if m[ar.SPEED_0] else nan,
    }
    return {**out, **let_through(m)}


def let_through(m: Floats) -> dict[str, float]:
    """Impulse and energy from trigger to disconnect, else standstill of hub a, else horizon."""
    if isnan(m[ar.TRIGGER]):
        return {"impulse": nan, "energy": nan}
    if not isnan(m[ar.DISCONNECT]):
        end = (m[ar.IMP_LOW], m[ar.EN_LOW])
    elif not isnan(m[ar.STAND]):
        end = (m[ar.IMP_STAND], m[ar.EN_STAND])
    else:
        end = (m[ar.IMP_END], m[ar.EN_END])
    return {"impulse": end[0] - m[ar.IMP_TRIGGER], "energy": end[1] - m[ar.EN_TRIGGER]}


def until(m: dict[str, float]) -> str:
    """End of the let-through interval, in words."""
    if not isnan(m["disconnect"]):
        return "disconnect"
    return "horizon" if isnan(m["standstill"]) else "motor side stands"


def _thermal(part: Part, row: Any, m: Floats) -> tuple[float, float, float]:
    """Rise [K], heat capacity [J/K], cooling [W/K]; NaN for a part without a thermal state."""
    for j, s in enumerate(part.kind.states):
        if s.unit == "K" and j < 2:
            columns = part.kind.row
            return m[ar.X_MAX + j], row[columns.index("heat_cap")], row[columns.index("cooling")]
    return nan, nan, nan


def time_to_limit(limit: float, rise: float, power: float, capacity: float, cooling: float) -> float:
    """Time [s] until ``rise`` reaches ``limit`` at constant ``power``; inf if not within a minute.

    One heat capacity with cooling: ``C x' = P - G x``, textbook.
    """
    if isnan(rise) or isnan(limit) or power <= 0.0:
        return nan
    if rise >= limit:
        return 0.0
    end = power / cooling if cooling > 0.0 else inf
    if end <= limit:
        return inf
    t = capacity * (limit - rise) / power if cooling == 0.0 else None
    if t is None:
        t = capacity / cooling * float(np.log((end - rise) / (end - limit)))
    return t if t <= FORESEEN else inf


def setting_in(a: Assembly) -> float:
    """Nominal setting of the protection under trial [N*m]; NaN on the bare line."""
    return nan if a.candidate is None else float(a.rows[a.candidate, COL_SETTING])
