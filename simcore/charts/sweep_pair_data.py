"""Numbers of a pair chart: any two quantities of a sweep, case by case."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcore.charts import sweep_base as sb
from simcore.charts import sweep_quantities as sq
from simcore.charts.base import Frame, clipped
from simcore.sweep.decide import Decision
from simcore.sweep.result import SweepResult
from simcore.sweep.statistics import Floats, rank_correlation

MOST = 4000
"""Marks that are drawn; spread evenly over the draws."""
CANDIDATE = "candidate"
THIRDS = ("lowest third", "middle third", "highest third")


class Cloud(NamedTuple):
    who: sb.Named
    x: Floats
    y: Floats


class PairData(NamedTuple):
    frame: Frame
    clouds: tuple[Cloud, ...]
    x_label: str
    y_label: str
    x_log: bool
    y_log: bool
    key: str


def pair_data(result: SweepResult, decision: Decision, x: str = "", y: str = "peak", by: str = CANDIDATE) -> PairData:
    """``y`` over ``x`` at each candidate's own setting, coloured by candidate, or by the thirds of ``by`` for the
    best candidate.  ValueError with the nearest name for a quantity that is not there."""
    x = x or _strongest(decision)
    for name in (x, y):
        sq.known(result, name)
    sq.known(result, by, (CANDIDATE,))
    clouds = _by_candidate(result, decision, x, y) if by == CANDIDATE else _by_thirds(result, decision, x, y, by)
    xs, ys = (np.concatenate([c[i] for c in clouds]) for i in (1, 2))
    key = CANDIDATE if by == CANDIDATE else sq.label(result, by)
    return PairData(
        sb.sweep_frame(result, _title(result, decision, x, y), _note(decision, by)), tuple(clouds),
        sq.label(result, x), sq.label(result, y), _log(xs), _log(ys), key,
    )  # fmt: skip


def _strongest(decision: Decision) -> str:
    ranked = sorted(decision.inputs, key=lambda i: -(i.of_use if np.isfinite(i.of_use) else -1.0))
    return ranked[0].name if ranked else "setting"


def _by_candidate(result: SweepResult, decision: Decision, x: str, y: str) -> list[Cloud]:
    choices = sb.shown(decision)
    out = []
    for c in choices:
        a, b = sq.at_choice(result, c, x), sq.at_choice(result, c, y)
        out.append(_cloud(sb.Named(c.name, c.candidate, ""), a, b, MOST // len(choices)))
    return out


def _by_thirds(result: SweepResult, decision: Decision, x: str, y: str, by: str) -> list[Cloud]:
    best = decision.choices[0]
    a, b, z = (sq.at_choice(result, best, n) for n in (x, y, by))
    low, high = np.nanquantile(z, [1 / 3, 2 / 3]) if np.isfinite(z).any() else (0.0, 0.0)
    parts = (z <= low, (z > low) & (z <= high), z > high)
    return [
        _cloud(sb.Named(t, i, ""), np.where(p, a, np.nan), np.where(p, b, np.nan), MOST // 3, p)
        for i, (t, p) in enumerate(zip(THIRDS, parts, strict=True))
    ]


def _cloud(who: sb.Named, x: Floats, y: Floats, most: int, among: np.ndarray | None = None) -> Cloud:
    """At most ``most`` points, spread evenly; the note counts those that are there and those that are not."""
    known = np.isfinite(x) & np.isfinite(y)
    at = np.flatnonzero(known)
    total = len(x) if among is None else int(among.sum())
    pick = at[np.unique(np.linspace(0, len(at) - 1, min(most, len(at))).astype(int))] if len(at) else at
    without = total - len(at)
    note = f"{len(at):,} cases" + (f", {without:,} without value" if without else "")
    return Cloud(who._replace(note=note), x[pick], y[pick])


def _log(v: Floats) -> bool:
    return bool(len(v) and v.min() > 0.0 and v.max() / v.min() > 20.0)


def _note(decision: Decision, by: str) -> str:
    if by == CANDIDATE:
        return "each candidate at its own setting"
    return f"{clipped(decision.choices[0].name)} at its own setting, by thirds of {by}"


def _title(result: SweepResult, decision: Decision, x: str, y: str) -> str:
    best = decision.choices[0]
    r = rank_correlation(sq.at_choice(result, best, x), sq.at_choice(result, best, y)).value
    names = [sq.label(result, n).split(" (")[0] for n in (y, x)]
    told = f": rank correlation {r:.2f}".replace("-", "\u2212") if np.isfinite(r) else ""
    return f"{names[0]} over {names[1]}, {clipped(best.name)}{told}"
