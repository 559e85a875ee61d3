"""From the kernel's measure rows to named measures in SI."""

from __future__ import annotations

from math import inf, isnan, nan

import numpy as np
from numpy.typing import NDArray

from simcore.contract import COL_SETTING, Part
from simcore.line.assemble import NEAR_RUNNING, Assembly
from simcore.line.laws import Num
from simcore.results.contact import JAMS
from simcore.solver import arrays as ar

Floats = NDArray[np.float64]

RUNS = 0.9
"""A line that has started runs if it has this share of its speed without load."""
FORESEEN = 3600.0
"""Longest time [s] over which slip heat is extrapolated."""


def per_motion(a: Assembly, protected: int) -> Floats:
    """Torque at the protected connection's shaft per torque at each element's own shaft (speed ratio)."""
    own = a.own_speeds()
    base = own[protected] if protected >= 0 else 1.0
    return own / base if base != 0.0 else np.full(len(own), nan)


def scalars(a: Assembly, meas: Floats, protected: int, heat_limit: float = nan) -> dict[str, float]:
    """Measures of one run; ``meas`` (parts + 1, N_MEAS), ``protected`` the protected connection's row."""
    return {k: float(v[0]) for k, v in measured(a, meas[None], a.rows[None], protected, heat_limit).items()}


def measured(a: Assembly, meas: Floats, rows: Floats, protected: int, heat_limit: Num = nan) -> dict[str, Floats]:
    """Measures of many runs of one line, each (runs,).

    ``meas`` (runs, parts + 1, N_MEAS), ``rows`` (runs or 1, parts, 48).
    """
    m = meas[:, protected]
    unknown = np.full(len(meas), nan)
    at = {"peak": ar.PEAK, "peak_time": ar.T_PEAK, "first_peak": ar.FIRST_PEAK}
    out = {k: m[:, c] if protected >= 0 else unknown for k, c in at.items()}
    if a.candidate is None:
        out.update(dict.fromkeys(NAMES, unknown))
    else:
        out.update(_of_protection(a, meas[:, a.candidate], rows[:, a.candidate], heat_limit))
        out["too_soon"] = _too_soon(a, meas)
    out["end"] = meas[:, -1, ar.L_T_END]
    out["speed_reached"] = NEAR_RUNNING * meas[:, -1, ar.L_REACHED]
    with np.errstate(divide="ignore", invalid="ignore"):
        out["ledger"] = meas[:, -1, ar.L_RESIDUAL] / meas[:, -1, ar.L_TURNED]
    return out


NAMES = (
    "trigger", "lets_go", "disconnect", "reengage", "relief", "standstill", "impulse", "energy", "heat", "rise",
    "heat_power", "time_to_limit", "burns_at", "slip_angle", "tally", "peak_protection", "end_class", "speed_kept",
    "stretched", "too_soon",
)  # fmt: skip


def _of_protection(a: Assembly, m: Floats, rows: Floats, heat_limit: Num) -> dict[str, Floats]:
    part = a.graph.elements[a.candidate or 0].part
    rise, capacity, cooling, lead = _thermal(part, rows, m)
    power = np.where(m[:, ar.HEAT_RATE] > 0.0, m[:, ar.POWER_LATE], m[:, ar.HEAT_RATE])
    impulse, energy = let_through(m)
    moved = np.where(m[:, ar.SPEED_0] != 0.0, m[:, ar.SPEED_0], _started(a, m))
    return {
        "trigger": m[:, ar.TRIGGER],
        "lets_go": m[:, ar.LETS_GO],
        "disconnect": m[:, ar.DISCONNECT],
        "reengage": m[:, ar.REENGAGE],
        "relief": m[:, ar.LOW],
        "standstill": m[:, ar.STAND],
        "heat": m[:, ar.HEAT_END] - m[:, ar.HEAT_0],
        "rise": rise,
        "heat_power": power,
        "time_to_limit": time_to_limit(heat_limit - lead * power, rise, power, capacity, cooling),
        "burns_at": np.where((m[:, ar.BURNT] > 0.0) & bool(part.kind.burns), m[:, ar.BURNT], nan),
        "slip_angle": m[:, ar.SLIP_END] - m[:, ar.SLIP_0],
        "tally": m[:, ar.TALLY],
        "peak_protection": m[:, ar.PEAK],
        "end_class": m[:, ar.CLASS_END],
        "speed_kept": _kept(m[:, ar.SPEED_1] / moved, m[:, ar.SPEED_LATE] / moved),
        "stretched": _stretched(part, rows, m),
        "impulse": impulse,
        "energy": energy,
    }


