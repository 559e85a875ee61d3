"""JSON Schema of the scenario file, from the same models that check it, for editors."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from simcore import units
from simcore.contract import Kind, Param, Part
from simcore.scenario.sweep_schema import sweep_schema
from simcore.scenario.words import (
    CANDIDATE,
    CHAIN,
    DISPLAY,
    EVENTS,
    FACTOR,
    LIMIT,
    PLACE,
    SITUATION,
    SLOT_KIND,
    SOLVER,
    STEP,
    STOP,
    SWEEP,
    THEN,
    TOP,
)

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_NUMBER: Final = r"[+\-−]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?(?![0-9.])"
_MARK: Final = "x-quantity"

Schema = dict[str, Any]

COLUMN: Final = "column of a file"
_COLUMN: Final[Schema] = {
    "type": "object",
    "description": "A column of a CSV file beside the scenario, its heading with the unit: torque [N*m].",
    "properties": {"file": {"type": "string", "minLength": 1}, "column": {"type": "string", "minLength": 1}},
    "required": ["file", "column"],
    "additionalProperties": False,
}


def schema(registry: Mapping[str, Part] | None = None) -> Schema:
    """JSON Schema (draft 2020-12) of a scenario with the parts of ``registry`` (default: all)."""
    if registry is None:
        from simcore.parts import REGISTRY

        registry = REGISTRY
    defs: Schema = {}
    kinds = {k: p.kind for k, p in registry.items()}
    top = _object("a scenario", TOP, defs)
    top["properties"] |= {
        "display": _object("display", DISPLAY, defs),
        "solver": _object("solver", SOLVER, defs),
        "line": _line(kinds, defs),
        "candidates": _candidates(kinds, defs),
        "stops": _stops(kinds, defs),
        "corners": CORNERS,
        "situations": _situations(kinds, defs),
        "sweep": sweep_schema(_object("a sweep", SWEEP, defs), _object("a factor", FACTOR, defs)),
    }
    top["required"] = [*top.get("required", []), "line", "situations"]
    return {"$schema": DIALECT, "title": "simcore scenario", **top, "$defs": dict(sorted(defs.items()))}


def schema_of(param: Param) -> Schema:
    """Schema of one input: its form, and its meaning, units, bounds, default and usual range in words."""
    body: Schema = _form(param)
    body["description"] = describe(param)
    if param.default is not None:
        body["default"] = param.default
    return body


def describe(param: Param) -> str:
    """An input in words: meaning, bounds, default with its standing, usual range."""
    from simcore.scenario.models import WORDY, spell

    def text(value: str | float | bool | None) -> str:
        return spell(value, param.kind)

    out = [param.meaning[:1].upper() + param.meaning[1:] + "."]
    if param.kind not in WORDY and units.units_of(param.kind) != ("",):
        out.append(f"Units: {', '.join(u or 'none' for u in units.units_of(param.kind))}.")
    bounds = ((param.above, "above"), (param.low, "at least"), (param.high, "at most"))
    said = [f"{how} {text(b)}" for b, how in bounds if b is not None]
    out += [f"Must be {' and '.join(said)}."] if said else []
    out += [f"Default: {text(param.default)} ({param.source})."] if param.default is not None else []
    out += [f"Usual: {text(param.usual[0])} to {text(param.usual[1])}."] if param.usual else []
    return " ".join(out)


def pattern_of(kind: str) -> str:
    """Regular expression of a quantity's text, trade spellings included."""
    spelled = sorted((_loose(s) for s in units.spellings_of(kind)), key=len, reverse=True)
    return rf"^\s*{_NUMBER}\s*({'|'.join(spelled)})\s*$"


def _loose(spelling: str) -> str:
    out = re.escape(spelling)
    out = out.replace(r"\*", r"(\s*[*·⋅∙•×∗]\s*|\s+|\.)").replace(r"\^2", r"(\^2|\*\*2|2|²)")
    out = out.replace("/", r"\s*[/∕⁄]\s*").replace(r"\^\-1", r"(\^-1|-1|⁻¹)").replace(r"\^\-2", r"(\^-2|-2|⁻²)")
    out = re.sub(r"\bdeg\b", "(deg|[°º])", out)
    return re.sub(r"\bu(?=[ms]\b)", "[uµμ]", out).replace(r"\-", "-").replace(r"\%", "%")


def _form(param: Param) -> Schema:
    if param.many:
        listed = {"type": "array", "minItems": 1, "maxItems": 64, "items": {_MARK: param.kind}}
        return {"anyOf": [listed, {_MARK: COLUMN}]}
    if param.kind in ("choice", "display_torque"):
        return {"type": "string", "enum": list(param.choices)} if param.kind == "choice" else {"type": "string"}
    if param.kind == "flag":
        return {"type": "boolean"}
    if param.kind == "name":
        return {"type": "string", "minLength": 1, "maxLength": 60, "pattern": r'^[^/\\"\u0000-\u001f]+$'}
    if param.kind == "text":
        return {"type": "string", "minLength": 1, "maxLength": 2000}
    if param.kind in ("ratio", "count"):
        return {_MARK: param.kind, **_number_bounds(param)}
    return {_MARK: param.kind}


def _number_bounds(param: Param) -> Schema:
    from simcore.scenario.models import bound

    named = {"minimum": param.low, "maximum": param.high, "exclusiveMinimum": param.above}
    return {k: bound(b, param.kind) for k, b in named.items() if b is not None}


