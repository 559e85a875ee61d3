"""Air that loads a part: constant pressure or a programme in time, behind a first-order lag.

Source: first-order lag, textbook; sizes, common practice, from memory.
"""

from __future__ import annotations

from math import isnan
from typing import Any

from simcore.contract import Param
from simcore.parts._program import refuse_program

AIR = (
    Param("reference_pressure", "pressure", "gauge pressure at which the setting is stated", default="4 bar",
          above="0 bar", usual=("1 bar", "6 bar"), source="works air; common practice, from memory"),
    Param("pressure_offset", "pressure", "gauge pressure below which the pawl carries nothing", default="0.3 bar",
          low="0 bar", usual=("0.1 bar", "0.5 bar"), source="seals and return spring, from memory"),
    Param("pressure", "pressure", "constant gauge pressure; left out: the reference pressure", low="0 bar",
          usual=("1 bar", "6 bar")),
    Param("pressure_times", "time", "instants after the event, ordinary ones too, at which the set pressure "
          "reaches the values of pressures, straight in between; twice the same instant: a jump", low="0 s", many=True),
    Param("pressures", "pressure", "set gauge pressures at pressure_times; the first holds before, the last "
          "after", low="0 bar", many=True),
    Param("vent_time_constant", "time", "time constant with which the pressure follows the set one",
          default="30 ms", low="1 ms", usual=("10 ms", "60 ms"),
          source="90 ms to a tenth with its valve, 150 N*m size, from memory"),
)  # fmt: skip


def refuse_air(r: Any) -> list[str]:
    """What is impossible in the inputs of a part loaded by air."""
    said = refuse_program(r.pressure_times, r.pressures, "pressure", "pressures")
    if len(r.pressures) and not isnan(r.pressure):
        said.append("give the constant pressure or the pressures with their pressure_times, not both")
    if not isnan(r.spring_force) or not isnan(r.spring_force_dead_centre):
        said.append('a spring force needs loading = "spring"; this one is loaded by air')
    if r.reference_pressure <= r.pressure_offset:
        said.append("the reference pressure must be above the pressure offset: it would carry nothing there")
    first = r.pressures[0] if len(r.pressures) else r.pressure
    if first <= r.pressure_offset:
        said.append(f"the first pressure, {first / 1e5:.3g} bar, is not above the pressure offset of "
                    f"{r.pressure_offset / 1e5:.3g} bar: it is out from the beginning")  # fmt: skip
    return said


def constant_share(constant: float, offset: float, span: float, times: float) -> float:
    """Torque at the constant pressure over that at the reference; 1 without air or with a programme."""
    if span <= 0.0 or times > 0.0:
        return 1.0
    return (constant - offset) / span
