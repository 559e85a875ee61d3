"""From the parsed document to the scenario's data: every table checked, nothing raised.

What comes out may be incomplete where something is wrong; the findings say where.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, cast

from simcore import units
from simcore.contract import Kind, Param, Part
from simcore.scenario.corner import read_corner
from simcore.scenario.findings import Finding
from simcore.scenario.locate import Spot
from simcore.scenario.model import (
    Candidate,
    Expect,
    Item,
    Limit,
    Quantity,
    Scenario,
    Situation,
    Station,
    Step,
    Stop,
    Value,
)
from simcore.scenario.models import MOST_UNKNOWN, name_fault, read_table, refusals
from simcore.scenario.paths import form, names_of, readable
from simcore.scenario.words import (
    CANDIDATE,
    CHAIN,
    DISPLAY,
    LIMIT,
    PLACE,
    RESERVED,
    SITUATION,
    SLOT,
    SLOT_KIND,
    SOLVER,
    STEP,
    STOP,
    THEN,
    TOP,
    TOP_TABLES,
    meant_event,
    nearest,
)
from simcore.trade_words import told_here

MOST: Final = 200
"""Stations, candidates or situations of one scenario."""
MOST_NAMED: Final = 8
"""Stations named in a hint."""
MOST_STEPS: Final = 40
"""Events that follow in one situation."""

Registry = Mapping[str, Part]
Found = list[Finding]


def draft(raw: Mapping[str, Any], registry: Registry) -> tuple[Scenario, Found]:
    """Read all tables of a document; the scenario (incomplete where faulty) and all findings."""
    found: Found = []
    top = _top(raw, found)
    display = _plain_table(raw, "display", DISPLAY, found)
    solver = _plain_table(raw, "solver", SOLVER, found)
    names = names_of(raw)
    rows = _rows(raw, found)
    bearers = may_be_protected(rows, names, registry)
    stations = [_station(n, row, names, registry, bearers, found) for n, row in enumerate(rows)]
    candidates = [_candidate(k, t, registry, found) for k, t in _named_tables(raw, "candidates", found)]
    stops = [_stop(k, t, registry, found) for k, t in _named_tables(raw, "stops", found)]
    corners = {k: read_corner(k, t, raw, registry, found) for k, t in _named_tables(raw, "corners", found)}
    situations = [_situation(k, t, registry, found) for k, t in _named_tables(raw, "situations", found)]
    scenario = Scenario(
        title=str(top.get("title", "")),
        question=str(top.get("question", "")),
        protect=str(top.get("protect", "")),
        stations=tuple(s for s in stations if s is not None),
        candidates={c.name: c for c in candidates if c is not None},
        situations={s.name: s for s in situations if s is not None},
        stops={s.item.name: s for s in stops if s is not None},
        corners=corners,
        display={k: str(v) for k, v in display.items()},
        solver={k: v.si for k, v in solver.items() if isinstance(v, Quantity)},
    )
    found += _protected(scenario, registry, bearers)
    return scenario, found


def may_be_protected(rows: list[Any], names: list[str | None], registry: Registry) -> str:
    """The stations that can have an allowable, as a hint."""
    parts = [row.get("part") if isinstance(row, dict) else None for row in rows]
    bears = [f"'{name or part}'" for name, part in zip(names, parts, strict=False)
             if isinstance(part, str) and part in registry and registry[part].kind.bears]  # fmt: skip
    more = f" and {len(bears) - MOST_NAMED} more" if len(bears) > MOST_NAMED else ""
    return f"protect may name {', '.join(bears[:MOST_NAMED])}{more}" if bears else ""


def _protected(scenario: Scenario, registry: Registry, bearers: str) -> Iterator[Finding]:
    """A protected station that is no connection; what else is wrong with ``protect`` shows in the structure."""
    for s in scenario.stations:
        kind = registry[s.item.part].kind if s.item is not None and s.item.part in registry else None
        if s.name == scenario.protect and kind is not None and not kind.bears:
            rule = f"cannot be protected: {with_article(kind.name)} is no part between two hubs"
            yield Finding(("protect",), rule, units.shown(scenario.protect), bearers)


def with_article(name: str) -> str:
    """``a gear``, ``an eddy brake``."""
    return f"{'an' if name[:1].lower() in 'aeiou' else 'a'} {name}"


def _top(raw: Mapping[str, Any], found: Found) -> dict[str, Value]:
    known = [*(p.name for p in TOP), *TOP_TABLES]
    unknown = [w for w in raw if w not in known]
    for word in unknown[:MOST_UNKNOWN]:
        found.append(Finding((word,), "is not a word of a scenario", hint=nearest(word, known)))
    if len(unknown) > MOST_UNKNOWN:
        found.append(Finding((), f"{len(unknown) - MOST_UNKNOWN} more words are not words of a scenario"))
    own = {p.name: raw[p.name] for p in TOP if p.name in raw}
    values, findings = read_table("a scenario", TOP, own, ())
    found += findings
    return values


def _plain_table(raw: Mapping[str, Any], name: str, params: tuple[Param, ...], found: Found) -> dict[str, Value]:
    table = raw.get(name, {})
    if not isinstance(table, dict):
        found.append(Finding((name,), f"must be a table headed [{name}]", units.shown(table)))
        return {}
    values, findings = _checked(f"the table {name}", params, table, (name,))
    found += findings
    return values


def _rows(raw: Mapping[str, Any], found: Found) -> list[Any]:
    line = raw.get("line", [])
    if not isinstance(line, list):
        hint = "with two brackets, once for each station"
        found.append(Finding(("line",), "must be tables headed [[line]]", units.shown(line), hint))
        return []
    if len(line) > MOST:
        found.append(Finding(("line",), f"must have at most {MOST} stations", str(len(line))))
    return line[:MOST]


def _named_tables(raw: Mapping[str, Any], name: str, found: Found) -> list[tuple[str, dict[str, Any]]]:
    tables = raw.get(name, {})
    header = f'[{name}."..."]'
    if not isinstance(tables, dict):
        found.append(Finding((name,), f"must be tables headed {header}", units.shown(tables)))
        return []
    if len(tables) > MOST:
        found.append(Finding((name,), f"must have at most {MOST} tables", str(len(tables))))
    out = []
    for key, table in list(tables.items())[:MOST]:
        fault = name_fault(key)
        if fault:
            found.append(Finding((name, key), fault[0], units.shown(key), fault[1]))
        if isinstance(table, dict):
            out.append((key, table))
        else:
            rule = f"must be a table headed {header}, the name in the dots"
            found.append(Finding((name, key), rule, units.shown(table)))
    return out


def _checked(
    title: str, params: tuple[Param, ...], table: Mapping[str, Any], spot: Spot
) -> tuple[dict[str, Value], Found]:
    """Read a table; a word of the top that slipped below a table header is told where it belongs."""
    values, findings = read_table(title, params, table, spot)
    top = {*(p.name for p in TOP), *TOP_TABLES}
    known = {p.name for p in params}
    for n, f in enumerate(findings):
        word = f.spot[-1]
        if len(f.spot) > len(spot) and word in top and word not in known:
            findings[n] = f._replace(hint=f"{word} belongs above the first table of the file")
    return values, findings


def _known(params: tuple[Param, ...], table: Mapping[str, Any]) -> dict[str, Any]:
    """The words that can be checked without knowing the part."""
    names = {*(p.name for p in (*params, *TOP)), *TOP_TABLES}
    return {k: v for k, v in table.items() if k in names}


def _item(name: str, kind: Kind, path: str, values: Mapping[str, Value], table: Mapping[str, Any]) -> Item:
    own = {p.name: values[p.name] for p in kind.params if p.name in values}
    return Item(name, kind.name, path, own, frozenset(n for n in own if n in table))


def _station(
    n: int, row: object, names: list[str | None], registry: Registry, bearers: str, found: Found
) -> Station | None:
    spot: Spot = ("line", n)
    if not isinstance(row, dict):
        found.append(Finding(spot, "must be a table headed [[line]]", units.shown(row)))
        return None
    part = row.get("part")
    kind = _kind_of(part, registry, (*spot, "part"), (SLOT,), found) if isinstance(part, str) else None
    params = PLACE + LIMIT + (kind.params if kind else ())
    table = row if kind else _known(params, row)
    values, findings = _checked(with_article(kind.name) if kind else "a station", params, table, spot)
    path = readable(spot, names)
    if kind and not findings and kind.name in registry:
        findings += refusals(registry[kind.name], values, spot, row)
    limit = _limit(values, kind, spot, bearers, findings)
    found += findings
    own = _item(str(values.get("name", part)), kind, path, values, row) if kind else None
    slot = part == SLOT
    return Station(
        name=str(values.get("name", part if isinstance(part, str) else f"station {n + 1}")),
        path=path,
        item=None if slot else own or Item("", str(part), path, {}, frozenset()),
        after=_word(values, "after"),
        joins=_word(values, "joins"),
        limit=limit,
        hub_in=_quantity(values, "hub_in") if slot else None,
        hub_out=_quantity(values, "hub_out") if slot else None,
    )


def _kind_of(part: str, registry: Registry, spot: Spot, more: tuple[str, ...], found: Found) -> Kind | None:
    if part in more:
        return SLOT_KIND
    if part in registry:
        return registry[part].kind
    hint = told_here(part, registry) or nearest(part, [*registry, *more])
    found.append(Finding(spot, "is not a part", units.shown(part), hint))
    return None


def _limit(values: Mapping[str, Value], kind: Kind | None, spot: Spot, bearers: str, found: Found) -> Limit | None:
    allowable, source = values.get("allowable"), values.get("allowable_source")
    if kind and not kind.bears and (allowable or source):
        word = "allowable" if allowable else "allowable_source"
        rule = f"only a part between two hubs can have an allowable, {with_article(kind.name)} has not"
        found.append(Finding((*spot, word), rule, hint=bearers))
    elif source and not allowable and not any(f.spot[-1] == "allowable" for f in found):
        found.append(Finding((*spot, "allowable_source"), "stands without an allowable"))
    if not isinstance(allowable, Quantity):
        return None
    return Limit(allowable, str(source or "not stated"))


def _candidate(name: str, table: dict[str, Any], registry: Registry, found: Found) -> Candidate | None:
    spot: Spot = ("candidates", name)
    if name in RESERVED:
        found.append(Finding(spot, f'"{name}" is kept for the line without any protection', hint="choose another name"))
    part = table.get("part", name)
    at = (*spot, "part") if "part" in table else spot
    if "part" not in table and name not in registry:
        protections = [k for k, p in registry.items() if p.kind.family == "protection"]
        rule = "the name is no protection, so the line part = ... is needed"
        found.append(Finding(spot, rule, hint=told_here(name, protections) or nearest(name, protections)))
        kind = None
    else:
        kind = _kind_of(part, registry, at, (), found) if isinstance(part, str) else None
    params = CANDIDATE + (kind.params if kind else ())
    title = with_article(kind.name) if kind else "a candidate"
    values, findings = _checked(title, params, table if kind else _known(params, table), spot)
    if kind and not findings:
        findings += refusals(registry[kind.name], values, spot, table)
    found += findings
    if kind is None:
        return None
    return Candidate(name, _item(name, kind, form(spot), values, table), _word(values, "slot"))


def _event(
    title: str, own: tuple[Param, ...], table: dict[str, Any], spot: Spot, registry: Registry, found: Found
) -> tuple[Kind | None, dict[str, Value]]:
    """Check the table of an event against the scenario's own words and the event's inputs.

    One misspelt is taken for the nearest, so that what else is wrong is told at once; what that would not take is not.
    """
    event = meant_event(table.get("event"))
    kind = registry[event].kind if event in registry else None
    params = own + (kind.params if kind else ())
    sure = kind is not None and event == table.get("event")
    values, findings = _checked(with_article(kind.name) if kind else title, params,
                                table if sure else _known(params, table), spot)  # fmt: skip
    if kind and not findings:
        findings += refusals(registry[kind.name], values, spot, table)
    found += findings
    return kind, values


def _situation(name: str, table: dict[str, Any], registry: Registry, found: Found) -> Situation | None:
    spot: Spot = ("situations", name)
    own = {k: v for k, v in table.items() if k != THEN}
    kind, values = _event("a situation", SITUATION, own, spot, registry, found)
    then = _then(table.get(THEN, []), spot, registry, found)
    if kind is None:
        return None
    limit = _hit(values, registry[kind.name], spot, found)
    horizon, lead = _quantity(values, "horizon"), _quantity(values, "lead")
    return Situation(
        name=name,
        path=form(spot),
        event=kind.name,
        item=_item(name, kind, form(spot), values, own),
        expect=cast(Expect, values.get("expect") or _expected(kind, values, then, registry)),
        horizon=horizon.si if horizon else (5.0 if kind.name == "start" else 1.0),
        at=_word(values, "at"),
        lead=lead.si if lead else 0.01,
        then=then,
        corner=_word(values, "corner"),
        limit=limit,
    )


def _hit(values: Mapping[str, Value], part: Part, spot: Spot, found: Found) -> Limit | None:
    """What the thing that is hit may bear: only a contact has a force of its own."""
    allowable = values.get("allowable")
    if not isinstance(allowable, Quantity):
        return None
    if not part.has("torque"):
        rule = f"only a contact can have an allowable, {with_article(part.kind.name)} has not"
        found.append(Finding((*spot, "allowable"), rule))
    return Limit(allowable, str(values.get("allowable_source") or "not stated"))


def _then(rows: object, above: Spot, registry: Registry, found: Found) -> tuple[Step, ...]:
    """The events that follow in a situation."""
    if not isinstance(rows, list):
        hint = "with two brackets, once for each event that follows"
        found.append(Finding((*above, THEN), "must be tables headed [[situations.....then]]", units.shown(rows), hint))
        return ()
    if len(rows) > MOST_STEPS:
        found.append(Finding((*above, THEN), f"must have at most {MOST_STEPS} events", str(len(rows))))
    steps = []
    for n, row in enumerate(rows[:MOST_STEPS]):
        spot: Spot = (*above, THEN, n)
        if not isinstance(row, dict):
            found.append(Finding(spot, "must be a table", units.shown(row)))
            continue
        kind, values = _event("an event that follows", STEP, row, spot, registry, found)
        if kind is not None:
            steps.append(Step(_item(kind.name, kind, form(spot), values, row), _word(values, "at")))
    return tuple(steps)


def _stop(name: str, table: dict[str, Any], registry: Registry, found: Found) -> Stop | None:
    spot: Spot = ("stops", name)
    part = table.get("part", CHAIN)
    kind = _kind_of(part, registry, (*spot, "part"), (), found) if isinstance(part, str) else None
    if kind and kind.family != "command":
        found.append(Finding((*spot, "part"), f"{with_article(kind.name)} does not stop a drive", units.shown(part)))
        return None
    params = STOP + (kind.params if kind else ())
    title = with_article(kind.name) if kind else "a stop chain"
    values, findings = _checked(title, params, table if kind else _known(params, table), spot)
    if kind and not findings:
        findings += refusals(registry[kind.name], values, spot, table)
    found += findings
    if kind is None:
        return None
    item = _item(name, kind, form(spot), values, table)
    return Stop(item, _word(values, "of"), _word(values, "to"), _word(values, "fitted_to"))


def _expected(kind: Kind, values: Mapping[str, Value], then: tuple[Step, ...], registry: Registry) -> Expect:
    """By the first event, unless one that follows asks to let go."""
    following = [_asks(registry[s.item.part].kind, s.item.values) for s in then]
    return "let go" if "let go" in following else _asks(kind, values)


def _asks(kind: Kind, values: Mapping[str, Value]) -> Expect:
    return kind.expect_cleared if kind.expect_cleared and "lasts" in values else kind.expect


def _word(values: Mapping[str, Value], name: str) -> str | None:
    value = values.get(name)
    return value if isinstance(value, str) else None


def _quantity(values: Mapping[str, Value], name: str) -> Quantity | None:
    value = values.get(name)
    return value if isinstance(value, Quantity) else None
