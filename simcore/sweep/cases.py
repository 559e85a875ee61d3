"""Which cases of a sweep count, what each of them is: damage, nuisance, failed, and at which setting."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.sweep.blocks import HARMS
from simcore.sweep.result import SweepResult
from simcore.sweep.sensitivity import Pairing, pairing

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

CRASH: Final = ("let go",)
SERVICE: Final = ("hold", "carry")
GONE_WRONG: Final = 1
"""A status above this says that the case could not be computed."""


class Axis(NamedTuple):
    """The grid axis that moves the setting (-1: none) and the nominal settings along it, rising [N*m]."""

    axis: int
    settings: Floats
    order: Ints
    """Places of the settings in the grid."""


def setting_axis(result: SweepResult, candidate: int) -> Axis:
    """The first grid axis along which the candidate's setting changes; one setting if there is none."""
    nominal = np.asarray(result.setting[candidate], dtype=float)
    for axis in range(nominal.ndim):
        if nominal.shape[axis] > 1 and np.any(np.ptp(nominal, axis=axis) > 0.0):
            along = np.moveaxis(nominal, axis, 0).reshape(nominal.shape[axis], -1)[:, 0]
            order = np.argsort(along, kind="stable")
            return Axis(axis, along[order], order)
    return Axis(-1, nominal.reshape(-1)[:1], np.zeros(1, dtype=np.int64))


def other_grids(result: SweepResult, candidate: int) -> tuple[str, ...]:
    """Names of the grid factors with more than one value that do not move the setting."""
    axis = setting_axis(result, candidate).axis
    return tuple(n for i, (n, v) in enumerate(result.grids.items()) if i != axis and len(v) > 1)


def by_setting(result: SweepResult, candidate: int, values: NDArray[Any]) -> NDArray[Any]:
    """``values`` (*grids, draw, ...) as (setting, other cells, draw, ...), settings rising."""
    axis = setting_axis(result, candidate)
    grids = len(result.grids)
    if axis.axis < 0:
        return values.reshape(1, -1, *values.shape[grids:])
    moved = np.moveaxis(values, axis.axis, 0)[axis.order]
    return moved.reshape(len(axis.order), -1, *values.shape[grids:])


def places(result: SweepResult, expects: tuple[str, ...]) -> Ints:
    """Columns of the situations that expect one of these."""
    return np.array([i for i, e in enumerate(result.expects) if e in expects], dtype=np.int64)


def failed(result: SweepResult, candidate: int, expects: tuple[str, ...]) -> Flags:
    """(setting, other, draw): any of the situations could not be computed."""
    status = by_setting(result, candidate, result.status[candidate])[..., places(result, expects)]
    return np.asarray((status > GONE_WRONG).any(axis=-1))


def worst(result: SweepResult, candidate: int, measure: str, expects: tuple[str, ...] = CRASH) -> Floats:
    """(setting, other, draw): largest of ``measure`` over the situations; NaN where it failed or none has it."""
    values = by_setting(result, candidate, result.measures[measure][candidate])[..., places(result, expects)]
    if values.shape[-1] == 0:
        return np.full(values.shape[:-1], np.nan)
    out = np.fmax.reduce(values.astype(float), axis=-1)
    return np.where(failed(result, candidate, expects), np.nan, out)


class Harms(NamedTuple):
    """What a crash has damaged (setting, other, draw), in the order of HARMS."""

    limits: Flags
    mates: Flags
    heat: Flags


def harms(result: SweepResult, candidate: int) -> Harms:
    """All False where a case failed."""
    none = np.zeros(worst(result, candidate, "use").shape, dtype=bool)
    return Harms(*(worst(result, candidate, m) > most if m in result.measures else none for m, most in HARMS.items()))


def damage(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): 1.0 a crash did one of :class:`Harms`, 0.0 none, NaN failed or not to be judged."""
    over = np.logical_or.reduce(harms(result, candidate))
    return np.where(np.isnan(worst(result, candidate, "use")), np.nan, over.astype(float))


def nuisance(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): 1.0 an ordinary event was not held or carried, nor one that a jam follows, 0.0 all were,
    NaN failed."""
    met = by_setting(result, candidate, result.measures["met"][candidate])[..., places(result, SERVICE)]
    early = too_soon(result, candidate)
    tripped = (met != 1.0).any(axis=-1) | (early > 0.0)
    unknown = failed(result, candidate, SERVICE) if met.shape[-1] else np.isnan(early)
    return np.where(unknown, np.nan, tripped.astype(float))


