"""Readable paths into a scenario: ``candidates["ball detent"].setting``, ``line["gearbox"].ratio``.

A spot is the place in the parsed TOML document (``("line", 1, "ratio")``), a path names stations by
their names (``("line", "gearbox", "ratio")``).  Stations without a usable name are counted from 1:
``line[3]``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any, Final

from simcore.contract import Kind, Param, Part
from simcore.scenario.locate import Spot
from simcore.scenario.words import (
    CANDIDATE,
    CHAIN,
    COLLECTIONS,
    DISPLAY,
    FACTOR,
    FACTOR_LISTS,
    FACTORS,
    GRID,
    LIMIT,
    PLACE,
    SCATTERS,
    SITUATION,
    SLOT,
    SLOT_KIND,
    SOLVER,
    STEP,
    STOP,
    SWEEP,
    THEN,
    TOP,
    meant_event,
    nearest,
)

_STEP: Final = re.compile(
    r'\s*(?:\[\s*"(?P<double>(?:\\.|[^"\\])*)"\s*\]|\[\s*\'(?P<single>[^\']*)\'\s*\]'
    r"|\[\s*(?P<bracket>[^\[\]]+?)\s*\]"
    r'|\.?\s*"(?P<quoted>(?:\\.|[^"\\])*)"|\.?\s*(?P<bare>[^\[\].="]+?)(?=\s*(?:[\[.]|$)))'
)

Raw = dict[str, Any]


class PathFault(ValueError):  # noqa: N818 - a Fault, as in simcore.errors
    """A path that names nothing; ``hint`` may hold a near one."""

    def __init__(self, rule: str, hint: str = "") -> None:
        self.rule, self.hint = rule, hint
        super().__init__(f"{rule} ({hint})" if hint else rule)


def parse(path: str) -> tuple[str, ...]:
    """Steps of a readable path; ``line.gearbox.ratio`` is read too.  PathFault if it is none."""
    steps: list[str] = []
    at = 0
    while at < len(path):
        match = _STEP.match(path, at)
        if match is None or match.end() == at or not (match[0].strip().startswith((".", "[")) or not steps):
            raise PathFault(f'"{path[:80]}" is not a path', 'for instance candidates["ball detent"].setting')
        text = next(t for t in match.groups() if t is not None)
        escaped = match.lastgroup in ("double", "quoted")
        steps.append(re.sub(r"\\(.)", r"\1", text) if escaped else text.strip())
        at = match.end()
    if not steps:
        raise PathFault("the path is empty", 'for instance candidates["ball detent"].setting')
    return tuple(steps)


def form(steps: tuple[str | int, ...]) -> str:
    """Write steps as a readable path; whole numbers are list positions from 0, written from 1."""
    if not steps:
        return ""
    out = _clear(str(steps[0]))
    for n, step in enumerate(steps[1:], 1):
        if isinstance(step, int):
            out += f"[{step + 1}]"
        elif (n == 1 and steps[0] in COLLECTIONS) or not re.fullmatch(r"[A-Za-z0-9_-]+", step):
            out += '["' + _clear(step).replace("\\", "\\\\").replace('"', '\\"') + '"]'
        else:
            out += f".{_clear(step)}"
    return out


def _clear(step: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in step[:80])


def names_of(raw: Mapping[str, Any]) -> list[str | None]:
    """Names of the stations of a document, the part's name where none is given; None if unusable or twice."""
    line = raw.get("line")
    rows = line if isinstance(line, list) else []
    names = [_name(row) for row in rows]
    twice = {n for n in names if n is not None and names.count(n) > 1}
    return [None if n in twice else n for n in names]


def readable(spot: Spot, names: list[str | None]) -> str:
    """The readable path of a spot; ``names`` are those of :func:`names_of`."""
    steps = list(spot)
    if len(steps) > 1 and steps[0] == "line" and isinstance(steps[1], int) and steps[1] < len(names):
        steps[1] = names[steps[1]] or steps[1]
    return form(tuple(steps))


def all_paths(raw: Mapping[str, Any], registry: Mapping[str, Part]) -> list[str]:
    """Every path of a document that can be set, written or not."""
    names = names_of(raw)
    of_factors = [form(("sweep", FACTORS, name, *spot[3:])) for spot, name in _of_factors(raw).items()]
    return [*(readable(spot, names) for spot in settable(raw, registry)), *of_factors]


def put(raw: Raw, path: str, text: str, registry: Mapping[str, Part]) -> Spot:
    """Set the value at ``path`` in a document, in place; the spot that was set.

    ``true`` and ``false`` become flags, ``[...]`` a list, ``{...}`` a column of a file, other text stays text (numbers
    are read from text too).
    Raises PathFault with the nearest path if there is no such place.
    """
    steps = parse(path)
    spot = spot_of(raw, steps)
    if spot not in settable(raw, registry) and spot not in _of_factors(raw):
        raise PathFault("is not a path of this scenario", nearest(form(steps), all_paths(raw, registry)))
    table: Any = raw
    for step in spot[:-1]:
        table = table[step] if isinstance(step, int) else table.setdefault(step, {})
        if not isinstance(table, dict | list):
            raise PathFault("does not lie in a table")
    table[spot[-1]] = value_of(text)
    return spot


