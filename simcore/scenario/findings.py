"""Faults while they are collected: by their place in the document, made readable at the end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from simcore.errors import Fault
from simcore.scenario.locate import Spot, lines_of, locate
from simcore.scenario.paths import names_of, readable


class Finding(NamedTuple):
    """One thing wrong at one spot of the document; ``other``: a second spot that it is about."""

    spot: Spot
    rule: str
    got: str = ""
    hint: str = ""
    other: Spot = ()


class Faulty(NamedTuple):
    """Stands in the document in place of a value that could not be read; its findings are told with its table."""

    findings: tuple[Finding, ...]


def faults(
    findings: Iterable[Finding], raw: Mapping[str, Any], text: str, source: str, changed: Iterable[Spot] = ()
) -> list[Fault]:
    """Findings as faults with file, line and readable path, in the order of the file.

    Spots in ``changed``, and what lies in them, were set beside the file and have no line in it.
    """
    lines, names, beside = lines_of(text), names_of(raw), set(changed)

    def is_beside(spot: Spot) -> bool:
        return any(spot[:n] in beside for n in range(1, len(spot) + 1))

    def line_of(spot: Spot) -> int | None:
        return None if is_beside(spot) else locate(lines, spot)

    out = []
    for f in dict.fromkeys(findings):
        file = "--set" if is_beside(f.spot) else source
        there = line_of(f.other) if f.other else None
        rule = f.rule if there is None else f"{f.rule}, the other on line {there}"
        out.append(Fault(readable(f.spot, names), rule, f.got, f.hint, line_of(f.spot), file))
    return sorted(out, key=lambda fault: (fault.line is None, fault.line or 0))
