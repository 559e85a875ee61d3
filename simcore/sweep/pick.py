"""Which case of a sweep is meant: a number, indices, or the worst, the median, a failed one."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcore.errors import Fault, InputError
from simcore.sweep import cases
from simcore.sweep.result import SweepResult

WORDS: Final = ("worst", "median", "failed")


class Picked(NamedTuple):
    """Places of a case, all from 0; ``cell`` counts the points of the grid, last factor fastest."""

    candidate: int
    cell: int
    draw: int

    def number(self, result: SweepResult) -> int:
        """The flat number: candidates, in them cells, in them draws."""
        return int(np.ravel_multi_index(self, lengths(result)))


def lengths(result: SweepResult) -> tuple[int, int, int]:
    """How many candidates, cells and draws there are."""
    shape = result.status.shape
    return shape[0], int(np.prod(shape[1:-2], dtype=int)), shape[-2]


def values(result: SweepResult, case: Picked) -> tuple[float, ...]:
    """Values of the grid factors in the case's cell."""
    axes = tuple(len(g) for g in result.grids.values())
    where = np.unravel_index(case.cell, axes) if axes else ()
    return tuple(float(g[i]) for g, i in zip(result.grids.values(), where, strict=True))


def at(result: SweepResult, array: NDArray[np.generic], case: Picked) -> NDArray[np.generic]:
    """(situation): a measure of one case."""
    found: NDArray[np.generic] = array.reshape(*lengths(result), -1)[case]
    return found


def pick(result: SweepResult, text: str, candidate: str = "") -> Picked:
    """The case that ``text`` names; ``candidate`` narrows 'worst', 'median' and 'failed'.  Raises InputError."""
    words = text.strip()
    if words in WORDS:
        return _by_word(result, words, _candidates(result, candidate))
    if candidate:
        raise InputError(f'--candidate goes with {_listed()}; "{words[:40]}" names its candidate itself')
    if re.fullmatch(r"\d{1,15}", words):
        return _by_number(result, int(words))
    if words.count("/") >= 2:
        return _by_places(result, words)
    from simcore.near import nearest_hint

    hint = nearest_hint(words, WORDS, f"a number, CANDIDATE/CELL/DRAW, or {_listed()}")
    raise InputError([Fault(words[:40], "is no case", hint=hint)])


def _listed() -> str:
    return f"{', '.join(WORDS[:-1])} or {WORDS[-1]}"


def _candidates(result: SweepResult, name: str) -> list[int]:
    if not name:
        return list(range(len(result.candidates)))
    return [_candidate(result, name)]


def _candidate(result: SweepResult, name: str) -> int:
    from simcore.near import nearest_hint

    if name not in result.candidates:
        hint = nearest_hint(name, result.candidates, f"there are {', '.join(result.candidates)}")
        raise InputError([Fault(name[:80], "is no candidate of this sweep", hint=hint)])
    return result.candidates.index(name)


def _by_number(result: SweepResult, number: int) -> Picked:
    total = int(np.prod(lengths(result)))
    if number >= total:
        raise InputError(f"{number}: there is no such case, this sweep has 0 to {total - 1}")
    return Picked(*(int(i) for i in np.unravel_index(number, lengths(result))))


def _by_places(result: SweepResult, text: str) -> Picked:
    name, cell, draw = (t.strip() for t in text.rsplit("/", 2))
    counts = lengths(result)
    first = int(name) if re.fullmatch(r"\d{1,9}", name) and name not in result.candidates else _candidate(result, name)
    faults, found = [], [first]
    for what, t, n in (("cell", cell, counts[1]), ("draw", draw, counts[2])):
        if not re.fullmatch(r"\d{1,15}", t) or int(t) >= n:
            faults.append(Fault(f"{what} {t[:20]}", f"must be a whole number from 0 to {n - 1}"))
        else:
            found.append(int(t))
    if first >= counts[0]:
        faults.append(Fault(f"candidate {name}", f"must be a name, or a whole number from 0 to {counts[0] - 1}"))
    if faults:
        raise InputError(faults)
    return Picked(*found)


def _by_word(result: SweepResult, word: str, among: list[int]) -> Picked:
    """Largest or median use over the crashes (all situations if there is none), or the first that failed."""
    shape = lengths(result)
    bad = np.asarray((result.status.reshape(*shape, -1) > cases.GONE_WRONG).any(axis=-1))[among]
    if word == "failed":
        places = np.argwhere(bad)
        if not len(places):
            raise InputError("no case failed: there is none to replay")
        return _picked(among, places[0])
    columns = cases.places(result, cases.CRASH)
    use = result.measures["use"].reshape(*shape, -1)[among]
    largest = np.fmax.reduce(use[..., columns] if len(columns) else use, axis=-1)
    largest = np.where(bad, np.nan, largest)
    if np.isnan(largest).all():
        raise InputError(f"no case could be computed: there is no {word} one")
    if word == "worst":
        return _picked(among, np.unravel_index(int(np.nanargmax(largest)), largest.shape))
    order = np.argsort(largest, axis=None, kind="stable")
    middle = order[(int(np.isfinite(largest).sum()) - 1) // 2]
    return _picked(among, np.unravel_index(int(middle), largest.shape))


def _picked(among: list[int], place: object) -> Picked:
    c, cell, draw = (int(i) for i in place)  # type: ignore[attr-defined]
    return Picked(among[c], cell, draw)
