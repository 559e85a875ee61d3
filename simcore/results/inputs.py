"""What differs between the inputs of two results, by readable path."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

from simcore.quantity import Quantity
from simcore.results.model import ResultSet
from simcore.scenario.model import Scenario, Series
from simcore.units import show

NO_INPUTS: Final = ("title", "question", "display")
"""Top-level entries that no answer depends on."""

ABSENT: Final = "-"
COLUMN: Final = {"file", "column"}
"""Words of a list that is a column of a file."""
SAME: Final = 1e-5
"""Relative difference up to which two numbers are one, written with other digits: 1 rad/s and 9.549 rpm."""
LONG: Final = 64
"""Entries of a list that are told one by one."""

ENVIRONMENT: Final = ("simcore", "python", "numpy", "scipy", "numba", "h5py", "relative_tolerance")


class Change(NamedTuple):
    """One input that differs: readable path, its text in either result ('-' where absent)."""

    path: str
    before: str
    after: str


def changes(a: ResultSet, b: ResultSet) -> tuple[Change, ...]:
    """Inputs that differ, as written; then defaults that differ though nothing was written; then versions.

    The same quantity in another unit, another comment, a default written out in whatever words, or numbers that agree
    to ``SAME`` are no difference.
    """
    ra, rb = _resolved(a), _resolved(b)
    ma, mb = _meant(a), _meant(b)
    try:
        ta, tb = _written(a), _written(b)
    except tomllib.TOMLDecodeError:
        return (*_unreadable(a, b), *_environment(a, b))
    out = list(_collected(ta, tb, {**ra, **ma}, {**rb, **mb}))
    seen = [c.path for c in out]
    for path in ra.keys() & rb.keys():
        if path not in seen and not _equal(ra[path], rb[path]):
            out.append(Change(path, *_defaults(path, (ra, rb), (ma, mb))))
    return (*sorted(out, key=lambda c: _order(c.path, ta, tb)), *_environment(a, b))


def _unreadable(a: ResultSet, b: ResultSet) -> Iterator[Change]:
    if a.scenario_text != b.scenario_text:
        yield Change("scenario", "its text", "another text, no readable scenario")


def _collected(
    ta: Mapping[str, Any], tb: Mapping[str, Any], ra: Mapping[str, Any], rb: Mapping[str, Any]
) -> Iterator[Change]:
    told: set[str] = set()
    for path in dict.fromkeys((*ta, *tb)):
        if path in ta and path in tb and (ta[path] == tb[path] or same_quantity(ta[path], tb[path])):
            continue
        if path in ra and path in rb and _alike(ra[path], rb[path]):
            continue
        whole = _owner(path)
        if whole and (_has(ta, whole) != _has(tb, whole)):
            if whole not in told:
                told.add(whole)
                yield Change(whole, *("present" if _has(t, whole) else ABSENT for t in (ta, tb)))
            continue
        yield Change(path, _side(path, ta, ra), _side(path, tb, rb))


def _side(path: str, written: Mapping[str, Any], resolved: Mapping[str, Any]) -> str:
    if path in written:
        return _text(written[path])
    value = resolved.get(path)
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ABSENT
    if isinstance(value, float):
        return f"{_text(value)} (default, SI)"
    return f"{_text(getattr(value, 'text', value))} (default)"


def _defaults(path: str, resolved: tuple[Mapping[str, Any], ...], meant: tuple[Mapping[str, Any], ...]) -> list[str]:
    """Both values of an input whose text did not change: as declared, in SI where that is not known, and of lists."""
    if all(path in m and not isinstance(m[path], Series) for m in meant):
        return [f"{_text(getattr(m[path], 'text', m[path]))} (default)" for m in meant]
    return [f"{x} (SI)" for x in _apart(*(r[path] for r in resolved))]


def _owner(path: str) -> str:
    """The named part a path belongs to: ``candidates["x"].setting`` -> ``candidates["x"]``."""
    end = path.rfind('"]')
    return path[: end + 2] if end >= 0 else ""


def _has(table: Mapping[str, Any], owner: str) -> bool:
    return any(p == owner or p.startswith(f"{owner}.") for p in table)


def _order(path: str, *tables: Mapping[str, Any]) -> tuple[int, str]:
    """Place of a path in the file."""
    for table in tables:
        for n, p in enumerate(table):
            if p == path or p.startswith(f"{path}."):
                return n, path
    return 10**6, path


def _written(result: ResultSet) -> dict[str, Any]:
    """Every entry of the scenario's text by readable path, changes from outside applied."""
    from simcore.scenario.paths import PathFault, form, parse

    raw = tomllib.loads(result.scenario_text.removeprefix("\ufeff"))
    out = {p: v for p, v in _leaves(raw) if p not in NO_INPUTS and not p.startswith("display.")}
    given = result.provenance.get("changes", {})
    for path, value in given.items() if isinstance(given, Mapping) else ():
        try:
            out[form(parse(path))] = value
        except PathFault:
            out[path] = value
    return out


