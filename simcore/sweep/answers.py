"""The decision of a sweep as a table for other programs: one row a candidate, best first."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from math import nan
from pathlib import Path
from typing import Any, Final

from simcore.errors import ResultError
from simcore.results.files import why
from simcore.sweep.atomic import put
from simcore.sweep.decide import Choice, Decision, Regret
from simcore.sweep.odds import COUNTED, Odds
from simcore.sweep.wording import RAREST, only_bound

Cell = Callable[[Choice, Regret], Any]


def share(x: Odds) -> float:
    """The estimate; NaN where only a bound can be told."""
    return nan if x.cases <= 0.0 or only_bound(x) else x.share


def _kind(c: Choice) -> str:
    if c.window.sure:
        return "sure"
    return c.lacks or "likely"


def _ends(c: Choice) -> str:
    """Which end of the kept range is only where the grid ends."""
    if not c.kept.likely:
        return ""
    ends = [word for word, here in (("from", c.kept.open_below), ("to", c.kept.open_above)) if here]
    return " and ".join(ends)


def at_least(x: Odds) -> float:
    return nan if x.cases <= 0.0 else x.low


def at_most(x: Odds) -> float:
    """The upper bound; an averaged one not below what a scatter's law is believed."""
    if x.cases <= 0.0:
        return nan
    return x.high if x.model == COUNTED else max(x.high, RAREST)


COLUMNS: Final[dict[str, Cell]] = {
    "candidate": lambda c, r: c.name,
    "setting [N m]": lambda c, r: c.setting,
    "window": lambda c, r: _kind(c),
    "window from, likely [N m]": lambda c, r: c.window.low,
    "window to, likely [N m]": lambda c, r: c.window.high,
    "window from, sure [N m]": lambda c, r: c.window.sure_low,
    "window to, sure [N m]": lambda c, r: c.window.sure_high,
    "tolerance left room for": lambda c, r: c.tolerance,
    "both targets kept from, likely [N m]": lambda c, r: c.kept.low,
    "both targets kept to, likely [N m]": lambda c, r: c.kept.high,
    "grid ends there": lambda c, r: _ends(c),
    "crashes damaged": lambda c, r: share(c.damage_odds),
    "crashes damaged, at least, 95 %": lambda c, r: at_least(c.damage_odds),
    "crashes damaged, at most, 95 %": lambda c, r: at_most(c.damage_odds),
    "events tripping": lambda c, r: share(c.nuisance_odds),
    "events tripping, at least, 95 %": lambda c, r: at_least(c.nuisance_odds),
    "events tripping, at most, 95 %": lambda c, r: at_most(c.nuisance_odds),
    "how tripping was counted": lambda c, r: c.nuisance.model,
    "setting run [N m]": lambda c, r: c.ran_at,
    "peak, median [N m]": lambda c, r: c.peak.value,
    "peak, 95 % point [N m]": lambda c, r: c.peak_95.value,
    "peak over allowable, 95 % point": lambda c, r: c.use_95,
    "disconnect, median [s]": lambda c, r: c.disconnect.value,
    "disconnect, 95 % point [s]": lambda c, r: c.disconnect_95,
    "crashes without disconnect": lambda c, r: c.never,
    "best of its draw": lambda c, r: r.best,
    "surplus of peak over allowable, mean": lambda c, r: r.mean_use,
    "surplus of peak over allowable, 95 % point": lambda c, r: r.use_95,
    "surplus of disconnect, 95 % point [s]": lambda c, r: r.time_95,
    "words": lambda c, r: c.words,
    "what would open one": lambda c, r: " ".join(c.opens),
}
"""Shares as numbers from 0 to 1; at least, at most: bounds that hold with 95 % confidence each.

A share that the sample does not support (fewer than three seen) is left empty: its bound stands beside it.
"""


def answers_table(decision: Decision) -> bytes:
    """CSV, UTF-8, SI units in the headings, an empty cell where there is no value, 'inf' for never."""
    regrets = {r.name: r for r in decision.regrets}
    text = io.StringIO(newline="")
    out = csv.writer(text, lineterminator="\r\n")
    out.writerow(COLUMNS)
    out.writerows([_text(cell(c, regrets[c.name])) for cell in COLUMNS.values()] for c in decision.choices)
    return text.getvalue().encode("utf-8")


def _text(value: Any) -> str:
    if isinstance(value, str):
        return value
    return "" if value != value else repr(float(value))


def write_answers(decision: Decision, path: Path) -> Path:
    """Put the table at ``path``, whole or not at all.  Raises ResultError."""
    try:
        put(path, answers_table(decision), name="decision")
    except OSError as e:
        raise ResultError(f"{path}: cannot be written, {why(e)}") from None
    return path
