"""The tables of a scenario file that are no parts: what each is for and every word that may stand in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from simcore.contract import Param
from simcore.scenario import words
from simcore.scenario.sweep_schema import GRID_MEANING, LIST_MEANING, SCATTER_MEANING

WITH_INPUTS: Final = ("the inputs of its kind", 'simcore parts "KIND" lists them')


class Table(NamedTuple):
    """How a table is headed in the file, what it is for, its words."""

    heading: str
    meaning: str
    params: tuple[Param, ...] = ()
    more: tuple[tuple[str, str], ...] = ()


def _lists(*names: str) -> tuple[tuple[str, str], ...]:
    return tuple((n, LIST_MEANING[n]) for n in names)


def _scatters() -> Iterator[tuple[str, str]]:
    """``scatter = { normal = .., sd = .. }`` and its like, a row each."""
    for word, beside in words.SCATTERS.items():
        yield f"scatter.{word}", SCATTER_MEANING[word] + (f" Beside it: {', '.join(beside)}." if beside else "")
    for word in dict.fromkeys(w for beside in words.SCATTERS.values() for w in beside):
        yield f"scatter.{word}", SCATTER_MEANING[word]


TABLES: Final = {
    "scenario": Table("the top of the file", "what the file is about, and which station decides", words.TOP),
    "display": Table("[display]", "units of what is printed", words.DISPLAY),
    "solver": Table("[solver]", "how closely is computed", words.SOLVER),
    "line": Table("[[line]]", "a station of the line, from motor to load", (*words.PLACE, *words.LIMIT),
                  (WITH_INPUTS,)),
    "candidates": Table("[candidates.NAME]", "a protection to try", words.CANDIDATE, (WITH_INPUTS,)),
    "stops": Table("[stops.NAME]", "a chain that notices and switches the drive off", words.STOP, (WITH_INPUTS,)),
    "corners": Table("[corners.NAME]", "other values under which a situation may take place (cold, worn, empty)",
                     more=(("'PATH' = value", "an input by its path, in quotes: 'line[\"motor\"].voltage' = \"90 %\"; "
                            "candidates[*] is whichever candidate is under trial"),)),
    "situations": Table("[situations.NAME]", "a crash or a piece of ordinary service",
                        (*words.SITUATION, words.FOLLOWING), (WITH_INPUTS,)),
    "sweep": Table("[sweep]", "what is varied over many cases, and how that is judged", words.SWEEP,
                   _lists("candidates", "situations")),
    "sweep.factor": Table("[[sweep.factor]]", "one thing that varies: on a grid, or drawn by its scatter", words.FACTOR,
                          (*_lists("paths", "grid"), *((f"grid.{w}", GRID_MEANING[w]) for w in words.GRID),
                           *_scatters())),
}  # fmt: skip
"""By the name a path has for the table."""


def table_named(name: str) -> Table | None:
    """The table of this name, with or without its brackets and what stands in place of NAME."""
    key = name.strip().strip("[]").casefold()
    return TABLES.get(key) or TABLES.get(key.partition(".")[0] if not key.startswith("sweep") else key)