def value_of(text: str) -> object:
    """A value written beside a file, as the file would hold it: a flag, a list, a column of a file, or text."""
    clean = text.strip()
    if clean.startswith(("[", "{")):
        try:
            return tomllib.loads(f"v = {clean}")["v"]
        except tomllib.TOMLDecodeError:
            return clean
    if clean in ("true", "false"):
        return clean == "true"
    quoted = len(clean) > 1 and clean[0] == clean[-1] and clean[0] in "\"'"
    return clean[1:-1] if quoted else clean


def spot_of(raw: Mapping[str, Any], steps: tuple[str, ...]) -> Spot:
    """The spot that the steps of a path lead to, whether it exists or not."""
    if len(steps) > 3 and steps[0] == "situations" and steps[2] == THEN and re.fullmatch("[0-9]{1,3}", steps[3]):
        return (*steps[:3], int(steps[3]) - 1, *steps[4:])
    if steps[:2] == ("sweep", FACTORS) and len(steps) > 2:
        return (*steps[:2], _factor_at(raw, steps[2]), *steps[3:])
    if steps[0] != "line" or len(steps) < 2:
        return steps
    names = names_of(raw)
    if steps[1] in names:
        return ("line", names.index(steps[1]), *steps[2:])
    counted = re.fullmatch("[0-9]{1,3}", steps[1])
    return ("line", int(steps[1]) - 1 if counted else steps[1], *steps[2:])


def _factors(raw: Mapping[str, Any]) -> list[Any]:
    sweep = raw.get("sweep")
    rows = sweep.get(FACTORS) if isinstance(sweep, dict) else None
    return rows if isinstance(rows, list) else []


def _factor_at(raw: Mapping[str, Any], name: str) -> str | int:
    """Place of the factor of this name, or counted from 1."""
    names = [row.get("name") if isinstance(row, dict) else None for row in _factors(raw)]
    if name in names:
        return names.index(name)
    return int(name) - 1 if re.fullmatch("[0-9]{1,3}", name) else name


def _of_factors(raw: Mapping[str, Any]) -> dict[Spot, str]:
    """Every spot in a factor of the sweep that can be set, written or not, with the factor's name."""
    out: dict[Spot, str] = {}
    for n, row in enumerate(_factors(raw)):
        if not isinstance(row, dict):
            continue
        plain = [(p.name,) for p in FACTOR] + [(w,) for w in FACTOR_LISTS]
        of_grid = [("grid", w) for w in GRID if not isinstance(row.get("grid"), list) and "scatter" not in row]
        law = row.get("scatter")
        written = [w for w in SCATTERS if isinstance(law, dict) and w in law]
        of_scatter = [("scatter", w) for own in written for w in (own, *SCATTERS[own])]
        out |= dict.fromkeys((("sweep", FACTORS, n, *w) for w in [*plain, *of_grid, *of_scatter]),
                             str(row.get("name", n + 1)))  # fmt: skip
    return out


def _name(row: object) -> str | None:
    if not isinstance(row, dict):
        return None
    name = row.get("name", row.get("part"))
    return name if isinstance(name, str) and name and len(name) <= 80 else None


def _tables(raw: Mapping[str, Any], name: str) -> dict[str, dict[str, Any]]:
    table = raw.get(name)
    rows = table.items() if isinstance(table, dict) else ()
    return {k: v for k, v in rows if isinstance(v, dict)}


def _inputs(part: object, registry: Mapping[str, Part]) -> tuple[Param, ...]:
    kind: Kind | None = SLOT_KIND if part == SLOT else None
    if isinstance(part, str) and part in registry:
        kind = registry[part].kind
    return kind.params if kind else ()


def settable(raw: Mapping[str, Any], registry: Mapping[str, Part]) -> dict[Spot, Param]:
    """Every spot of a document that can be set, written or not, with the input that stands there."""
    out: dict[Spot, Param] = {(p.name,): p for p in TOP}
    plain = {"display": DISPLAY, "solver": SOLVER, "sweep": SWEEP if isinstance(raw.get("sweep"), dict) else ()}
    for table, params in plain.items():
        out |= {(table, p.name): p for p in params}
    rows = raw.get("line")
    for n, row in enumerate(rows if isinstance(rows, list) else []):
        if isinstance(row, dict):
            own = (*PLACE, *LIMIT, *_inputs(row.get("part"), registry))
            out |= {("line", n, p.name): p for p in own}
    for name, row in _tables(raw, "candidates").items():
        own = (*CANDIDATE, *_inputs(row.get("part", name), registry))
        out |= {("candidates", name, p.name): p for p in own}
    for name, row in _tables(raw, "stops").items():
        own = (*STOP, *_inputs(row.get("part", CHAIN), registry))
        out |= {("stops", name, p.name): p for p in own}
    for name, row in _tables(raw, "situations").items():
        own = (*SITUATION, *_inputs(meant_event(row.get("event")), registry))
        out |= {("situations", name, p.name): p for p in own}
        steps = row.get(THEN)
        for n, step in enumerate(steps if isinstance(steps, list) else []):
            if isinstance(step, dict):
                own = (*STEP, *_inputs(meant_event(step.get("event")), registry))
                out |= {("situations", name, THEN, n, p.name): p for p in own}
    return out
