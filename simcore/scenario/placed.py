"""Faults that show only once the line is put together, told with their place in the file."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from simcore.errors import Fault, InputError
from simcore.scenario.locate import lines_of, locate
from simcore.scenario.model import Scenario
from simcore.scenario.paths import PathFault, parse, spot_of


def refused(faults: Iterable[Fault], scenario: Scenario) -> InputError:
    """The error that tells ``faults`` (readable paths) with file and line, in the order of the file.

    What was set beside the file is told as ``--set``; a scenario that was made without a text has no lines.
    """
    lines = lines_of(scenario.text)
    try:
        raw: Mapping[str, Any] = tomllib.loads(scenario.text)
    except tomllib.TOMLDecodeError:
        raw = {}
    beside = {_steps(path) for path in scenario.changes}
    out = []
    for f in faults:
        steps = _steps(f.path)
        if steps in beside:
            out.append(replace(f, file="--set"))
        else:
            out.append(replace(f, line=locate(lines, spot_of(raw, steps)), file=scenario.source))
    return InputError(sorted(out, key=lambda f: (f.line is None, f.line or 0)))


def _steps(path: str) -> tuple[str, ...]:
    try:
        return parse(path)
    except PathFault:
        return ()