def _started(a: Assembly, m: Floats) -> Floats:
    """Speed [rad/s] that counts as kept after a start: the one reached, if it is RUNS of the speed without load."""
    usual = float(a.own_speeds()[a.candidate or 0])
    reached = m[:, ar.SPEED_1]
    whole = usual if usual != 0.0 else nan
    return np.where(reached / whole >= RUNS, reached, whole)


def _kept(end: Floats, mean: Floats) -> Floats:
    """Of the speed at the end and the mean over the last fifth the one nearer to what it was: a line may swing on.

    One that has lost half its speed at the end is stalling, whatever the mean.
    """
    return np.where((np.abs(mean - 1.0) < np.abs(end - 1.0)) & (end > 0.5), mean, end)


def let_through(m: Floats) -> tuple[Floats, Floats]:
    """Impulse and energy (runs,) from trigger to disconnect, else standstill of hub a, else horizon."""
    gone, stands = ~np.isnan(m[:, ar.DISCONNECT]), ~np.isnan(m[:, ar.STAND])

    def since_trigger(low: int, stand: int, end: int, trigger: int) -> Floats:
        last = np.where(gone, m[:, low], np.where(stands, m[:, stand], m[:, end]))
        return np.where(np.isnan(m[:, ar.TRIGGER]), nan, last - m[:, trigger])

    return (
        since_trigger(ar.IMP_LOW, ar.IMP_STAND, ar.IMP_END, ar.IMP_TRIGGER),
        since_trigger(ar.EN_LOW, ar.EN_STAND, ar.EN_END, ar.EN_TRIGGER),
    )


def until(m: dict[str, float]) -> str:
    """End of the let-through interval, in words."""
    if not isnan(m["disconnect"]):
        return "disconnect"
    return "horizon" if isnan(m["standstill"]) else "motor side stands"


def _thermal(part: Part, rows: Floats, m: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Rise [K], heat capacity [J/K], cooling [W/K], and by how much the face leads the bulk [K/W], each (runs,).

    NaN for a part without a thermal state.
    """
    unknown = np.full(len(m), nan)
    for j, s in enumerate(part.kind.states):
        if s.unit == "K" and j < 2:
            columns = part.kind.row
            given = np.broadcast_to(rows, (len(m), rows.shape[1]))
            layers = [columns.index(c) for c in ("layer_1", "layer_2") if c in columns]
            lead = given[:, layers].sum(axis=1)
            return m[:, ar.X_MAX + j], given[:, columns.index("heat_cap")], given[:, columns.index("cooling")], lead
    return unknown, unknown, unknown, unknown


def _stretched(part: Part, rows: Floats, m: Floats) -> Floats:
    """Share (runs,) of what it bears of giving way for good; NaN for a part that does not before it lets go."""
    if part.kind.stretches is None:
        return np.full(len(m), nan)
    state, column = part.kind.stretches
    j = [s.name for s in part.kind.states].index(state)
    return np.asarray(m[:, ar.X_MAX + j] / rows[:, part.kind.column(column)])


def _too_soon(a: Assembly, meas: Floats) -> Floats:
    """1.0 (runs,) where it triggered before the first jam behind an event of another kind came, else 0.0; NaN where no
    jam follows."""
    events = [i for i, e in enumerate(a.graph.elements) if e.role == "event"]
    jams = [i for i in events if a.graph.elements[i].part.kind.name in JAMS]
    if not jams or jams[0] == events[0]:
        return np.full(len(meas), nan)
    at_once = meas[:, jams, ar.BEGAN] != a.mode0[jams]
    comes = np.fmin.reduce(np.where(at_once, 0.0, meas[:, jams, ar.TRIGGER]), axis=1)
    return (meas[:, a.candidate, ar.TRIGGER] < np.where(np.isnan(comes), inf, comes)).astype(float)


def time_to_limit(limit: Num, rise: Floats, power: Floats, capacity: Floats, cooling: Floats) -> Floats:
    """Time [s] until ``rise`` reaches ``limit`` at constant ``power``, each (runs,); inf if not within an hour.

    One heat capacity with cooling: ``C x' = P - G x``, textbook.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        end = power / cooling
        warming = np.where(cooling > 0.0, capacity / cooling * np.log((end - rise) / (end - limit)),
                           capacity * (limit - rise) / power)  # fmt: skip
    t = np.where((warming <= FORESEEN) & (end > limit), warming, inf)
    t = np.where(rise >= limit, 0.0, t)
    return np.where(np.isnan(rise) | np.isnan(limit) | ~(power > 0.0), nan, t)


def setting_in(a: Assembly) -> float:
    """Nominal setting of the protection under trial [N*m]; NaN on the bare line."""
    return nan if a.candidate is None else float(a.rows[a.candidate, COL_SETTING])