def _leaves(raw: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    from simcore.scenario.paths import form

    def walk(value: Any, steps: tuple[str | int, ...]) -> Iterator[tuple[str, Any]]:
        if isinstance(value, dict) and value and value.keys() != COLUMN:
            for key, inner in value.items():
                yield from walk(inner, (*steps, key))
        else:
            yield form(steps), value

    for key, value in raw.items():
        if isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            names = _station_names(value)
            yield f"{key} in order", ", ".join(str(n) for n in names)
            for name, station in zip(names, value, strict=True):
                yield from walk(station, (key, name))
        else:
            yield from walk(value, (key,))


def _station_names(stations: list[dict[str, Any]]) -> list[str | int]:
    """Names where they are given and unique, else places counted from 0."""
    names = [s.get("name") for s in stations]
    return [n if isinstance(n, str) and names.count(n) == 1 else i for i, n in enumerate(names)]


def _resolved(result: ResultSet) -> dict[str, Any]:
    given = result.provenance.get("resolved", {})
    return dict(given) if isinstance(given, Mapping) else {}


def _meant(result: ResultSet) -> dict[str, Any]:
    """Every input as the scenario means it, defaults included, by readable path; empty if it cannot be read today."""
    from simcore.errors import SimcoreError
    from simcore.scenario.alter import kept
    from simcore.scenario.read import read_text

    p = result.provenance
    try:
        read = read_text(result.scenario_text, "", dict(p.get("changes", {})), files=p.get("files", {}))
        return _of_scenario(kept(read, p.get("only", {})))
    except (SimcoreError, KeyError, TypeError, ValueError):
        return {}


def _of_scenario(scenario: Scenario) -> dict[str, Any]:
    from simcore.line.graph import load_station

    out: dict[str, Any] = {f"{i.path}.{n}": v for i in scenario.items for n, v in i.values.items()}
    for c in scenario.candidates.values():
        out |= {f"{c.item.path}.part": c.item.part, f"{c.item.path}.slot": scenario.slot_of(c).name}
    for s in scenario.situations.values():
        out |= {f"{s.path}.expect": s.expect, f"{s.path}.at": s.at or load_station(scenario)}
        for name, seconds in (("horizon", s.horizon), ("lead", s.lead)):
            out[f"{s.path}.{name}"] = Quantity(seconds, "time", show(seconds, "time"))
    return out


def _alike(x: Any, y: Any) -> bool:
    """Equal as meant: quantities by kind and value, numbers to ``SAME``."""
    if isinstance(x, Quantity) and isinstance(y, Quantity):
        return x.kind == y.kind and _equal(x.si, y.si)
    if isinstance(x, Series) and isinstance(y, Series):
        return x.kind == y.kind and len(x.si) == len(y.si) and all(map(_equal, x.si, y.si))
    return type(x) is type(y) and _equal(x, y)


def _environment(a: ResultSet, b: ResultSet) -> Iterator[Change]:
    for key in ENVIRONMENT:
        before, after = (r.provenance.get(key) for r in (a, b))
        if before != after:
            yield Change(key, _text(before), _text(after))


def _equal(x: Any, y: Any) -> bool:
    """Equal, numbers to ``SAME``."""
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in (x, y))
    if not numbers:
        return bool(x == y)
    return math.isclose(x, y, rel_tol=SAME) or (math.isnan(x) and math.isnan(y))


def same_quantity(x: Any, y: Any) -> bool:
    """Whether two texts are one quantity, perhaps in different units.

    >>> same_quantity("0.6 kN*m", "600 N*m"), same_quantity("600 N*m", "600 N")
    (True, False)
    """
    from simcore import units

    for kind in units.kinds():
        try:
            p, q = units.parse(x, kind), units.parse(y, kind)
        except units.UnitFault:
            continue
        if p.kind == q.kind:
            return _equal(p.si, q.si)
    return False


def _apart(x: Any, y: Any) -> tuple[str, str]:
    """Two values that differ as texts; of long lists how long they are and where they first part."""
    if not (isinstance(x, list) and isinstance(y, list) and max(len(x), len(y)) > LONG):
        return _text(x), _text(y)
    n = next((k for k, (a, b) in enumerate(zip(x, y, strict=False)) if a != b), min(len(x), len(y)))
    first, second = (f"{len(v)} values" + (f", number {n + 1} is {_text(v[n])}" if n < len(v) else "") for v in (x, y))
    return first, second


def _text(value: Any) -> str:
    if value is None:
        return ABSENT
    if isinstance(value, dict) and value.keys() == COLUMN:
        return f'column "{value["column"]}" of {value["file"]}'
    if isinstance(value, list) and len(value) > LONG:
        return f"{len(value)} values"
    return f"{value:.12g}" if isinstance(value, float) else str(value)
