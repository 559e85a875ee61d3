"""A part on its own, with inputs as written in a scenario, checked as there, turned into its own chart's numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from simcore.contract import Kind, Part
from simcore.errors import Fault, InputError

if TYPE_CHECKING:
    from simcore.character import Character
    from simcore.scenario.findings import Finding
    from simcore.scenario.model import Value

STATED: Final = {"setting": "150 N*m", "capacity": "150 N*m"}
"""What a kind without an example is drawn for, by the input that it has."""


def specimen(part: Part, changes: Mapping[str, str] | None = None) -> Character:
    """Numbers of the part's own chart; ``changes`` sets inputs beside the example, which gives way where they clash.

    Raises InputError with all faults, or with the names of the parts that have a chart.
    """
    from simcore.character import character
    from simcore.line.graph import list_inputs, raw_inputs
    from simcore.scenario.model import Item
    from simcore.scenario.paths import value_of

    if not part.kind.character:
        raise InputError([_no_chart(part.kind)])
    given = {name: value_of(text) for name, text in (changes or {}).items()}
    written = {**example(part.kind), **given}
    values, wrong = _checked(part, written)
    if wrong and given:
        alone, faults = _checked(part, given)
        if not faults:
            written, values, wrong = given, alone, []
    if wrong:
        raise InputError(dict.fromkeys(Fault(_name(f), f.rule, f.got, f.hint, file="--set") for f in wrong))
    item = Item(part.kind.name, part.kind.name, "", values, frozenset(written))
    return character(part, raw_inputs(item, part), list_inputs(item), _told(part.kind, written, values))


def example(kind: Kind) -> dict[str, str | float]:
    """Inputs that a kind is drawn for unless others are given."""
    if kind.example:
        return dict(kind.example)
    return next(({n: v} for n, v in STATED.items() if any(p.name == n for p in kind.params)), {})


def charted(parts: Iterable[Part]) -> list[str]:
    """Kinds that have a chart of their own."""
    return [p.kind.name for p in parts if p.kind.character]


def _checked(part: Part, written: Mapping[str, Any]) -> tuple[dict[str, Value], list[Finding]]:
    from simcore.scenario.draft import with_article
    from simcore.scenario.models import read_table, refusals

    values, wrong = read_table(with_article(part.kind.name), part.kind.params, written, ())
    return values, wrong or refusals(part, values, (), written)


def _name(finding: Finding) -> str:
    return "".join(c if c.isprintable() else "?" for c in str(finding.spot[-1])[:80]) if finding.spot else ""


def _told(kind: Kind, written: Mapping[str, Any], values: Mapping[str, Value]) -> str:
    """``setting 150 N*m, all else default``."""
    said = []
    for p in kind.params:
        if p.name in written and p.name in values:
            v = values[p.name]
            said.append(f"{p.name.replace('_', ' ')} {v if isinstance(v, str | bool) else v.text}")
    return ", ".join([*said, "all else default"])


def _no_chart(kind: Kind) -> Fault:
    from simcore.parts import REGISTRY

    names = ", ".join(charted(REGISTRY.values()))
    return Fault(kind.name, "has no chart of its own", hint=f"these have one: {names}")