def _quantity(kind: str) -> Schema:
    text: Schema = {"type": "string", "pattern": pattern_of(kind)}
    if kind == "count":
        return {"anyOf": [{"type": "integer"}, text]}
    return {"anyOf": [{"type": "number"}, text]} if kind == "ratio" else text


def _object(title: str, params: tuple[Param, ...], defs: Schema) -> Schema:
    """Schema of a table from its pydantic model, the forms of quantities shared under ``$defs``."""
    from simcore.scenario.models import model_of

    body = model_of(title, params).model_json_schema(by_alias=True)
    for name, form in body.get("properties", {}).items():
        kind = form.pop(_MARK, None)
        form.pop("title", None)
        if _MARK in (listed := form.get("anyOf", [{}])[0]).get("items", {}):
            inner = listed["items"][_MARK]
            defs.setdefault(inner, _quantity(inner))
            defs.setdefault(COLUMN, _COLUMN)
            listed["items"] = {"$ref": f"#/$defs/{inner}"}
            form["anyOf"][1] = {"$ref": f"#/$defs/{COLUMN}"}
        if form.get("default", 0) is None:
            del form["default"]
        if kind:
            defs.setdefault(kind, _quantity(kind))
            body["properties"][name] = {"$ref": f"#/$defs/{kind}", **form}
    return body


def _cases(word: str, tables: Mapping[str, str]) -> list[Schema]:
    """One ``if``/``then`` for each value of ``word``; ``tables`` gives the definition that holds."""
    return [
        {
            "if": {"properties": {word: {"const": value}}, "required": [word]},
            "then": {"$ref": f"#/$defs/{name}"},
        }
        for value, name in tables.items()
    ]


def _add(kind: Kind, place: str, params: tuple[Param, ...], word: str, defs: Schema) -> str:
    name = f"{place} {kind.name}"
    body = _object(name, params + kind.params, defs)
    body["description"] = kind.summary
    body["properties"][word] = {**body["properties"][word], "const": kind.name}
    defs[name] = body
    return name


def _line(kinds: Mapping[str, Kind], defs: Schema) -> Schema:
    tables = {}
    for kind in (*(k for k in kinds.values() if k.family not in ("event", "command")), SLOT_KIND):
        words = PLACE + (LIMIT if kind.bears else ())
        tables[kind.name] = _add(kind, "station:", words, "part", defs)
    part = {"enum": list(tables), "description": "kind of part; slot is a place where candidates are tried"}
    row = {
        "type": "object",
        "required": ["part"],
        "properties": {"part": part},
        "allOf": _cases("part", tables),
    }
    return {
        "type": "array",
        "minItems": 1,
        "items": row,
        "description": "the stations in order, from the drive",
    }


def _candidates(kinds: Mapping[str, Kind], defs: Schema) -> Schema:
    protections = [k for k in kinds.values() if k.family == "protection"]
    tables = {k.name: _add(k, "candidate:", CANDIDATE, "part", defs) for k in protections}
    defs["candidate"] = {
        "type": "object",
        "properties": {"part": {"enum": list(tables)}},
        "allOf": _cases("part", tables),
    }
    own = {
        name: {
            "if": {"required": ["part"]},
            "then": {"$ref": "#/$defs/candidate"},
            "else": {"$ref": f"#/$defs/{d}"},
        }
        for name, d in tables.items()
    }
    other = {"allOf": [{"$ref": "#/$defs/candidate"}], "required": ["part"]}
    return {
        "type": "object",
        "description": "the protections to try, by name",
        "properties": own,
        "additionalProperties": other,
    }


CORNERS: Final[Schema] = {
    "type": "object",
    "description": "named sets of other values (cold, worn, low voltage) for situations to take place under",
    "additionalProperties": {
        "type": "object",
        "description": "values by readable path, in quotes",
        "additionalProperties": {"type": ["string", "number"]},
    },
}


def _stops(kinds: Mapping[str, Kind], defs: Schema) -> Schema:
    chains = {k.name: _add(k, "stop:", STOP, "part", defs) for k in kinds.values() if k.family == "command"}
    body: Schema = {"type": "object", "description": "chains that notice an overload and stop the drive, by name"}
    if CHAIN not in chains:
        return body
    usual = {"if": {"required": ["part"]}, "then": {"allOf": _cases("part", chains)},
             "else": {"$ref": f"#/$defs/{chains[CHAIN]}"}}  # fmt: skip
    return {**body, "additionalProperties": usual}


def _situations(kinds: Mapping[str, Kind], defs: Schema) -> Schema:
    tables = {e: _add(kinds[e], "situation:", SITUATION, "event", defs) for e in EVENTS if e in kinds}
    steps = {e: _add(kinds[e], "following event:", STEP, "event", defs) for e in EVENTS if e in kinds}
    then = {
        "type": "array",
        "description": "events that follow, each at its own instant after the first",
        "items": {"type": "object", "required": ["event"], "allOf": _cases("event", steps)},
    }
    for name in tables.values():
        defs[name]["properties"][THEN] = then
    event = {"enum": list(tables), "description": "what happens"}
    case = {
        "type": "object",
        "required": ["event"],
        "properties": {"event": event},
        "allOf": _cases("event", tables),
    }
    return {
        "type": "object",
        "minProperties": 1,
        "description": "what the axis meets, by name",
        "additionalProperties": case,
    }


__all__ = ["DIALECT", "describe", "pattern_of", "schema", "schema_of"]
