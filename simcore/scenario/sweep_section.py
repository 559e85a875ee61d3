"""The section [sweep]: read and checked; nothing is raised, findings say what is wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod
from typing import Any, Final

from simcore import units
from simcore.contract import Part
from simcore.scenario.csv_columns import Columns, FileFault, columns
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import Quantity, Scenario, Value
from simcore.scenario.models import read_table
from simcore.scenario.plan import Factor, Sweep
from simcore.scenario.sweep_bounds import Written, bounds
from simcore.scenario.sweep_factor import Around, read_factor
from simcore.scenario.sweep_targets import View
from simcore.scenario.words import SWEEP, nearest

MOST_CASES: Final = 1_000_000_000
MOST_FACTORS: Final = 100
DRAWS: Final = 1000
GROUPS: Final = 256
"""Groups of a paired design that are drawn if nothing is said."""
LISTS: Final = ("candidates", "situations")

Found = list[Finding]


def sweep_section(
    raw: Mapping[str, Any], scenario: Scenario, registry: Mapping[str, Part], folder: str
) -> tuple[Sweep | None, Found]:
    """The checked section (None without one, or if it cannot be used) and all findings in it.

    Files it names are looked for in ``folder``.
    """
    table = raw.get("sweep")
    if table is None:
        return None, []
    if not isinstance(table, dict):
        return None, [Finding(("sweep",), "must be a table headed [sweep]", units.shown(table))]
    found: Found = []
    words = _words(table, found)
    names = {w: _names(raw, table, w, found) for w in LISTS}
    design = str(words.get("design", "random"))
    file = _table_file(table, words, design, folder, found)
    around = Around(View(raw, scenario, registry, names["candidates"]), folder, design == "table", file)
    written, columns_of, files = _factors(table, around, found)
    _twice(written, found)
    _unset(written, found)
    if file is not None:
        _spare_columns(table, file, found)
    free = [r for r in _rows(table) if "grid" not in r]
    draws = _draws(words, len(free), design, file, found)
    extra, notes = bounds(written, columns_of, draws)
    found += extra
    _cases(names["candidates"], [w.factor for w in written], draws, found)
    size = _count(words, "hypercube", draws)
    sweep = Sweep(
        factors=tuple(w.factor for w in written),
        seed=_count(words, "seed", 1),
        draws=draws,
        design=design,
        situations=names["situations"],
        candidates=names["candidates"],
        damage_target=_share(words, "damage_target"),
        nuisance_target=_share(words, "nuisance_target"),
        block=_count(words, "block", 500),
        hypercube=size,
        table=columns_of,
        files=tuple(dict.fromkeys([*([file.file] if file else []), *files])),
        notes=(*notes, *_design_notes(design, draws, size, len(free))),
    )
    return (None if found else sweep), found


def _words(table: Mapping[str, Any], found: Found) -> dict[str, Value]:
    own = [p.name for p in SWEEP]
    known = {*own, *LISTS, "factor"}
    for w in [w for w in table if w not in known][:20]:
        found.append(Finding(("sweep", w), "is not a word of a sweep", hint=nearest(w, known - set(table))))
    values, wrong = read_table("a sweep", SWEEP, {w: v for w, v in table.items() if w in own}, ("sweep",))
    found += wrong
    for w in ("damage_target", "nuisance_target"):
        value = values.get(w)
        if isinstance(value, Quantity) and value.si >= 1.0:
            found.append(Finding(("sweep", w), "must be less than 1, a share of all events", units.shown(table.get(w))))
    if "hypercube" in table and values.get("design") != "latin hypercube":
        found.append(Finding(("sweep", "hypercube"), 'stands without design = "latin hypercube"'))
    return values


def _names(raw: Mapping[str, Any], table: Mapping[str, Any], word: str, found: Found) -> tuple[str, ...]:
    """Names of candidates or situations that are asked for; all of them if nothing is said."""
    tables = raw.get(word)
    valid = tuple(tables) if isinstance(tables, dict) else ()
    spot: Spot = ("sweep", word)
    if word not in table:
        if not valid and word == "candidates":
            found.append(Finding(("sweep",), "there is no candidate to try", "", 'write [candidates."..."]'))
        return valid
    given = table[word]
    if not isinstance(given, list) or not given:
        hint = f'write {word} = ["..."], or leave it out for all'
        found.append(Finding(spot, "must be a list of names", units.shown(given), hint))
        return valid
    out: list[str] = []
    for n, name in enumerate(given):
        if not isinstance(name, str) or name not in valid:
            rule = f"there is no {word.removesuffix('s')} of this name"
            found.append(Finding((*spot, n), rule, units.shown(name), nearest(name, valid)))
        elif name in out:
            found.append(Finding((*spot, n), "this name stands twice", units.shown(name)))
        else:
            out.append(name)
    return tuple(out) or valid


def _factors(
    table: Mapping[str, Any], around: Around, found: Found
) -> tuple[list[Written], dict[str, tuple[float, ...]], list[str]]:
    rows = table.get("factor", [])
    spot: Spot = ("sweep", "factor")
    if not isinstance(rows, list):
        hint = "with two brackets, once for each factor"
        found.append(Finding(spot, "must be tables headed [[sweep.factor]]", units.shown(rows), hint))
        return [], {}, []
    if not rows:
        found.append(Finding(("sweep",), "there is no factor to vary", "", "write one [[sweep.factor]] for each"))
    if len(rows) > MOST_FACTORS:
        found.append(Finding(spot, f"must have at most {MOST_FACTORS} factors", str(len(rows))))
    written: list[Written] = []
    column_of: dict[str, tuple[float, ...]] = {}
    files: list[str] = []
    for n, row in enumerate(rows[:MOST_FACTORS]):
        if not isinstance(row, dict):
            found.append(Finding((*spot, n), "must be a table headed [[sweep.factor]]", units.shown(row)))
            continue
        one, column, opened = read_factor(n, row, around, found)
        files += opened
        if one is not None:
            written.append(one)
            column_of |= {one.factor.name: column} if column else {}
    _same_names(rows, found)
    return written, column_of, files


def _rows(table: Mapping[str, Any]) -> list[dict[str, Any]]:
    rows = table.get("factor")
    return [r for r in rows if isinstance(r, dict)] if isinstance(rows, list) else []


def _same_names(rows: Sequence[Any], found: Found) -> None:
    first: dict[str, int] = {}
    for n, row in enumerate(rows[:MOST_FACTORS]):
        name = row.get("name") if isinstance(row, dict) else None
        if not isinstance(name, str):
            continue
        if name in first:
            rule = f"factors {first[name] + 1} and {n + 1} have the same name"
            found.append(Finding(("sweep", "factor", n, "name"), rule, units.shown(name), "give each its own"))
        first.setdefault(name, n)


def _twice(written: Sequence[Written], found: Found) -> None:
    """Two factors that replace one input; ratios on it are fine, they multiply."""
    first: dict[Spot, str] = {}
    for w in (w for w in written if not w.factor.times):
        for t in w.targets:
            if t.spot in first:
                rule = f"{t.path} is replaced by {units.shown(first[t.spot])} already, a second one cannot replace it"
                word = "path" if len(w.factor.paths) == 1 else "paths"
                found.append(Finding((*w.spot, word), rule, "", "write times = true with ratios in one of them"))
                break
            first[t.spot] = w.factor.name


def _unset(written: Sequence[Written], found: Found) -> None:
    """Ratios of inputs that have no value to multiply."""
    replaced = {t.spot for w in written if not w.factor.times for t in w.targets}
    for w in (w for w in written if w.factor.times):
        for path in w.factor.paths:
            mine = [t for t in w.targets if t.path == path] or [t for t in w.targets if t.spot[0] == "candidates"]
            idle = [t for t in mine if not (t.own or t.written or t.spot in replaced)]
            if idle:
                rule = f"{idle[0].path} has no value in the scenario, so there is nothing to multiply"
                if len(idle) < len(mine):
                    rule += " and that candidate would not vary"
                found.append(Finding((*w.spot, "times"), rule, "", "write a value, or leave times out"))


def _table_file(
    table: Mapping[str, Any], words: Mapping[str, Value], design: str, folder: str, found: Found
) -> Columns | None:
    name = words.get("table")
    if design != "table":
        if "table" in table:
            found.append(Finding(("sweep", "table"), 'stands without design = "table"'))
        return None
    if not isinstance(name, str):
        if "table" not in table:
            rule = 'design = "table" needs a table of draws'
            found.append(Finding(("sweep", "design"), rule, "", 'write table = "cases.csv"'))
        return None
    try:
        return columns(folder, name)
    except FileFault as fault:
        found.append(Finding(("sweep", "table"), fault.rule, "", fault.hint))
        return None


def _spare_columns(table: Mapping[str, Any], file: Columns, found: Found) -> None:
    rows = _rows(table)
    free = [str(r.get("name")) for r in rows if "grid" not in r]
    on_grid = [r.get("name") for r in rows if "grid" in r]
    for n, name in enumerate(file.names):
        if name in file.names[:n]:
            found.append(Finding(("sweep", "table"), f"two columns of {file.file} have the same heading", f'"{name}"'))
        elif name in on_grid:
            rule = f"column {n + 1} of {file.file} names a factor that has a grid"
            found.append(Finding(("sweep", "table"), rule, f'"{name}"', "take the column out, or the grid"))
        elif name not in free:
            rule = f"column {n + 1} of {file.file} names no factor"
            found.append(Finding(("sweep", "table"), rule, f'"{name}"', nearest(name, free)))


def _draws(words: Mapping[str, Value], k: int, design: str, file: Columns | None, found: Found) -> int:
    """Number of draws asked for, or the usual one; ``k`` factors are drawn."""
    spot: Spot = ("sweep", "draws")
    asked = words.get("draws")
    n = int(asked.si) if isinstance(asked, Quantity) else None
    if file is not None:
        rows = len(file.rows)
        if n is not None and n > rows:
            found.append(Finding(spot, f"the table {file.file} has {rows} rows", str(n), "leave draws out for all"))
        return min(n or rows, rows)
    if k == 0:
        if n is not None and n > 1:
            rule = "nothing scatters, so all draws would be the same"
            found.append(Finding(spot, rule, str(n), "leave draws out, or write a scatter"))
        return 1
    if design != "paired":
        return n or DRAWS
    if n is not None and n % (k + 2):
        more = n + -n % (k + 2)
        rule = f"a paired design draws groups of {k + 2}, two more than the {k} scattered factors"
        found.append(Finding(spot, rule, str(n), f"write draws = {more}"))
    return n or GROUPS * (k + 2)


def _cases(candidates: Sequence[str], factors: Sequence[Factor], draws: int, found: Found) -> None:
    cells = prod(len(f.grid) for f in factors if f.grid)
    n = len(candidates) * cells * draws
    if n > MOST_CASES:
        parts = f"{len(candidates)} candidates, {cells} cells, {draws} draws in each"
        rule = f"the sweep has {_grouped(n)} cases ({parts}), at most {_grouped(MOST_CASES)} are run"
        found.append(Finding(("sweep",), rule, "", "take fewer steps or draws"))


def _grouped(n: int) -> str:
    return f"{n:,}".replace(",", " ")


def _design_notes(design: str, draws: int, size: int, k: int) -> list[str]:
    if k == 0:
        return []
    if design == "sobol sequence" and draws & (draws - 1):
        near = 1 << (draws.bit_length() - 1)
        return [f"a Sobol sequence is balanced for powers of two: {near} or {2 * near} draws are better than {draws}"]
    if design == "paired" and (n := draws // (k + 2)) & (n - 1):
        near = 1 << (n.bit_length() - 1)
        few, many = near * (k + 2), 2 * near * (k + 2)
        return [f"a paired design is balanced for powers of two: {few} or {many} draws are better than {draws}"]
    if design == "latin hypercube" and draws % size:
        return [f"{draws} draws are no whole number of hypercubes of {size}: the last one is cut short"]
    return []


def _count(words: Mapping[str, Value], name: str, missing: int) -> int:
    value = words.get(name)
    return int(value.si) if isinstance(value, Quantity) else missing


def _share(words: Mapping[str, Value], name: str) -> float:
    value = words.get(name)
    return value.si if isinstance(value, Quantity) else 0.0


__all__ = ["sweep_section"]
