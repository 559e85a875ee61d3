"""Checked tables: pydantic models built from the inputs that a part declares.

One model for each set of inputs, built when first needed.  A checked input comes out as a Quantity in SI,
as the chosen word, or as a flag.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import Annotated, Any, Final

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
    WithJsonSchema,
    create_model,
)
from pydantic_core import PydanticCustomError

from simcore import units
from simcore.contract import Param, Part, choice_code
from simcore.parts._elastic import contradicts
from simcore.scenario.findings import Faulty, Finding
from simcore.scenario.model import Quantity, Series, Value
from simcore.scenario.words import nearest
from simcore.trade_words import told_here

LONGEST_NAME: Final = 60
LONGEST_TEXT: Final = 2000
LONGEST_LIST: Final = 64
FROM_FILE: Final = '{ file = "....csv", column = "..." }'
WORDY: Final = ("name", "text", "choice", "flag", "display_torque")
"""Kinds of input that are not quantities."""
MOST_UNKNOWN: Final = 40
"""Unknown words of one table that are told one by one; the rest is counted."""


class InputFault(Exception):  # noqa: N818 - a Fault, as in simcore.errors
    """An input that breaks a rule."""

    def __init__(self, rule: str, got: str = "", hint: str = "") -> None:
        self.rule, self.got, self.hint = rule, got, hint
        super().__init__(rule)


def read_value(param: Param, value: object) -> Value:
    """Check one written input against its declaration; InputFault says what is wrong."""
    if param.many:
        return _series(param, value)
    if param.kind in WORDY:
        return _WORDS[param.kind](param, value)
    try:
        quantity = units.parse(value, param.kind)
    except units.UnitFault as fault:
        raise InputFault(fault.rule, fault.got, fault.hint) from None
    _check_bounds(param, quantity, units.shown(value))
    return quantity


def default_value(param: Param) -> Value | None:
    """The declared default as a checked value; None if the input has none."""
    if param.default is None:
        return None
    if param.kind == "flag":
        return param.default in (True, "true", "yes")
    if isinstance(param.default, int | float) and param.kind not in ("ratio", "count"):
        return Quantity(float(param.default), param.kind, spell(param.default, param.kind))
    return read_value(param, param.default)


def bound(value: str | float | None, kind: str) -> float | None:
    """A declared bound in SI; bare numbers are SI already."""
    if value is None or isinstance(value, int | float):
        return value
    return units.parse(value, kind).si


def spell(value: str | float | None, kind: str) -> str:
    """A declared bound or default as it is printed."""
    if isinstance(value, str) or value is None:
        return value or ""
    return units.plain(value) if value == 0 or kind in WORDY else units.show(value, kind)


@cache
def model_of(title: str, params: tuple[Param, ...]) -> type[BaseModel]:
    """The pydantic model of a table with these inputs; unknown words are refused."""
    fields: dict[str, Any] = {f"f_{n}": _field(p) for n, p in enumerate(params)}
    return create_model(title, __config__=ConfigDict(extra="forbid", title=title), **fields)


def read_table(
    title: str, params: tuple[Param, ...], table: Mapping[str, Any], spot: tuple[str | int, ...]
) -> tuple[dict[str, Value], list[Finding]]:
    """Check a table: the sound inputs by name (defaults included), and what is wrong.

    ``title`` names the table in sentences (``a gear``).
    """
    findings: list[Finding] = []
    try:
        model_of(title, params).model_validate(dict(table))
    except ValidationError as error:
        errors = error.errors(include_url=False, include_input=False)
        unknown = [e for e in errors if e["type"] == "extra_forbidden"]
        misspelt = {_meant(e["loc"][0], params, table) for e in unknown}
        errors = [e for e in errors if e["type"] != "missing" or f"nearest: {e['loc'][0]}" not in misspelt]
        told = [e for e in errors if e["type"] != "extra_forbidden"] + unknown[:MOST_UNKNOWN]
        findings += [_finding(e, title, params, table, spot) for e in told]
        if len(told) < len(errors):
            findings.append(Finding(spot, f"{len(errors) - len(told)} more words are not inputs of {title}"))
    findings += [f for p in params if isinstance(value := table.get(p.name), Faulty) for f in value.findings]
    wrong = {f.spot[len(spot)] for f in findings if len(f.spot) > len(spot)}
    values: dict[str, Value] = {}
    for p in params:
        value = read_value(p, table[p.name]) if p.name in table and p.name not in wrong else None
        value = default_value(p) if p.name not in table else value
        if value is not None:
            values[p.name] = value
    return values, findings


def refusals(
    part: Part, values: Mapping[str, Value], spot: tuple[str | int, ...], stated: Collection[str]
) -> list[Finding]:
    """What the part itself finds impossible in its inputs together; ``stated`` are those that are no defaults."""
    raw = {p.name: _code(p, values[p.name]) for p in part.kind.params if p.name in values}
    try:
        sentences = part.call("refuse", part.raw_lists(raw)) if part.has("refuse") else []
        if not sentences:
            sentences = contradicts(part.raw({n: v for n, v in raw.items() if n in stated}))
    except ArithmeticError as error:
        sentences = [f"the inputs do not go together ({error})"]
    return [_refusal(sentence, values, spot) for sentence in sentences]


def _refusal(sentence: str, values: Mapping[str, Value], spot: tuple[str | int, ...]) -> Finding:
    """A sentence that begins with the name of a list is told at that list, with the file it is in."""
    word = sentence.partition(" ")[0]
    value = values.get(word)
    if not isinstance(value, Series):
        return Finding(spot, sentence)
    return Finding((*spot, word), sentence, "", f"it is {value.text}" if value.file else "")


def has_hidden(text: str) -> bool:
    """Whether a text holds control characters or invisible ones."""
    return any(unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") for c in text)


def name_fault(name: str) -> tuple[str, str] | None:
    """Rule and hint if a text cannot name a station, a candidate or a situation."""
    if not name.strip():
        return "a name must not be empty", ""
    if name != name.strip():
        return "a name must not begin or end with a blank", f"write {units.shown(name.strip())}"
    if has_hidden(name):
        return "a name must not hold control characters or invisible ones", "type it anew"
    if set(name) & set('/\\"') or name in (".", ".."):
        return 'a name must not hold a slash, a backslash or a double quote, nor be "." or ".."', ""
    if len(name) > LONGEST_NAME:
        return f"a name must have at most {LONGEST_NAME} characters, this one has {len(name)}", ""
    return None


def _code(param: Param, value: Value) -> Any:
    if isinstance(value, Quantity | Series):
        return value.si
    return float(value) if isinstance(value, bool) else choice_code(param, value)


def _check_bounds(param: Param, quantity: Quantity, got: str) -> None:
    rule = bounds_of(param)(quantity.si)
    if rule:
        raise InputFault(rule, got, _per_cent(param, got))


def _per_cent(param: Param, got: str) -> str:
    """For a share of at most 1 that looks as if meant in per cent."""
    bare = got.strip('"')
    share = param.kind == "ratio" and param.high == 1 and bare.replace(".", "", 1).isdecimal()
    return f'write "{bare} %"' if share and 2.0 <= float(bare) <= 100.0 else ""


def bounds_of(param: Param) -> Callable[[float], str]:
    """What tells the rule that a number [SI] breaks; empty: none."""
    low, high, above = (bound(b, param.kind) for b in (param.low, param.high, param.above))

    def broken(si: float) -> str:
        if above is not None and si <= above:
            return f"must be above {spell(param.above, param.kind)}"
        if low is not None and si < low:
            return f"must be at least {spell(param.low, param.kind)}"
        if high is not None and si > high:
            return f"must be at most {spell(param.high, param.kind)}"
        return ""

    return broken


def _series(param: Param, value: object) -> Series:
    """A list of quantities; the first fault tells its place.  A Series is a column of a file, checked already."""
    if isinstance(value, Series):
        return value
    if not isinstance(value, list) or not value:
        hint = f"write {example(param)}, or {FROM_FILE}"
        raise InputFault("must be a list in square brackets, or a column of a CSV file", units.shown(value), hint)
    if len(value) > LONGEST_LIST:
        hint = f"put a longer one into a CSV file: {FROM_FILE}"
        raise InputFault(f"must have at most {LONGEST_LIST} entries", f"{len(value)} entries", hint)
    if len(value) == 1 and isinstance(value[0], dict):
        hint = f"write {FROM_FILE} without square brackets"
        raise InputFault("must be a list or a column of a CSV file, not one within the other", "", hint)
    one = replace(param, many=False)
    out = []
    for n, v in enumerate(value, 1):
        try:
            q = read_value(one, v)
        except InputFault as fault:
            raise InputFault(f"entry {n}: {fault.rule}", fault.got, fault.hint) from None
        assert isinstance(q, Quantity)
        out.append(q)
    sorts = list(dict.fromkeys(q.kind for q in out))
    if len(sorts) > 1:
        raise InputFault("must have entries of one sort", f"a {' and a '.join(s.replace('_', ' ') for s in sorts)}")
    return Series(tuple(q.si for q in out), sorts[0], ", ".join(q.text for q in out))


def _text(param: Param, value: object) -> str:
    if not isinstance(value, str):
        raise InputFault("must be text in quotes", units.shown(value))
    if len(value) > LONGEST_TEXT:
        raise InputFault(f"must have at most {LONGEST_TEXT} characters", f"{len(value)} characters")
    if has_hidden(value.replace("\n", " ").replace("\t", " ").replace("\r", " ")):
        raise InputFault("must not hold control characters or invisible ones", units.shown(value))
    if not value.strip():
        raise InputFault("must not be empty", units.shown(value))
    return value


def _named(param: Param, value: object) -> str:
    if not isinstance(value, str):
        raise InputFault("must be a name in quotes", units.shown(value))
    fault = name_fault(value)
    if fault:
        raise InputFault(fault[0], units.shown(value), fault[1])
    return value


def _choice(param: Param, value: object) -> str:
    if isinstance(value, str) and value in param.choices:
        return value
    rule = f"must be one of {', '.join(param.choices)}"
    near = told_here(value, param.choices) if isinstance(value, str) else ""
    near = near or nearest(value, param.choices)
    raise InputFault(rule, units.shown(value), "" if near.startswith("valid") else near)


def _flag(param: Param, value: object) -> bool:
    if not isinstance(value, bool):
        raise InputFault("must be true or false, without quotes", units.shown(value))
    return value


def _torque_unit(param: Param, value: object) -> str:
    rule = f"must be one of {', '.join(param.choices)}"
    if not isinstance(value, str):
        raise InputFault(rule, units.shown(value))
    try:
        unit = units.canonical(value, "torque")
    except units.UnitFault:
        raise InputFault(rule, units.shown(value)) from None
    return _choice(param, unit)


_WORDS: Final[dict[str, Callable[[Param, object], str | bool]]] = {
    "name": _named, "text": _text, "choice": _choice, "flag": _flag, "display_torque": _torque_unit,
}  # fmt: skip


def _field(param: Param) -> Any:
    from simcore.scenario.schema import schema_of

    def check(value: object) -> Value | Faulty:
        if isinstance(value, Faulty):
            return value
        try:
            return read_value(param, value)
        except InputFault as fault:
            context = {"got": fault.got, "hint": fault.hint, "rule": fault.rule}
            raise PydanticCustomError("input", "{rule}", context) from None

    kind = Annotated[Any, PlainValidator(check), WithJsonSchema(schema_of(param))]
    return (kind, Field(... if param.required else None, alias=param.name))


HALVES: Final = (("diameter", "radius"), ("radius", "diameter"))


def _finding(
    error: Any,
    title: str,
    params: Iterable[Param],
    table: Mapping[str, Any],
    spot: tuple[str | int, ...],
) -> Finding:
    word = error["loc"][0]
    here = (*spot, word)
    if error["type"] == "missing":
        param = next(p for p in params if p.name == word)
        one_of = f'{param.name} = "...", one of {", ".join(param.choices)}'
        how = one_of if param.kind == "choice" else example(param)
        return Finding(here, f"is missing: {param.meaning}", hint=f"write {how}")
    if error["type"] == "extra_forbidden":
        return Finding(here, f"is not an input of {title}", hint=_meant(word, params, table) or _listed(title))
    context = error["ctx"]
    return Finding(here, context["rule"], context["got"], context["hint"])


def _meant(word: object, params: Iterable[Param], table: Mapping[str, Any]) -> str:
    """The nearest input that is not given, for a word that is none; for a diameter the radius, and the other way."""
    free = [p.name for p in params if p.name not in table]
    swapped = next((str(word).replace(a, b) for a, b in HALVES if a in str(word)), "")
    if swapped in free:
        return f"write {swapped}, {'half' if swapped.endswith('radius') else 'twice'} of it"
    return nearest(word, free)


def _listed(title: str) -> str:
    """Where the inputs of a kind are listed, for ``a servo motor``; nothing for a table of the file."""
    article, _, name = title.partition(" ")
    return f'simcore parts "{name}" lists them' if article in ("a", "an") and name != "scenario" else ""


def example(param: Param) -> str:
    """A line of the file that sets an input, as a pattern to follow."""
    if param.many:
        entry = "..." if param.kind in ("ratio", "count") else f'"... {units.units_of(param.kind)[0]}"'
        return f"{param.name} = [{entry}, {entry}]"
    if param.kind == "choice":
        return f'{param.name} = "{param.choices[0]}"'
    if param.kind == "flag":
        return f"{param.name} = true"
    if param.kind in ("name", "text"):
        return f'{param.name} = "..."'
    if param.kind in ("ratio", "count"):
        return f"{param.name} = ... (a bare number)"
    turning, travelling = units.sorts(param.kind)
    text = f'{param.name} = "... {units.units_of(turning)[0]}"'
    if turning == travelling:
        return text
    return f'{text}, or "... {units.units_of(travelling)[0]}" where it travels'