def holding(result: SweepResult) -> list[str]:
    """Situations in which the protection has to hold: ordinary events, and a start or the like that a jam follows."""
    early = result.measures.get("too_soon", np.full(len(result.situations), np.nan))
    follows = np.flatnonzero(np.isfinite(early).reshape(-1, early.shape[-1]).any(axis=0))
    return [s for i, s in enumerate(result.situations) if result.expects[i] in SERVICE or i in follows]


def too_soon(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): 1.0 it triggered before a jam that follows another event came, 0.0 it did not, NaN failed
    or no jam follows, or it was not read."""
    if "too_soon" not in result.measures:
        return np.full(worst(result, candidate, "use").shape, np.nan)
    return worst(result, candidate, "too_soon")


def stalls(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): 1.0 an ordinary event that is to be held was not met though nothing let go, neither the
    candidate, which has not stretched for good either, nor another protection of the line, 0.0 none, or it was not
    read; NaN failed."""
    if "trigger" not in result.measures:
        return np.zeros(by_setting(result, candidate, result.measures["met"][candidate]).shape[:-1])
    columns = places(result, ("hold",))
    met, trigger = (by_setting(result, candidate, result.measures[m][candidate])[..., columns]
                    for m in ("met", "trigger"))  # fmt: skip
    never = (met != 1.0) & np.isnan(trigger)
    for other in {"mates", "stretched"} & result.measures.keys():
        never &= ~(by_setting(result, candidate, result.measures[other][candidate])[..., columns] > 0.0)
    return np.where(failed(result, candidate, ("hold",)), np.nan, never.any(axis=-1).astype(float))


def strained(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): 1.0 a limit was passed in an ordinary event, 0.0 none was; NaN failed or none there."""
    use = worst(result, candidate, "use", SERVICE)
    return np.where(np.isnan(use), np.nan, (use > 1.0).astype(float))


def asked(result: SweepResult, candidate: int) -> Floats | None:
    """(draw): the smallest setting that holds all ordinary events; inf: none does, NaN: failed.

    None if the sweep did not look for it, or if further grid factors would move it.
    """
    columns = places(result, SERVICE)
    asks = result.asks[candidate][:, columns]
    if len(columns) == 0 or other_grids(result, candidate):
        return None
    status = result.status[candidate][(0,) * len(result.grids)][:, columns]
    fine = status <= GONE_WRONG
    looked = [bool(np.isfinite(asks[:, i]).any()) for i in range(len(columns))]
    if not all(looked):
        return None
    per = np.where(np.isnan(asks), np.inf, asks).max(axis=-1)
    return np.where(fine.all(axis=-1), per, np.nan)


def disconnect(result: SweepResult, candidate: int) -> Floats:
    """(setting, other, draw): the latest disconnect of the crashes [s]; inf: never, NaN: failed."""
    columns = places(result, CRASH)
    times = by_setting(result, candidate, result.measures["disconnect"][candidate])[..., columns].astype(float)
    if times.shape[-1] == 0:
        return np.full(times.shape[:-1], np.nan)
    latest = np.where(np.isnan(times), np.inf, times).max(axis=-1)
    return np.where(failed(result, candidate, CRASH), np.nan, latest)


def paired_rows(result: SweepResult) -> Pairing | None:
    if result.design != "paired" or not result.samples:
        return None
    return pairing(np.stack(list(result.samples.values()), axis=1))


def independent(result: SweepResult) -> Ints:
    """Draws that count towards odds: in a paired design rows A and B only, the others repeat their columns."""
    rows = paired_rows(result)
    count = result.status.shape[1 + len(result.grids)]
    return np.arange(count) if rows is None else np.sort(np.concatenate([rows.a, rows.b]))


def count(result: SweepResult) -> tuple[int, int, int]:
    """Candidates, cells and draws: their product is the number of cases, each run in every situation."""
    cells = int(np.prod(result.status.shape[1 : 1 + len(result.grids)], dtype=np.int64))
    return len(result.candidates), cells, result.status.shape[1 + len(result.grids)]


def tally(result: SweepResult) -> tuple[int, int]:
    """Runs (a case in one situation each) tried and failed."""
    bad = int((result.status > GONE_WRONG).sum())
    return int(result.status.size), bad
