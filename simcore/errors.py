"""The exceptions of simcore.

SimcoreError
├── InputError         the input is at fault (exit code 2); carries a list of Fault
│   └── UnknownName    a name that is not there: also a KeyError and a ValueError
├── SolveError         the solver could not go on; names time and parts
└── ResultError        a result set is absent, damaged or of another format
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class SimcoreError(Exception):
    """Base of all errors that simcore raises on purpose; its text is a plain sentence."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input: where (file, line, path), the rule, the value, a near name."""

    path: str
    rule: str
    got: str = ""
    hint: str = ""
    line: int | None = None
    file: str = ""

    def __str__(self) -> str:
        where = self.file
        if self.line is not None:
            where = f"{where}:{self.line}" if where else f"line {self.line}"
        head = ": ".join(t for t in (where, self.path) if t)
        text = f"{head}: {self.rule}" if head else self.rule
        if self.got:
            text += f", got {self.got}"
        if self.hint:
            text += f" ({self.hint})"
        return text


class InputError(SimcoreError):
    """The scenario, or a word on the command line, is at fault; all faults at once."""

    def __init__(self, faults: Iterable[Fault] | str) -> None:
        if isinstance(faults, str):
            faults = [Fault("", faults)]
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


class UnknownName(InputError, KeyError, ValueError):  # noqa: N818 - an InputError
    """A name that is not there, with the nearest and what there is; also what a mapping and a list would raise."""

    __str__ = Exception.__str__


class SolveError(SimcoreError):
    """The solver stopped before the horizon; says when, why and which parts took part."""


class ResultError(SimcoreError):
    """A result set cannot be read: absent, damaged, or of another format."""
