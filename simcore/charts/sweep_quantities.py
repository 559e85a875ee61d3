"""Any quantity of a sweep by its name, one value a case: factors, setting, what service asks, measures."""

from __future__ import annotations

from difflib import get_close_matches
from math import isfinite, nan
from typing import Final, NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.sweep import cases
from simcore.sweep.decide import Choice, asks_of, at_place
from simcore.sweep.result import SweepResult
from simcore.sweep.sheet import AT
from simcore.sweep.statistics import Floats
from simcore.units import si_unit, typeset

EFFORTS: Final = ("peak", "first_peak", "peak_protection")
TIMES: Final = ("trigger", "lets_go", "disconnect", "reengage", "relief", "standstill", "peak_time", "end")
OWN: Final = ("setting", "asks")


class Quantity(NamedTuple):
    """A name with its unit, and whether it belongs on a logarithmic axis."""

    label: str
    values: Floats


def names(result: SweepResult) -> tuple[str, ...]:
    """Everything that can be put on an axis."""
    grids = tuple(n for n in result.grids if n not in result.samples)
    return tuple(dict.fromkeys((*OWN, *grids, *result.samples, *result.measures)))


def known(result: SweepResult, name: str, extra: tuple[str, ...] = ()) -> str:
    """``name`` if there is such a quantity; ValueError with the nearest name if not."""
    valid = [*extra, *names(result)]
    if name in valid:
        return name
    near = get_close_matches(name, valid, 1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    raise ValueError(f"there is no quantity {name!r} in this sweep: choose from {', '.join(valid)}{hint}")


def at_choice(result: SweepResult, c: Choice, name: str) -> Floats:
    """(draw): the quantity at the candidate's own setting, in the unit shown; NaN: failed or does not apply."""
    count = result.status.shape[1 + len(result.grids)]
    if name == "asks":
        return _scaled(result, "asks", asks_of(result, c.candidate))
    if name in result.samples:
        return _scaled(result, name, result.samples[name])
    if name in result.measures:
        found = at_place(result, c.candidate, c.place, name, every=True)
        return _scaled(result, name, np.where(np.isinf(found), nan, found))
    if name == "setting":
        return np.full(count, sb.in_unit(result, c.ran_at))
    raise ValueError(f"{name!r} is a grid factor: it has one value here; the map shows grid factors")


def grid_axis(result: SweepResult, name: str) -> int | None:
    """Axis of a grid factor; 'setting' is the one that moves the setting."""
    if name in result.grids and len(result.grids[name]) > 1:
        return list(result.grids).index(name)
    if name == "setting":
        axis = cases.setting_axis(result, 0).axis
        return axis if axis >= 0 else None
    return None


def label(result: SweepResult, name: str) -> str:
    """Name with unit, for an axis."""
    unit = unit_of(result, name)
    words = {"asks": "setting that service asks for", "setting": "nominal setting", "use": "peak over allowable"}
    text = words.get(name, name.replace("use at", "peak over allowable at").replace("_", " "))
    return f"{text} ({unit})" if unit else text


def is_use(name: str) -> bool:
    """Whether it is a peak over an allowable."""
    return name == "use" or name.startswith(AT)


def unit_of(result: SweepResult, name: str) -> str:
    if name in OWN or name in EFFORTS:
        return typeset(result.unit)
    if is_use(name):
        return "%"
    if name in TIMES:
        return "ms"
    kind = result.sample_kinds.get(name) or result.grid_kinds.get(name) or ""
    if kind in ("", "ratio"):
        return "times" if kind else ""
    try:
        unit = si_unit(kind)
    except KeyError:
        return ""
    return "" if unit == "1" else typeset(unit.replace("N m", "N*m"))


def _scaled(result: SweepResult, name: str, values: Floats) -> Floats:
    if name in OWN or name in EFFORTS:
        return values * (sb.in_unit(result, 1.0))
    factor = 100.0 if is_use(name) else 1e3 if name in TIMES else 1.0
    return values * factor


def finite(values: Floats) -> int:
    return int(sum(isfinite(v) for v in values))
