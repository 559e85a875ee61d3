"""One [[sweep.factor]]: its words, where it acts, its values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from simcore import units
from simcore.scenario.csv_columns import Columns
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.models import read_table
from simcore.scenario.plan import Factor
from simcore.scenario.sweep_bounds import Written
from simcore.scenario.sweep_targets import Found, View
from simcore.scenario.sweep_values import Reader
from simcore.scenario.words import FACTOR, FACTOR_LISTS, nearest

MOST_PATHS: Final = 200


@dataclass
class Around:
    """What a factor needs to know of the rest; ``table`` is the file of draws, if the design is a table."""

    view: View
    folder: str
    from_table: bool
    table: Columns | None


def read_factor(
    n: int, row: Mapping[str, Any], around: Around, found: list[Finding]
) -> tuple[Written | None, tuple[float, ...], list[str]]:
    """The factor with its targets (None if its place or kind is unknown), its table column, the files it opened."""
    spot: Spot = ("sweep", "factor", n)
    words = {p.name for p in FACTOR} | set(FACTOR_LISTS)
    for w in [w for w in row if w not in words][:20]:
        found.append(Finding((*spot, w), "is not a word of a factor", "", nearest(w, words - set(row))))
    values, wrong = read_table(
        "a factor", FACTOR, {k: v for k, v in row.items() if k in words and k not in FACTOR_LISTS}, spot
    )
    found += wrong
    name, times = str(values.get("name", "")), values.get("times") is True
    _one_of_two(row, spot, around, found)
    places = _places(row, spot, around.view, found)
    kind = _kind(places, times, row, spot, found) if places is not None else None
    if kind is None:
        return None, (), []
    reader = Reader(kind, around.folder, found)
    grid = reader.grid(row["grid"], (*spot, "grid")) if "grid" in row else ()
    scatter = reader.scatter(row["scatter"], (*spot, "scatter")) if "scatter" in row else None
    column = _column(name, spot, around, reader) if around.from_table and "grid" not in row else ()
    factor = Factor(name, tuple(p.path for p in places or ()), times, kind, grid, scatter, reader.unit)
    return Written(factor, spot, tuple(t for p in places or () for t in p.targets)), column, reader.files


def _one_of_two(row: Mapping[str, Any], spot: Spot, around: Around, found: list[Finding]) -> None:
    if "grid" in row and "scatter" in row:
        hint = "make two factors of it"
        found.append(
            Finding((*spot, "scatter"), "a factor has either a grid or a scatter, this one has both", "", hint)
        )
    elif "grid" not in row and "scatter" not in row and not around.from_table:
        hint = "write grid = { from = ..., to = ..., steps = 13 } or scatter = { normal = ..., sd = ... }"
        found.append(Finding(spot, "has neither a grid nor a scatter", "", hint))


def _places(row: Mapping[str, Any], spot: Spot, view: View, found: list[Finding]) -> list[Found] | None:
    if "path" in row and "paths" in row:
        found.append(Finding((*spot, "paths"), "a factor has either path or paths, this one has both"))
        return None
    if "paths" not in row:
        if not isinstance(row.get("path"), str):
            if "path" not in row:
                hint = 'write path = "..." or paths = ["...", "..."]'
                found.append(Finding(spot, "path is missing: the input that varies", "", hint))
            return None
        texts: list[tuple[object, Spot]] = [(row["path"], (*spot, "path"))]
    else:
        given = row["paths"]
        if not isinstance(given, list) or not 0 < len(given) <= MOST_PATHS:
            rule = f"must be a list of 1 to {MOST_PATHS} paths"
            found.append(Finding((*spot, "paths"), rule, units.shown(given), 'write paths = ["..."]'))
            return None
        texts = [(t, (*spot, "paths", n)) for n, t in enumerate(given)]
    out: list[Found] = []
    sound = True
    for text, at in texts:
        if not isinstance(text, str):
            found.append(Finding(at, "must be a path in quotes", units.shown(text)))
        place = view.find(text, at, found) if isinstance(text, str) else None
        sound = sound and place is not None
        if place is not None and any(p.path == place.path for p in out):
            found.append(Finding(at, "this path stands twice in the factor", units.shown(text)))
        elif place is not None:
            out.append(place)
    return out if sound else None


def _kind(places: list[Found], times: bool, row: Mapping[str, Any], spot: Spot, found: list[Finding]) -> str | None:
    """Kind of the factor's values; None and a finding if its paths do not go together."""
    targets = [t for p in places for t in p.targets]
    counted = next((t for t in targets if t.kind == "count"), None)
    if counted and (times or ("scatter" in row)):
        rule = f"{counted.path} counts whole things: it can be replaced by the whole numbers of a grid, not be "
        hint = f"write grid = [{counted.own.si:g}, {counted.own.si + 2:g}]" if counted.own else "write grid = [4, 6]"
        found.append(Finding((*spot, "times" if times else "scatter"), rule + ("multiplied" if times else "scattered"),
                             "", hint))  # fmt: skip
        return None
    if times:
        return "ratio"
    other = next((t for t in targets if t.kind != targets[0].kind), None)
    if other is not None:
        rule = f"its paths are of different kinds: {targets[0].path} is {units.words(targets[0].kind)}, "
        hint = "write times = true with ratios, or two factors"
        found.append(Finding(spot, rule + f"{other.path} is {units.words(other.kind)}", "", hint))
        return None
    return targets[0].kind


def _column(name: str, spot: Spot, around: Around, reader: Reader) -> tuple[float, ...]:
    """The factor's column of the table; missing columns are told where the table is named."""
    if around.table is None or not name:
        return ()
    if name not in around.table.names:
        rule = f"the table {around.table.file} has no column of this name"
        reader.found.append(Finding((*spot, "name"), rule, units.shown(name), nearest(name, around.table.names)))
        return ()
    return reader.column(around.table, around.table.names.index(name), ("sweep", "table"))
