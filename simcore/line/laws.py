"""A kind's functions for one case or for many at once: numbers, or arrays with a number for each case.

What is many gives, case by case, the bits that each case gives by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from simcore.contract import Part
from simcore.line.rows import numbers, rows_of

Floats = NDArray[np.float64]
Num = float | Floats
"""A number, or one for each case (cases,)."""
Draws = Mapping[str, Mapping[str, Num]]
"""Inputs that take other values than the scenario says [SI]: by the path of what has them, then by name."""


class Unlike(Exception):  # noqa: N818 - no fault of anybody
    """The cases differ in more than numbers: they are to be put together one by one."""


def count_of(*values: Any) -> tuple[int, ...]:
    """Shape over the cases: (cases,) if any is an array, else ()."""
    return next((v.shape for v in values if isinstance(v, np.ndarray) and v.ndim), ())


def stacked(values: Sequence[Any], shape: tuple[int, ...]) -> Floats:
    """Numbers side by side along a last axis, (cases, len) or (len)."""
    return np.stack([np.broadcast_to(np.asarray(v, dtype=float), shape) for v in values], axis=-1)


def alike(values: Any) -> Num:
    """One number where all cases have the same, bit for bit; else the array as it is."""
    if np.ndim(values) == 0:
        return float(values)
    return float(values[0]) if _all_same(values) else values


def one(value: Any) -> Any:
    """The one value of all cases; Unlike if there are several."""
    if np.ndim(value) == 0:
        return value
    if not np.all(value == value[0]):
        raise Unlike
    return value[0].item()


def of_raw(part: Part, law: str, raw: Mapping[str, Num], *more: Num) -> Any:
    """A function of raw inputs: a number or a tuple of them, each an array where the inputs are."""
    shape = count_of(*raw.values(), *more)
    if law == "resolve" and shape:
        table = stacked([raw.get(p.name, np.nan) for p in part.kind.params], shape)
        found = rows_of(part, table, np.broadcast_to(more[0], shape))
        if found is not None:
            return tuple(found.T[: len(part.kind.row)])
    return over_raw(lambda r, *rest: part.call(law, part.raw(r), *rest), raw, *more)


def over_raw(call: Callable[..., Any], raw: Mapping[str, Num], *more: Num) -> Any:
    """What ``call`` gives for raw inputs and what else it takes, or for those of each case, as :func:`of_raw`."""
    shape = count_of(*raw.values(), *more)
    if not shape:
        return call(raw, *more)
    table = [np.broadcast_to(v, shape).tolist() for v in (*raw.values(), *more)]
    own = len(raw)
    out = np.array(
        [call(dict(zip(raw, v[:own], strict=True)), *v[own:]) for v in zip(*table, strict=True)], dtype=float
    )
    return out if out.ndim == 1 else tuple(out.T)


def of_row(part: Part, law: str, row: Floats, *more: Any) -> Any:
    """A function of a parameter row, shape (N_ROW) or (cases, N_ROW): a number, a tuple or an array of them.

    ``more``: what else it takes, the same for all cases.
    """
    if row.ndim == 1:
        return part.call(law, row, *more)
    if _all_same(row):
        return part.call(law, row[0], *more)
    if not more:
        return numbers(part, law, row)
    return over(lambda r: part.call(law, r, *more), row)


def over(call: Callable[[Floats], Any], row: Floats) -> Any:
    """What ``call`` gives for a row, or for each of many: a number, or an array (cases, ...)."""
    if row.ndim == 1:
        return call(row)
    if _all_same(row):
        return call(row[0])
    return np.array([call(r) for r in row])


def _all_same(rows: Floats) -> bool:
    """Whether all cases have the same bits."""
    return rows.tobytes() == np.broadcast_to(rows[0], rows.shape).tobytes()
